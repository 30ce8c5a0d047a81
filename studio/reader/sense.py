"""Sentence by sentence what the reader holds them to be: their kind, whether a subject begins, what they hold."""

from typing import TYPE_CHECKING

from studio.model import Sense, Sentence, SentenceKind
from studio.reader.pieces import FLAGS

if TYPE_CHECKING:
    from studio.reader.reading import Words

VERSION = 1
BEGINNING = 3
"""Words at the beginning of a sentence that are asked whether a subject begins with them."""


STEP, WARNING, TALK, WARNS = 0.4, 0.4, 0.5, 0.5
"""Probabilities from which a sentence is a step, is a warning, or is talk (chat, greeting and viewer together).

From `WARNS` on, for one of its words, it may warn, and is no talk. Set on the tune hands: tests/talks/README.md.
"""
_TALK: tuple[SentenceKind, ...] = ("chat", "greeting", "viewer")
_KEPT: tuple[SentenceKind, ...] = ("fact", "tip", "offer")


def kind(sense: Sense) -> SentenceKind:
    """Return what a sentence is taken to be; what warns comes before what instructs, and that before all else."""
    if sense.kinds["warning"] >= WARNING:
        return "warning"
    if sense.kinds["step"] >= STEP:
        return "step"
    talk = sum(sense.kinds[name] for name in _TALK) >= TALK and sense.flags["warn"] < WARNS
    return max(_TALK if talk else _KEPT, key=lambda name: sense.kinds[name])


def kinds(senses: tuple[Sense, ...]) -> tuple[SentenceKind, ...]:
    """Return what each sentence is taken to be."""
    return tuple(kind(one) for one in senses)


def senses(sentences: tuple[Sentence, ...]) -> tuple[Sense, ...]:
    """Return of each sentence what it is; the whole talk is read at once, its marks and capitals as they stand."""
    from studio.reader.model import model
    from studio.reader.reading import read_words

    said = [word.text for sentence in sentences for word in sentence.words]
    words, found, at = read_words(model(), said), [], 0
    for sentence in sentences:
        found.append(_sense(sentence, words, at, at + len(sentence.words)))
        at += len(sentence.words)
    return tuple(found)


def _sense(sentence: Sentence, words: "Words", first: int, last: int) -> Sense:
    kinds = {kind: round(p, 3) for kind, p in words.kind(first, last).items()}
    starts = float(words.starts[first : min(last, first + BEGINNING)].max(initial=0.0))
    best = words.flags[first:last].max(0, initial=0.0)
    flags = {name: round(float(p), 3) for name, p in zip(FLAGS, best, strict=True)}
    return Sense(index=sentence.index, kinds=kinds, starts=round(starts, 3), flags=flags)
