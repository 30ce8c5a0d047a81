"""The reader at work: the network loaded once and asked about windows and stretches, on one machine always alike."""

import math
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from studio import resources
from studio.reader import about
from studio.reader.batches import (
    Asked,
    Asking,
    Batch,
    Real,
    batch_of,
    batch_of_windows,
    beside,
    nearest_middle,
    windows_of,
)
from studio.reader.pieces import MOST, Pieces, slices

PIECES_A_BATCH = 4096
"""Pieces that are asked about at once."""


class Reader:
    """The network, its pieces, and what it weighs evidence by."""

    def __init__(self, folder: Path | None = None, network: Path | None = None) -> None:
        """Load the reader.

        Args:
            folder: holds its files; else those that came with the program.
            network: to be asked in place of the folder's own, unchecked: to compare with.

        Raises:
            ReaderDamaged: a file of the folder is not the one that is told of in `about.json`.
        """
        import onnxruntime

        onnxruntime.disable_telemetry_events()
        folder = folder or resources.shared("reader")
        self.about: about.About = about.checked(folder)
        """What is told of the files: `about.json`, with the thresholds set for these weights."""
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        file = str(network or folder / "reader.onnx")
        self._session = onnxruntime.InferenceSession(file, options, providers=["CPUExecutionProvider"])
        self.pieces = Pieces(folder / "tokenizer.json")
        with np.load(folder / "evidence.npz", allow_pickle=False) as parts:
            self._weights = [(parts[f"{n}.weight"].T, parts[f"{n}.bias"]) for n in (0, 3, 5)]
        self._heads = slices()

    def _run(self, batch: Batch) -> tuple[Real, Real]:
        given = dict(zip(("ids", "blocks", "places", "evidence"), batch.inputs, strict=True))
        labels, fits = self._session.run(None, given)
        return labels, fits

    def weighed(self, evidence: Real) -> Real:
        """Return how well each row fits by its evidence alone, "none of these" last.

        Args:
            evidence: (rows, numbers of `EVIDENCE`).
        """
        x = beside(evidence)
        for n, (weight, bias) in enumerate(self._weights):
            x = x @ weight + bias
            x = x if n == 2 else _gelu(x)
        return x[:, 0]

    def words(self, said: Sequence[str]) -> dict[str, Real]:
        """Return of each head of words the probabilities, (words, labels), for a whole talk.

        `tag` and `kind` add up to 1 a word; `edge` and `flag` are each a yes or no of its own.
        """
        cut = [self.pieces(word) for word in said]
        seen = windows_of(cut)
        many = max(1, PIECES_A_BATCH // max((len(one.ids) for one in seen), default=1))
        labels = [one for n in range(0, len(seen), many) for one in self._run(batch_of_windows(seen[n : n + many]))[0]]
        scores = np.stack([labels[n][at] for n, at in nearest_middle(seen, len(said))])
        return {
            name: softmax(scores[:, part]) if name in {"tag", "kind"} else 1 / (1 + np.exp(-scores[:, part]))
            for name, part in self._heads.items()
            if name != "meaning"
        }

    def answers(self, asked: Sequence[Asked]) -> list[tuple[Real, Real]]:
        """Return of each stretch how each row fits by its words, "none of these" last, and the meanings."""
        found: dict[int, tuple[Real, Real]] = {}
        for group in _alike(asked):
            batch = batch_of([asked[n] for n in group])
            batch.numbers[:] = 0  # the evidence is weighed apart
            labels, fits = self._run(batch)
            for k, n in enumerate(group):
                rows = len(asked[n].rows) - 1
                places = [*batch.first[k, :rows], batch.first[k, MOST]]
                meaning = labels[k, batch.begin[k], self._heads["meaning"]]
                found[n] = fits[k, places], softmax(meaning)
        return [found[n] for n in range(len(asked))]

    def asking(self, texts: Sequence[str]) -> Asking:
        """Return what makes stretches beside rows of a catalogue ready."""
        return Asking(self.pieces, texts)


def _gelu(x: Real) -> Real:
    made: Real = (x * 0.5 * (1 + _erf(x / math.sqrt(2)))).astype(np.float32)
    return made


_erf: Any = np.vectorize(math.erf, otypes=[np.float32])


def softmax(scores: Real) -> Real:
    """Return scores as probabilities along the last axis."""
    raised = np.exp(scores - scores.max(-1, keepdims=True))
    made: Real = raised / raised.sum(-1, keepdims=True)
    return made


def _alike(asked: Sequence[Asked]) -> Iterator[list[int]]:
    """Return the stretches in groups of like length, none with more than `PIECES_A_BATCH` pieces."""
    group: list[int] = []
    for n in sorted(range(len(asked)), key=lambda n: (asked[n].pieces, n)):
        if group and (len(group) + 1) * asked[n].pieces > PIECES_A_BATCH:
            yield group
            group = []
        group.append(n)
    if group:
        yield group


@cache
def model() -> Reader:
    """Return the reader, loaded once."""
    return Reader()
