"""Stretches and windows as the arrays that the network takes, for training and at work alike."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from studio.reader.pieces import BEGIN, MOST, NONE, ROW, ROW_PIECES, Pieces, Shown, in_context, windows
from studio.reader.rows import EVIDENCE

Whole = npt.NDArray[np.int64]
"""Pieces, blocks, places."""
Real = npt.NDArray[np.float32]
"""Numbers beside rows, scores, probabilities."""
NUMBERS = 2 * len(EVIDENCE) + 1
"""Numbers beside a row: its evidence, how far that is below the best of the rows, and whether it is "none of these"."""


def beside(evidence: Real) -> Real:
    """Return the numbers beside each row and beside "none of these", (rows + 1, `NUMBERS`).

    Args:
        evidence: (rows, len(EVIDENCE)).
    """
    numbers = len(EVIDENCE)
    evidence = evidence.reshape(-1, numbers)
    blank = np.zeros(numbers, dtype=np.float32)
    best, mean = (evidence.max(0), evidence.mean(0)) if len(evidence) else (blank, blank)
    rows = np.concatenate([evidence, evidence - best, np.zeros((len(evidence), 1), np.float32)], 1)
    none = np.concatenate([best, mean, np.ones(1, np.float32)])[None]
    made: Real = np.concatenate([rows, none]).astype(np.float32)
    return made


@dataclass(frozen=True)
class Asked:
    """A stretch in its context with the rows that it may mean."""

    talk: Whole
    """Pieces of the stretch in its context."""
    rows: tuple[Whole, ...]
    """Pieces of each row; "none of these" is the last."""
    numbers: Real
    """(rows, `NUMBERS`)."""

    @property
    def pieces(self) -> int:
        """How many pieces it has in all."""
        return len(self.talk) + sum(map(len, self.rows))


class Asking:
    """Makes stretches ready for the network; the pieces of each row are cut once."""

    def __init__(self, pieces: Pieces, texts: Sequence[str]) -> None:
        self.pieces, self.texts = pieces, texts
        self._known: dict[int, Whole] = {}
        self._none = self._row(NONE)

    def _row(self, text: str) -> Whole:
        return np.array([ROW, *self.pieces(text)[:ROW_PIECES]], dtype=np.int64)

    def row(self, at: int) -> Whole:
        """Return the pieces of a row of the catalogue."""
        if at not in self._known:
            self._known[at] = self._row(self.texts[at])
        return self._known[at]

    def asked(self, cut: Sequence[Sequence[int]], span: tuple[int, int], rows: Iterable[int], evidence: Real) -> Asked:
        """Return a stretch ready for the network.

        Args:
            cut: the pieces of each word of the talk.
            span: its first word, and the word after its last.
            rows: the rows that it may mean.
            evidence: (rows, len(EVIDENCE)).
        """
        talk = np.array(in_context(cut, *span), dtype=np.int64)
        return Asked(talk, (*map(self.row, rows), self._none), beside(evidence))


@dataclass(frozen=True)
class Batch:
    """What the network takes; `first` tells where each row begins, -1 where there is none, "none of these" last."""

    ids: Whole
    blocks: Whole
    places: Whole
    numbers: Real
    first: Whole
    begin: Whole
    """Where each stretch begins."""

    @property
    def inputs(self) -> tuple[Whole, Whole, Whole, Real]:
        """The arrays in the order of the network's inputs."""
        return self.ids, self.blocks, self.places, self.numbers


def batch_of(asked: Sequence[Asked]) -> Batch:
    """Return stretches as one batch."""
    shape = (len(asked), max(one.pieces for one in asked))
    ids, blocks, places = (np.zeros(shape, dtype=np.int64) for _ in range(3))
    numbers = np.zeros((*shape, NUMBERS), dtype=np.float32)
    first = np.full((len(asked), MOST + 1), -1, dtype=np.int64)
    begin = np.zeros(len(asked), dtype=np.int64)
    for n, one in enumerate(asked):
        at = len(one.talk)
        ids[n, :at], places[n, :at] = one.talk, np.arange(at)
        begin[n] = np.flatnonzero(one.talk == BEGIN)[0]
        for number, row in enumerate(one.rows):
            end = at + len(row)
            ids[n, at:end], blocks[n, at:end] = row, number + 1
            places[n, at:end] = len(one.talk) + np.arange(len(row))
            numbers[n, at] = one.numbers[number]
            first[n, number if number + 1 < len(one.rows) else MOST] = at
            at = end
    return Batch(ids, blocks, places, numbers, first, begin)


@dataclass(frozen=True)
class Window:
    """A window of a talk."""

    ids: Whole
    words: Whole
    """The word that begins at each piece, or -1."""


def windows_of(cut: Sequence[Sequence[int]]) -> list[Window]:
    """Return the windows of a talk, given the pieces of each word."""
    return [_window(one) for one in windows(cut)]


def _window(one: Shown) -> Window:
    return Window(np.array(one.ids, dtype=np.int64), np.array(one.marks, dtype=np.int64))


def batch_of_windows(seen: Sequence[Window]) -> Batch:
    """Return windows as one batch."""
    shape = (len(seen), max(len(one.ids) for one in seen))
    ids = np.zeros(shape, dtype=np.int64)
    for n, one in enumerate(seen):
        ids[n, : len(one.ids)] = one.ids
    places = np.broadcast_to(np.arange(shape[1]), shape).copy()
    none = np.zeros((0, 0), dtype=np.int64)
    return Batch(ids, np.zeros_like(ids), places, np.zeros((*shape, NUMBERS), dtype=np.float32), none, none)


def nearest_middle(seen: Sequence[Window], words: int) -> list[tuple[int, int]]:
    """Return for each word the window and the piece that show it nearest the middle of a window."""
    best = [(0, 0)] * words
    nearest = [10**9] * words
    for n, one in enumerate(seen):
        for at in np.flatnonzero(one.words >= 0).tolist():
            off = abs(2 * at - len(one.ids))
            word = int(one.words[at])
            if off < nearest[word]:
                nearest[word], best[word] = off, (n, at)
    return best
