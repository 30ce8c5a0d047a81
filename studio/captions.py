"""Captions from word times and pauses, with corrected names; written as WebVTT and SubRip, and checked."""

import html
from collections.abc import Sequence
from pathlib import Path

from studio import caption_cues, caption_rules, spelling, timecode
from studio.caption_files import Cue, read_cues
from studio.caption_rules import Breach, check, rules
from studio.model import Catalogue, Document, Span, Word
from studio.settings import Settings

__all__ = ["Breach", "check", "check_file", "cues", "files", "rules", "srt", "vtt"]


def files(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str]:
    """Return `captions.vtt` and `captions.srt`."""
    made = cues(document, settings)
    return {"captions.vtt": vtt(made), "captions.srt": srt(made)}


def cues(document: Document, settings: Settings) -> tuple[Cue, ...]:
    """Return the captions of a document: every word once and in order, names as they are spelt."""
    heard = [word for segment in document.transcript.segments for word in segment.words]
    inside = _clipped(heard, document.transcript.speech)
    shown = caption_cues.in_order(spelling.shown(inside, document.spellings))
    by = caption_rules.rules(settings.captions, document.recording)
    return caption_cues.cues(shown, by, _held(shown, document, by["line_length_preferred"].figure))


def check_file(path: Path) -> tuple[Breach, ...]:
    """Return every breach of the rules in a WebVTT or SubRip file.

    Raises:
        CaptionsError: the file cannot be read.
    """
    return caption_rules.check(read_cues(path), caption_rules.rules())


def vtt(made: Sequence[Cue]) -> str:
    """Return the captions as a WebVTT file (W3C WebVTT, section 4)."""
    blocks = (
        f"{timecode.vtt(cue.start_ms)} --> {timecode.vtt(cue.end_ms)}\n"
        + "\n".join(html.escape(line, quote=False) for line in cue.lines)
        for cue in made
    )
    return "WEBVTT\n\n" + "\n\n".join(blocks) + "\n"


def srt(made: Sequence[Cue]) -> str:
    """Return the captions as a SubRip file; it knows no escapes, so signs of markup are shown by their likes."""
    likes = str.maketrans({"<": "‹", ">": "›", "{": "(", "}": ")"})
    blocks = (
        f"{number}\n{timecode.srt(cue.start_ms)} --> {timecode.srt(cue.end_ms)}\n"
        + "\n".join(line.translate(likes) for line in cue.lines)
        for number, cue in enumerate(made, start=1)
    )
    return "\n\n".join(blocks) + "\n"


def _clipped(words: Sequence[Word], speech: Sequence[Span]) -> list[Word]:
    """Take silence off the ends of words: a recogniser often lets the last word before a pause last through it."""
    if not speech:
        return list(words)
    clipped, at = [], 0
    for word in words:
        while at < len(speech) - 1 and speech[at].end_ms <= word.start_ms:
            at += 1
        span = speech[at]
        ends_inside = span.start_ms <= word.start_ms < span.end_ms < word.end_ms
        clipped.append(word.but(end_ms=span.end_ms) if ends_inside else word)
    return clipped


def _held(words: Sequence[Word], document: Document, longest: int) -> frozenset[int]:
    """Return the places of words inside a product name that fits a line."""
    names = sorted((m.start_ms, m.end_ms) for m in document.mentions if m.code and len(m.heard) <= longest)
    held, at = set(), 0
    for start, end in names:
        while at < len(words) and words[at].start_ms < start:
            at += 1
        place = at + 1
        while place < len(words) and words[place].end_ms <= end:
            held.add(place)
            place += 1
    return frozenset(held)
