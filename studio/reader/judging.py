"""How every head does on talks that were not learnt from, and what a reader would propose in them."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import torch

from studio.reader.batches import nearest_middle, windows_of
from studio.reader.forms import FORMS
from studio.reader.pieces import FLAGS, MOST
from studio.reader.steps import Exercise, Sample
from studio.reader.trainer import Trainer

SURE = (0.5, 0.8, 0.9, 0.95, 0.98, 0.99)
"""Probabilities from which it is told how many rows are decided, and how many of these are wrong."""


@torch.inference_mode()
def report(trainer: Trainer, tune: Sample) -> dict[str, Any]:
    """Return how every head does on talks that were not learnt from."""
    trainer.network.eval()
    found: dict[str, Any] = {}
    for form in FORMS:
        told = []
        asked = trainer.questions(tune, form)
        for n in range(0, len(asked), 128):
            scores, meanings = trainer.answers([one.asked for one in asked[n : n + 128]])
            sure, which = scores.softmax(-1).max(-1)
            told += list(
                zip(sure.tolist(), which.tolist(), meanings.argmax(-1).tolist(), asked[n : n + 128], strict=True)
            )
        found[form] = _row_report(told)
    return found | _word_report(trainer, tune)


def _row_report(told: Sequence[tuple[float, int, int, Exercise]]) -> dict[str, Any]:
    right = [one.target[-1 if at == MOST else at] for _, at, _, one in told]
    named = [n for n, one in enumerate(told) if max(one[3].target[:-1], default=0) > 0.99]
    found: dict[str, Any] = {
        "all_right": _mean(share > 0.99 for share in right),
        "right_where_one_row_is_meant": _mean(right[n] > 0.99 for n in named),
        "first_candidate_right": _mean(told[n][3].target[0] > 0.99 for n in named),
        "meaning": _mean(one.meaning == said for _, _, said, one in told if one.meaning >= 0),
    }
    for level in SURE:
        sure = [share for share, (p, at, _, _) in zip(right, told, strict=True) if p >= level and at < MOST]
        found[f"sure_{level}"] = (len(sure), sum(share < 0.01 for share in sure))
    return found


def _word_report(trainer: Trainer, tune: Sample) -> dict[str, Any]:
    counts: dict[str, list[int]] = {name: [0, 0, 0] for name in ("span", "kind", "start", "stop", *FLAGS)}
    for talk in tune["talks"]:
        labels = word_labels(trainer, talk)
        heads = {name: labels[:, part] for name, part in trainer.heads.items()}
        tag, want = heads["tag"].argmax(-1), np.array(talk["tag"])
        _add(counts["span"], tag > 0, want > 0)
        alike = heads["kind"].argmax(-1) == np.array(talk["kind"])
        _add(counts["kind"], alike, np.ones(len(want), bool), both=True)
        told = np.array(talk["start"]) >= 0
        _add(counts["start"], (heads["edge"][:, 0] > 0)[told], np.array(talk["start"])[told] == 1)
        _add(counts["stop"], heads["edge"][:, 1] > 0, np.array(talk["stop"]) == 1)
        for at, name in enumerate(FLAGS):
            _add(counts[name], heads["flag"][:, at] > 0, np.array([at in flags for flags in talk["flags"]]))
    return {name: {"f1": round(2 * a / max(1, b + c), 3), "gold": c} for name, (a, b, c) in counts.items()}


@torch.inference_mode()
def word_labels(trainer: Trainer, talk: Sample) -> npt.NDArray[Any]:
    """Return the scores of each word's labels, (words, labels), each from the window that has it nearest its middle."""
    seen = windows_of(trainer.cut(talk))
    labels = [one for n in range(0, len(seen), 64) for one in trainer.labels(seen[n : n + 64]).cpu().numpy()]
    return np.stack([labels[n][at] for n, at in nearest_middle(seen, len(talk["words"]))])


def _add(count: list[int], said: npt.NDArray[Any], want: npt.NDArray[Any], *, both: bool = False) -> None:
    count[0] += int((said & want).sum())
    count[1] += len(said) if both else int(said.sum())
    count[2] += int(want.sum())


def _mean(values: Iterable[object]) -> float:
    told = list(values)
    return round(sum(map(bool, told)) / max(1, len(told)), 4)


def proposals(trainer: Trainer, talks: Iterable[Sample], least: float) -> dict[str, list[tuple[int, int]]]:
    """Return for "talk form" the stretches whose words are likelier than `least` to name something."""
    trainer.network.eval()
    found = {}
    for talk in talks:
        scores = torch.from_numpy(word_labels(trainer, talk)[:, trainer.heads["tag"]])
        found[f"{talk['talk']} {talk['form']}"] = runs((1 - scores.softmax(-1)[:, 0] > least).tolist())
    return found


def runs(inside: Sequence[bool]) -> list[tuple[int, int]]:
    """Return the first place and the one after the last of each run of what holds."""
    edges = [at for at, (a, b) in enumerate(zip([False, *inside], [*inside, False], strict=True)) if a != b]
    return list(zip(edges[::2], edges[1::2], strict=True))
