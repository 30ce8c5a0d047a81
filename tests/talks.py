"""Invented talks with marked chapters, made into transcripts with uneven word times."""

import re
from dataclasses import dataclass
from pathlib import Path

from studio.model import Segment, Transcript, Word

FOLDER = Path(__file__).parent / "fixtures" / "talks"


@dataclass(frozen=True)
class Talk:
    """A talk as a recogniser would give it, and where its chapters begin."""

    name: str
    transcript: Transcript
    duration_ms: int
    starts_ms: tuple[int, ...]
    title_words: tuple[tuple[str, ...], ...]
    """For each chapter, words one of which a title should hold."""


def names() -> list[str]:
    """Return the names of all talks."""
    return sorted(path.stem for path in FOLDER.glob("*.txt"))


def read(name: str, *, marks: bool = True) -> Talk:
    """Read a talk: `##` opens a chapter, `[3]` is a silence of 3 s; without `marks` no capitals and points."""
    words: list[Word] = []
    starts: list[int] = []
    titles: list[tuple[str, ...]] = []
    at = 1000
    for line in (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines():
        silence = re.fullmatch(r"\[(\d+)\]", line)
        if silence:
            at += int(silence[1]) * 1000
        elif line.startswith("## "):
            titles.append(tuple(line[3:].split("|")))
            starts.append(at)
        elif line and not line.startswith("#"):
            words += _spoken(line if marks else re.sub(r"[.,;:?!“”]", "", line.lower()), at)
            at = words[-1].end_ms + 480 + 137 * len(line) % 400
    text = " ".join(word.text for word in words)
    segment = Segment(start_ms=words[0].start_ms, end_ms=at, text=text, words=tuple(words))
    heard = Transcript(language="en", recogniser="by hand", segments=(segment,))
    return Talk(name, heard, at, tuple(starts), tuple(titles))


def _spoken(line: str, at: int) -> list[Word]:
    found = []
    for word in line.split():
        lasts = 90 + 55 * len(word)
        found.append(Word(text=word, start_ms=at, end_ms=at + lasts))
        at += lasts + (180 if word[-1] in ",;" else 30)
    return found


def matches(wanted: list[int], found: list[int], tolerance_ms: int = 10_000) -> list[tuple[int, int]]:
    """Return the nearest one-to-one pairs of places in both lists that lie within the tolerance."""
    near = ((abs(w - f), i, j) for i, w in enumerate(wanted) for j, f in enumerate(found))
    pairs: list[tuple[int, int]] = []
    for distance, i, j in sorted(near):
        if distance <= tolerance_ms and all(i != a and j != b for a, b in pairs):
            pairs.append((i, j))
    return pairs
