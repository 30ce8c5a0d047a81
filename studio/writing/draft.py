"""The post in the person's own sentences: chosen, cleaned, in order, each with where it was said and its changes."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from studio.model import Catalogue, Chapter, Document, Sentence, Span
from studio.writing import choosing, clearing, joining, wording, worth
from studio.writing.marks import SentenceMark, marks
from studio.writing.redaction import Working, tidied
from studio.writing.written import Draft, LeftOut, Line, Link, Section

SHORT = 4
"""Words of a sentence that says nothing by itself, if it holds no item, size, step or warning."""
OPENING = 3
"""Sentences that open a post, at most."""


def draft(document: Document, catalogue: Catalogue, keep_names: tuple[str, ...] = ()) -> Draft:
    """Write the post's body from the sentences.

    Args:
        document: everything known; sentences must be in order of time.
        catalogue: where names come from.
        keep_names: people who agreed to be named.
    """
    known = marks(document, catalogue)
    agreed = {name.lower() for name in keep_names}
    opening_ms = document.chapters[1].start_ms if len(document.chapters) > 1 else 0
    holding = {index for index, found in known.items() if _holds(found)}
    reasons = choosing.reasons(document.sentences, holding, opening_ms)
    kept: list[Line] = []
    left: list[LeftOut] = []
    for sentence in document.sentences:
        found = [mark for mark in known.get(sentence.index, []) if not _agreed(mark, sentence, agreed)]
        lines, out = _written(sentence, found, document, reasons.get(sentence.index, ""))
        kept += lines
        left += out
    lines_, merged = joining.lines_joined(kept, document)
    lines_, twice = joining.without_duplicates(lines_)
    left = sorted([*left, *merged, *twice], key=lambda one: one.start_ms)
    return _sections(lines_, document.chapters, tuple(left))


def _holds(found: Iterable[SentenceMark]) -> bool:
    """Return whether a sentence names a row of the catalogue or tells a size."""
    return any(mark.kind in {"name", "size"} for mark in found)


def _agreed(mark: SentenceMark, sentence: Sentence, agreed: set[str]) -> bool:
    return mark.kind == "named" and sentence.text[mark.start : mark.end].lower() in agreed


# --- one sentence ----------------------------------------------------------------------------------------------------


def _written(
    sentence: Sentence, found: list[SentenceMark], document: Document, why: str
) -> tuple[list[Line], list[LeftOut]]:
    """Return the lines that come of one sentence, and what of it was left out."""
    said = Span(start_ms=sentence.start_ms, end_ms=sentence.end_ms)
    if _overlaps(said, document.struck):
        return [], [_left(sentence, "struck out by hand")]
    wanted = _overlaps(said, document.put_back)
    working = Working(sentence.text, 0, len(sentence.text))
    for mark in sorted((mark for mark in found if mark.shown is not None), key=lambda mark: -mark.start):
        working.replace(*_at(working, mark), mark.shown or "", _RULES[mark.kind])
    reason = "" if wanted else clearing.unfit(working, found) or why
    if reason:
        return [], [_left(sentence, reason)]
    wording.reword(working)
    lines = [_line(piece, sentence, found) for piece in joining.pieces(working)]
    if not wanted and all(_says_too_little(line) for line in lines):
        return [], [_left(sentence, "says nothing by itself")]
    return [line for line in lines if worth.said_words(line.text)], []


_RULES = {
    "name": "the catalogue's name",
    "size": "printed size",
    "spelling": "spelling",
    "withdrawn": "corrected aloud",
    "repeated": "in the name already",
    "unsettled": "not settled",
}


def _overlaps(span: Span, others: Iterable[Span]) -> bool:
    return any(span.start_ms < other.end_ms and other.start_ms < span.end_ms for other in others)


def _at(working: Working, mark: SentenceMark) -> tuple[int, int]:
    """Return the place of a mark in the text as it stands; marks are laid from the last to the first."""
    return mark.start - working.start, mark.end - working.start


def _left(sentence: Sentence, reason: str) -> LeftOut:
    return LeftOut(sentence.text.strip(), reason, *sentence.time_of(0, len(sentence.text)))


def _says_too_little(line: Line) -> bool:
    """Return whether a line is too short to tell anything by itself; an instruction is so only as a word ("So.")."""
    said = worth.said_words(line.text)
    short = len(said) < 2 if line.kind in joining.NEVER_DROPPED else len(said) <= SHORT
    held = line.holds_fact or line.holds_figure or wording.protected() & set(said) or wording.numbers(line.text)
    return short and not held and not worth.opens_instruction(line.text)


def _line(piece: Working, sentence: Sentence, found: list[SentenceMark]) -> Line:
    part = replace(piece.part(), sentence=sentence.index)
    text = tidied(piece.text)
    inside = [mark for mark in found if mark.start < piece.end and piece.start < mark.end]
    fact = any(mark.kind in {"name", "size", "fact"} for mark in inside)
    start, end = sentence.time_of(piece.start, piece.end)
    figure = any(mark.kind == "figure" for mark in inside)
    return Line(text, sentence.kind, start, end, (part,), _links(text, inside, sentence), fact, figure)


def _links(text: str, inside: list[SentenceMark], sentence: Sentence) -> tuple[Link, ...]:
    links: list[Link] = []
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


def _sections(lines: Sequence[Line], chapters: Sequence[Chapter], left: tuple[LeftOut, ...]) -> Draft:
    """Put the lines under their chapters; what the first of several tells before its first step opens the post."""
    if not chapters:
        return Draft((), (Section("", 0, tuple(lines)),) if lines else (), left)
    ends = [*(chapter.start_ms for chapter in chapters[1:]), float("inf")]
    parts = [
        [one for one in lines if start <= one.start_ms < end] for start, end in zip([0, *ends[:-1]], ends, strict=True)
    ]
    first = next((at for at, line in enumerate(parts[0]) if line.kind == "step"), OPENING)
    intro = parts[0][: min(first, OPENING)] if len(parts) > 1 else []
    parts[0] = parts[0][len(intro) :]
    told = zip(chapters, parts, strict=True)
    sections = tuple(Section(one.title, one.start_ms, tuple(part)) for one, part in told if part)
    return Draft(tuple(intro), sections, left)
