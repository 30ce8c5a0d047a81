"""Prints how near posts come to ones written by hand: python tests/bench/gold.py FOLDER-OF-TALKS [--detail]."""

import json
import re
import sys
import tempfile
import tomllib
from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))
from draft_figures import figures, words
from rapidfuzz.distance import Levenshtein

from studio import folio, pipeline, timecode

GOLD = Path(__file__).parent.parent / "fixtures" / "written" / "gold"


def captions(talk: Path) -> str:
    """Return a WebVTT file in which each utterance of a `transcript.json` is one cue."""
    told = json.loads((talk / "transcript.json").read_text(encoding="utf-8"))["segments"]
    times = (tuple(timecode.vtt(round(one[end] * 1000)) for end in ("start", "end")) for one in told)
    cues = (f"{start} --> {end}\n{one['text']}\n" for (start, end), one in zip(times, told, strict=True))
    return "WEBVTT\n\n" + "\n".join(cues)


def made(talk: Path, recorded: date, work: Path) -> Path:
    """Make the folio of a talk that is written down, and return its folder."""
    source = work / f"{talk.name}.vtt"
    source.write_text(captions(talk), encoding="utf-8")
    request = pipeline.Request(
        source=source, folder=work / talk.name, catalogue=talk / "catalogue.csv", recorded_on=recorded
    )
    return folio.make(request).folder


def units(folder: Path) -> list[str]:
    """Return the paragraphs, rows and items of the post as they are read, without front matter, links and escapes."""
    text = (folder / "post.md").read_text(encoding="utf-8").split("---\n\n", 1)[1]
    text = re.sub(r"!\[.*?\]\(.*?\)|\]\(http.*?\)", "", text).replace("[", "").replace("\\", "")
    parts = re.split(r"\n\n+|\n(?=\||- |\* |\d+\. )", text)
    return [" ".join(part.split()) for part in parts if part.strip()]


def facts_missing(facts: list[str], told: list[str]) -> list[str]:
    """Return the facts of which no paragraph has every part."""

    def stands(fact: str) -> bool:
        parts = [re.compile(part, re.IGNORECASE) for part in fact.split(" + ")]
        return any(all(part.search(unit) for part in parts) for unit in told)

    return [fact for fact in facts if not stands(fact)]


def steps_in_order(steps: list[list[str]], sentences: list[str]) -> list[int]:
    """Return the numbers of the steps in the longest chain whose sentences stand in the order of the steps."""
    lower = [sentence.lower() for sentence in sentences]
    best: list[list[int]] = [[] for _ in sentences]
    for number, step in enumerate(steps):
        wanted = [[way.lower() for way in word.split("|")] for word in step]
        held = [all(any(way in sentence for way in ways) for ways in wanted) for sentence in lower]
        chain: list[int] = []
        before = list(best)
        for at, has in enumerate(held):
            chain = max(chain, before[at], key=len)
            best[at] = [*chain, number] if has and len(chain) + 1 > len(before[at]) else before[at]
    return max(best, key=len, default=[])


def told_sentences(folder: Path) -> list[str]:
    """Return the sentences of the post's body, in its order."""
    trace = json.loads((folder / "post.trace.json").read_text(encoding="utf-8"))
    return [line["text"] for line in trace["sentences"]]


def gold_text(name: str) -> str:
    """Return the post that was written by hand, without its remark."""
    told = (GOLD / f"{name}.md").read_text(encoding="utf-8").splitlines()
    return " ".join(line for line in told if not line.startswith("#"))


def report(name: str, folder: Path, gold: dict[str, Any], detail: bool) -> None:
    """Print every figure of one talk."""
    sentences, facts, steps = told_sentences(folder), gold["facts"], gold["steps"]
    missing = facts_missing(facts, units(folder))
    chain = steps_in_order(steps, sentences)
    lost = [step for number, step in enumerate(steps) if number not in chain]
    wanted = words(gold_text(name))
    changes = Levenshtein.distance(words(" ".join(sentences)), wanted)
    print(f"{name:20} facts            {1 - len(missing) / len(facts):.3f} of {len(facts)}")
    print(f"{name:20} steps in order   {len(chain) / len(steps):.3f} of {len(steps)}")
    print(f"{name:20} words to change  {100 * changes / len(wanted):.1f} per 100 of {len(wanted)}")
    for field in fields(found := figures(folder)):
        value = getattr(found, field.name)
        print(f"{name:20} {field.name:16} {len(value) if isinstance(value, list) else round(value, 3)}")
        if detail and isinstance(value, list):
            print(*(f"        {one}" for one in value), sep="\n")
    if detail:
        print("missing facts:", *missing, "missing steps:", *lost, sep="\n        ")


def main() -> None:
    """Measure every talk of the folder that a post was written for."""
    with tempfile.TemporaryDirectory() as work:
        for path in sorted(GOLD.glob("*.toml")):
            if not (talk := Path(sys.argv[1]) / path.stem).is_dir():
                print(f"{path.stem:20} is not in the folder")
                continue
            gold = tomllib.loads(path.read_text(encoding="utf-8"))
            folder = made(talk, gold["recorded"], Path(work))
            report(path.stem, folder, gold, "--detail" in sys.argv)


if __name__ == "__main__":
    main()
