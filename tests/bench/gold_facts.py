"""What a marked talk says must be found: its marks as the facts that the figures compare with."""

from dataclasses import dataclass, field
from datetime import date

from studio.model import Product
from studio.reader.forms import Timed
from studio.reader.talks import Marked, Talk


@dataclass(frozen=True)
class Said:
    """A mark with its time in seconds."""

    marked: Marked
    line: int
    time: float
    words: str


@dataclass
class Gold:
    """The facts of one talk, in seconds of one form."""

    rows: list[Said] = field(default_factory=list)
    shown: dict[str, float] = field(default_factory=dict)
    """Code to the second of its first showing."""
    kept_off: dict[str, list[float]] = field(default_factory=dict)
    """Codes talked of, turned down or not the speaker's to sell, never shown; with the seconds."""
    spared: set[str] = field(default_factory=set)
    """Codes that may stand on the list or not: given with an offer, or unclear to anybody."""
    unclear: set[str] = field(default_factory=set)
    amounts: list[Said] = field(default_factory=list)
    withdrawn: list[Said] = field(default_factory=list)
    corrections: list[tuple[str, float, float]] = field(default_factory=list)
    """Id, and the seconds of the withdrawn and of the final value."""
    says: list[Said] = field(default_factory=list)
    offers: list[tuple[dict[str, str], list[float]]] = field(default_factory=list)
    warnings: list[Said] = field(default_factory=list)
    private: list[Said] = field(default_factory=list)
    earn: list[Said] = field(default_factory=list)
    claims: list[Said] = field(default_factory=list)
    availability: dict[str, str] = field(default_factory=dict)
    """Shown codes that the catalogue no longer or not yet sells on the day: `retired` or `not_on_sale`."""
    chapters: list[tuple[float, str, tuple[str, ...], bool]] = field(default_factory=list)
    kinds: list[tuple[float, float, str]] = field(default_factory=list)
    """For each line its first and last second and its kind."""


def gold(talk: Talk, timed: Timed) -> Gold:
    """Return the facts of a talk in the times of a form."""
    made = Gold()
    told = [
        Said(m, n, timed.span(n, m.first, m.last)[0] / 1000, " ".join(one.words[m.first : m.last]))
        for n, one in enumerate(talk.utterances)
        for m in one.marks
    ]
    _rows(made, [one for one in told if one.marked.mark.kind == "row"])
    _amounts(made, [one for one in told if one.marked.mark.kind == "amount"])
    _corrections(made, told)
    by_kind = {
        "says": made.says,
        "warn": made.warnings,
        "private": made.private,
        "earn": made.earn,
        "claim": made.claims,
    }
    for one in told:
        if one.marked.mark.kind in by_kind:
            by_kind[one.marked.mark.kind].append(one)
    for name, terms in talk.offers.items():
        times = [one.time for one in told if one.marked.mark.kind == "offer" and one.marked.mark.about == name]
        made.offers.append((terms, times))
    rows = talk.catalogue.by_code()
    made.availability = {code: state for code in made.shown if (state := _state(rows[code], talk.recorded))}
    for start in talk.starts:
        begins = timed.at[min(start.utterance, len(timed.at) - 1)][0][0] / 1000
        made.chapters.append((begins, start.title, start.words, start.optional))
    for line, one in zip(timed.at, talk.utterances, strict=True):
        made.kinds.append((line[0][0] / 1000, line[-1][1] / 1000, one.kind))
    return made


def _rows(made: Gold, rows: list[Said]) -> None:
    made.rows = rows
    off: dict[str, list[float]] = {}
    for one in rows:
        mark = one.marked.mark
        for code in mark.codes:
            if mark.role == "shown" and not mark.wrong:
                made.shown.setdefault(code, one.time)
            elif mark.role == "unclear":
                made.unclear.add(code)
            elif mark.role == "given":
                made.spared.add(code)
            else:
                off.setdefault(code, []).append(one.time)
    made.spared |= made.unclear
    made.kept_off = {code: times for code, times in off.items() if code not in made.shown and code not in made.spared}


def _amounts(made: Gold, amounts: list[Said]) -> None:
    for one in amounts:
        (made.withdrawn if one.marked.mark.wrong else made.amounts).append(one)


def _corrections(made: Gold, told: list[Said]) -> None:
    last: dict[str, dict[str, float]] = {}
    for one in told:
        mark = one.marked.mark
        for side, name in (("wrong", mark.wrong), ("right", mark.right)):
            if name:
                last.setdefault(name, {})[side] = one.time
    for name, sides in last.items():
        made.corrections.append((name, sides["wrong"], sides.get("right", sides["wrong"])))


def _state(row: Product, day: date) -> str:
    if row.available_until and row.available_until < day:
        return "retired"
    return "not_on_sale" if row.available_from and row.available_from > day else ""
