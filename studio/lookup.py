"""What was on the table at a time, and when something was: asked by a time such as 6:20, or by words."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

from studio import timecode
from studio.errors import BonefolderError
from studio.model import Catalogue, Chapter, Document, Measure, Mention, Product, Sentence, Span, Supply
from studio.text import word_list

WINDOW_MS = 30_000
"""An item is taken to lie on the table this long before and after it is named, unless a new chapter begins."""
MOST = 12
_SMALL = frozenset(
    "a an the and or of to in on at is was what which when where how it this that i you for with did".split()
)


@dataclass(frozen=True)
class Moment:
    """What is known about one moment."""

    at_ms: int
    chapter: str
    said: str
    items: tuple["Item", ...]
    measures: tuple[Measure, ...]


@dataclass(frozen=True)
class Item:
    """Something on the table: what it is, or what it may be."""

    at_ms: int
    heard: str
    row: Supply | None
    maybe: tuple[str, ...] = ()
    """Catalogue codes to choose from, where it is not sure."""


def answer(document: Document, question: str) -> list[str]:
    """Return the answer in lines of plain text.

    Raises:
        BonefolderError: the time lies behind the end of the recording.
    """
    moments = ask(document, question)
    if not moments:
        return [f"Nothing was said or shown that fits “{question}”."]
    return [line for moment in moments for line in _lines(moment)]


def ask(document: Document, question: str) -> list[Moment]:
    """Return the moment of a time, or the moments that fit some words, the best first.

    Raises:
        BonefolderError: the time lies behind the end of the recording.
    """
    at_ms = time_in(question)
    return search(document, question) if at_ms is None else [moment_at(document, at_ms)]


def time_in(question: str) -> int | None:
    """Return the time that a question asks for ("6:20?", "what was on the table at 6:20"), or None."""
    found = re.search(r"(?<![\d:])\d{1,3}:\d{2}(?::\d{2})?(?![\d:])", question)
    try:
        return timecode.read_clock(found[0]) if found else None
    except ValueError:
        return None


def moment_at(document: Document, at_ms: int) -> Moment:
    """Return what was on the table and what was said at a time, the nearest item first.

    Raises:
        BonefolderError: the time lies behind the end of the recording.
    """
    if at_ms > document.recording.duration_ms:
        end = timecode.clock(document.recording.duration_ms)
        raise BonefolderError(f"{timecode.clock(at_ms)} is behind the end of the recording.", f"It ends at {end}.")
    part = chapter_at(document.chapters, at_ms)
    near = sorted(
        (one for one in document.mentions if one.role in {"shown", "unlisted"} and _on_table(one, at_ms, document)),
        key=lambda one: (_distance(one, at_ms), one.start_ms),
    )
    measures = [one for one in document.measures if _distance(one, at_ms) <= WINDOW_MS // 4]
    said = _said(document.sentences, at_ms)
    return Moment(at_ms, part.title if part else "", said, _items(document, near), tuple(measures))


def search(document: Document, words: str) -> list[Moment]:
    """Return the moments whose talk or items hold the words, those that hold more of them first."""
    wanted = {word for word in _bag(words) if word not in _SMALL}
    found = [*_named(document, wanted), *_spoken(document, wanted)]
    best = min((score for score, _ in found), default=0)
    moments: list[Moment] = []
    for score, at_ms in sorted(found):
        if score <= best + 1 and all(abs(at_ms - one.at_ms) > WINDOW_MS // 2 for one in moments):
            moments.append(moment_at(document, min(at_ms, document.recording.duration_ms)))
    return moments[:MOST]


def _named(document: Document, wanted: set[str]) -> Iterator[tuple[int, int]]:
    """Yield how well each item named fits (less is better), and when."""
    rows = {row.code: f"{row.name} {row.colour or ''}" for row in document.supplies if row.code}
    for one in document.mentions:
        hits = len(wanted & _bag(f"{one.heard} {one.code or ''} {rows.get(one.code or '', '')}"))
        if hits and one.role != "rejected":
            yield -2 * hits, one.start_ms


def _spoken(document: Document, wanted: set[str]) -> Iterator[tuple[int, int]]:
    for sentence in document.sentences:
        if hits := len(wanted & _bag(sentence.text)):
            yield 1 - 2 * hits, sentence.start_ms


def chapter_at(chapters: Sequence[Chapter], at_ms: int) -> Chapter | None:
    """Return the chapter that a time lies in."""
    return next((one for one in reversed(chapters) if one.start_ms <= at_ms), None)


def _on_table(mention: Mention, at_ms: int, document: Document) -> bool:
    same = chapter_at(document.chapters, mention.start_ms) == chapter_at(document.chapters, at_ms)
    return _distance(mention, at_ms) <= (WINDOW_MS if same else 2000)


def _distance(span: Span, at_ms: int) -> int:
    return max(0, span.start_ms - at_ms, at_ms - span.end_ms)


def _items(document: Document, near: Sequence[Mention]) -> tuple[Item, ...]:
    rows = {mention_id: row for row in document.supplies for mention_id in row.mention_ids}
    items: dict[str, Item] = {}
    for one in near:
        row = rows.get(one.id)
        maybe = tuple(dict.fromkeys(code for code in (one.code, *one.runners_up) if code)) if one.state == "ask" else ()
        items.setdefault((row.code or row.name) if row else one.heard, Item(one.start_ms, one.heard, row, maybe))
    return tuple(items.values())


def _said(sentences: Sequence[Sentence], at_ms: int) -> str:
    near = [one for one in sentences if _distance(one, at_ms) <= 4000]
    return " ".join(one.text for one in near)


@lru_cache(maxsize=50_000)
def _bag(text: str) -> frozenset[str]:
    words = word_list(text.casefold())
    return frozenset(word.removesuffix("s") if len(word) > 3 else word for word in words)


def _lines(moment: Moment) -> list[str]:
    head = timecode.clock(moment.at_ms) + (f"  {moment.chapter}" if moment.chapter else "")
    lines = [head, *(f"  {_item(item)}" for item in moment.items)]
    if not moment.items:
        lines.append("  Nothing of the catalogue was on the table.")
    lines += [f"  size or amount: {one.heard}" for one in moment.measures]
    return [*lines, *([f"  “{moment.said}”"] if moment.said else [])]


def _item(item: Item) -> str:
    if item.maybe or item.row is None:
        maybe = " or ".join(item.maybe)
        return f"not sure: {maybe} (heard: “{item.heard}”)" if maybe else f"not in the catalogue: “{item.heard}”"
    row = item.row
    price = f"{row.price} {row.currency}".strip() if row.price is not None else ""
    parts = (row.name, row.code or "", price, row.colour or "", row.still or "", row.url)
    return " · ".join(part for part in parts if part)


def products(catalogue: Catalogue, words: str) -> tuple[Product, ...]:
    """Return the rows of a catalogue whose code, name, kind or colour hold every word or its beginning."""
    wanted = words.casefold().split()
    if not wanted:
        return ()
    fits = (row for row in catalogue.products if _holds(row, wanted))
    return tuple(islice(fits, MOST))


def _holds(row: Product, wanted: Sequence[str]) -> bool:
    text = f" {row.code} {row.name} {row.kind} {row.colour}".casefold()
    return all(f" {word}" in text for word in wanted)
