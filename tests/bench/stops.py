"""Measures where sentences are said to end: by marks, pauses and cue words alone, and with missing stops restored.

    python tests/bench/stops.py [--part tune|train] [--hand h05]

Gold are the ends of the lines of the marked talks. `spoken`, `recogniser` and `captions` are read back from a caption
file, so that times inside a caption are shared out as they are in use; `heard` are the talks that were read aloud, and
`bare` are these in small letters without marks. An end inside a line where the writer put a stop counts neither way
(in `heard` and `bare` it counts as wrong). What was learnt from (`train`) flatters the reader.
"""

import argparse
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import strangers
from heard_talks import FOLDER, is_heard, timed_heard

from studio import language, transcript
from studio.model import Segment, Sentence, Transcript, Word
from studio.reader import stops
from studio.reader.forms import FORMS, Form, timed
from studio.reader.talks import Talk, read_talk

MARKS, CLOSING = ".,;:?!…", "\"'”’)]»"


@dataclass(frozen=True)
class Sample:
    """A talk in one form, for each word whether a line ends with it and whether an end there counts neither way."""

    form: str
    transcript: Transcript
    gold: tuple[bool, ...]
    neither: tuple[bool, ...]


def written(talk: Talk, form: Form) -> Sample:
    """Return a talk in one form as it comes back from a caption file."""
    made = timed(talk, form)
    words = [word for segment in made.transcript.segments for word in segment.words]
    nexts = [*made.origin[1:], (-1, 0)]
    gold, neither = list[bool](), list[bool]()
    for word, (line, _), (after, first) in zip(words, made.origin, nexts, strict=True):
        last = talk.utterances[line].words[first - 1 if after == line else -1]
        parts = len(word.text.split())
        gold += [False] * (parts - 1) + [after != line]
        neither += [False] * (parts - 1) + [after == line and last.rstrip(CLOSING).endswith(language.SENTENCE_END)]
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "talk.vtt"
        file.write_text(strangers.caption_file(made.transcript), encoding="utf-8")
        return Sample(form, transcript.read_captions(file), tuple(gold), tuple(neither))


def heard(talk: Talk) -> Iterator[Sample]:
    """Yield a talk that was read aloud, as it was heard and without its marks and capitals."""
    made = timed_heard(talk)
    words = [word for segment in made.transcript.segments for word in segment.words]
    lines = [(at[0][0], at[-1][1]) for at in made.at]
    near = [
        min(
            range(len(lines)),
            key=lambda n, mid=(word.start_ms + word.end_ms) / 2: max(lines[n][0] - mid, mid - lines[n][1], 0),
        )
        for word in words
    ]
    gold = tuple(a != b for a, b in zip(near, [*near[1:], -1], strict=True))
    yield Sample("heard", made.transcript, gold, (False,) * len(gold))
    bare = tuple(word.but(text=word.text.lower().rstrip(MARKS) or word.text) for word in words)
    yield Sample("bare", _one_segment(made.transcript, bare), gold, (False,) * len(gold))


def _one_segment(made: Transcript, words: tuple[Word, ...]) -> Transcript:
    segment = Segment(start_ms=words[0].start_ms, end_ms=words[-1].end_ms, text="", words=words)
    return made.but(segments=(segment,))


def counts(sample: Sample, sentences: tuple[Sentence, ...]) -> tuple[int, int, int]:
    """Return how many ends were found, are false, were missed."""
    said = [place == len(one.words) - 1 for one in sentences for place in range(len(one.words))]
    told = list(zip(said, sample.gold, sample.neither, strict=True))
    found = sum(a and b for a, b, _ in told)
    return found, sum(a and not b and not spared for a, b, spared in told), sum(sample.gold) - found


def f1(found: int, false: int, missed: int) -> str:
    """Return F1 with precision and recall."""
    p, r = found / max(1, found + false), found / max(1, found + missed)
    return f"{2 * found / max(1, 2 * found + false + missed):.3f} (P {p:.2f} R {r:.2f})"


def main() -> None:
    """Print a table: for each form and hand the F1 of ends before and after."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--part", choices=("train", "tune"), default="tune")
    ask.add_argument("--hand", default="")
    ask.add_argument("--only-heard", action="store_true", help=f"only the talks of {FOLDER.name}/")
    asked = ask.parse_args()
    total: dict[tuple[str, str], list[tuple[int, int, int]]] = {}
    for path in sorted((strangers.TALKS / asked.part).glob(f"{asked.hand}*.txt")):
        talk = read_talk(path)
        samples = [] if asked.only_heard else [written(talk, form) for form in FORMS]
        for sample in [*samples, *(heard(talk) if is_heard(path) else ())]:
            pair = (
                *counts(sample, language.sentences(sample.transcript)),
                *counts(sample, stops.sentences(sample.transcript)),
            )
            for hand in (talk.head["hand"], "all"):
                total.setdefault((sample.form, hand), []).append(pair)
    print("| form | hand | talks | before | after |\n|---|---|---|---|---|")
    for (form, hand), pairs in sorted(total.items()):
        sums = [sum(column) for column in zip(*pairs, strict=True)]
        print(f"| {form} | {hand} | {len(pairs)} | {f1(*sums[:3])} | {f1(*sums[3:])} |")


if __name__ == "__main__":
    main()
