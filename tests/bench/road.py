"""How long one decision takes, and the same command again: a talk of two hours, beside an older state in one run.

python tests/bench/road.py
--beside FOLDER   another checkout too, in turn, with the ratio of each figure
--minutes 120     length of the talk
--rows 1000       rows of the catalogue
"""

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = Path(os.environ.get("BENCH_ROOT", HERE.parents[1]))
sys.path[:0] = [str(ROOT)]
TALKS = HERE.parent / "talks" / "train"
HAND = "h01"


def rows(count: int) -> list[list[str]]:
    """Return a catalogue: the hand's own rows first, then the other hands' rows, then the same under other codes."""
    found: list[list[str]] = []
    heads: list[str] = []
    for path in [TALKS / f"{HAND}.csv", *sorted(TALKS.glob("h*.csv"))]:
        with path.open(encoding="utf-8", newline="") as stream:
            head, *body = list(csv.reader(stream))
        heads = heads or head
        for cells in body:
            told = dict(zip(head, cells, strict=False))
            found.append([told.get(name, "") for name in heads])
    code, name = heads.index("code"), heads.index("name")
    seen: set[str] = set()
    out = [heads]
    for turn in range(count):
        for cells in found:
            if len(out) > count:
                return out
            made = list(cells)
            if turn or made[code] in seen:
                made[code] = f"{made[code]}-{len(out)}"
                made[name] = f"{made[name]} {_word(len(out))}" if turn else made[name]
            seen.add(made[code])
            out.append(made)
    return out


def _word(number: int) -> str:
    """Return a made-up word, another one for each number."""
    sounds = ["ba", "do", "ki", "lu", "me", "no", "pa", "ri", "so", "tu"]
    return "".join(sounds[int(digit)] for digit in str(number)).capitalize()


def talk(minutes: int) -> str:
    """Return the talks of the training hands one after another, as captions, until the time is full."""
    from studio import timecode
    from studio.reader.forms import timed
    from studio.reader.talks import read_talk

    cues, offset = ["WEBVTT\n"], 0
    names = sorted(TALKS.glob(f"{HAND}-*.txt"))
    while offset < minutes * 60_000:
        for path in names:
            segments = timed(read_talk(path), "spoken").transcript.segments
            for one in segments:
                text = one.text.replace("&", "&amp;").replace("<", "&lt;")
                start, end = one.start_ms + offset, one.end_ms + offset
                cues.append(f"{timecode.vtt(start)} --> {timecode.vtt(end)}\n{text}\n")
            offset += segments[-1].end_ms + 2000
    return "\n".join(cues)


def lay(place: Path, minutes: int, count: int) -> None:
    """Put the talk and the catalogue into a folder."""
    (place / "talk.vtt").write_text(talk(minutes), encoding="utf-8")
    with (place / "list.csv").open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows(count))


def measured(place: Path) -> dict[str, float]:
    """Return the figures of this tree, in seconds."""
    from studio import edits, folio, pipeline
    from studio.desk import held, views
    from studio.edits import Anchor, kinds

    told: dict[str, float] = {}

    def clock(name: str, work):  # noqa: ANN001, ANN202
        began = time.perf_counter()
        result = work()
        told[name] = min(told.get(name, 1e9), time.perf_counter() - began)
        return result

    folder = place / "folio"
    request = pipeline.Request(place / "talk.vtt", folder, place / "list.csv", date(2026, 4, 14))
    clock("first make", lambda: folio.make(request))
    for _ in range(3):
        clock("make again, nothing changed", lambda: folio.make(request))
    holder = held.Holder()
    opened = clock("open at the desk", lambda: holder.get(folder))
    clock("the page's data", lambda: views.whole(opened))
    document = opened.document
    unsure = [one for one in document.mentions if one.state == "ask" and one.code] or document.mentions
    mention, sentence, chapter = unsure[len(unsure) // 2], document.sentences[900 % len(document.sentences)], None
    chapter = document.chapters[len(document.chapters) // 2]
    measure = document.measures[len(document.measures) // 2]
    at = Anchor(start_ms=mention.start_ms, end_ms=mention.end_ms, heard=mention.heard)
    word = sentence.words[0]
    spoken = Anchor(start_ms=word.start_ms, end_ms=word.end_ms, heard=word.text)
    size = Anchor(start_ms=measure.start_ms, end_ms=measure.end_ms, heard=measure.heard)
    made = {
        "chapter renamed": kinds.ChapterRenamed(start_ms=chapter.start_ms, title="Another title"),
        "supply counted": kinds.SupplySet(item=document.supplies[0].code or document.supplies[0].name, quantity=3),
        "measure removed": kinds.MeasureSet(anchor=size, removed=True),
        "mention decided": kinds.MentionDecided(anchor=at, choice="code", code=mention.code),
        "mention taken away": kinds.MentionDecided(anchor=at, choice="none"),
        "word corrected": kinds.WordCorrected(anchor=spoken, shown="Well"),
    }
    for name, edit in made.items():
        now = holder.get(folder)
        clock(f"{name}: decided", lambda n=now, e=edit: holder.decide(n, e, n.decided.version))
        clock(f"{name}: page's data", lambda n=now: views.whole(n))
        told[f"{name}: at the desk"] = told[f"{name}: decided"] + told[f"{name}: page's data"]
        decided = edits.load(folder / "edits.jsonl")
        asked = pipeline.Request(**{**vars(request), "decided": decided})
        results = clock(f"{name}: stages", lambda a=asked: pipeline.run(a))
        clock(f"{name}: files", lambda r=results: folio.outputs(r.document(), r.values["catalogue"], request.settings))
    clock("make after all", lambda: folio.make(request))
    text = (place / "list.csv").read_text(encoding="utf-8")
    used = next(row for row in folio.read(folder).supplies if row.code and row.price is not None)
    line = next(one for one in text.splitlines() if one.startswith(f"{used.code},"))
    other = line.replace(str(used.price), str(used.price + 1))
    assert other != line
    (place / "list.csv").write_text(text.replace(line, other), encoding="utf-8")
    clock("make after a new price", lambda: folio.make(request))
    (place / "list.csv").write_text(text.replace(line, other.replace(used.name, used.name + " Plus")), encoding="utf-8")
    clock("make after a new name", lambda: folio.make(request))
    return told


def child(place: Path, root: Path) -> dict[str, float]:
    """Return the figures of another checkout, measured in a process of its own."""
    given = {**os.environ, "BENCH_ROOT": str(root), "PYTHONPATH": str(root)}
    out = subprocess.run([sys.executable, __file__, "--in", str(place)], env=given, capture_output=True, text=True)
    if out.returncode:
        raise SystemExit(out.stderr)
    found: dict[str, float] = json.loads(out.stdout.splitlines()[-1])
    return found


def main() -> None:
    """Measure, and print a table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--beside", type=Path)
    parser.add_argument("--minutes", type=int, default=120)
    parser.add_argument("--rows", type=int, default=1000)
    parser.add_argument("--in", dest="place", type=Path)
    given = parser.parse_args()
    if given.place:
        print(json.dumps(measured(given.place)))
        return
    roots = [given.beside.resolve(), ROOT] if given.beside else [ROOT]
    found = []
    for root in roots:
        with tempfile.TemporaryDirectory() as folder:
            lay(Path(folder), given.minutes, given.rows)
            found.append(child(Path(folder), root))
    for name in found[-1]:
        figures = [one[name] for one in found]
        ratio = f"  {figures[0] / figures[1]:6.1f} times faster" if len(figures) > 1 else ""
        print(f"{name:38}" + "".join(f"{one:9.3f} s" for one in figures) + ratio)


if __name__ == "__main__":
    main()
