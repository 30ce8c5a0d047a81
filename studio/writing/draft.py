"""The post in the person's own sentences: chosen, cleaned, in order, each with where it was said and its changes."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from studio import rule_files
from studio.model import Catalogue, Chapter, Document, Sentence, Span
from studio.writing import clearing, joining, wording, worth
from studio.writing.marks import SentenceMark, marks
from studio.writing.redaction import Working, tidied
from studio.writing.written import Draft, LeftOut, Line, Link, Section

_OFFER_WORDS = re.compile(r"\b(?:offers?|deals?|sale|selling|promotions?|bargains?)\b", re.IGNORECASE)


def draft(document: Document, catalogue: Catalogue, keep_names: tuple[str, ...] = ()) -> Draft:
    """Write the post's body from the sentences.

    Args:
        document: everything known; sentences must be in order of time.
        catalogue: where names come from.
        keep_names: people who agreed to be named.
    """
    known = marks(document, catalogue)
    kept: list[Line] = []
    left: list[LeftOut] = []
    agreed = {name.lower() for name in keep_names}
    opening_ms = document.chapters[1].start_ms if len(document.chapters) > 1 else 0
    offer_chapters = _chapters_with_offers(document, known)
    for sentence in document.sentences:
        found = [mark for mark in known.get(sentence.index, []) if not _agreed(mark, sentence, agreed)]
        lines, reasons = _written(sentence, found, document, opening=sentence.start_ms < opening_ms)
        left += reasons
        for line in lines:
            why = _out_of_place(line, left, offer_chapters)
            if why:
                left.append(LeftOut(line.text, why, line.start_ms, line.end_ms))
            else:
                kept.append(line)
    lines_, merged = joining.lines_joined(kept, document)
    lines_, twice = joining.without_duplicates(lines_)
    left = sorted([*left, *merged, *twice], key=lambda one: one.start_ms)
    return _sections(lines_, document.chapters, tuple(left))


def _chapters_with_offers(document: Document, known: dict[int, list[SentenceMark]]) -> list[Span]:
    """Return the chapters that mostly tell offers: from the first offer in them to their end."""
    starts = [chapter.start_ms for chapter in document.chapters]
    ends = [*starts[1:], document.recording.duration_ms]
    spans = []
    for start, end in zip(starts, ends, strict=False):
        inside = [sentence for sentence in document.sentences if start <= sentence.start_ms < end]
        told = [one for one in inside if any(mark.kind == "offer" for mark in known.get(one.index, []))]
        if len(told) * 5 >= len(inside) and told:
            spans.append(Span(start_ms=start, end_ms=end))
    return spans


def _out_of_place(line: Line, left: Sequence[LeftOut], offer_chapters: Sequence[Span]) -> str:
    """Return why a line cannot stay where it is: it speaks of somebody who is out, or it only leads to an offer."""
    first = worth.said_words(line.text)[:1]
    about_somebody = bool(first) and first[0] in {"he", "she", "his", "her", "he's", "she's"} and not line.holds_fact
    if about_somebody and left and left[-1].reason in {"aside", "names a person", "opening talk"}:
        return "aside"
    around = Span(start_ms=line.start_ms, end_ms=max(line.start_ms + 1, line.end_ms))
    bare = not line.links and not line.holds_fact
    if line.kind != "step" and (bare or _OFFER_WORDS.search(line.text)) and _overlaps(around, offer_chapters):
        return "talk around the offer"
    return ""


def _agreed(mark: SentenceMark, sentence: Sentence, agreed: set[str]) -> bool:
    return mark.kind == "named" and sentence.text[mark.start : mark.end].lower() in agreed


# --- one sentence ----------------------------------------------------------------------------------------------------


def _written(
    sentence: Sentence, found: list[SentenceMark], document: Document, *, opening: bool
) -> tuple[list[Line], list[LeftOut]]:
    """Return the lines that come of one sentence, and what of it was left out."""
    said = Span(start_ms=sentence.start_ms, end_ms=sentence.end_ms)
    if _overlaps(said, document.struck):
        return [], [_left(sentence, "struck out by hand")]
    wanted = _overlaps(said, document.put_back)
    working = Working(sentence.text, 0, len(sentence.text))
    for mark in sorted((mark for mark in found if mark.shown is not None), key=lambda mark: -mark.start):
        working.replace(*_at(working, mark), mark.shown or "", _RULES[mark.kind])
    reason = "" if wanted else clearing.unfit(working, found)
    if reason:
        return [], [_left(sentence, reason)]
    wording.reword(working)
    clearing.without_tail(working)
    whole = _why_not(_line(working, sentence, found), opening=opening)
    lines, left = [], []
    for piece in joining.pieces(working):
        line = _line(piece, sentence, found)
        why = "" if wanted else _why_not(line, opening=opening)
        why = "" if why in {"fragment", "says nothing by itself"} and not whole else why
        talk = line.kind == "talk" and not line.holds_fact and not line.holds_figure
        why = why or (whole if talk and not wanted and not (opening and _is_intro(line.text)) else "")
        if why:
            left.append(_left(sentence, why, piece.start, piece.end))
        elif worth.said_words(line.text):
            lines.append(line)
    return lines, left


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


def _left(sentence: Sentence, reason: str, start: int = 0, end: int | None = None) -> LeftOut:
    end = len(sentence.text) if end is None else end
    return LeftOut(sentence.text[start:end].strip(), reason, *sentence.time_of(start, end))


def _why_not(line: Line, *, opening: bool) -> str:
    """Return why a written line should be left out, or nothing."""
    step = line.kind == "step" and not line.text.lower().startswith("let's") and " " in line.text
    reason = worth.reason_to_leave_out(line.text, holds_fact=line.holds_fact)
    is_intro = opening and _is_intro(line.text)
    if reason and not (reason == "aside" and step) and not (reason == "plan of the talk" and is_intro):
        return reason
    if opening:
        return "" if is_intro or line.links else "opening talk"
    if line.holds_fact or step:
        return ""
    return _says_too_little(line)


def _says_too_little(line: Line) -> str:
    said = worth.said_words(line.text)
    if len(said) <= clearing.SHORT and not line.holds_figure and not wording.protected() & set(said):
        return "says nothing by itself"
    talk = line.kind == "talk" and not line.holds_figure and not joining.is_list(line.text)
    return "fragment" if talk and not worth.has_finite_verb(line.text) else ""


def _is_intro(text: str) -> bool:
    opens = rule_files.pattern(worth.FILE, "intro", "is_a").match(text) is not None
    return opens or any(pattern.search(text) for pattern in rule_files.patterns(worth.FILE, "intro", "patterns"))


def _line(piece: Working, sentence: Sentence, found: list[SentenceMark]) -> Line:
    part = replace(piece.part(), sentence=sentence.index)
    text = tidied(piece.text)
    inside = [mark for mark in found if mark.start < piece.end and piece.start < mark.end]
    fact = any(mark.kind in {"name", "size", "fact"} for mark in inside)
    start, end = sentence.time_of(piece.start, piece.end)
    figure = any(mark.kind == "figure" for mark in inside)
    return Line(text, worth.kind_of(text), start, end, (part,), _links(text, inside, sentence), fact, figure)


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
    """Put the lines under their chapters; what comes before the second chapter opens the post."""
    if not chapters:
        return Draft((), (Section("", 0, tuple(lines)),) if lines else (), left)
    ends = [*(chapter.start_ms for chapter in chapters[1:]), float("inf")]
    sections = [
        Section(chapter.title, chapter.start_ms, tuple(one for one in lines if start <= one.start_ms < end))
        for chapter, start, end in zip(chapters, [0, *ends[:-1]], ends, strict=True)
    ]
    intro = sections[0].lines if len(sections) > 1 else ()
    rest = sections[1:] if len(sections) > 1 else sections
    return Draft(intro, tuple(section for section in rest if section.lines), left)
