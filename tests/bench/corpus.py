"""Counts the corpus of marked talks: `python tests/bench/corpus.py`; the table goes into `tests/talks/README.md`."""

import sys
import time
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))

from studio.reader.talks import Talk, read_part  # noqa: E402

PARTS = ("train", "tune", "sealed")


def counts(talks: tuple[Talk, ...]) -> dict[str, int]:
    """Return how much a part holds."""
    lines = [one for talk in talks for one in talk.utterances]
    marks = Counter(m.mark.kind for one in lines for m in one.marks)
    roles = Counter(m.mark.role for one in lines for m in one.marks if m.mark.kind == "row")
    wrong = {(talk.name, m.mark.wrong) for talk in talks for one in talk.utterances for m in one.marks if m.mark.wrong}
    false = sum(m.mark.kind == "says" and not m.mark.true for one in lines for m in one.marks)
    return {
        "talks": len(talks), "hands": len({t.head["hand"] for t in talks}),
        "crafts": len({t.head["craft"] for t in talks}),
        "words": sum(len(one.words) for one in lines), "lines": len(lines), "marks": sum(marks.values()),
        **{f"rows {role}": roles[role] for role in ("shown", "mentioned", "rejected", "given", "own", "unclear")},
        "amounts": marks["amount"], "days": marks["day"], "corrections": len(wrong), "statements": marks["says"],
        "of these false": false, "gone or coming": marks["gone"] + marks["coming"],
        "offers": sum(len(t.offers) for t in talks), "warnings": marks["warn"], "private details": marks["private"],
        "earnings talk": marks["earn"], "claims": marks["claim"], "chapter starts": sum(len(t.starts) for t in talks),
        "catalogue rows": sum({t.catalogue.sha256: len(t.catalogue.products) for t in talks}.values()),
    }  # fmt: skip


def main() -> None:
    """Print the table."""
    began = time.perf_counter()
    told = {part: counts(read_part(HERE.parent / "talks" / part)) for part in PARTS}
    took = time.perf_counter() - began
    print("| what | " + " | ".join(PARTS) + " | all |\n|---|---|---|---|---|")
    for name in told["train"]:
        row = [told[part][name] for part in PARTS]
        print(f"| {name} | " + " | ".join(map(str, row)) + f" | {sum(row)} |")
    print(f"\nread and checked in {took:.1f} s")


if __name__ == "__main__":
    main()
