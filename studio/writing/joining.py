"""Sentences parted where they run on, fragments joined or listed, repetitions merged."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from studio.model import Document
from studio.writing import wording, worth
from studio.writing.redaction import Edit, SaidPart, Working, rebuilt
from studio.writing.written import LeftOut, Line, Link

LONG_WORDS = 24
"""From here on a sentence is parted at any joint before a clause of its own."""
LONGEST_WORDS = 30
_AMOUNT = re.compile(r"\d[\d /.,x]*(?:g|kg|ml|l|mm|cm|m|in|oz|lb|yd|ft|fl oz|tsp|tbsp|cups?|%)(?!\w)")
_LIST = re.compile(r"[^,.;:!?]{2,80}(?:,[^,.;:!?]{2,80}){1,6},? and [^,.;:!?]{2,80}[.!]?", re.IGNORECASE)
LONGEST_PAUSE = 20_000
"""In milliseconds: hands at work between a sentence and the list that completes it."""
SHORTEST_JOINED = 3
LEAD_IN, AMOUNT_WITHIN = 4, 25
"""In characters: an item opens a line of a list, and its amount follows close."""
DUPLICATE = 0.7
"""Jaccard index of the words of two sentences that say the same."""


def pieces(working: Working) -> list[Working]:
    """Part a sentence where a clause could stand by itself; every piece keeps its own edits."""
    text = working.text
    is_long = len(worth.said_words(text)) > LONG_WORDS
    for start, end in wording.joints(text, long=is_long):
        if not working.is_plain(start, end):
            continue
        first, second = _parted(working, start, end)
        wording.reword(first)
        wording.reword(second)
        return [*([first] if worth.said_words(first.text) else []), *pieces(second)]
    return [working]


def _parted(working: Working, start: int, end: int) -> tuple[Working, Working]:
    """Part the text as it stands; the characters from `start` to `end` belong to neither piece."""
    before = Working(working.source, working.start, working.end, list(working.edits))
    before.replace(start, end, "", "parted")
    cut = next(edit for edit in before.edits if "parted" in edit.rule.split("; "))
    first = [edit for edit in before.edits if edit.end <= cut.start and edit is not cut]
    second = [edit for edit in before.edits if edit.start >= cut.end and edit is not cut]
    return (
        Working(working.source, working.start, cut.start, first),
        Working(working.source, cut.end, working.end, second),
    )


def lines_joined(lines: list[Line], document: Document) -> tuple[list[Line], list[LeftOut]]:
    """Give each fragment a place: an item of a list where it holds a fact, part of the sentence before, or out."""
    kept: list[Line] = []
    left: list[LeftOut] = []
    for line in lines:
        if _is_amount(line):
            kept.append(replace(line, kind="item", text=line.text.rstrip(".")))
        elif worth.has_finite_verb(line.text) or _put_back(line, document):
            kept.append(line)
        elif line.holds_figure or any(map(str.isdecimal, line.text)):
            kept.append(replace(line, kind="item", text=line.text.rstrip(".")))
        elif (
            kept
            and kept[-1].kind != "item"
            and len(worth.said_words(line.text)) > SHORTEST_JOINED
            and _fit_together(kept[-1], line)
        ):
            kept[-1] = _together(kept[-1], line, document)
        elif kept and is_list(line.text) and _follows(kept[-1], line):
            kept.append(replace(line, kind="item", text=line.text.rstrip(".")))
        else:
            left.append(LeftOut(line.text, "fragment", line.start_ms, line.end_ms))
    return _lone_items(kept, document), left


def _put_back(line: Line, document: Document) -> bool:
    return any(line.start_ms < span.end_ms and span.start_ms < line.end_ms for span in document.put_back)


def _is_amount(line: Line) -> bool:
    """Return whether the line opens with an item and how much of it: "Olive oil, 400 g, so you need one bottle"."""
    if not line.links or line.links[0].start > LEAD_IN:
        return False
    after = line.text[line.links[0].end :]
    amount = _AMOUNT.search(after[:AMOUNT_WITHIN])
    return amount is not None and not worth.has_finite_verb(after[: amount.start()])


def is_list(text: str) -> bool:
    """Return whether a text without a verb names three things or more ("The rim, the foot, and the handle")."""
    return _LIST.fullmatch(text) is not None and not worth.has_finite_verb(text)


def _follows(before: Line, line: Line) -> bool:
    """Return whether the line was said next, with no more than hands at work between."""
    next_said = line.parts[0].sentence - before.parts[-1].sentence == 1
    return next_said and line.start_ms - before.end_ms < LONGEST_PAUSE


def _fit_together(before: Line, line: Line) -> bool:
    close = line.start_ms - before.end_ms < 4000 or (is_list(line.text) and _follows(before, line))
    return close and len(worth.said_words(before.text)) + len(worth.said_words(line.text)) <= LONGEST_WORDS


def _together(before: Line, line: Line, document: Document) -> Line:
    """Join a fragment to the line before it with a semicolon."""
    parts = (*before.parts, *(replace(_lowered(part, line, document), joint="; ") for part in line.parts))
    text = rebuilt(parts, document.sentences)
    shift = text.find(line.text.rstrip(".")[1:])
    links = tuple(Link(link.start + shift - 1, link.end + shift - 1, link.code) for link in line.links if shift > 0)
    return replace(
        before, text=text, parts=parts, links=(*before.links, *links), end_ms=line.end_ms,
        holds_fact=before.holds_fact or line.holds_fact,
    )  # fmt: skip


def _lowered(part: SaidPart, line: Line, document: Document) -> SaidPart:
    """Return the part without the capital of its sentence, unless a name or "I" begins it."""
    first = document.sentences[part.sentence].text[part.start : part.end].lstrip()[:1]
    at = document.sentences[part.sentence].text.find(first, part.start) if first else -1
    named = (
        any(link.start == 0 for link in line.links)
        or worth.said_words(line.text)[0] == "i"
        or worth.said_words(line.text)[0].startswith("i'")
    )
    if at < 0 or named or not first.isupper() or any(edit.start <= at < edit.end for edit in part.edits):
        return part
    return replace(
        part, edits=tuple(sorted((*part.edits, Edit(at, at + 1, first.lower(), "joined")), key=lambda one: one.start))
    )


def _lone_items(lines: list[Line], document: Document) -> list[Line]:
    """Join an item that stands alone to the sentence before it; only two or more make a list."""
    kept: list[Line] = []
    for at, line in enumerate(lines):
        neighbours = [other for other in (*lines[max(0, at - 1) : at], *lines[at + 1 : at + 2]) if other.kind == "item"]
        if line.kind == "item" and not line.links and not neighbours and kept and _fit_together(kept[-1], line):
            kept[-1] = _together(kept[-1], line, document)
        else:
            kept.append(line)
    return kept


def without_duplicates(lines: Sequence[Line]) -> tuple[list[Line], list[LeftOut]]:
    """Keep the longer of two sentences that say the same in nearly the same words (Jaccard index of their words).

    A sentence that holds a number which its twin does not say is none.
    """
    bags = [frozenset(worth.said_words(line.text)) for line in lines]
    common = Counter(word for bag in bags for word in bag)
    kept: dict[int, int] = {}  # place of a line -> place of the longest of its twins
    left: list[LeftOut] = []
    index: dict[str, list[int]] = {}
    for at, bag in enumerate(bags):
        rare = _rarest(bag, common)
        near = dict.fromkeys(other for word in rare for other in index.get(word, ()))
        twin = next((one for one in near if len(bag & bags[kept[one]]) >= DUPLICATE * len(bag | bags[kept[one]])), None)
        for word in rare:
            index.setdefault(word, []).append(at if twin is None else twin)
        if twin is None:
            kept[at] = at
            continue
        shorter, longer = sorted((kept[twin], at), key=lambda one: len(lines[one].text))
        if wording.numbers(lines[shorter].text) - wording.numbers(lines[longer].text):
            kept[at] = at
            continue
        kept[twin] = longer
        left.append(LeftOut(lines[shorter].text, "said twice", lines[shorter].start_ms, lines[shorter].end_ms))
    return [lines[at] for at in sorted(kept.values())], left


def _rarest(bag: frozenset[str], common: Counter[str]) -> list[str]:
    """Return so many of the rarest words that two twins share one of them (prefix filter of set joins)."""
    ordered = sorted(bag, key=lambda word: (common[word], word))
    return ordered[: len(bag) - ceil(DUPLICATE * len(bag)) + 1]
