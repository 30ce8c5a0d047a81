"""A marked talk as words with times, in three forms: as spoken, as a recogniser writes it, as old captions are.

The times are worked out, not heard: about 150 words a minute, the silences that the talk tells, and short ones between
lines that follow from the text itself, so that the same talk always has the same times. All forms share them.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Literal
from zlib import crc32

from studio.model import Segment, Transcript, Word
from studio.reader.digits import in_digits
from studio.reader.talks import Talk

Form = Literal["spoken", "recogniser", "captions"]
FORMS: tuple[Form, ...] = ("spoken", "recogniser", "captions")
_FIRST_MS, _LETTER_MS, _GAP_MS, _LONGEST_MS = 95, 48, 30, 620
_PAUSE_MS, _PAUSE_SPREAD_MS = 220, 620
_CUE_MS, _CUE_SPREAD_MS = 4000, 4000
_FILLERS = frozenset({"um", "uh", "er", "erm"})


@dataclass(frozen=True)
class Timed:
    """A talk in one form."""

    transcript: Transcript
    at: tuple[tuple[tuple[int, int], ...], ...]
    """For each line and each of its written words: start and end in milliseconds."""
    origin: tuple[tuple[int, int], ...]
    """For each word of the transcript, in order: the line and the written word where it begins."""

    def span(self, line: int, first: int, last: int) -> tuple[int, int]:
        """Return when the words `first` to `last` (not included) of a line begin and end, in milliseconds."""
        return self.at[line][first][0], self.at[line][last - 1][1]


def timed(talk: Talk, form: Form) -> Timed:
    """Return a talk in one form, with its times."""
    at = _times(talk)
    said = [item for line in range(len(at)) for item in _words(talk, form, line, at[line])]
    words = tuple(word for word, _ in said)
    segments = _by_line(said) if form == "spoken" else _cues(talk, words)
    made = Transcript(language="en", recogniser=f"written: {form}", segments=tuple(segments))
    return Timed(made, at, tuple(origin for _, origin in said))


def _chance(*parts: object) -> float:
    """Return a number from 0 to 1 that follows from the parts alone."""
    return crc32(repr(parts).encode()) / 2**32


def _times(talk: Talk) -> tuple[tuple[tuple[int, int], ...], ...]:
    lines, now = [], 900
    for n, line in enumerate(talk.utterances):
        now += round(line.pause * 1000) or _PAUSE_MS + round(_PAUSE_SPREAD_MS * _chance(talk.name, n, line.text))
        spans = []
        for word in line.words:
            end = now + min(_LONGEST_MS, _FIRST_MS + _LETTER_MS * len(word))
            spans.append((now, end))
            now = end + _GAP_MS + (170 if word[-1] in ",;:" else 320 if word[-1] in ".?!" else 0)
        lines.append(tuple(spans))
    return tuple(lines)


def _words(talk: Talk, form: Form, n: int, at: tuple[tuple[int, int], ...]) -> Iterator[tuple[Word, tuple[int, int]]]:
    words = talk.utterances[n].words
    if form == "spoken":
        parts = [(word, k, k + 1) for k, word in enumerate(words)]
    else:
        parts = in_digits([word.lower() if form == "captions" else word for word in words], money=form == "recogniser")
        parts = _recognised(talk, n, parts) if form == "recogniser" else _bare(parts)
    for text, first, last in parts:
        yield Word(text=text, start_ms=at[first][0], end_ms=at[last - 1][1]), (n, first)


def _recognised(talk: Talk, n: int, parts: list[tuple[str, int, int]]) -> list[tuple[str, int, int]]:
    """Leave out fillers, lose a comma in four, and join a line in five to the next with a comma."""
    kept = [part for part in parts if part[0].lower().strip(".,") not in _FILLERS] or parts
    out = []
    for text, first, last in kept:
        lost = text.endswith(",") and _chance(talk.name, n, first, "comma") < 0.25
        out.append((text.rstrip(",") if lost else text, first, last))
    if out[-1][0].endswith(".") and _chance(talk.name, n, "stop") < 0.2:
        out[-1] = (out[-1][0][:-1] + ",", *out[-1][1:])
    joined = n > 0 and talk.utterances[n - 1].words[-1].endswith(".") and _chance(talk.name, n - 1, "stop") < 0.2
    if joined and not re.match(r"I\b|I'", out[0][0]):
        out[0] = (out[0][0][:1].lower() + out[0][0][1:], *out[0][1:])
    return out


def _bare(parts: list[tuple[str, int, int]]) -> list[tuple[str, int, int]]:
    stripped = [(re.sub(r"[.,;:?!…“”\"–—]+(?=\s|$)|^[“”\"–—]+", "", text), first, last) for text, first, last in parts]
    return [part for part in stripped if part[0]] or [("uh", parts[0][1], parts[0][2])]


def _by_line(said: list[tuple[Word, tuple[int, int]]]) -> Iterator[Segment]:
    for _, words in groupby(said, key=lambda one: one[1][0]):
        yield _segment(tuple(word for word, _ in words))


def _cues(talk: Talk, words: tuple[Word, ...]) -> Iterator[Segment]:
    """Cut the words every four to eight seconds, wherever that falls."""
    cue: list[Word] = []
    for word in words:
        long = _CUE_MS + _CUE_SPREAD_MS * _chance(talk.name, cue[0].start_ms) if cue else 0
        if cue and word.end_ms - cue[0].start_ms > long:
            yield _segment(tuple(cue))
            cue = []
        cue.append(word)
    yield _segment(tuple(cue))


def _segment(words: tuple[Word, ...]) -> Segment:
    text = " ".join(word.text for word in words)
    return Segment(start_ms=words[0].start_ms, end_ms=words[-1].end_ms, text=text, words=words)
