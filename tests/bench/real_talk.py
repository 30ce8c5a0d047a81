"""Scores what is understood of real talk with marked steps: steps, times and temperatures, and rows called sure."""

import html
import json
import random
import re
import tempfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

from studio import folio, pipeline, text, timecode
from studio.edition import Edition
from studio.model import Catalogue, Document, Measure, Product, Sentence, Supply
from studio.settings import Settings
from studio.writing.redaction import SaidPart

FILE = "cooking.jsonl"
CATALOGUE = Path(__file__).resolve().parent / "household.csv"
RECORDED = date(2020, 5, 1)
"""A day for all: the marks give none, and every row of the catalogue is on sale at any time."""
LONGEST_MS, LAST_MS, NEAR_MS = 12_000, 5_000, 10_000
HEAD = 0.8
"""A printed step counts for a segment where it overlaps this first share; word times are worked out, not heard."""
SAMPLE, SEED = 60, 11
QUANTITIES = ("time", "temperature")
_FIGURE = re.compile(
    r"\d|\b(?:an? (?:hour|minute)|half|one|two|three|four|five|six|seven|eight|nine|ten|fifteen|twenty|thirty|forty"
    r"|hundred)\b"
)
_UNIT = {
    "time": re.compile(r"\b\d*(?:seconds?|min(?:ute)?s?|hours?|half hour|days?|weeks?)\b"),
    "temperature": re.compile(r"degrees?|fahrenheit|celsius"),
}
"""What makes a marked string one that holds a quantity: "medium heat" and "until boiling" hold none."""


@dataclass(frozen=True)
class Marked:
    """One segment of real talk with what people marked in it."""

    start_ms: int
    end_ms: int
    text: str
    step: bool
    quantities: dict[str, str]
    """The marked words by dimension: time, temperature."""

    @property
    def head_ms(self) -> int:
        """Where its first 80 % end."""
        return self.start_ms + round(HEAD * (self.end_ms - self.start_ms))


@dataclass
class Counts:
    """The counts of one talk."""

    name: str
    shape: str
    right: int = 0
    """Segments that are marked and printed as steps."""
    marked: int = 0
    printed: int = 0
    near: dict[str, list[bool]] = field(default_factory=dict)
    """For each marked string of a dimension: whether a confirmed measure stands near."""
    near_figure: dict[str, list[bool]] = field(default_factory=dict)
    """The same for the strings that hold a number and a unit."""
    confirmed: list[dict[str, str]] = field(default_factory=list)
    """Rows of the catalogue called confirmed, in a neutral form for judging."""
    asked: int = 0
    unlisted: int = 0


def run_real(folder: Path, sample: Path | None = None) -> None:
    """Score the real talk of a folder, print the figures, and write a sample of confirmed rows for blind judging."""
    source = folder / FILE
    if not source.is_file():
        print(f"Real talk is skipped: there is no {FILE} in {folder}.")
        return
    talks = [json.loads(line) for line in source.read_text(encoding="utf-8").splitlines() if line.strip()]
    with ProcessPoolExecutor(2) as pool:
        counted = list(pool.map(score, talks))
    print("\n".join(lines(counted)), flush=True)
    if sample:
        sample.write_text(to_judge(counted), encoding="utf-8")


def segments(talk: dict[str, Any]) -> list[Marked]:
    """Return the segments of a talk: each ends where the next starts, at most 12 s; the last has 5 s."""
    told = talk["segments"]
    starts = [round(one["start"] * 1000) for one in told]
    ends = [min(after, start + LONGEST_MS) for start, after in pairwise(starts)]
    return [
        Marked(start, end, one["text"], "step" in one, {name: one[name] for name in QUANTITIES if one.get(name)})
        for one, start, end in zip(told, starts, [*ends, starts[-1] + LAST_MS], strict=True)
    ]


def score(talk: dict[str, Any]) -> Counts:
    """Make the folio of one talk given as a caption file, and compare it with the marks."""
    marked = segments(talk)
    settings = Settings()
    with tempfile.TemporaryDirectory() as place:
        source = Path(place) / f"{talk['id']}.vtt"
        cues = [f"{timecode.vtt(m.start_ms)} --> {timecode.vtt(m.end_ms)}\n{html.escape(m.text)}\n" for m in marked]
        source.write_text("WEBVTT\n\n" + "\n".join(cues), encoding="utf-8")
        request = pipeline.Request(
            source=source, folder=Path(place) / "folio", catalogue=CATALOGUE, recorded_on=RECORDED, settings=settings
        )
        document, catalogue = folio.make(request).document, pipeline.products(request)
    shape, spans = printed_steps(document, catalogue, settings)
    made = Counts(talk["id"], shape)
    _steps(made, marked, spans)
    _quantities(made, marked, document.measures)
    _rows(made, document, catalogue.by_code())
    return made


# --- steps -----------------------------------------------------------------------------------------------------------


def printed_steps(document: Document, catalogue: Catalogue, settings: Settings) -> tuple[str, list[tuple[int, int]]]:
    """Return the shape of the post, and when each sentence was said that it prints in a numbered step."""
    edition = Edition.of(document, catalogue, settings)
    numbered = {
        (sentence.start_ms, sentence.text)
        for section in edition.facts.sections
        for block in section.blocks
        if block.kind == "steps"
        for step in block.steps
        for sentence in step
    }
    spans = [
        _span(part, document.sentences[part.sentence])
        for section in edition.draft.sections
        for line in section.lines
        if (line.start_ms, text.one_line(line.text)) in numbered
        for part in line.parts
    ]
    return edition.facts.shape, spans


def _span(part: SaidPart, sentence: Sentence) -> tuple[int, int]:
    words = sentence.text[part.start : part.end]
    start = part.start + len(words) - len(words.lstrip())
    return sentence.time_of(start, part.start + len(words.rstrip()))


def _steps(made: Counts, marked: Sequence[Marked], spans: Sequence[tuple[int, int]]) -> None:
    for one in marked:
        printed = any(start < one.head_ms and one.start_ms < end for start, end in spans)
        made.right += one.step and printed
        made.marked += one.step
        made.printed += printed


# --- times and temperatures ------------------------------------------------------------------------------------------


def _quantities(made: Counts, marked: Sequence[Marked], measures: Sequence[Measure]) -> None:
    for name in QUANTITIES:
        sure = [m for m in measures if m.state == "confirmed" and m.dimension.removesuffix("_range") == name]
        for one in marked:
            if name not in one.quantities:
                continue
            near = any(
                m.start_ms <= one.end_ms + NEAR_MS and one.start_ms - NEAR_MS <= max(m.start_ms, m.end_ms) for m in sure
            )
            words = one.quantities[name].lower()
            made.near.setdefault(name, []).append(near)
            if _FIGURE.search(words) and _UNIT[name].search(words):
                made.near_figure.setdefault(name, []).append(near)


# --- rows ------------------------------------------------------------------------------------------------------------


def _rows(made: Counts, document: Document, products: dict[str, Product]) -> None:
    listed = [row for row in document.supplies if row.code]
    made.unlisted = len(document.supplies) - len(listed)
    made.asked = sum(row.state == "ask" for row in listed)
    made.confirmed = [
        _neutral(made.name, row, document, products[row.code or ""]) for row in listed if row.state == "confirmed"
    ]


def _neutral(name: str, row: Supply, document: Document, product: Product) -> dict[str, str]:
    """Return a row with the sentence of its first confirmed showing, and the sentences before and after."""
    own = [m for m in document.mentions if m.id in row.mention_ids]
    first = next((m for m in own if m.role == "shown" and m.state == "confirmed"), own[0])
    said = document.sentences
    at = max((n for n, one in enumerate(said) if one.start_ms <= first.start_ms), default=0)
    around = said[max(0, at - 1) : at + 2]
    return {
        "talk": name,
        "sentences": "\n    ".join(one.text for one in around),
        "heard": first.heard,
        "row": f"{product.code} {product.name} ({product.kind})",
    }


def to_judge(counted: Sequence[Counts]) -> str:
    """Return a shuffled sample of confirmed rows as questions; it quotes the talk and stays out of the repository."""
    rows = [row for one in counted for row in one.confirmed]
    drawn = random.Random(SEED).sample(rows, min(SAMPLE, len(rows)))
    return "\n\n".join(
        f"{n}. talk {one['talk']}\n    {one['sentences']}\n  words heard: {one['heard']}\n"
        f"  catalogue row: {one['row']}\n  was this row's thing shown or used here? yes/no:"
        for n, one in enumerate(drawn, 1)
    ) + ("\n" if drawn else "")


# --- printing --------------------------------------------------------------------------------------------------------


def lines(counted: Sequence[Counts]) -> list[str]:
    """Return the figures of all talks in lines."""
    right, marked, printed = (sum(getattr(c, name) for c in counted) for name in ("right", "marked", "printed"))
    precision, recall = right / max(1, printed), right / max(1, marked)
    f1 = 2 * precision * recall / (precision + recall) if precision + recall else 0.0
    how_to = sum(one.shape == "how-to" for one in counted)
    made = [
        f"## real talk: {len(counted)} videos, {how_to} posts with numbered steps",
        "",
        f"steps: precision {precision:.3f} ({right}/{printed}), recall {recall:.3f} ({right}/{marked}), F1 {f1:.3f}",
    ]
    for name in QUANTITIES:
        every = [near for one in counted for near in one.near.get(name, [])]
        figures = [near for one in counted for near in one.near_figure.get(name, [])]
        made.append(
            f"{name}: {sum(every)}/{len(every)} marked strings have a confirmed measure within 10 s; "
            f"{sum(figures)}/{len(figures)} of those that hold a number and a unit"
        )
    sure = sum(len(one.confirmed) for one in counted)
    made.append(
        f"rows: {sure} confirmed ({sure / max(1, len(counted)):.2f} a talk), {sum(c.asked for c in counted)} asked, "
        f"{sum(c.unlisted for c in counted)} without a row of the catalogue"
    )
    return made
