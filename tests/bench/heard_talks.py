"""Talks that were read aloud and heard (`read_aloud.py`): the words as heard, the lines where they were said."""

import json
from itertools import accumulate, pairwise
from pathlib import Path

from studio.model import Segment, Transcript, Word
from studio.reader.forms import Timed
from studio.reader.talks import Talk

FOLDER = Path(__file__).resolve().parent.parent / "talks" / "heard"
_CUE_MS = 6000


def is_heard(path: Path) -> bool:
    """Return whether a talk was read aloud."""
    return (FOLDER / f"{path.stem}.json").is_file()


def timed_heard(talk: Talk) -> Timed:
    """Return a talk as it was heard; the times of the written words are shared out over their line by letters."""
    kept = json.loads((FOLDER / f"{talk.name}.json").read_text(encoding="utf-8"))
    words = [Word(text=t, start_ms=a, end_ms=max(a + 1, b), confidence=c) for t, a, b, c in kept["words"]]
    cues: list[list[Word]] = []
    for word in words:
        if not cues or word.end_ms - cues[-1][0].start_ms > _CUE_MS:
            cues.append([])
        cues[-1].append(word)
    segments = tuple(_segment(tuple(cue)) for cue in cues)
    at = tuple(_shared_out(one.words, *span) for one, span in zip(talk.utterances, kept["lines"], strict=True))
    made = Transcript(language="en", recogniser=kept["recogniser"], segments=segments)
    return Timed(made, at, ())


def _shared_out(words: tuple[str, ...], start: int, end: int) -> tuple[tuple[int, int], ...]:
    ends = list(accumulate(len(word) + 1 for word in words))
    place = [start + (end - start) * n // ends[-1] for n in (0, *ends)]
    return tuple(pairwise(place))


def _segment(words: tuple[Word, ...]) -> Segment:
    text = " ".join(word.text for word in words)
    return Segment(start_ms=words[0].start_ms, end_ms=words[-1].end_ms, text=text, words=words)
