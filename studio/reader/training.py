"""Trains the reader on examples: `python -m studio.reader.training TRAIN TUNE BASE_FOLDER OUT_FOLDER`.

Behind these may stand the epochs, the seconds at most, and how many hands.
Needs the extra `train`. The examples are written by `studio.reader.examples`; the base folder holds the published
`model.safetensors` and `tokenizer.json` of all-MiniLM-L6-v2. Seeded; a GPU is used where there is one.
"""

import json
import lzma
import random
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import torch
from safetensors.torch import load_file, save_file
from tokenizers import Tokenizer
from torch import Tensor
from torch.nn import functional

from studio.reader.network import Network

SEED, WINDOW, SAID, BEFORE_PIECES, AFTER_PIECES, ROW_PIECES = 7, 128, 14, 44, 20, 36
BEGIN, END, CLS, SEP = 1, 2, 101, 102
"""Pieces around the stretch (two that the base model never used), and its own for the whole and for an end."""
RATE, WARM, TAG_BATCH, ROW_BATCH = 8e-5, 0.06, 24, 16
NONE = "none of these"
Sample = dict[str, Any]


class Pieces:
    """Words cut into pieces, remembered."""

    def __init__(self, file: Path) -> None:
        self._tokenizer = Tokenizer.from_file(str(file))
        self._tokenizer.no_padding()
        self._tokenizer.no_truncation()
        self._known: dict[str, list[int]] = {}

    def __call__(self, text: str) -> list[int]:
        """Return the piece ids of a text, without marks at its ends."""
        if text not in self._known:
            self._known[text] = self._tokenizer.encode(text, add_special_tokens=False).ids
        return self._known[text]


def windows(pieces: Pieces, talk: Sample) -> Iterator[tuple[list[int], list[int]]]:
    """Return the ids of windows of a talk, half overlapping, and at each word's first piece the word (-1 elsewhere)."""
    cut = [pieces(word) or [100] for word in talk["words"]]
    first = 0
    while first < len(cut):
        ids, word_of, at = [CLS], [-1], first
        while at < len(cut) and len(ids) + len(cut[at]) < WINDOW:
            ids += cut[at]
            word_of += [at] + [-1] * (len(cut[at]) - 1)
            at += 1
        yield [*ids, SEP], [*word_of, -1]
        if at >= len(cut):
            return
        first += max(1, (at - first) // 2)


def pair(pieces: Pieces, stretch: Sample, row: str) -> tuple[list[int], list[int]]:
    """Return the piece ids and sides of a stretch in its context beside a row."""
    before, said, after = (pieces(stretch[part]) for part in ("before", "said", "after"))
    talk = [CLS, *before[-BEFORE_PIECES:], BEGIN, *said[:SAID], END, *after[:AFTER_PIECES], SEP]
    other = [*pieces(row)[:ROW_PIECES], SEP]
    return talk + other, [0] * len(talk) + [1] * len(other)


def padded(rows: Sequence[Sequence[int]], device: str) -> Tensor:
    """Return lists of different lengths as one tensor, filled with 0."""
    longest = max(map(len, rows))
    return torch.tensor([[*row, *[0] * (longest - len(row))] for row in rows], device=device)


class Trainer:
    """Holds the network and the examples while it learns."""

    def __init__(self, train: Sample, base: Path, device: str) -> None:
        self.about, self.device = train, device
        self.pieces = Pieces(base / "tokenizer.json")
        self.sizes = [len(train[name]) for name in ("tags", "kinds")] + [2, len(train["flags"])]
        self.network = Network(self.sizes[0], self.sizes[1], self.sizes[3], len(train["evidence"])).to(device)
        self.network.load_published(load_file(str(base / "model.safetensors")))

    def label_loss(self, batch: Sequence[tuple[Sample, list[int], list[int]]]) -> Tensor:
        """Return the loss of a batch of windows over all word heads."""
        tags, kinds, edges, flags = self.labels(batch)
        at = [
            (n, k, talk, word) for n, (talk, _, words) in enumerate(batch) for k, word in enumerate(words) if word >= 0
        ]
        rows, places = (torch.tensor([one[i] for one in at], device=self.device) for i in (0, 1))
        want = {
            key: torch.tensor([talk[key][word] for _, _, talk, word in at], device=self.device)
            for key in ("tag", "kind", "start", "stop", "flags")
        }
        pick = (rows, places)
        loss = functional.cross_entropy(tags[pick], want["tag"])
        loss = loss + 0.5 * functional.cross_entropy(kinds[pick], want["kind"])
        start_weight = (want["start"] >= 0) * (1 + 4.0 * (want["start"] == 1))
        loss = loss + _binary(edges[pick][:, 0], want["start"].clamp(min=0), start_weight)
        loss = loss + _binary(edges[pick][:, 1], want["stop"], torch.ones_like(want["stop"]))
        return loss + 2 * _binary(flags[pick], want["flags"], 1 + 2 * want["flags"])

    def labels(self, batch: Sequence[tuple[Sample, list[int], list[int]]]) -> Sequence[Tensor]:
        """Return the scores of each word head for a batch of windows, each (batch, pieces, labels of the head)."""
        ids = padded([ids for _, ids, _ in batch], self.device)
        return self.network.words(self.network.encode(ids, torch.zeros_like(ids))).float().split(self.sizes, -1)

    def row_scores(self, batch: Sequence[Sample]) -> list[Tensor]:
        """Return for each stretch how well each of its rows fits, the last for none of these (log-odds)."""
        pairs = [pair(self.pieces, one, row) for one in batch for row in (*one["rows"], NONE)]
        blank = [0.0] * len(self.about["evidence"])
        evidence = torch.tensor([e for one in batch for e in (*one["evidence"], blank)], device=self.device)
        ids, sides = padded([p[0] for p in pairs], self.device), padded([p[1] for p in pairs], self.device)
        _, scores = self.network(ids, sides, evidence)
        return list(scores.float().split([len(one["rows"]) + 1 for one in batch]))

    def row_loss(self, batch: Sequence[Sample]) -> Tensor:
        """Return the loss of a batch of stretches."""
        losses = [
            -(torch.tensor(one["target"], device=self.device) * scores.log_softmax(-1)).sum()
            for one, scores in zip(batch, self.row_scores(batch), strict=True)
        ]
        return torch.stack(losses).mean()

    def learn(self, epochs: int, seconds: float) -> None:
        """Learn from the examples for some epochs, or until the time is over."""
        chance = random.Random(SEED)  # noqa: S311
        cut = [(talk, *one) for talk in self.about["words"] for one in windows(self.pieces, talk)]
        stretches = list(self.about["stretches"])
        steps = epochs * (len(stretches) // ROW_BATCH)
        best = torch.optim.AdamW(self.network.parameters(), lr=RATE, weight_decay=0.01)
        plan = torch.optim.lr_scheduler.LambdaLR(best, lambda n: min(n / (WARM * steps + 1), max(0.0, 1 - n / steps)))
        began, step = time.monotonic(), 0
        self.network.train()
        while step < steps and time.monotonic() - began < seconds:
            chance.shuffle(stretches)
            for first in range(0, len(stretches) - ROW_BATCH + 1, ROW_BATCH):
                with torch.autocast(self.device, torch.bfloat16, enabled=self.device == "cuda"):
                    loss = self.row_loss(stretches[first : first + ROW_BATCH])
                    loss = loss + self.label_loss(chance.sample(cut, TAG_BATCH))
                best.zero_grad()
                loss.backward()
                torch.nn.utils.clip_grad_norm_(self.network.parameters(), 1.0)
                best.step()
                plan.step()
                step += 1
            print(f"step {step}/{steps} loss {loss.item():.3f} {time.monotonic() - began:.0f} s", flush=True)


def _binary(scores: Tensor, want: Tensor, weight: Tensor) -> Tensor:
    return functional.binary_cross_entropy_with_logits(scores, want.float(), weight.float())


@torch.inference_mode()
def report(trainer: Trainer, tune: Sample) -> dict[str, Any]:
    """Return how every head does on talks that were not learnt from."""
    trainer.network.eval()
    rows = tune["stretches"]
    scores = [one for n in range(0, len(rows), 32) for one in trainer.row_scores(rows[n : n + 32])]
    told = [(float(s.softmax(-1).max()), int(s.argmax()), one["target"]) for s, one in zip(scores, rows, strict=True)]
    found: dict[str, Any] = {"rows_right": _mean(target[at] > 0.99 for _, at, target in told)}
    named = [one for one in told if max(one[2][:-1], default=0) > 0.99]
    found["right_where_one_row_is_meant"] = _mean(target[at] > 0.99 for _, at, target in named)
    found["first_candidate_right"] = _mean(target[0] > 0.99 for _, _, target in named)
    for level in (0.5, 0.8, 0.9, 0.95, 0.98, 0.99):
        sure = [(at, target) for p, at, target in told if p >= level and at < len(target) - 1]
        found[f"sure_{level}"] = (len(sure), sum(target[at] < 0.01 for at, target in sure))
    return found | _word_report(trainer, tune)


def _word_report(trainer: Trainer, tune: Sample) -> dict[str, Any]:
    counts: dict[str, list[int]] = {
        name: [0, 0, 0] for name in ("span", "role", "kind", "start", "stop", *tune["flags"])
    }
    for talk in tune["words"]:
        batch = [(talk, *one) for one in windows(trainer.pieces, talk)]
        labels = trainer.labels(batch)
        for n, (_, _, words) in enumerate(batch):
            for k, word in enumerate(words):
                if word >= 0 and len(words) // 6 <= k:
                    _count(counts, talk, word, [one[n, k] for one in labels], tune["flags"])
    return {name: {"f1": round(2 * a / max(1, b + c), 3), "gold": c} for name, (a, b, c) in counts.items()}


def _count(counts: dict[str, list[int]], talk: Sample, word: int, told: Sequence[Tensor], flags: Sequence[str]) -> None:
    tag, want = int(told[0].argmax()), talk["tag"][word]
    _add(counts["span"], tag > 0, want > 0)
    if want and tag:
        _add(counts["role"], (tag - 1) // 2 == (want - 1) // 2, True, both=True)
    _add(counts["kind"], int(told[1].argmax()) == talk["kind"][word], True, both=True)
    if talk["start"][word] >= 0:
        _add(counts["start"], bool(told[2][0] > 0), talk["start"][word] == 1)
    _add(counts["stop"], bool(told[2][1] > 0), talk["stop"][word] == 1)
    for at, name in enumerate(flags):
        _add(counts[name], bool(told[3][at] > 0), talk["flags"][word][at] == 1)


def _add(count: list[int], said: bool, want: bool, *, both: bool = False) -> None:
    count[0] += said and want
    count[1] += 1 if both else said
    count[2] += want


def _mean(values: Any) -> float:  # noqa: ANN401
    told = list(values)
    return round(sum(map(bool, told)) / max(1, len(told)), 4)


def read(path: Path) -> Sample:
    """Read examples as `studio.reader.examples` wrote them, packed or not."""
    data = lzma.decompress(path.read_bytes()) if path.suffix == ".xz" else path.read_bytes()
    return dict(json.loads(data))


def of_hands(examples: Sample, most: int) -> Sample:
    """Return the examples of the first hands alone, for the curve by number of hands; 0 takes all."""
    hands = sorted({one["talk"].split("-")[0] for one in examples["words"]})[: most or None]
    kept = {key: [one for one in examples[key] if one["talk"].split("-")[0] in hands] for key in ("words", "stretches")}
    return {**examples, **kept}


def main(
    train: str, tune: str, base: str, out: str, epochs: str = "4", seconds: str = "5400", hands: str = "0"
) -> None:
    """Train, report and save the weights."""
    torch.manual_seed(SEED)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    trainer = Trainer(of_hands(read(Path(train)), int(hands)), Path(base), device)
    trainer.learn(int(epochs), float(seconds))
    told = report(trainer, read(Path(tune)))
    Path(out).mkdir(parents=True, exist_ok=True)
    weights = {name: value.half().contiguous().cpu() for name, value in trainer.network.state_dict().items()}
    save_file(weights, str(Path(out) / "reader.safetensors"))
    (Path(out) / "report.json").write_text(json.dumps(told, indent=1), encoding="utf-8")
    print(json.dumps(told, indent=1))


if __name__ == "__main__":
    main(*sys.argv[1:])
