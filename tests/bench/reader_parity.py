"""How often the reader with rounded weights decides as the one that was trained does.

    python tests/bench/reader_parity.py FLOAT_NETWORK [--network FILE] [--talks 3] [--names 45]

FLOAT_NETWORK is the `reader.float.onnx` that `studio.reader.export` leaves; the other is the program's own, or FILE.
Both read the same talks of `train`, in all forms by turns, and are asked about the same stretches.
"""

import argparse
import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from studio.reader.forms import FORMS, timed  # noqa: E402
from studio.reader.model import Reader  # noqa: E402
from studio.reader.reading import NAMES, Fits, Words, read_names, read_words, spans  # noqa: E402
from studio.reader.rows import Rows  # noqa: E402
from studio.reader.talks import read_talk  # noqa: E402

TRAIN = HERE.parent / "talks" / "train"
SURE = 0.9
"""Probability from which a row counts as sure here."""
TARGET = 0.995
"""Share of decisions that should be the same."""


def decided(words: Words) -> dict[str, np.ndarray]:
    """Return what is decided of each word."""
    flags = (words.flags >= 0.5).any(0 if not len(words.flags) else 1)
    found = {"naming": words.naming >= NAMES, "kind": words.kinds.argmax(1), "flag": flags}
    return found | {"start": words.starts >= 0.5, "stop": words.stops >= 0.5}


def chosen(named: list[Fits]) -> dict[str, np.ndarray]:
    """Return what is decided of each stretch."""
    best = [one.rows[0] if one.rows and one.rows[0][1] > one.none else (-1, one.none) for one in named]
    sure = [one.rows[0][0] if one.rows and one.rows[0][1] >= SURE else -1 for one in named]
    meanings = [max(one.meanings, key=one.meanings.__getitem__) for one in named]
    return {"row": np.array([at for at, _ in best]), "sure row": np.array(sure), "meaning": np.array(meanings)}


def main() -> None:
    """Print the share of same decisions, head by head and of all."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("trained", type=Path)
    ask.add_argument("--network", type=Path)
    ask.add_argument("--talks", type=int, default=3)
    ask.add_argument("--names", type=int, default=45, help="stretches of a talk")
    told = ask.parse_args()
    trained, own = Reader(network=told.trained), Reader(network=told.network)
    paths = sorted(TRAIN.glob("*.txt"))
    same: dict[str, list[np.ndarray]] = {}
    for n, path in enumerate(paths[3 :: max(1, len(paths) // told.talks)][: told.talks]):
        talk = read_talk(path)
        said = [w.text for one in timed(talk, FORMS[n % len(FORMS)]).transcript.segments for w in one.words]
        one, two, rows = read_words(trained, said), read_words(own, said), Rows(talk.catalogue)
        asked = spans(one)[: told.names]
        want = decided(one) | chosen(read_names(trained, one, rows, asked))
        have = decided(two) | chosen(read_names(own, two, rows, asked))
        for head, values in want.items():
            same.setdefault(head, []).append(values == have[head])
    counts = {head: np.concatenate(values) for head, values in same.items()}
    for head, values in counts.items():
        print(f"{head:<10} {values.mean():.4f} of {len(values)}")
    share = np.concatenate(list(counts.values())).mean()
    print(f"{'all':<10} {share:.4f}, wanted {TARGET}: {'reached' if share >= TARGET else 'MISSED'}")


if __name__ == "__main__":
    main()
