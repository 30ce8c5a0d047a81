"""A talk read: what each word is, and which row each stretch that names something means, and how surely."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from studio.reader.batches import Asked, Real
from studio.reader.marks import KINDS
from studio.reader.model import Reader, softmax
from studio.reader.pieces import EDGES, FLAGS, MEANINGS
from studio.reader.rows import EVIDENCE, Candidate, Rows, Scene, met

NAMES = 0.35
"""Probability from which a word is taken to be part of a name, to be looked at."""
MET = 0.5
"""Probability by the evidence alone from which a row counts as met."""
TRUST = 0.5
"""What the network's fit of the words counts beside the evidence; set on the tuning talks."""
ASKED = 8
"""Rows that the network is asked about; the others are ruled out by the evidence."""


@dataclass(frozen=True)
class Words:
    """What each word of a talk is, by probability."""

    said: tuple[str, ...]
    naming: Real
    """(words,): part of what names something."""
    begins: Real
    """(words,): the first word of it."""
    kinds: Real
    """(words, len(KINDS))."""
    starts: Real
    """(words,): the first word of a new subject."""
    stops: Real
    """(words,): the last word of a sentence."""
    flags: Real
    """(words, len(FLAGS))."""

    def flag(self, name: str) -> Real:
        """Return for each word the probability of one of `FLAGS`."""
        found: Real = self.flags[:, FLAGS.index(name)]
        return found

    def kind(self, first: int, last: int) -> dict[str, float]:
        """Return the mean probability of each kind of sentence from a word up to another."""
        mean = self.kinds[first:last].mean(0) if last > first else np.full(len(KINDS), 1 / len(KINDS))
        return dict(zip(KINDS, map(float, mean), strict=True))


@dataclass(frozen=True)
class Fits:
    """A stretch that names something."""

    first: int
    last: int
    rows: tuple[tuple[int, float], ...]
    """Rows that it may mean with their probabilities, the likeliest first."""
    none: float
    """Probability that it means none of the catalogue's rows."""
    meanings: Mapping[str, float]
    """Probability of each of `MEANINGS`."""


def read_words(model: Reader, said: Sequence[str]) -> Words:
    """Return what each word of a talk is; the last talk is remembered, since more than one stage asks about it."""
    return _read_words(model, tuple(said))


@lru_cache(maxsize=1)
def _read_words(model: Reader, said: tuple[str, ...]) -> Words:
    if not said:
        return Words((), *(np.zeros(0, np.float32),) * 2, np.zeros((0, len(KINDS)), np.float32),
                     *(np.zeros(0, np.float32),) * 2, np.zeros((0, len(FLAGS)), np.float32))  # fmt: skip
    heads = model.words(said)
    tag, edge = heads["tag"], heads["edge"]
    start, stop = (edge[:, EDGES.index(name)] for name in ("start", "stop"))
    return Words(said, 1 - tag[:, 0], tag[:, 1], heads["kind"], start, stop, heads["flag"])


def spans(words: Words, least: float = NAMES) -> list[tuple[int, int]]:
    """Return the stretches that may name something: first word, and the word after the last."""
    found: list[tuple[int, int]] = []
    for at in np.flatnonzero(words.naming >= least).tolist():
        goes_on = found and found[-1][1] == at and words.begins[at] < words.naming[at] / 2
        if goes_on:
            found[-1] = found[-1][0], at + 1
        else:
            found.append((at, at + 1))
    return found


def read_names(model: Reader, words: Words, rows: Rows, stretches: Sequence[tuple[int, int]]) -> list[Fits]:
    """Return which rows the stretches of a talk mean; which were met before is told by the evidence alone."""
    scene, asking = Scene(words.said, rows), model.asking(rows.texts)
    cut = [model.pieces(word) for word in words.said]
    before: list[int] = []
    listed: list[list[int]] = []
    weighed: list[Real] = []
    asked: list[Asked] = []
    for first, last in stretches:
        kept, evidence, fits = _likeliest(model, scene.candidates(first, last, met(before)))
        likely = float(softmax(fits)[0]) if kept else 0.0
        listed.append(kept)
        weighed.append(fits)
        asked.append(asking.asked(cut, (first, last), kept, evidence))
        if likely >= MET:
            before.append(kept[0])
    answers, cooler = model.answers(asked), 1 / float(model.about["temperature"])
    return [
        _named(span, kept, softmax(weight + TRUST * (words - words.mean())), softmax(cooler * np.log(meanings + 1e-4)))
        for span, kept, weight, (words, meanings) in zip(stretches, listed, weighed, answers, strict=True)
    ]


def _likeliest(model: Reader, candidates: Sequence[Candidate]) -> tuple[list[int], Real, Real]:
    """Return the rows that the evidence speaks for, likeliest first, their evidence, and how well they and none fit."""
    numbers = np.array([one.evidence for one in candidates], dtype=np.float32)
    evidence: Real = np.round(numbers, 2).reshape(-1, len(EVIDENCE)).astype(np.float32)
    fits = model.weighed(evidence)
    order = np.argsort(-fits[:-1], kind="stable")[:ASKED]
    return [candidates[n].at for n in order], evidence[order], np.append(fits[order], fits[-1]).astype(np.float32)


def _named(span: tuple[int, int], kept: Sequence[int], fits: Real, meanings: Real) -> Fits:
    order = sorted(range(len(kept)), key=lambda n: (-fits[n], n))
    rows = tuple((kept[n], float(fits[n])) for n in order)
    return Fits(*span, rows, float(fits[-1]), dict(zip(MEANINGS, map(float, meanings), strict=True)))
