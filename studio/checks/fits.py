"""Whether things fit: a piece in its sheet, a mat on its base, a card in its envelope; and the usual folds."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Literal

from studio import rule_files, stated
from studio.model import Catalogue, Finding, Measure, Mention, Sentence
from studio.quantity import to

Use = Literal["sheet", "card", "envelope"]
_ENVELOPE = re.compile(r"\b(?:(US|American|ISO|metric) )?(A2|A6|A7|C4|C5|C6|DL) envelopes?\b", re.IGNORECASE)
_NEAR_MS = 60_000
"""How long a base stays the base that a mat is laid on."""


@dataclass(frozen=True)
class Paper:
    """A named size in millimetres, the shorter side first."""

    name: str
    system: str
    use: str
    width: Fraction
    height: Fraction


@dataclass(frozen=True)
class _Row:
    name: str
    system: str
    use: Use
    unit: str
    width: str
    height: str


@cache
def papers() -> tuple[Paper, ...]:
    """Return the sizes of `shared/paper.toml`."""
    rows = rule_files.typed(tuple[_Row, ...], "paper.toml", "size")
    return tuple(
        Paper(row.name, row.system, row.use, _in_mm_of(row.width, row), _in_mm_of(row.height, row)) for row in rows
    )


def _in_mm_of(side: str, row: _Row) -> Fraction:
    return to(Fraction(side), row.unit, "mm")


def sizes_named(name: str, use: Use | None = None, system: str = "") -> tuple[Paper, ...]:
    """Return every size of a name: "A2" is an envelope and a card in the US and a sheet in ISO."""
    wanted = name.replace(" ", "").lower()
    return tuple(
        paper
        for paper in papers()
        if paper.name.lower() == wanted and use in (None, paper.use) and system.upper() in ("", paper.system)
    )


def clearance(inner: tuple[Fraction, Fraction], outer: tuple[Fraction, Fraction]) -> tuple[Fraction, Fraction] | None:
    """Return what is left in width and height where the one lies in the other; None where it does not.

    Both are (width, height) in one unit; the short sides are laid along each other where that fits.
    """
    (a, b), (width, height) = sorted(inner), sorted(outer)
    return (width - a, height - b) if a <= width and b <= height else None


def mat(base: tuple[Fraction, Fraction], border: Fraction) -> tuple[Fraction, Fraction]:
    """Return the mat that leaves a border of this width all round.

    "An eighth smaller" may mean this, or an eighth in all (a border of a sixteenth): ask which.
    """
    return base[0] - 2 * border, base[1] - 2 * border


def folded(sheet: tuple[Fraction, Fraction], score: Fraction) -> tuple[Fraction, Fraction]:
    """Return the size of a sheet folded at a score from its left edge: the longer part shows."""
    return max(score, sheet[0] - score), sheet[1]


def gate_scores(width: Fraction) -> tuple[Fraction, Fraction]:
    """Return the scores of a gate fold: a quarter from each edge."""
    return width / 4, width * 3 / 4


def even_scores(width: Fraction, parts: int) -> tuple[Fraction, ...]:
    """Return the scores of an accordion of even parts."""
    return tuple(width * part / parts for part in range(1, parts))


def is_on_grid(length: Fraction, denominator: int = 8) -> bool:
    """Return whether a length can be set on a ruler divided in eighths, or as told."""
    return (length * denominator).denominator == 1


def box_blank(length: Fraction, width: Fraction, height: Fraction) -> tuple[Fraction, Fraction]:
    """Return the blank of an open box, scored at `height` from every edge."""
    return length + 2 * height, width + 2 * height


# --- what cannot be --------------------------------------------------------------------------------------------------


def impossible_sizes(
    measures: Sequence[Measure], sentences: Sequence[Sentence], mentions: Sequence[Mention], catalogue: Catalogue
) -> tuple[Finding, ...]:
    """Return a finding for each piece larger than its sheet, mat larger than its base, card larger than its envelope.

    Args:
        measures: sizes of two values; one that was corrected away is not among them.
        sentences: the talk.
        mentions: what was named, to know the sheet that a piece is cut from.
        catalogue: sizes of the sheets.
    """
    found: list[Finding] = []
    base: Measure | None = None
    for measure in measures:
        size = _in_mm(measure)
        if size is None:
            continue
        around = _sentence(measure, sentences)
        text = around.text if around else measure.heard
        if _says("on_base", measure.of or "") and base and measure.start_ms - base.start_ms < _NEAR_MS:
            found += _larger(measure, size, _in_mm(base), f"the base of {base.heard}", None)
        if _says("base", measure.of or ""):
            base = measure
        found += _in_envelope(measure, size, text)
        if around and measure.code is None and _says("cutting", text):
            found += _from_sheet(measure, size, around, mentions, catalogue)
    return tuple(found)


def _says(name: str, text: str) -> bool:
    return rule_files.finds(text, "paper.toml", "words", name)


def _in_mm(measure: Measure) -> tuple[Fraction, Fraction] | None:
    """Return a size of two lengths in millimetres."""
    if len(measure.values) != 2 or measure.dimension not in ("size", "length") or measure.state == "ask":
        return None
    try:
        width, height = (to(value, measure.unit, "mm") for value in measure.values)
    except (KeyError, ValueError):
        return None
    return width, height


def _sentence(measure: Measure, sentences: Sequence[Sentence]) -> Sentence | None:
    return next((one for one in sentences if one.start_ms <= measure.start_ms <= one.end_ms), None)


def _larger(
    measure: Measure,
    size: tuple[Fraction, Fraction],
    outer: tuple[Fraction, Fraction] | None,
    what: str,
    code: str | None,
) -> list[Finding]:
    if outer is None or clearance(size, outer) is not None:
        return []
    return [
        Finding(
            kind="impossible_size",
            severity="error",
            message=f"{measure.heard} does not fit {what}.",
            heard=measure.heard,
            expected=what,
            start_ms=measure.start_ms,
            code=code,
        )
    ]


def _in_envelope(measure: Measure, size: tuple[Fraction, Fraction], text: str) -> list[Finding]:
    said = _ENVELOPE.search(text)
    if said is None or not re.search(r"\bcards?\b", text, re.IGNORECASE):
        return []
    system = "ISO" if (said.group(1) or "").lower() in ("iso", "metric") else "US" if said.group(1) else ""
    envelopes = sizes_named(said.group(2), "envelope", system)
    if any(clearance(size, (paper.width, paper.height)) for paper in envelopes):
        return []
    return (
        _larger(measure, size, (envelopes[0].width, envelopes[0].height), f"an {said.group(2)} envelope", None)
        if envelopes
        else []
    )


def _from_sheet(
    measure: Measure,
    size: tuple[Fraction, Fraction],
    around: Sentence,
    mentions: Sequence[Mention],
    catalogue: Catalogue,
) -> list[Finding]:
    products = catalogue.by_code()
    before = [m for m in mentions if around.start_ms <= m.start_ms <= measure.start_ms and m.code in products]
    if not before:
        return []
    row = products[before[-1].code or ""]
    sheets = [one for one in stated.stated(row).sizes if one.dimension == "length" and len(one.values) == 2]
    if not sheets or not re.search(r"\b(?:out of|from|of)\b", around.text, re.IGNORECASE):
        return []
    return _larger(
        measure, size, (sheets[0].values[0], sheets[0].values[1]), f"{row.name} ({sheets[0].text})", row.code
    )
