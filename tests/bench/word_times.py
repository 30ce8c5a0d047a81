"""Measures word times in recordings of 7 to 60 minutes, joined from read clips and silences, each clip at a known time.

    python tests/bench/word_times.py [--heard 2] [--only-heard]

Each clip is heard alone by the real recogniser; its words, moved to where the clip lies, are the truth. Eight
recordings are then "heard" by a recogniser that gives the true words of each chunk and does not listen, with everything
around it real: decoding, voice detection, the plan of chunks, the library's batching, the times put together. `--heard`
recordings of 7 minutes are heard by the real recogniser as well. Prints for each recording how many of the words were
found, the worst error of a word's start in milliseconds, the worst of ten words in a row (their median: where a stretch
of sound fell, without the recogniser's doubt about a single word), median and 99th percentile, the words out by more
than 200 ms, and how many flash (under 20 ms) or fall back.
"""

import argparse
import json
import random
import re
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import pairwise
from pathlib import Path
from typing import Any

import faster_whisper.vad
import numpy as np
from numpy.typing import NDArray

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT / "tests"))

import rooms  # noqa: E402
import unheard_model  # noqa: E402

from studio import media, transcript  # noqa: E402
from studio.hearing import recogniser, speech_model  # noqa: E402
from studio.hearing.recogniser import RATE, Recogniser  # noqa: E402
from studio.model import Transcript, Word  # noqa: E402
from studio.settings import HearingChoices  # noqa: E402

MINUTES = (7, 9, 12, 16, 20, 30, 45, 60)
FINER_MS = 96
EDGE_S = 0.6
"""Silence on both sides of a clip that is heard alone."""
Sound = NDArray[np.float64]


@dataclass(frozen=True)
class Clip:
    """A clip, and the words that are heard in it alone, in seconds of the clip."""

    sound: Sound
    words: list[tuple[str, float, float]]


def hear(path: Path) -> Transcript:
    """Hear a recording as the program does."""
    with tempfile.TemporaryDirectory() as work:
        return transcript.hear(path, media.probe(path), HearingChoices(), (), Path(work), lambda *_: None)


def words_of(told: Transcript) -> list[Word]:
    """Return all words of a transcript."""
    return [word for segment in told.segments for word in segment.words]


def quiet(seconds: float, draw: np.random.Generator) -> Sound:
    """Return the silence of a room."""
    return draw.standard_normal(int(seconds * RATE)) * 10 ** (-70 / 20)


def decoded(path: Path) -> Sound:
    """Return the sound of a file."""
    with tempfile.TemporaryDirectory() as folder:
        sound = media.sound(path, media.probe(path).duration_ms, Path(folder) / "s")
        return sound.part(0, sound.samples).astype(np.float64)


def sounds() -> Iterator[Sound]:
    """Give the read clips, and the sentences of the sample by twos."""
    for path in sorted((ROOT / "tests" / "fixtures" / "librivox").glob("*.flac")):
        yield decoded(path)
    sample = decoded(ROOT / "sample_media" / "recording.mp4")
    told = json.loads((ROOT / "sample_media" / "script_times.json").read_text(encoding="utf-8"))["sentences"]
    for first, last in zip(told[::2], told[1::2], strict=False):
        yield sample[(first["start_ms"] - 100) * RATE // 1000 : (last["end_ms"] + 100) * RATE // 1000]


@contextmanager
def finer_silences() -> Iterator[None]:
    """Let voice detection tell shorter silences apart, so that the truth is fitted to where the voice really begins.

    At 160 ms, whether a stop of 180 ms inside a clip splits the speech is a matter of luck: of "rather cold-hearted"
    the second word begins at 1.39 s of its clip by the sound's level, and the recogniser alone says 1.16 s.
    """
    vad = faster_whisper.vad
    real = vad.VadOptions
    vad.VadOptions = lambda **named: real(**{**named, "min_silence_duration_ms": FINER_MS})
    try:
        yield
    finally:
        vad.VadOptions = real


def heard_alone(folder: Path) -> list[Clip]:
    """Hear each clip by itself."""
    draw, clips = np.random.default_rng(1), []
    for sound in sounds():
        path = rooms.write(folder / "alone.wav", np.concatenate((quiet(EDGE_S, draw), sound, quiet(EDGE_S, draw))))
        with finer_silences():
            heard = words_of(hear(path))
        words = [(w.text, w.start_ms / 1000 - EDGE_S, w.end_ms / 1000 - EDGE_S) for w in heard]
        clips.append(Clip(sound, words))
    return clips


def joined(clips: Sequence[Clip], minutes: int, seed: int, path: Path) -> list[tuple[str, float, float]]:
    """Write a recording of so many minutes; return its words with their times in seconds.

    All clips come once, in any order, before one comes again: told twice in a row, a recogniser may leave one out.
    """
    choose, draw = random.Random(seed), np.random.default_rng(seed)
    parts, truth, at, deck = [quiet(1, draw)], [], RATE, list[Clip]()
    while at < minutes * 60 * RATE:
        deck = deck or choose.sample(clips, len(clips))
        clip = deck.pop()
        silence = quiet(choose.choice((0.25, 0.4, 0.7, 1.2, 2.5)) * choose.uniform(0.8, 1.2), draw)
        truth += [(text, at / RATE + start, at / RATE + end) for text, start, end in clip.words]
        parts += [clip.sound, silence]
        at += len(clip.sound) + len(silence)
    rooms.write(path, np.concatenate(parts))
    return truth


def hear_without_listening(path: Path, truth: list[tuple[str, float, float]]) -> Transcript:
    """Hear with a recogniser that gives the true words of each chunk."""
    kept, chunk_words = (Recogniser.words, recogniser._loading, Recogniser.tokens), {}  # type: ignore[var-annotated]

    def words(self: Recogniser, chunks: Sequence[Sequence[recogniser.Piece]], **named: Any) -> Any:
        chunk_words.clear()
        chunk_words.update(enumerate(in_chunk(truth, chunk) for chunk in chunks))
        silent = [[(first, unheard_model.says(n, len(s))) for first, s in chunk] for n, chunk in enumerate(chunks)]
        return kept[0](self, silent, **named)

    Recogniser.words, Recogniser.tokens = words, lambda *_: 0  # type: ignore[method-assign]
    recogniser._loading = unheard_model.loading(lambda n: chunk_words[n])  # type: ignore[assignment]
    try:
        return hear(path)
    finally:
        Recogniser.words, recogniser._loading, Recogniser.tokens = kept  # type: ignore[method-assign]


def in_chunk(truth: list[tuple[str, float, float]], chunk: Sequence[recogniser.Piece]) -> unheard_model.Said:
    """Return the words whose middle lies in a piece of the chunk, in seconds of the chunk."""
    said, passed = [], 0.0
    for first, samples in chunk:
        begin, length = first / RATE, len(samples) / RATE
        inside = [w for w in truth if begin <= (w[1] + w[2]) / 2 < begin + length]
        said += [(text, max(0, start - begin) + passed, end - begin + passed) for text, start, end in inside]
        passed += length
    return said


def measured(told: Transcript, truth: list[tuple[str, float, float]]) -> dict[str, Any]:
    """Compare the words that were found with the truth."""
    words = words_of(told)
    texts = [word.text for word in words], [text for text, *_ in truth]
    plain = [[re.sub(r"\W", "", text).lower() for text in side] for side in texts]
    blocks = SequenceMatcher(None, *plain, autojunk=False).get_matching_blocks()
    pairs = [(words[i + n], truth[k + n]) for i, k, size in blocks for n in range(size)]
    shifts = [word.start_ms - start * 1000 for word, (_, start, _) in pairs]
    errors = np.abs(shifts)
    ten = [abs(float(np.median(shifts[at : at + 10]))) for at in range(0, len(shifts) - 9, 5)]
    return {
        "words": len(truth),
        "found": len(pairs),
        "worst_ms": round(float(errors.max())),
        "worst_ten_ms": round(max(ten)),
        "median_ms": round(float(np.median(errors))),
        "p99_ms": round(float(np.percentile(errors, 99))),
        "over_200_ms": [word.text for (word, _), error in zip(pairs, errors, strict=True) if error > 200],
        "flashes": sum(word.end_ms - word.start_ms < 20 for word in words),
        "out_of_order": sum(b.start_ms < a.start_ms for a, b in pairwise(words)),
    }


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--heard", type=int, default=2, help="how many recordings the real recogniser hears")
    parser.add_argument("--only-heard", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path, clips = Path(folder) / "talk.wav", heard_alone(Path(folder))
        recogniser.forget()
        speech_model.find_model("")
        for seed, minutes in enumerate(() if options.only_heard else MINUTES, 1):
            truth = joined(clips, minutes, seed, path)
            print(minutes, "min, known words:", measured(hear_without_listening(path, truth), truth), flush=True)
        for seed in range(100, 100 + options.heard):
            truth = joined(clips, 7, seed, path)
            print("7 min, really heard:", measured(hear(path), truth), flush=True)


if __name__ == "__main__":
    main()
