"""Trains the reader: marked talks in, the files that the program loads out.

    python -m studio.reader.training TALKS BASE_FOLDER OUT_FOLDER [--folds 1.5] [--epochs 3.5]

Needs the extra `train`. TALKS holds the parts `train` and `tune` as marked talks, or both made ready before
(`train.json.xz`, `tune.json.xz`: what `--examples-only` leaves in OUT_FOLDER). The base folder holds the published
`model.safetensors` and `tokenizer.json` of all-MiniLM-L6-v2. Seeded; a GPU is used where there is one.
"""

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from studio.reader import examples
from studio.reader.examples import Proposed
from studio.reader.export import export
from studio.reader.judging import proposals, report
from studio.reader.steps import Sample
from studio.reader.talks import read_talk
from studio.reader.trainer import save, trained

PARTS = ("train", "tune")
"""The part that is learnt from, and the part that tells how well."""
LIKELY = 0.3
"""Probability from which the words of a talk are proposed as lookalikes of names."""


def of_hands(made: Sample, hands: list[str]) -> Sample:
    """Return the examples of some hands alone."""
    return {**made, "talks": [one for one in made["talks"] if one["talk"].split("-")[0] in hands]}


def _of_hand(asked: tuple[list[Path], Proposed]) -> Sample:
    paths, proposed = asked
    return examples.examples(map(read_talk, paths), proposed)


def of_talks(folder: Path, proposed: Proposed) -> Sample:
    """Return the examples of all marked talks of a folder; those of a hand follow from its talks alone."""
    hands: dict[str, list[Path]] = {}
    for path in sorted(folder.glob("*.txt")):
        hands.setdefault(path.stem.split("-")[0], []).append(path)
    with ProcessPoolExecutor() as pool:
        parts = list(pool.map(_of_hand, [(paths, proposed) for paths in hands.values()]))
    rows = {hand: texts for part in parts for hand, texts in part["rows"].items()}
    return {**parts[0], "rows": rows, "talks": [talk for part in parts for talk in part["talks"]]}


def prepared(talks: Path, out: Path, part: str, proposed: Proposed | None = None) -> Sample:
    """Return the examples of a part, as they were made ready or made now and written to the folder for results."""
    ready = talks / f"{part}.json.xz"
    if ready.is_file():
        return examples.read(ready)
    made = of_talks(talks / part, proposed or {})
    examples.write(made, out / ready.name)
    return made


def by_halves(made: Sample, base: Path, epochs: float, seconds: float) -> Proposed:
    """Return what a reader that learnt from one half of the hands proposes in the other half."""
    hands, found = sorted(made["rows"]), Proposed()
    for half in (hands[::2], hands[1::2]):
        reader = trained(of_hands(made, half), base, epochs, seconds, words_only=True)
        others = of_hands(made, [hand for hand in hands if hand not in half])
        found |= proposals(reader, others["talks"], LIKELY)
    return found


def train(made: Sample, told: argparse.Namespace) -> None:
    """Train, report, and write the weights and the files that the program loads."""
    hands = sorted(made["rows"])[: told.hands or None]
    made = of_hands(made, hands)
    reader = trained(made, told.base, told.epochs, told.seconds)
    figures = report(reader, prepared(told.talks, told.out, "tune"))
    (told.out / "report.json").write_text(json.dumps(figures, indent=1), encoding="utf-8")
    print(json.dumps(figures))
    save(reader, told.out / "reader.safetensors")
    if not told.weights_only:
        export(told.out / "reader.safetensors", told.base / "tokenizer.json", told.out, examples.digest(made))


def main() -> None:
    """Make examples, let the halves propose if asked, train, report and export."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("talks", type=Path)
    ask.add_argument("base", type=Path)
    ask.add_argument("out", type=Path)
    ask.add_argument("--epochs", type=float, default=3.5)
    ask.add_argument("--seconds", type=float, default=5400, help="stop learning after so long")
    ask.add_argument("--hands", type=int, default=0, help="learn from so many hands alone")
    ask.add_argument("--folds", type=float, default=0, help="epochs of each half for proposals; 0 for none")
    ask.add_argument("--proposed", type=Path, help="proposals that were written before")
    ask.add_argument("--examples-only", action="store_true", help="write the examples to learn from elsewhere")
    ask.add_argument("--weights-only", action="store_true", help="leave the export for another machine")
    told = ask.parse_args()
    told.out.mkdir(parents=True, exist_ok=True)
    proposed = json.loads(told.proposed.read_text(encoding="utf-8")) if told.proposed else None
    made = prepared(told.talks, told.out, "train", proposed)
    if told.folds:
        proposed = by_halves(made, told.base, told.folds, told.seconds)
        (told.out / "proposed.json").write_text(json.dumps(proposed), encoding="utf-8")
        made = prepared(told.talks, told.out, "train", proposed)
    if told.examples_only:
        prepared(told.talks, told.out, "tune")
    elif told.epochs:
        train(made, told)


if __name__ == "__main__":
    main()
