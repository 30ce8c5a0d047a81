"""Trains the reader on marked talks: `python -m studio.reader.training EXAMPLES TUNE BASE_FOLDER OUT_FOLDER`.

Needs the extra `train`. The examples are written by `studio.reader.examples`; the base folder holds the published
`model.safetensors` and `tokenizer.json` of all-MiniLM-L6-v2. Seeded; a GPU is used where there is one.
"""

import argparse
import json
import lzma
import os
import time
from base64 import b64decode
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import torch
from safetensors.torch import load_file, save_file
from torch import Tensor
from torch.nn import functional
from torch.utils.data import DataLoader, Dataset

from studio.reader.batches import (
    NUMBERS,
    Asked,
    Asking,
    Batch,
    Window,
    batch_of,
    batch_of_windows,
    nearest_middle,
    windows_of,
)  # fmt: skip
from studio.reader.network import Network
from studio.reader.pieces import FLAGS, LABELS, MOST, Pieces, slices
from studio.reader.rows import EVIDENCE

SEED, RATE, HEAD_RATE, WARM, TAG_BATCH, ROW_BATCH = 7, 7e-5, 1e-3, 0.06, 12, 32
WORKERS = max(1, min(12, (os.cpu_count() or 2) - 2))
KEPT = 0.998
"""Share of the running mean of the weights that a step leaves."""
RARE = {"withdrawn": 6.0, "final": 6.0, "private": 6.0, "earn": 4.0, "claim": 6.0, "gone": 6.0, "coming": 6.0}
"""Weight of a word that has a rare flag; 2 for the others."""
LABELLED = ("tag", "kind", "start", "stop")
Sample = dict[str, Any]


class Seen:
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
class Question:
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


class Steps(Dataset[Any]):
    """What is learnt from in each step: windows drawn by chance, stretches in the order of a shuffle an epoch."""

    def __init__(self, seen: Sequence[Seen], questions: Sequence[Question], epochs: float) -> None:
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


def _as_it_is(one: Any) -> Any:  # noqa: ANN401
    return one


class Trainer:
    """Holds the network and the examples while it learns."""

    def __init__(self, about: Sample, base: Path, device: str, begun: Path | None = None) -> None:
        self.about, self.device = about, device
        self.pieces = Pieces(base / "tokenizer.json")
        self.network = Network(LABELS, NUMBERS).to(device)
        if begun:
            self.network.load_state_dict({name: value.float() for name, value in load_file(str(begun)).items()})
        else:
            self.network.load_published(load_file(str(base / "model.safetensors")))
        self.rare = torch.tensor([RARE.get(flag, 2.0) for flag in FLAGS], device=device)
        self.heads = slices()

    def cut(self, talk: Sample) -> list[list[int]]:
        """Return the pieces of each word of a talk."""
        return [self.pieces(word) for word in talk["words"]]

    def questions(self, about: Sample, form: str = "") -> list[Question]:
        """Return the stretches of examples, of all forms or of one, as the network takes them."""
        asking = {hand: Asking(self.pieces, texts) for hand, texts in about["rows"].items()}
        return [
            Question(_asked(asking[talk["talk"].split("-")[0]], cut, one), one["target"], one["meaning"])
            for talk in about["talks"]
            if talk["form"] == (form or talk["form"])
            for cut in (self.cut(talk),)
            for one in talk["stretches"]
        ]

    def seen(self, talks: Iterable[Sample]) -> list[Seen]:
        """Return the windows of talks."""
        return [Seen(talk, one) for talk in talks for one in windows_of(self.cut(talk))]

    def run(self, batch: Batch) -> tuple[Tensor, Tensor]:
        """Return what the network says of a batch."""
        labels, fits = self.network(*(torch.from_numpy(one).to(self.device, non_blocking=True) for one in batch.inputs))
        return labels.float(), fits.float()

    def labels(self, seen: Sequence[Window]) -> Tensor:
        """Return the scores of all labels for a batch of windows, (batch, pieces, labels)."""
        return self.run(batch_of_windows(seen))[0]

    def label_loss(self, batch: Batch, want: dict[str, Tensor]) -> Tensor:
        """Return the loss of a batch of windows over the heads of words."""
        labels, _ = self.run(batch)
        tag, kind, start, stop, flags = (want[key].to(self.device) for key in (*LABELLED, "flags"))
        here = (tag != -100).float()
        many = here.sum()
        loss = functional.cross_entropy(labels[..., self.heads["tag"]].flatten(0, 1), tag.flatten())
        loss = loss + 0.5 * functional.cross_entropy(labels[..., self.heads["kind"]].flatten(0, 1), kind.flatten())
        edge = labels[..., self.heads["edge"]]
        loss = loss + _binary(edge[..., 0], start.clamp(min=0), (start >= 0) * (1 + 4.0 * (start == 1))) / many
        loss = loss + _binary(edge[..., 1], stop.clamp(min=0), here) / many
        weight = here[..., None] * (1 + (self.rare - 1) * flags)
        return loss + 2 * _binary(labels[..., self.heads["flag"]], flags, weight) / many / len(FLAGS)

    def answers(self, asked: Sequence[Asked]) -> tuple[Tensor, Tensor]:
        """Return how well each row of each stretch fits, and the scores of the meanings.

        Returns:
            (stretches, MOST + 1), "none of these" last, far below 0 where there is no row; and (stretches, meanings).
        """
        return self.answer(batch_of(asked))

    def answer(self, batch: Batch) -> tuple[Tensor, Tensor]:
        """Return what `answers` returns, for a batch made ready."""
        labels, fits = self.run(batch)
        first = torch.from_numpy(batch.first).to(self.device)
        scores = fits.gather(1, first.clamp(min=0)).masked_fill(first < 0, -1e4)
        begin = torch.from_numpy(batch.begin).to(self.device)
        return scores, labels[torch.arange(len(begin), device=self.device), begin][:, self.heads["meaning"]]

    def row_loss(self, batch: Batch, target: Tensor, want: Tensor) -> Tensor:
        """Return the loss of a batch of stretches: which row, and in what meaning."""
        scores, meanings = self.answer(batch)
        loss = -(target.to(self.device) * scores.log_softmax(-1)).sum(-1).mean()
        want = want.to(self.device)
        told = (want >= 0).sum().clamp(min=1)
        return loss + functional.cross_entropy(meanings, want, ignore_index=-1, reduction="sum") / told

    def learn(self, epochs: float, seconds: float, *, words_only: bool = False) -> None:
        """Learn from the examples for some epochs, or until the time is over; keep the running mean of the weights."""
        plan = Steps(self.seen(self.about["talks"]), [] if words_only else self.questions(self.about), epochs)
        best = torch.optim.AdamW(self._groups(), weight_decay=0.01, fused=self.device == "cuda")
        steps = len(plan)
        rate = torch.optim.lr_scheduler.LambdaLR(best, lambda n: min(n / (WARM * steps + 1), max(0.02, 1 - n / steps)))
        mean = [p.detach().clone() for p in self.network.parameters()]
        began = time.monotonic()
        self.network.train()
        ready = DataLoader(plan, batch_size=None, num_workers=WORKERS, prefetch_factor=8, collate_fn=_as_it_is)
        for step, (words, rows) in enumerate(ready):
            with torch.autocast(self.device, torch.bfloat16, enabled=self.device == "cuda"):
                loss = self.label_loss(*words)
                if rows:
                    loss = loss + self.row_loss(*rows)
            best.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_(self.network.parameters(), 1.0)
            best.step()
            rate.step()
            with torch.no_grad():
                torch._foreach_lerp_(mean, list(self.network.parameters()), max(1 - KEPT, 1 / (step + 1)))
            if step % 500 == 49:
                print(f"step {step + 1}/{steps} loss {loss.item():.3f} {time.monotonic() - began:.0f} s", flush=True)
            if time.monotonic() - began > seconds:
                print("time is over", flush=True)
                break
        with torch.no_grad():
            for own, kept in zip(self.network.parameters(), mean, strict=True):
                own.copy_(kept)

    def _groups(self) -> list[dict[str, Any]]:
        fresh = ("labels", "match", "weigh")
        named = list(self.network.named_parameters())
        return [
            {"params": [p for name, p in named if not name.startswith(fresh)], "lr": RATE},
            {"params": [p for name, p in named if name.startswith(fresh)], "lr": HEAD_RATE},
        ]


def _asked(asking: Asking, cut: list[list[int]], one: Sample) -> Asked:
    numbers = np.frombuffer(b64decode(one["evidence"]), dtype=np.uint8).astype(np.float32) / 100
    return asking.asked(cut, (one["first"], one["last"]), one["rows"], numbers.reshape(-1, len(EVIDENCE)))


def _binary(scores: Tensor, want: Tensor, weight: Tensor) -> Tensor:
    return functional.binary_cross_entropy_with_logits(scores, want.float(), weight.float(), reduction="sum")


@torch.inference_mode()
def report(trainer: Trainer, tune: Sample) -> dict[str, Any]:
    """Return how every head does on talks that were not learnt from."""
    trainer.network.eval()
    found: dict[str, Any] = {}
    for form in ("spoken", "recogniser", "captions"):
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


def _row_report(told: Sequence[tuple[float, int, int, Question]]) -> dict[str, Any]:
    right = [one.target[-1 if at == MOST else at] for _, at, _, one in told]
    named = [n for n, one in enumerate(told) if max(one[3].target[:-1], default=0) > 0.99]
    found: dict[str, Any] = {
        "all_right": _mean(share > 0.99 for share in right),
        "right_where_one_row_is_meant": _mean(right[n] > 0.99 for n in named),
        "first_candidate_right": _mean(told[n][3].target[0] > 0.99 for n in named),
        "meaning": _mean(one.meaning == said for _, _, said, one in told if one.meaning >= 0),
    }
    for level in (0.5, 0.8, 0.9, 0.95, 0.98, 0.99):
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


def read(path: Path) -> Sample:
    """Read examples as `studio.reader.examples` wrote them."""
    return dict(json.loads(lzma.decompress(path.read_bytes())))


def of_hands(examples: Sample, hands: Sequence[str]) -> Sample:
    """Return the examples of some hands alone."""
    return {**examples, "talks": [one for one in examples["talks"] if one["talk"].split("-")[0] in hands]}


def trained(
    examples: Sample, base: Path, epochs: float, seconds: float, *, words_only: bool = False, begun: Path | None = None
) -> Trainer:
    """Return a network that has learnt from examples."""
    torch.manual_seed(SEED)
    trainer = Trainer(examples, base, "cuda" if torch.cuda.is_available() else "cpu", begun)
    trainer.learn(epochs, seconds, words_only=words_only)
    return trainer


def save(trainer: Trainer, file: Path) -> None:
    """Save the weights with half the digits."""
    weights = {name: value.half().contiguous().cpu() for name, value in trainer.network.state_dict().items()}
    save_file(weights, str(file))


def main() -> None:
    """Train, report, and save the weights; with --folds also tell what a reader of the other half would propose."""
    ask = argparse.ArgumentParser()
    ask.add_argument("examples", type=Path)
    ask.add_argument("tune", type=Path)
    ask.add_argument("base", type=Path)
    ask.add_argument("out", type=Path)
    ask.add_argument("--epochs", type=float, default=6)
    ask.add_argument("--seconds", type=float, default=5400)
    ask.add_argument("--hands", type=int, default=0, help="learn from so many hands alone")
    ask.add_argument("--begun", type=Path, help="weights to go on from, in place of the base model's")
    ask.add_argument("--no-report", action="store_true")
    ask.add_argument("--folds", type=float, default=0, help="epochs for each half")
    told = ask.parse_args()
    told.out.mkdir(parents=True, exist_ok=True)
    all_examples, tune = read(told.examples), read(told.tune)
    hands = sorted(all_examples["rows"])
    if told.folds:
        found: dict[str, list[tuple[int, int]]] = {}
        for half in (hands[::2], hands[1::2]):
            trainer = trained(of_hands(all_examples, half), told.base, told.folds, told.seconds, words_only=True)
            others = of_hands(all_examples, [hand for hand in hands if hand not in half])
            found |= proposals(trainer, others["talks"], 0.3)
        (told.out / "proposed.json").write_text(json.dumps(found), encoding="utf-8")
    if told.epochs:
        learnt = of_hands(all_examples, hands[: told.hands or None])
        trainer = trained(learnt, told.base, told.epochs, told.seconds, begun=told.begun)
        save(trainer, told.out / "reader.safetensors")
        figures = {} if told.no_report else report(trainer, tune)
        (told.out / "report.json").write_text(json.dumps(figures, indent=1), encoding="utf-8")
        print(json.dumps(figures))


if __name__ == "__main__":
    main()
