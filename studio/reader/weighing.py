"""Learns how the evidence of a row is weighed: `python -m studio.reader.weighing EXAMPLES TUNE OUT.npz`; a minute.

The evidence alone tells more of a catalogue never met than the words do, so that it is learnt apart from the network,
whose fit is added to it at work. Needs the extra `train`.
"""

import json
import sys
from base64 import b64decode
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor, nn

from studio.reader.batches import NUMBERS, beside
from studio.reader.pieces import MOST
from studio.reader.rows import EVIDENCE

SEED, BATCH, EPOCHS, RATE, WIDE, FAR = 7, 256, 14, 4e-3, 64, -1e4
KEPT = 0.995
"""Share of the running mean of the weights that a step leaves."""


def weigher() -> nn.Sequential:
    """Return what weighs the numbers beside a row, (…, NUMBERS) to (…, 1)."""
    return nn.Sequential(
        nn.Linear(NUMBERS, WIDE), nn.GELU(), nn.Dropout(0.1), nn.Linear(WIDE, WIDE), nn.GELU(), nn.Linear(WIDE, 1)
    )


def tables(talks: list[dict[str, Any]]) -> tuple[Tensor, Tensor, Tensor]:
    """Return numbers (stretches, MOST + 1, NUMBERS), 0 or far below 0 where there is no row, and targets."""
    told = [one for talk in talks for one in talk["stretches"]]
    numbers = np.zeros((len(told), MOST + 1, NUMBERS), dtype=np.float32)
    blank = np.full((len(told), MOST + 1), FAR, dtype=np.float32)
    target = np.zeros((len(told), MOST + 1), dtype=np.float32)
    for n, one in enumerate(told):
        evidence = np.frombuffer(b64decode(one["evidence"]), np.uint8).astype(np.float32).reshape(-1, len(EVIDENCE))
        made, rows = beside((evidence / 100).astype(np.float32)), len(one["rows"])
        numbers[n, :rows], numbers[n, MOST] = made[:-1], made[-1]
        blank[n, :rows] = blank[n, MOST] = 0
        target[n, :rows], target[n, MOST] = one["target"][:-1], one["target"][-1]
    return torch.from_numpy(numbers), torch.from_numpy(blank), torch.from_numpy(target)


def learnt(talks: list[dict[str, Any]]) -> nn.Sequential:
    """Return the weigher that has learnt from the stretches of talks."""
    torch.manual_seed(SEED)
    numbers, blank, target = tables(talks)
    made = weigher()
    best = torch.optim.AdamW(made.parameters(), lr=RATE, weight_decay=0.01)
    steps = EPOCHS * (len(numbers) // BATCH)
    rate = torch.optim.lr_scheduler.OneCycleLR(best, RATE, steps + 1)
    mean = [p.detach().clone() for p in made.parameters()]
    for step in range(steps):
        if step % (len(numbers) // BATCH) == 0:
            order = torch.randperm(len(numbers))
        part = order[step * BATCH % (len(order) - BATCH) :][:BATCH]
        scores = made(numbers[part]).squeeze(-1) + blank[part]
        loss = -(target[part] * scores.log_softmax(-1)).sum(-1).mean()
        best.zero_grad()
        loss.backward()
        best.step()
        rate.step()
        with torch.no_grad():
            for kept, own in zip(mean, made.parameters(), strict=True):
                kept.lerp_(own, max(1 - KEPT, 1 / (step + 1)))
    with torch.no_grad():
        for own, kept in zip(made.parameters(), mean, strict=True):
            own.copy_(kept)
    return made.eval()


@torch.inference_mode()
def report(made: nn.Sequential, talks: list[dict[str, Any]]) -> dict[str, Any]:
    """Return how often the likeliest row is right, and how many are wrong of those that are sure."""
    numbers, blank, target = tables(talks)
    scores = made(numbers).squeeze(-1) + blank
    sure, which = scores.softmax(-1).max(-1)
    right = target[torch.arange(len(target)), which]
    named = target[:, :MOST].max(-1).values > 0.99
    forced = scores[:, :MOST].argmax(-1) == target[:, :MOST].argmax(-1)
    found: dict[str, Any] = {
        "right": float((right > 0.99).float().mean()),
        "forced": float(forced[named].float().mean()),
    }
    for level in (0.5, 0.8, 0.9, 0.95, 0.98):
        picked = (sure >= level) & (which < MOST)
        found[str(level)] = int(picked.sum()), int((right[picked] < 0.01).sum())
    return found


def main(examples: str, tune: str, out: str) -> None:
    """Learn, report and save."""
    from studio.reader.examples import read

    told = read(Path(examples))
    made = learnt([*told["talks"], *told["thin"]])
    print(json.dumps(report(made, read(Path(tune))["talks"])))
    np.savez(out, **{name: value.numpy() for name, value in made.state_dict().items()})


if __name__ == "__main__":
    main(*sys.argv[1:])
