"""Everything with a time moved to where it is after the person has trimmed the recording."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

from studio import language, timecode
from studio.errors import RetimeError
from studio.model import (
    Caution,
    Chapter,
    Cut,
    Document,
    Finding,
    Measure,
    Mention,
    Offer,
    Segment,
    Sentence,
    Span,
    Supply,
    Transcript,
    Word,
)

Timed = TypeVar("Timed", bound=Span)
_CUT = re.compile(r"\s*(?:and\s+)?(?:cut\s+)?([\d:.,]+?)\s*(?:-|–|to)\s*([\d:.,]+)\s*", re.IGNORECASE)
_BETWEEN = re.compile(r"[;\n]|,(?=\s*(?:and |cut )?\d+:)")
_REMEDY = 'Write it like "cut 0:00-0:12, 5:30-5:41", each end after its start.'


@dataclass(frozen=True)
class OffsetMap:
    """The stretches that were cut out, in ms of the recording as it was: ascending, apart from each other."""

    cuts: tuple[tuple[int, int], ...]

    def at(self, ms: int) -> int:
        """Return where a moment is now; a moment that was cut is where the cut is."""
        return ms - sum(max(0, min(ms, end) - start) for start, end in self.cuts)

    def is_gone(self, ms: int) -> bool:
        """Return whether the moment was cut out."""
        return any(start <= ms < end for start, end in self.cuts)

    def keeps(self, part: Span) -> bool:
        """Return whether anything of a stretch is left; of one without length, whether its moment is."""
        if part.end_ms <= part.start_ms:
            return not self.is_gone(part.start_ms)
        return self.at(part.end_ms) > self.at(part.start_ms)


def read(text: str) -> OffsetMap:
    """Read "cut 0:00-0:12, 5:30-5:41"; stretches that touch or overlap become one.

    Raises:
        RetimeError: the text is no such list.
    """
    pieces = [piece for piece in _BETWEEN.split(text) if piece.strip()]
    cuts = sorted(_cut(piece) for piece in pieces)
    if not cuts:
        raise RetimeError("Nothing to cut was given.", _REMEDY)
    joined = [cuts[0]]
    for start, end in cuts[1:]:
        if start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return OffsetMap(tuple(joined))


def _cut(piece: str) -> tuple[int, int]:
    match = _CUT.fullmatch(piece[:100])
    try:
        start, end = (timecode.read_clock(clock) for clock in match.groups()) if match else (0, 0)
    except ValueError:
        start, end = 0, 0
    if end <= start:
        raise RetimeError(f"{piece.strip()[:60]!r} is no stretch of time.", _REMEDY)
    return start, end


def apply(document: Document, by: OffsetMap) -> Document:
    """Return the document of the trimmed recording: what was cut is gone, everything else has its new time.

    A chapter whose start was cut begins at the cut, as long as something of it is left. A still keeps its picture.
    """
    mentions = _kept(document.mentions, by)
    measures = _kept(document.measures, by)
    recording = document.recording.but(duration_ms=by.at(document.recording.duration_ms))
    return document.but(  # type: ignore[no-any-return]
        recording=recording,
        transcript=_transcript(document.transcript, by),
        spellings=_kept(document.spellings, by),
        sentences=_sentences(document.sentences, by),
        corrections=_kept(document.corrections, by),
        mentions=mentions,
        supplies=_supplies(document.supplies, mentions),
        measures=measures,
        cuts=_cuts(document.cuts, measures),
        chapters=_chapters(document.chapters, document.recording.duration_ms, by),
        offers=_started(document.offers, by),
        findings=_started(document.findings, by),
        cautions=_cautions(document.cautions, by),
        stills=tuple(still.but(at_ms=by.at(still.at_ms)) for still in document.stills),
    )


def _kept(parts: Iterable[Timed], by: OffsetMap) -> tuple[Timed, ...]:
    return tuple(part.but(start_ms=by.at(part.start_ms), end_ms=by.at(part.end_ms)) for part in parts if by.keeps(part))


def _transcript(heard: Transcript, by: OffsetMap) -> Transcript:
    segments = [segment for segment in (_segment(one, by) for one in heard.segments) if segment]
    return heard.but(  # type: ignore[no-any-return]
        segments=tuple(segments),
        speech=_kept(heard.speech, by),
        missed=_kept(heard.missed, by),
        heard_ms=by.at(heard.heard_ms),
    )


def _segment(segment: Segment, by: OffsetMap) -> Segment | None:
    words = _kept(segment.words, by)
    if not words:
        return None
    text = segment.text if len(words) == len(segment.words) else " ".join(word.text for word in words)
    return segment.but(  # type: ignore[no-any-return]
        start_ms=by.at(segment.start_ms), end_ms=by.at(segment.end_ms), text=text, words=words
    )


def _sentences(sentences: Sequence[Sentence], by: OffsetMap) -> tuple[Sentence, ...]:
    found: list[Sentence] = []
    for sentence in sentences:
        words = [Word(**word.model_dump(exclude={"start", "end"})) for word in _kept(sentence.words, by)]
        if words:
            pause = words[0].start_ms - (found[-1].end_ms if found else 0)
            found.append(language.sentence(len(found), words, max(0, pause)).but(kind=sentence.kind))
    return tuple(found)


def _supplies(rows: Sequence[Supply], mentions: Sequence[Mention]) -> tuple[Supply, ...]:
    """Keep the rows that are still spoken of; one that never was (a person's own) stays."""
    times = {mention.id: mention.start_ms for mention in mentions}
    kept = []
    for row in rows:
        ids = tuple(one for one in row.mention_ids if one in times)
        if ids:
            kept.append(row.but(mention_ids=ids, first_shown_ms=min(times[one] for one in ids)))
        elif not row.mention_ids:
            kept.append(row)
    return tuple(kept)


def _cuts(rows: Sequence[Cut], measures: Sequence[Measure]) -> tuple[Cut, ...]:
    left = {measure.id for measure in measures}
    return tuple(row for row in rows if not row.measure_ids or left & set(row.measure_ids))


def _chapters(chapters: Sequence[Chapter], end_ms: int, by: OffsetMap) -> tuple[Chapter, ...]:
    edges = [*(chapter.start_ms for chapter in chapters), end_ms]
    lengths = [by.at(end) - by.at(start) for start, end in pairwise(edges)]
    left = [chapter for chapter, length in zip(chapters, lengths, strict=True) if length > 0]
    return tuple(chapter.but(start_ms=by.at(chapter.start_ms)) for chapter in left)


Started = TypeVar("Started", Offer, Finding)


def _started(parts: Sequence[Started], by: OffsetMap) -> tuple[Started, ...]:
    return tuple(part.but(start_ms=by.at(part.start_ms)) for part in parts if not by.is_gone(part.start_ms))


def _cautions(cautions: Sequence[Caution], by: OffsetMap) -> tuple[Caution, ...]:
    moved = (
        caution.but(triggers_ms=tuple(by.at(ms) for ms in caution.triggers_ms if not by.is_gone(ms)))
        for caution in cautions
    )
    return tuple(caution for caution in moved if caution.triggers_ms)
