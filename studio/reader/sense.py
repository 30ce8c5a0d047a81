"""Sentence by sentence what the reader holds them to be: their kind, whether a subject begins, what they hold."""

from studio.model import Sense, Sentence
from studio.reader.model import model
from studio.reader.pieces import FLAGS
from studio.reader.reading import Words, read_words

VERSION = 1
BEGINNING = 3
"""Words at the beginning of a sentence that are asked whether a subject begins with them."""


def senses(sentences: tuple[Sentence, ...]) -> tuple[Sense, ...]:
    """Return of each sentence what it is; the whole talk is read at once, its marks and capitals as they stand."""
    said = [word.text for sentence in sentences for word in sentence.words]
    words, found, at = read_words(model(), said), [], 0
    for sentence in sentences:
        found.append(_sense(sentence, words, at, at + len(sentence.words)))
        at += len(sentence.words)
    return tuple(found)


def _sense(sentence: Sentence, words: Words, first: int, last: int) -> Sense:
    kinds = {kind: round(p, 3) for kind, p in words.kind(first, last).items()}
    starts = float(words.starts[first : min(last, first + BEGINNING)].max(initial=0.0))
    best = words.flags[first:last].max(0, initial=0.0)
    flags = {name: round(float(p), 3) for name, p in zip(FLAGS, best, strict=True)}
    return Sense(index=sentence.index, kinds=kinds, starts=round(starts, 3), flags=flags)
