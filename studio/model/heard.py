"""What was heard: words with their times, sentences, spellings, self-corrections."""

from bisect import bisect_right
from typing import Literal

from studio.model.base import Ms, Part

SentenceKind = Literal["step", "tip", "fact", "warning", "offer", "chat", "greeting", "viewer"]


class Span(Part):
    """A stretch of time."""

    start_ms: Ms
    """Where it begins, in milliseconds from the start of the recording."""
    end_ms: Ms
    """Where it ends, in milliseconds from the start of the recording."""


class Word(Span):
    """One word as heard, with its punctuation."""

    text: str
    """The word as heard, with its punctuation."""
    confidence: float | None = None
    """0 to 1 from the recogniser; None where the times were worked out from a caption file."""


class Segment(Span):
    """A block as the recogniser or the caption file cut it."""

    text: str
    """All its words."""
    words: tuple[Word, ...] = ()
    """Its words with their times."""


class Transcript(Part):
    """What was heard, unchanged."""

    language: str
    """Language of the talk (BCP 47)."""
    recogniser: str
    """Name and checksum of the model, or the format of the caption file."""
    segments: tuple[Segment, ...] = ()
    """The blocks in their order."""
    speech: tuple[Span, ...] = ()
    """Where voice activity was found in the sound; empty when a caption file was given."""
    missed: tuple[Span, ...] = ()
    """Where the sound is like speech and no voice activity was found: nothing was heard there."""
    heard_ms: Ms = 0
    """Length of the sound that could be decoded."""


class Spelling(Span):
    """What is shown in place of what was heard: a catalogue name, or a person's correction."""

    heard: str
    """The words as they were heard."""
    shown: str
    """The words that are shown in their place."""
    source: Literal["catalogue", "person", "settings"]
    """Who says so: the catalogue, the person, or the settings."""


class SentenceWord(Word):
    """A word and its place in the text of its sentence."""

    start: int
    """Index of its first character in the sentence."""
    end: int
    """Index after its last character in the sentence."""


class Sentence(Span):
    """A sentence rebuilt from word times, pauses and punctuation.

    `text` is the words joined by single spaces, so that each word's `start` and `end` index into it.
    """

    index: int
    """Its number, counted from 0."""
    text: str
    """Its words, joined by single spaces."""
    words: tuple[SentenceWord, ...]
    """Its words, with their times and their places in `text`."""
    pause_before_ms: Ms = 0
    """Length of the silence before it, in milliseconds."""
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
    """The words withdrawn."""
    right: str
    """The words that stand in their place."""
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


class Naming(Span):
    """Words of the talk that may name rows of the catalogue; every figure is a probability from 0 to 1."""

    heard: str
    """The words."""
    rows: dict[str, float]
    """Of each row that they may mean, by its catalogue code, the likeliest first."""
    meanings: dict[str, float]
    """What is meant: shown, mentioned, rejected, given, own, or said (something of the row). They add up to 1."""
    talk: float
    """They stand in chat or in what a viewer says."""
