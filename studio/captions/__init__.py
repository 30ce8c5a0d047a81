"""Captions from word times and pauses, with corrected names; written as WebVTT and SubRip, and checked."""

import html
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from pathlib import Path

from studio import spelling, timecode
from studio.caption_files import Cue, read_cues
from studio.captions import optimiser
from studio.captions.rulebook import Breach, breaches, caption_rules
from studio.edition import Edition
from studio.model import Document, Span, Word
from studio.settings import Settings

_NEAR_MS = 400
"""A word that begins so near to the start of the sound is the one that it starts with."""
_ONSET_MS = 80
"""Voice activity is noticed so long after the true onset (measured on the sample: 50 to 130 ms)."""
__all__ = ["Breach", "breaches", "caption_rules", "captions_srt", "captions_vtt", "check_file", "cues", "files"]


def files(edition: Edition) -> dict[str, str]:
    """Return `captions.vtt` and `captions.srt`."""
    made = cues(edition.document, edition.settings)
    return {"captions.vtt": captions_vtt(made), "captions.srt": captions_srt(made)}


def cues(document: Document, settings: Settings) -> tuple[Cue, ...]:
    """Return the captions of a document: every word once and in order, names as they are spelt."""
    heard = [word for segment in document.transcript.segments for word in segment.words]
    inside = _fitted(heard, document.transcript.speech)
    shown = optimiser.in_order(spelling.shown(inside, document.spellings))
    by = caption_rules(settings.captions, document.recording)
    return optimiser.optimal_cues(shown, by, _held(shown, document, by["line_length_preferred"].figure))


def check_file(path: Path) -> tuple[Breach, ...]:
    """Return every breach of the rules in a WebVTT or SubRip file.

    Raises:
        CaptionsError: the file cannot be read.
    """
    return breaches(read_cues(path), caption_rules())


def captions_vtt(made: Sequence[Cue]) -> str:
    """Return the captions as a WebVTT file (W3C WebVTT, section 4)."""
    blocks = (
        f"{timecode.vtt(cue.start_ms)} --> {timecode.vtt(cue.end_ms)}\n"
        + "\n".join(html.escape(line, quote=False) for line in cue.lines)
        for cue in made
    )
    return "WEBVTT\n\n" + "\n\n".join(blocks) + "\n"


def captions_srt(made: Sequence[Cue]) -> str:
    """Return the captions as a SubRip file; it knows no escapes, so signs of markup are shown by their likes."""
    likes = str.maketrans({"<": "‹", ">": "›", "{": "(", "}": ")"})
    blocks = (
        f"{number}\n{timecode.srt(cue.start_ms)} --> {timecode.srt(cue.end_ms)}\n"
        + "\n".join(line.translate(likes) for line in cue.lines)
        for number, cue in enumerate(made, start=1)
    )
    return "\n\n".join(blocks) + "\n"


def _fitted(words: Sequence[Word], speech: Sequence[Span]) -> list[Word]:
    """Fit words to where there is sound: the first after a silence begins with it, the last before one ends with it.

    A recogniser often lets the word before a pause last through it, and begins the one behind it a little off.
    """
    if not speech:
        return list(words)
    starts = [span.start_ms for span in speech]
    fitted: list[Word] = []
    spoken_ms = 0
    for word in words:
        near = max(0, bisect_right(starts, word.start_ms + _NEAR_MS) - 1)
        span = speech[near]
        start, end = word.start_ms, word.end_ms
        begins = span.start_ms - _ONSET_MS
        if spoken_ms <= span.start_ms and abs(start - begins) <= _NEAR_MS and begins < end:
            start = max(spoken_ms, begins, 0)
        if start < span.end_ms < end:
            end = max(span.end_ms, start + 1)
        fitted.append(word.but(start_ms=start, end_ms=max(end, start)))
        spoken_ms = end
    return fitted


def _held(words: Sequence[Word], document: Document, longest: int) -> frozenset[int]:
    """Return the places of words inside a product name that fits a line; a word is where its middle is."""
    middles = [(word.start_ms + word.end_ms) // 2 for word in words]
    held: set[int] = set()
    for mention in document.mentions:
        if mention.code and len(mention.heard) <= longest:
            first, last = bisect_left(middles, mention.start_ms), bisect_right(middles, mention.end_ms)
            held |= set(range(first + 1, last))
    return frozenset(held)
