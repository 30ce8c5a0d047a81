"""The post in the person's own sentences: chosen, cleaned, kept in order, each with where it was said and what was changed."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Literal
import re

from studio import wording, worth
from studio.marks import Mark, marks
from studio.model import Catalogue, Chapter, Document, Sentence, Span
from studio.redaction import Edit, Part, Working, rebuilt, tidied

LONG_WORDS = 24
LONGEST_WORDS = 30
DUPLICATE = 0.7
SHORT = 5
"""A sentence of so few words without an item, a size, a step or a warning says nothing by itself."""
LineKind = Literal["step", "advice", "fact", "talk", "item"]


@dataclass(frozen=True)
class Link:
    """A product's name in a line, to be linked to its page."""

    start: int
    end: int
    code: str


@dataclass(frozen=True)
class Line:
    """One written sentence, or one item of a list."""

    text: str
    kind: LineKind
    start_ms: int
    end_ms: int
    parts: tuple[Part, ...]
    links: tuple[Link, ...] = ()
    holds_fact: bool = False
    holds_figure: bool = False


@dataclass(frozen=True)
class LeftOut:
    """What was said and is not in the post, and why."""

    text: str
    reason: str
    start_ms: int
    end_ms: int


@dataclass(frozen=True)
class Section:
    """What is written of one chapter."""

    title: str
    start_ms: int
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Draft:
    """The body of the post, and what was left out of it."""

    intro: tuple[Line, ...]
    sections: tuple[Section, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines in order."""
        return (*self.intro, *(line for section in self.sections for line in section.lines))


class _Same:
    """Compares by identity, so that the draft of a document in hand is made once for all outputs."""

    def __init__(self, document: Document, catalogue: Catalogue, keep_names: tuple[str, ...]) -> None:
        self.document, self.catalogue, self.keep_names = document, catalogue, keep_names

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and (
            self.document is other.document
            and self.catalogue is other.catalogue
            and self.keep_names == other.keep_names
        )

    def __hash__(self) -> int:
        return hash((id(self.document), id(self.catalogue)))


def draft(document: Document, catalogue: Catalogue, keep_names: tuple[str, ...] = ()) -> Draft:
    """Write the post's body from the sentences.

    Args:
        document: everything known; sentences must be in order of time.
        catalogue: where names come from.
        keep_names: people who agreed to be named.
    """
    return _draft(_Same(document, catalogue, keep_names))


@lru_cache(maxsize=1)
def _draft(given: _Same) -> Draft:
    document = given.document
    known = marks(document, given.catalogue)
    kept: list[Line] = []
    left: list[LeftOut] = []
    agreed = {name.lower() for name in given.keep_names}
    opening_ms = document.chapters[1].start_ms if len(document.chapters) > 1 else 0
    offer_chapters = _chapters_with_offers(document, known)
    for sentence in document.sentences:
        found = [mark for mark in known.get(sentence.index, []) if not _agreed(mark, sentence, agreed)]
        lines, reasons = _written(sentence, found, document, opening=sentence.start_ms < opening_ms)
        for line in lines:
            why = _out_of_place(line, left, offer_chapters)
            if why:
                left.append(LeftOut(line.text, why, line.start_ms, line.end_ms))
            else:
                kept.append(line)
        left += reasons
    lines_, merged = _joined(kept, document)
    lines_, twice = _without_duplicates(lines_)
    left = sorted([*left, *merged, *twice], key=lambda one: one.start_ms)
    return _sections(lines_, document.chapters, tuple(left))


def _chapters_with_offers(document: Document, known: dict[int, list[Mark]]) -> list[Span]:
    """Return the chapters that mostly tell offers: from the first offer in them to their end."""
    starts = [chapter.start_ms for chapter in document.chapters]
    ends = [*starts[1:], document.recording.duration_ms]
    spans = []
    for start, end in zip(starts, ends, strict=True):
        inside = [sentence for sentence in document.sentences if start <= sentence.start_ms < end]
        told = [one for one in inside if any(mark.kind == "offer" for mark in known.get(one.index, []))]
        if len(told) * 4 >= len(inside) and told:
            spans.append(Span(start_ms=start, end_ms=end))
    return spans


def _out_of_place(line: Line, left: Sequence[LeftOut], offer_chapters: Sequence[Span]) -> str:
    """Return why a line cannot stay where it is: it speaks of somebody who is out, or it only leads to an offer."""
    about_somebody = worth.words(line.text)[:1] and worth.words(line.text)[0] in {"he", "she", "his", "her", "he's", "she's"}
    if about_somebody and left and left[-1].reason in {"aside", "names a person", "opening talk"} and not line.holds_fact:
        return "aside"
    around = Span(start_ms=line.start_ms, end_ms=max(line.start_ms + 1, line.end_ms))
    if line.kind != "step" and not line.links and not line.holds_fact and _overlaps(around, offer_chapters):
        return "talk around the offer"
    return ""


def _agreed(mark: Mark, sentence: Sentence, agreed: set[str]) -> bool:
    return mark.kind == "named" and sentence.text[mark.start : mark.end].lower() in agreed


# --- one sentence ----------------------------------------------------------------------------------------------------


def _written(
    sentence: Sentence, found: list[Mark], document: Document, *, opening: bool
) -> tuple[list[Line], list[LeftOut]]:
    """Return the lines that come of one sentence, and what of it was left out."""
    whole = Span(start_ms=sentence.start_ms, end_ms=sentence.end_ms)
    if _overlaps(whole, document.struck):
        return [], [_left(sentence, "struck out by hand")]
    wanted = _overlaps(whole, document.put_back)
    working = Working(sentence.text, 0, len(sentence.text))
    for mark in sorted((mark for mark in found if mark.shown is not None), key=lambda mark: -mark.start):
        working.replace(*_at(working, mark), mark.shown or "", _RULES[mark.kind])
    reason = "" if wanted else _unfit(working, found)
    if reason:
        return [], [_left(sentence, reason)]
    wording.write(working)
    _without_tail(working, sentence, found)
    stays = not _why_not(_line(working, sentence, found), opening=opening)
    lines, left = [], []
    for piece in _pieces(working):
        line = _line(piece, sentence, found)
        why = "" if wanted else _why_not(line, opening=opening)
        why = "" if why == "fragment" and stays else why
        if why:
            left.append(_left(sentence, why, piece.start, piece.end))
        elif worth.words(line.text):
            lines.append(line)
    return lines, left


_TAILS = {"aside", "talk about the recording", "greeting", "sign-off"}


def _without_tail(working: Working, sentence: Sentence, found: list[Mark]) -> None:
    """Take the chatter off the end of a sentence whose beginning is worth keeping ("..., and mind the kids")."""
    text = working.text
    if worth.reason_to_leave_out(text, holds_fact=False) not in _TAILS:
        return
    for start, _ in wording.clauses(text)[1:]:
        kept = text[:start].rstrip(" ,;:–—-")
        good = len(worth.words(kept)) > SHORT and worth.has_finite_verb(kept) and not wording.depends(kept)
        if good and worth.reason_to_leave_out(text[start:], holds_fact=False) in _TAILS and worth.kind_of(kept) != "talk":
            if not worth.reason_to_leave_out(kept, holds_fact=False):
                working.replace(len(kept), len(text), ".", "chatter at the end")
            return


_RULES = {
    "name": "the catalogue's name",
    "size": "printed size",
    "spelling": "spelling",
    "withdrawn": "corrected aloud",
    "repeated": "in the name already",
}


def _overlaps(span: Span, others: Iterable[Span]) -> bool:
    return any(span.start_ms < other.end_ms and other.start_ms < span.end_ms for other in others)


def _at(working: Working, mark: Mark) -> tuple[int, int]:
    """Return the place of a mark in the text as it stands; marks are laid from the last to the first."""
    return mark.start - working.start, mark.end - working.start


def _left(sentence: Sentence, reason: str, start: int = 0, end: int | None = None) -> LeftOut:
    end = len(sentence.text) if end is None else end
    return LeftOut(sentence.text[start:end].strip(), reason, *sentence.time_of(start, end))


_TAKEN_OUT = {
    "price": "the price is printed from the catalogue",
    "private": "private",
    "said wrong": "the catalogue says otherwise",
    "named": "names a person",
    "withdrawn": "withdrawn aloud",
}


def _unfit(working: Working, found: list[Mark]) -> str:
    """Take out the clauses that must not be printed; return why the sentence cannot stay, where that is not enough."""
    if any(mark.kind == "offer" for mark in found):
        return "told in the offer box"
    why = "nothing left"
    for kind, reason in _TAKEN_OUT.items():
        spoken = [working.source[mark.start : mark.end] for mark in found if mark.kind == kind and mark.shown is None]
        why = reason if spoken else why
        if spoken and not _cleared(working, [text.lower() for text in spoken], found, reason):
            return reason
    if why == _TAKEN_OUT["price"]:
        _without_hanging_start(working)
    hangs = why == _TAKEN_OUT["price"] and not _has_main_clause(working.text)
    return why if hangs or not worth.words(working.text) else ""


def _without_hanging_start(working: Working) -> None:
    """Take out an opening clause that belonged to what was taken out before it ("which is the cheapest in the book")."""
    stretches = wording.clauses(working.text)
    first = worth.words(working.text)[:1]
    if len(stretches) > 1 and first and first[0] in {"which", "who", "whose", "where"}:
        working.replace(*stretches[0], "", _TAKEN_OUT["price"])


def _has_main_clause(text: str) -> bool:
    """Return whether a clause with a verb is left that needs no other ("if you were wondering" does)."""
    stretches = [text[start:end] for start, end in wording.clauses(text)]
    return any(worth.has_finite_verb(one) and not wording.depends(one) for one in stretches) or quantity_left(text)


def quantity_left(text: str) -> bool:
    """Return whether a figure is left in the text."""
    return any(char.isdigit() for char in text)


def _cleared(working: Working, spoken: Sequence[str], found: list[Mark], reason: str) -> bool:
    """Take the words out with their clauses; return whether none of them is left."""
    keep = [
        (mark.shown if mark.shown is not None else working.source[mark.start : mark.end]).lower()
        for mark in found
        if mark.kind in {"name", "size"} and mark.end > mark.start
    ]

    def bad(text: str) -> bool:
        return any(words in text.lower() for words in spoken)

    def good(text: str) -> bool:
        return any(words in text.lower() for words in keep)

    if reason == _TAKEN_OUT["price"]:
        _price_phrases(working, spoken)
    return wording.without_clauses(working, bad, good, reason)


_BEFORE_PRICE = (
    r"(?:(?:it|they|that|this|those|these|which|that one|this one|each|both)(?:'s|'re|'ll be| is| are| was| were| costs?"
    r"| comes? (?:in|to|in at|out at)| will be| would be)|for|at|just|only|costs?|about|and|so|is|are|was|were|priced at) "
)
_AFTER_PRICE = r"(?: (?:each|apiece|a piece|a \w+|per \w+|for (?:that|this|the \w+)(?: one)?|the (?:pair|set|lot|pack)))?"
_LEFT_HANGING = frozenset("and so it they that this which for at is are was were it's they're that's but just only then".split())


def _price_phrases(working: Working, spoken: Sequence[str]) -> None:
    """Take out the price with the few words that belong to it ("for five dollars", "it's £18", "£6 each")."""
    words = "|".join(re.escape(text) for text in sorted(spoken, key=len, reverse=True))
    phrase = re.compile(rf"(?:^|(?<= ))(?:{_BEFORE_PRICE}){{0,3}}(?:{words}){_AFTER_PRICE}\s*(?=[,.;?!]|$)", re.IGNORECASE)
    for start, end in reversed(wording.clauses(working.text)):
        clause = working.text[start:end]
        hit = phrase.search(clause)
        if not hit:
            continue
        rest = clause[: hit.start()] + clause[hit.end() :]
        hangs = set(worth.words(rest)) <= _LEFT_HANGING or (worth.has_finite_verb(clause) and not worth.has_finite_verb(rest))
        first, last = (0, len(clause)) if hangs else hit.span()
        keep_stop = end == len(working.text) and last == len(clause) and clause.rstrip()[-1:] in ".!?"
        working.replace(start + first, start + last - keep_stop, "", _TAKEN_OUT["price"])


def _why_not(line: Line, *, opening: bool) -> str:
    """Return why a written line should be left out, or nothing."""
    fact = line.holds_fact or (
        line.kind == "step" and not line.text.lower().startswith("let's") and line.text.count(" ") > 0
    )
    reason = worth.reason_to_leave_out(line.text, holds_fact=fact)
    is_intro = opening and _is_intro(line.text)
    if reason and not (is_intro and reason == "plan of the talk"):
        return reason
    if fact or is_intro or line.kind == "advice":
        return "" if not opening or fact or is_intro else "opening talk"
    if opening:
        return "opening talk"
    if line.kind == "talk" and not line.holds_figure and (len(worth.words(line.text)) < 6 or not worth.has_finite_verb(line.text)):
        return "fragment"
    return ""


@cache
def _intro_patterns() -> tuple[re.Pattern[str], ...]:
    return tuple(re.compile(pattern, re.IGNORECASE) for pattern in worth.rules()["intro"]["patterns"])


def _is_intro(text: str) -> bool:
    return any(pattern.search(text) for pattern in _intro_patterns()) or bool(re.match(worth.rules()["intro"]["is_a"], text, re.I))


def _line(piece: Working, sentence: Sentence, found: list[Mark]) -> Line:
    part = replace(piece.part(), sentence=sentence.index)
    text = tidied(piece.text)
    inside = [mark for mark in found if mark.start < piece.end and piece.start < mark.end]
    fact = any(mark.kind in {"name", "size", "fact"} for mark in inside)
    start, end = sentence.time_of(piece.start, piece.end)
    figure = any(mark.kind == "figure" for mark in inside)
    return Line(text, worth.kind_of(text), start, end, (part,), _links(text, inside, sentence), fact, figure)


def _links(text: str, inside: list[Mark], sentence: Sentence) -> tuple[Link, ...]:
    links = []
    for mark in inside:
        name = mark.shown if mark.shown is not None else sentence.text[mark.start : mark.end]
        at = text.lower().find(name.lower())
        if (
            mark.kind == "name"
            and mark.code
            and at >= 0
            and not any(at < one.end and one.start < at + len(name) for one in links)
        ):
            links.append(Link(at, at + len(name), mark.code))
    return tuple(sorted(links, key=lambda link: link.start))


# --- parting and joining ---------------------------------------------------------------------------------------------


def _pieces(working: Working) -> list[Working]:
    """Part a sentence where a clause could stand by itself; every piece keeps its own edits."""
    text = working.text
    is_long = len(worth.words(text)) > LONG_WORDS
    for start, end in wording.joints(text, long=is_long):
        first, second = _parted(working, start, end)
        wording.write(first)
        wording.write(second)
        return [*([first] if worth.words(first.text) else []), *_pieces(second)]
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


def _joined(lines: list[Line], document: Document) -> tuple[list[Line], list[LeftOut]]:
    """Give each fragment a place: an item of a list where it holds a fact, else part of the sentence before, else out."""
    kept: list[Line] = []
    left: list[LeftOut] = []
    for line in lines:
        if worth.has_finite_verb(line.text):
            kept.append(line)
        elif line.holds_fact or line.holds_figure:
            kept.append(replace(line, kind="item", text=line.text.rstrip(".")))
        elif kept and kept[-1].kind != "item" and len(worth.words(line.text)) > 2 and _fit_together(kept[-1], line):
            kept[-1] = _together(kept[-1], line, document)
        else:
            left.append(LeftOut(line.text, "fragment", line.start_ms, line.end_ms))
    return _lone_items(kept, document), left


def _fit_together(before: Line, line: Line) -> bool:
    close = line.start_ms - before.end_ms < 4000
    return close and len(worth.words(before.text)) + len(worth.words(line.text)) <= LONGEST_WORDS


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


def _lowered(part: Part, line: Line, document: Document) -> Part:
    """Return the part without the capital of its sentence, unless a name or "I" begins it."""
    first = document.sentences[part.sentence].text[part.start : part.end].lstrip()[:1]
    at = document.sentences[part.sentence].text.find(first, part.start) if first else -1
    named = any(link.start == 0 for link in line.links) or worth.words(line.text)[0] == "i" or worth.words(line.text)[0].startswith("i'")
    if at < 0 or named or not first.isupper() or any(edit.start <= at < edit.end for edit in part.edits):
        return part
    return replace(part, edits=tuple(sorted((*part.edits, Edit(at, at + 1, first.lower(), "joined")), key=lambda one: one.start)))


def _lone_items(lines: list[Line], document: Document) -> list[Line]:
    """Join an item that stands alone to the sentence before it; only two or more make a list."""
    kept: list[Line] = []
    for at, line in enumerate(lines):
        neighbours = [other for other in (*lines[max(0, at - 1) : at], *lines[at + 1 : at + 2]) if other.kind == "item"]
        if line.kind == "item" and not neighbours and kept and _fit_together(kept[-1], line):
            kept[-1] = _together(kept[-1], line, document)
        else:
            kept.append(line)
    return kept


def _without_duplicates(lines: Sequence[Line]) -> tuple[list[Line], list[LeftOut]]:
    """Keep the longer of two sentences that say the same in nearly the same words (Jaccard index of their words)."""
    kept: list[Line] = []
    left: list[LeftOut] = []
    sets: list[frozenset[str]] = []
    for line in lines:
        bag = frozenset(worth.words(line.text))
        twin = next((at for at, other in enumerate(sets) if len(bag & other) >= DUPLICATE * len(bag | other)), None)
        if twin is None:
            kept.append(line)
            sets.append(bag)
            continue
        shorter, longer = sorted((kept[twin], line), key=lambda one: len(one.text))
        kept[twin], sets[twin] = longer, frozenset(worth.words(longer.text))
        left.append(LeftOut(shorter.text, "said twice", shorter.start_ms, shorter.end_ms))
    return sorted(kept, key=lambda line: line.start_ms), left


def _sections(lines: Sequence[Line], chapters: Sequence[Chapter], left: tuple[LeftOut, ...]) -> Draft:
    """Put the lines under their chapters; what comes before the second chapter opens the post."""
    ends = [*(chapter.start_ms for chapter in chapters[1:]), None]
    sections = [
        Section(
            chapter.title,
            chapter.start_ms,
            tuple(
                line
                for line in lines
                if line.start_ms >= (chapter.start_ms if at else 0) and (end is None or line.start_ms < end)
            ),
        )
        for at, (chapter, end) in enumerate(zip(chapters, ends, strict=True))
    ] or [Section("", 0, tuple(lines))]
    intro = sections[0].lines if len(sections) > 1 else ()
    rest = sections[1:] if len(sections) > 1 else sections
    return Draft(intro, tuple(section for section in rest if section.lines), left)


def spoken(document: Document) -> Iterator[str]:
    """Yield every spoken word."""
    for sentence in document.sentences:
        yield from worth.words(sentence.text)
