"""What is learnt from in each step: windows with the labels of their words, stretches with the rows they mean."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import torch
from torch import Tensor
from torch.utils.data import Dataset

from studio.reader.batches import Asked, Batch, Window, batch_of, batch_of_windows
from studio.reader.pieces import FLAGS, MOST

SEED = 7
"""What is drawn by chance follows from it."""
TAG_BATCH, ROW_BATCH = 12, 32
"""Windows and stretches of a step."""
LABELLED = ("tag", "kind", "start", "stop")
"""The labels of a word that are one number each."""
Sample = dict[str, Any]
"""A talk, or all talks, as `studio.reader.examples` made them."""


class SeenWords:
    """A window of a talk with the labels of its words at their first pieces; -100 where there is none."""

    def __init__(self, talk: Sample, window: Window) -> None:
        self.window = window
        words = np.where(window.words >= 0, window.words, 0)
        self.labels = {key: np.where(window.words >= 0, np.array(talk[key])[words], -100) for key in LABELLED}
        self.flags = np.zeros((len(words), len(FLAGS)), dtype=np.float32)
        for at, word in enumerate(window.words):
            if word >= 0:
                self.flags[at, talk["flags"][word]] = 1


@dataclass(frozen=True)
class Exercise:
    """A stretch as the network takes it, with the answer."""

    asked: Asked
    target: list[float]
    meaning: int


def filled(rows: Sequence[npt.NDArray[Any]], blank: float = 0) -> npt.NDArray[Any]:
    """Return arrays of different lengths as one, filled behind with a blank."""
    made = np.full((len(rows), max(map(len, rows)), *rows[0].shape[1:]), blank, dtype=rows[0].dtype)
    for n, row in enumerate(rows):
        made[n, : len(row)] = row
    return made


class TrainingSteps(Dataset[Any]):
    """What is learnt from in each step: windows drawn by chance, stretches in the order of a shuffle an epoch."""

    def __init__(self, seen: Sequence[SeenWords], questions: Sequence[Exercise], epochs: float) -> None:
        self.seen, self.questions = seen, questions
        self.windows = TAG_BATCH if questions else 2 * TAG_BATCH
        self.each = len(questions) // ROW_BATCH if questions else len(seen) // self.windows
        self.steps = int(epochs * self.each)
        self._order = (-1, np.zeros(0, dtype=np.int64))

    def __len__(self) -> int:
        return self.steps

    def __getitem__(self, step: int) -> tuple[Any, Any]:
        if step >= self.steps:
            raise IndexError(step)
        drawn = np.random.default_rng((SEED, step)).integers(len(self.seen), size=self.windows)
        batch = [self.seen[n] for n in drawn]
        want = {key: torch.from_numpy(filled([one.labels[key] for one in batch], -100)) for key in LABELLED}
        want["flags"] = torch.from_numpy(filled([one.flags for one in batch]))
        words = (batch_of_windows([one.window for one in batch]), want)
        return words, self._rows(step) if self.questions else None

    def _rows(self, step: int) -> tuple[Batch, Tensor, Tensor]:
        epoch, at = divmod(step, self.each)
        if self._order[0] != epoch:
            self._order = epoch, np.random.default_rng((SEED, 1, epoch)).permutation(len(self.questions))
        questions = [self.questions[n] for n in self._order[1][at * ROW_BATCH : (at + 1) * ROW_BATCH]]
        target = np.zeros((len(questions), MOST + 1), dtype=np.float32)
        for n, one in enumerate(questions):
            target[n, : len(one.target) - 1], target[n, MOST] = one.target[:-1], one.target[-1]
        meaning = torch.tensor([one.meaning for one in questions])
        return batch_of([one.asked for one in questions]), torch.from_numpy(target), meaning
