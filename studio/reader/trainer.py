"""The network while it learns: its losses, its steps, and the running mean of its weights."""

import os
import time
from base64 import b64decode
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import torch
from safetensors.torch import load_file, save_file
from torch import Tensor
from torch.nn import functional
from torch.utils.data import DataLoader

from studio.reader.batches import NUMBERS, Asked, Asking, Batch, Real, Window, batch_of, batch_of_windows, windows_of
from studio.reader.network import Network
from studio.reader.pieces import FLAGS, LABELS, Pieces, slices
from studio.reader.rows import EVIDENCE
from studio.reader.steps import LABELLED, SEED, Exercise, Sample, SeenWords, TrainingSteps

RATE, HEAD_RATE, WARM = 7e-5, 1e-3, 0.06
"""How fast the encoder learns, how fast the fresh heads do, and the share of steps in which both are raised to that."""
WORKERS = max(1, min(12, (os.cpu_count() or 2) - 2))
"""Processes that make steps ready."""
KEPT = 0.998
"""Share of the running mean of the weights that a step leaves."""
RARE = {"withdrawn": 6.0, "final": 6.0, "private": 6.0, "earn": 4.0, "claim": 6.0, "gone": 6.0, "coming": 6.0}
"""Weight of a word that has a rare flag; 2 for the others."""


def _as_it_is(one: Any) -> Any:  # noqa: ANN401
    return one


class Trainer:
    """Holds the network and the examples while it learns."""

    def __init__(self, about: Sample, base: Path, device: str) -> None:
        self.about, self.device = about, device
        self.pieces = Pieces(base / "tokenizer.json")
        self.network = Network(LABELS, NUMBERS).to(device)
        self.network.load_published(load_file(str(base / "model.safetensors")))
        self.rare = torch.tensor([RARE.get(flag, 2.0) for flag in FLAGS], device=device)
        self.heads = slices()

    def cut(self, talk: Sample) -> list[list[int]]:
        """Return the pieces of each word of a talk."""
        return [self.pieces(word) for word in talk["words"]]

    def questions(self, about: Sample, form: str = "") -> list[Exercise]:
        """Return the stretches of examples, of all forms or of one, as the network takes them."""
        asking = {hand: Asking(self.pieces, texts) for hand, texts in about["rows"].items()}
        return [
            Exercise(_asked(asking[talk["talk"].split("-")[0]], cut, one), one["target"], one["meaning"])
            for talk in about["talks"]
            if talk["form"] == (form or talk["form"])
            for cut in (self.cut(talk),)
            for one in talk["stretches"]
        ]

    def seen(self, talks: Iterable[Sample]) -> list[SeenWords]:
        """Return the windows of talks."""
        return [SeenWords(talk, one) for talk in talks for one in windows_of(self.cut(talk))]

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
        plan = TrainingSteps(self.seen(self.about["talks"]), [] if words_only else self.questions(self.about), epochs)
        best = torch.optim.AdamW(self._groups(), weight_decay=0.01, fused=self.device == "cuda")
        steps = max(1, len(plan))
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
    bytes_of = np.frombuffer(b64decode(one["evidence"]), dtype=np.uint8)
    numbers: Real = (bytes_of.astype(np.float32) / 100).astype(np.float32)
    return asking.asked(cut, (one["first"], one["last"]), one["rows"], numbers.reshape(-1, len(EVIDENCE)))


def _binary(scores: Tensor, want: Tensor, weight: Tensor) -> Tensor:
    return functional.binary_cross_entropy_with_logits(scores, want.float(), weight.float(), reduction="sum")


def trained(examples: Sample, base: Path, epochs: float, seconds: float, *, words_only: bool = False) -> Trainer:
    """Return a network that has learnt from examples."""
    torch.manual_seed(SEED)
    trainer = Trainer(examples, base, "cuda" if torch.cuda.is_available() else "cpu")
    trainer.learn(epochs, seconds, words_only=words_only)
    return trainer


def save(trainer: Trainer, file: Path) -> None:
    """Save the weights with half the digits."""
    weights = {name: value.half().contiguous().cpu() for name, value in trainer.network.state_dict().items()}
    save_file(weights, str(file))
