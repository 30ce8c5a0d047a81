"""Learns from the tuning talks how the signs of a shown row are weighed, and writes `shared/weights.toml`.

    python tests/bench/weights.py
    --kept FILE    keep what the reader says of the talks there (it takes half an hour), or take it from there
    --dry          only print the figures

The figures are of hands left out one by one: how good the list would be from which probability, and how many rows of
those called sure are wrong.
"""

import argparse
import pickle
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from gold_facts import Gold, gold  # noqa: E402

from studio import language, mentions  # noqa: E402
from studio.mentions.weighing import SIGNS, signs  # noqa: E402
from studio.model import Catalogue, Mention, Naming  # noqa: E402
from studio.reader.forms import FORMS, Form, timed  # noqa: E402
from studio.reader.naming import namings  # noqa: E402
from studio.reader.talks import read_talk  # noqa: E402

TALKS, OUT = HERE.parent / "talks" / "tune", HERE.parents[1] / "shared" / "weights.toml"
HOLD = 3.0
"""How strongly weights are held small (ridge)."""
LEAST = 0.04
"""Rows that no words mean with at least this, and no rule shows, are not learnt from."""
SURE = (0.8, 0.85, 0.88, 0.9, 0.92, 0.95)


@dataclass
class Read:
    """What is held of one talk in one form, and what is so."""

    talk: str
    namings: tuple[Naming, ...]
    proposed: tuple[Mention, ...]
    gold: Gold
    catalogue: Catalogue


def read(path: Path, form: Form) -> Read:
    """Ask the rules and the reader about a talk."""
    talk = read_talk(path)
    made = timed(talk, form)
    sentences = language.sentences(made.transcript)
    proposed = mentions.mentions(sentences, talk.catalogue, {})
    return Read(talk.name, namings(sentences, talk.catalogue, proposed), proposed, gold(talk, made), talk.catalogue)


def learnt(signs: np.ndarray[Any, Any], shown: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Return the weights of a logistic regression, the bias last."""
    middle, spread = signs.mean(0), signs.std(0) + 1e-6
    x = np.c_[(signs - middle) / spread, np.ones(len(signs))]
    weights, hold = np.zeros(x.shape[1]), np.diag([*[HOLD] * signs.shape[1], 0.0])
    for _ in range(40):
        p = 1 / (1 + np.exp(-x @ weights))
        weights -= np.linalg.solve(x.T @ (x * (p * (1 - p))[:, None]) + hold, x.T @ (p - shown) + hold @ weights)
    plain = weights[:-1] / spread
    return np.append(plain, weights[-1] - plain @ middle)


def main() -> None:
    """Learn, print the figures, write the weights."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--kept", type=Path)
    asked.add_argument("--dry", action="store_true")
    options = asked.parse_args()
    if options.kept and options.kept.is_file():
        talks = pickle.loads(options.kept.read_bytes())
    else:
        jobs = [(path, form) for form in FORMS for path in sorted(TALKS.glob("*.txt"))]
        with ProcessPoolExecutor(2) as pool:
            talks = list(pool.map(read, *zip(*jobs, strict=True)))
        if options.kept:
            options.kept.write_bytes(pickle.dumps(talks))
    table, shown, hands, spare, unclear, lost = [], [], [], [], [], 0
    for talk in talks:
        found = signs(talk.namings, talk.proposed, talk.catalogue)
        kept = {
            code: one.figures() for code, one in found.items()
            if any(n.rows[code] >= LEAST for _, n in one.namings) or any(m.role == "shown" for m in one.proposals)
        }  # fmt: skip
        lost += len(set(talk.gold.shown) - set(kept))
        for code, figures in kept.items():
            table.append(figures)
            shown.append(code in talk.gold.shown)
            hands.append(talk.talk.split("-")[0])
            spare.append(code in talk.gold.spared and code not in talk.gold.shown)
            unclear.append(code in talk.gold.unclear and code not in talk.gold.shown)
    x, y, hand, counted = np.array(table), np.array(shown, float), np.array(hands), ~np.array(spare)
    told = counted | np.array(unclear)
    p = np.zeros(len(y))
    for one in np.unique(hand):
        weights = learnt(x[hand != one], y[hand != one])
        p[hand == one] = 1 / (1 + np.exp(-(x[hand == one] @ weights[:-1] + weights[-1])))
    whole = y.sum() + lost

    def f1(least: float) -> float:
        taken = counted & (p >= least)
        return float(2 * y[taken].sum() / (taken.sum() + whole))

    least = max((round(0.05 + 0.01 * n, 2) for n in range(80)), key=f1)
    print(f"{len(y)} rows, {whole:.0f} shown, {lost} never proposed; list from {least}: F1 {f1(least):.3f}")
    for level in SURE:
        taken = told & (p >= level)
        print(f"sure from {level}: {taken.sum()} rows, {(taken & (y == 0)).sum()} wrong")
    weights = learnt(x, y)
    print(dict(zip([*SIGNS, "bias"], weights.round(3).tolist(), strict=True)))
    if not options.dry:
        lines = [f"{name} = {value:.4f}" for name, value in zip([*SIGNS, "bias"], weights, strict=True)]
        text = OUT.read_text(encoding="utf-8")
        OUT.write_text(text[: text.index("[shown]")] + "[shown]\n" + "\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
