"""Scores what is understood of talks by hands that the program has not met.

    python tests/bench/strangers.py --part tune
    --part train|tune|sealed   which hands (default tune); for sealed only totals, kept in tests/talks/sealed_log.md
    --form spoken|recogniser|captions|all|heard   in which form (default spoken); heard: the talks that were read aloud
    --real FOLDER              real talk with marked steps instead; nothing of it is copied
    --sample FILE              with --real: write confirmed rows there for blind judging; it quotes the talk
    --misses FILE              write every miss there (never for sealed)
    --hand h01                 only talks of this hand

Each figure comes with an interval: 95 % of 1,000 bootstrap samples over talks. `confirmed rows wrong` counts rows of
the supply list called confirmed that were not shown; `wrong facts` all others that would go out as sure.
"""

import argparse
import random
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from figures import F1, NAMES, Figures, Tally, figures  # noqa: E402
from gold_facts import gold  # noqa: E402
from heard_talks import is_heard, timed_heard  # noqa: E402

from studio import timecode  # noqa: E402
from studio.model import Transcript  # noqa: E402
from studio.reader.forms import FORMS, Form, timed  # noqa: E402
from studio.reader.talks import Talk, read_talk  # noqa: E402

TALKS = HERE.parent / "talks"
LOG = TALKS / "sealed_log.md"
SAMPLES, SEED = 1000, 11
BINS = 10


def score(path: Path, form: Form | Literal["heard"]) -> Figures:
    """Make the folio of one talk in one form, and compare it with the marks."""
    talk = read_talk(path)
    heard = timed_heard(talk) if form == "heard" else timed(talk, form)
    return figures(talk.name, gold(talk, heard), understood(talk, heard.transcript))


def understood(talk: Talk, transcript: Transcript):  # noqa: ANN201  (the document, by the product's own road)
    """Return the document that the product makes of the talk given as a caption file."""
    from studio import folio, pipeline
    from studio.settings import Settings

    with tempfile.TemporaryDirectory() as place:
        source = Path(place) / f"{talk.name}.vtt"
        source.write_text(caption_file(transcript), encoding="utf-8")
        request = pipeline.Request(
            source=source, folder=Path(place) / "folio", catalogue=talk.file.parent / talk.head["catalogue"],
            recorded_on=talk.recorded, settings=Settings(),
        )  # fmt: skip
        return folio.make(request).document


def caption_file(transcript: Transcript) -> str:
    """Return a transcript as a WebVTT file, a cue for each segment."""
    cues = [
        f"{timecode.vtt(one.start_ms)} --> {timecode.vtt(one.end_ms)}\n{_escaped(one.text)}\n"
        for one in transcript.segments
    ]
    return "WEBVTT\n\n" + "\n".join(cues)


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;")


def value(name: str, tally: Tally) -> float:
    """Return F1 where false finds count, else recall; nothing to find is 1."""
    recall = tally.found / tally.gold if tally.gold else 1.0
    if name not in F1:
        return recall
    precision = tally.found / (tally.found + tally.false) if tally.found + tally.false else 1.0
    return 2 * precision * recall / (precision + recall) if precision + recall else 0.0


def _sum(name: str, talks: Sequence[Figures]) -> float:
    total = Tally()
    for one in talks:
        part = one.tallies[name]
        total.add(part.found, part.gold, part.false)
    return value(name, total)


def interval(talks: Sequence[Figures], of: Callable[[Sequence[Figures]], float]) -> tuple[float, float]:
    """Return where 95 % of the bootstrap samples over talks lie."""
    chance = random.Random(SEED)
    drawn = sorted(of(chance.choices(talks, k=len(talks))) for _ in range(SAMPLES))
    return drawn[round(0.025 * SAMPLES)], drawn[round(0.975 * SAMPLES) - 1]


def _share(part: str, whole: str) -> Callable[[Sequence[Figures]], float]:
    return lambda talks: sum(getattr(t, part) for t in talks) / max(1, sum(getattr(t, whole) for t in talks))


def table(talks: Sequence[Figures]) -> list[str]:
    """Return the figures of some talks as lines of a table."""
    lines = ["| figure | value | 95 % | found/gold | false |", "|---|---|---|---|---|"]
    for name in NAMES:
        low, high = interval(talks, lambda some, name=name: _sum(name, some))
        found, want = (sum(getattr(t.tallies[name], key) for t in talks) for key in ("found", "gold"))
        false = sum(t.tallies[name].false for t in talks)
        lines.append(f"| {name} | {_sum(name, talks):.3f} | {low:.2f}–{high:.2f} | {found}/{want} | {false} |")
    for label, part, whole in (
        ("confirmed rows wrong", "confirmed_wrong", "confirmed"),
        ("rows asked", "asked", "rows"),
    ):
        low, high = interval(talks, _share(part, whole))
        counts = f"{sum(getattr(t, part) for t in talks)}/{sum(getattr(t, whole) for t in talks)}"
        lines.append(f"| {label} | {_share(part, whole)(talks):.3f} | {low:.2f}–{high:.2f} | {counts} | |")
    wrong = sum((t.wrong_sure for t in talks), Counter())
    kinds = ", ".join(f"{kind} {n}" for kind, n in wrong.most_common()) or "none"
    lines.append(f"| wrong facts as sure, a talk | {sum(wrong.values()) / len(talks):.2f} | | {kinds} | |")
    lines.append(f"| calibration error | {calibration_error(talks):.3f} | | | |")
    return lines


def _bins(talks: Sequence[Figures]) -> list[list[tuple[float, bool]]]:
    bins: list[list[tuple[float, bool]]] = [[] for _ in range(BINS)]
    for stated, right in (pair for one in talks for pair in one.stated):
        bins[min(BINS - 1, int(stated * BINS))].append((stated, right))
    return bins


def calibration_error(talks: Sequence[Figures]) -> float:
    """Return the expected calibration error over ten bins: mean of |stated - found|, weighted by rows."""
    bins = [one for one in _bins(talks) if one]
    rows = sum(map(len, bins))
    return sum(abs(sum(p for p, _ in one) - sum(right for _, right in one)) for one in bins) / max(1, rows)


def calibration(talks: Sequence[Figures]) -> list[str]:
    """Return the calibration table: what was stated against what was found, in ten bins."""
    lines = ["| stated | rows | mean stated | found right |", "|---|---|---|---|"]
    for n, one in enumerate(_bins(talks)):
        if one:
            stated, right = sum(p for p, _ in one) / len(one), sum(r for _, r in one) / len(one)
            lines.append(f"| {n / BINS:.1f}–{(n + 1) / BINS:.1f} | {len(one)} | {stated:.2f} | {right:.2f} |")
    return lines


def _commit() -> str:
    asked = subprocess.run(
        ["git", "describe", "--always", "--dirty"], cwd=HERE, capture_output=True, text=True, check=False
    )
    return asked.stdout.strip() or "unknown"


def run(part: str, form: Form | Literal["heard"], hand: str = "", misses: Path | None = None) -> None:
    """Score one part in one form and print its tables."""
    paths = [p for p in sorted((TALKS / part).glob("*.txt")) if p.stem.startswith(hand)]
    paths = [p for p in paths if is_heard(p)] if form == "heard" else paths
    with ProcessPoolExecutor(2) as pool:
        talks = list(pool.map(score, paths, [form] * len(paths)))
    head = f"## {part}, {form}: {len(talks)} talks, {datetime.now(UTC):%Y-%m-%d}, {_commit()}"
    lines = [head, "", *table(talks), ""]
    if part == "sealed":
        with LOG.open("a", encoding="utf-8") as log:
            log.write("\n".join(lines) + "\n")
    else:
        lines += [*calibration(talks), ""]
        lines += [_one_line(one) for one in talks]
    print("\n".join(lines), flush=True)
    if misses and part != "sealed":
        misses.write_text(
            "\n".join(f"{one.name}: {miss}" for one in talks for miss in one.misses) + "\n", encoding="utf-8"
        )


def _one_line(one: Figures) -> str:
    told = " ".join(f"{name}={value(name, one.tallies[name]):.2f}" for name in NAMES)
    facts = sum(one.wrong_sure.values())
    return f"{one.name}: {told} sure={one.confirmed} sure_wrong={one.confirmed_wrong} wrong_facts={facts}"


def main() -> None:
    """Read the choices and score."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--part", choices=("train", "tune", "sealed"), default="tune")
    parser.add_argument("--form", choices=(*FORMS, "heard", "all"), default="spoken")
    parser.add_argument("--hand", default="")
    parser.add_argument("--real", type=Path)
    parser.add_argument("--sample", type=Path)
    parser.add_argument("--misses", type=Path)
    asked = parser.parse_args()
    if asked.real:
        from real_talk import run_real

        run_real(asked.real, asked.sample)
        return
    for form in FORMS if asked.form == "all" else (asked.form,):
        run(asked.part, form, asked.hand, asked.misses)


if __name__ == "__main__":
    main()
