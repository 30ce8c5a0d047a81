"""What was heard: words with their times, sentences, spellings, self-corrections."""

from bisect import bisect_right
from typing import Literal

from studio.model.base import Ms, Part

SentenceKind = Literal["step", "tip", "fact", "warning", "offer", "chat", "greeting", "viewer"]


class Span(Part):
    """A stretch of time."""

    start_ms: Ms
    end_ms: Ms


class Word(Span):
    """One word as heard, with its punctuation."""

    text: str
    confidence: float | None = None
    """0 to 1 from the recogniser; None where the times were worked out from a caption file."""


class Segment(Span):
    """A block as the recogniser or the caption file cut it."""

    text: str
    words: tuple[Word, ...] = ()


class Transcript(Part):
    """What was heard, unchanged."""

    language: str
    recogniser: str
    """Name and checksum of the model, or the format of the caption file."""
    segments: tuple[Segment, ...] = ()
    speech: tuple[Span, ...] = ()
    """Where voice activity was found in the sound; empty when a caption file was given."""
    missed: tuple[Span, ...] = ()
    """Where the sound is like speech and no voice activity was found: nothing was heard there."""
    heard_ms: Ms = 0
    """Length of the sound that could be decoded."""


class Spelling(Span):
    """What is shown in place of what was heard: a catalogue name, or a person's correction."""

    heard: str
    shown: str
    source: Literal["catalogue", "person", "settings"]


class SentenceWord(Word):
    """A word and its place in the text of its sentence."""

    start: int
    """Index of its first character in the sentence."""
    end: int


class Sentence(Span):
    """A sentence rebuilt from word times, pauses and punctuation.

    `text` is the words joined by single spaces, so that each word's `start` and `end` index into it.
    """

    index: int
    text: str
    words: tuple[SentenceWord, ...]
    pause_before_ms: Ms = 0
    kind: SentenceKind = "fact"
    """What it does: "fact" where nothing read the talk; "viewer" is talk to one viewer, "chat" all else."""

    def time_of(self, start: int, end: int) -> tuple[int, int]:
        """Return the start and end in milliseconds of the characters `start` to `end` of the text."""
        if not self.words:
            return self.start_ms, self.end_ms
        starts = [word.start for word in self.words]
        first = max(0, bisect_right(starts, start) - 1)
        last = max(first, bisect_right(starts, max(start, end - 1)) - 1)
        return self.words[first].start_ms, self.words[last].end_ms


class Correction(Span):
    """A self-correction heard: the last value stands."""

    wrong: str
    right: str
    cue: str
    """The words that mark it ("no", "sorry", "I mean")."""


class Sense(Part):
    """What the reader holds a sentence to be; every figure is a probability from 0 to 1."""

    index: int
    """Number of the sentence."""
    kinds: dict[str, float]
    """Of each kind: step, tip, fact, warning, offer, chat, greeting, viewer. They add up to 1."""
    starts: float
    """A new subject begins with it."""
    flags: dict[str, float]
    """Of the likeliest word of the sentence: that it is part of a warning, an offer, a withdrawn or final value, ..."""
