"""What is done around the recogniser: the plan of chunks, the words put together, the names that fit. No model runs."""

import random
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import unheard_model
from hypothesis import given
from hypothesis import strategies as st

from studio import transcript
from studio.hearing import recogniser
from studio.hearing.recogniser import LONGEST, RATE, Recogniser
from studio.hearing.speech_model import Model


@dataclass
class Heard:
    """A word as faster-whisper gives it."""

    word: str
    start: float
    end: float
    probability: float = 0.9


def placed(
    words: list[Heard], pieces: list[tuple[int, int]], language: str = "en"
) -> list[tuple[str, int, int, float]]:
    """Return the words of a chunk of pieces, each its first sample and its length."""
    chunk = [(start, np.zeros(length, dtype=np.float32)) for start, length in pieces]
    return [(w.text, w.start_ms, w.end_ms, w.confidence) for w in recogniser._placed(words, 0.0, chunk, language)]


def test_parts_of_a_number_are_one_word() -> None:
    """What the recogniser gives without a space before it belongs to the word before: 6.50, 1/4, self-healing."""
    parts = [Heard(" £6", 0, 0.2), Heard(".50", 0.2, 0.5, 0.4), Heard(" self", 1, 1.2), Heard("-healing", 1.2, 1.5)]
    assert placed(parts, [(0, RATE * 2)]) == [("£6.50", 0, 500, 0.4), ("self-healing", 1000, 1500, 0.9)]


def test_languages_without_spaces_keep_their_parts() -> None:
    """In Japanese no word has a space before it, and all would run into one."""
    assert [word[0] for word in placed([Heard("紙", 0, 0.2), Heard("を", 0.2, 0.3)], [(0, RATE)], "ja")] == ["紙", "を"]


def test_times_are_those_of_the_recording_and_not_of_the_chunk() -> None:
    """Silence left out between two pieces of a chunk is put back into the times of the words after it."""
    words = [Heard(" one", 0.5, 0.9), Heard(" two", 1.2, 1.6)]
    assert [w[1:3] for w in placed(words, [(10 * RATE, RATE), (60 * RATE, RATE)])] == [
        (10_500, 10_900),
        (60_200, 60_600),
    ]


def test_every_chunk_keeps_its_own_words_whatever_its_edges(monkeypatch: pytest.MonkeyPatch) -> None:
    """In 10,000 chunks of 32 ms to 30 s, the word heard in each stays in it, at the time it was said."""
    draw = random.Random(7)
    monkeypatch.setattr(recogniser, "_loading", unheard_model.loading())
    hearer = Recogniser(Model("none", Path(), ""))
    for _ in range(1250):
        longest = draw.choice((RATE, 3 * RATE, 3 * RATE, 3 * RATE, 3 * RATE, LONGEST))
        lengths = [draw.randint(512, longest) for _ in range(8)]
        starts = [n * 40 * RATE for n in range(8)]
        sounds = [
            [(at, unheard_model.says(n, length))] for n, (at, length) in enumerate(zip(starts, lengths, strict=True))
        ]
        said = hearer.words(sounds, language="en", beam=1)
        assert [[word.text for word in words] for words in said] == [[f"w{n}"] for n in range(8)]
        times = [(words[0].start_ms - at * 1000 // RATE) for words, at in zip(said, starts, strict=True)]
        assert times == [unheard_model.AFTER_MS] * 8


def test_a_chunk_in_which_nothing_was_heard_takes_no_word_of_another(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the recogniser gives no segment for a chunk, that chunk alone is without words."""
    monkeypatch.setattr(recogniser, "_loading", unheard_model.loading())
    sounds = [[(n * 40 * RATE, unheard_model.says(n, 3 * RATE + 7 * n))] for n in (0, unheard_model.NOTHING, 2, 3)]
    said = Recogniser(Model("none", Path(), "")).words(sounds, language="en", beam=1)
    assert [[word.text for word in words] for words in said] == [["w0"], [], ["w2"], ["w3"]]


SPANS = st.lists(st.tuples(st.integers(1, 200_000), st.integers(1, LONGEST - 2 * 6400)), max_size=40).map(
    lambda pairs: [
        (sum(a + b for a, b in pairs[:n]) + gap, sum(a + b for a, b in pairs[: n + 1]))
        for n, (gap, _) in enumerate(pairs)
    ]
)


@given(SPANS)
def test_any_speech_is_planned_whole_in_chunks_that_fit(spans: list[tuple[int, int]]) -> None:
    """Every span is in one chunk, in order, widened by at most 400 ms and not into another, none above 30 s."""
    total = (spans[-1][1] if spans else 0) + 1000
    planned = recogniser.chunks(spans, total)
    wide = [span for chunk in planned for span in chunk]
    assert len(wide) == len(spans)
    assert all(a <= start and end <= b and start - a <= 6400 and b - end <= 6400
               for (start, end), (a, b) in zip(spans, wide, strict=True))  # fmt: skip
    assert all(one[1] <= other[0] for one, other in pairwise(wide))
    assert all(sum(b - a for a, b in chunk) <= LONGEST for chunk in planned)


def test_a_chunk_ends_at_the_longest_silence_near_its_end() -> None:
    """Sentences are cut where the speaker pauses, not where 30 s are full."""
    seconds = [(0, 10), (10.3, 20), (20.3, 25), (26.5, 28), (28.3, 29.5), (29.8, 40)]
    planned = recogniser.chunks([(int(a * RATE), int(b * RATE)) for a, b in seconds], 41 * RATE)
    assert [len(chunk) for chunk in planned] == [3, 3]


def test_speech_at_the_seam_of_two_windows_is_found_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """Long sound is looked at in windows; speech that crosses a seam is one span, as if it had been one look."""
    talking = [(50, 90), (95, 130), (180, 260), (290, 301)]

    def found(part: "np.ndarray", _: object) -> list[dict[str, int]]:
        marks = np.flatnonzero(np.diff(np.concatenate(([0], part, [0]))))
        return [{"start": int(a), "end": int(b)} for a, b in zip(marks[::2], marks[1::2], strict=True)]

    import faster_whisper.vad

    sound = np.zeros(320)
    for start, end in talking:
        sound[start:end] = 1
    monkeypatch.setattr(faster_whisper.vad, "get_speech_timestamps", found)
    monkeypatch.setattr(recogniser, "_WINDOW", 100)
    assert recogniser.speech(lambda a, b: sound[a:b], len(sound)) == talking


def test_names_are_given_while_they_fit() -> None:
    """At most 25 names and 220 tokens, in order, each once; after a name that is too long the next may still fit."""
    by_letters = len
    assert transcript.names_prompt(["A", "B", "A", " C  D "], by_letters) == "A, B, C D"
    assert transcript.names_prompt([f"n{n}" for n in range(60)], by_letters).count(",") == transcript.MOST_NAMES - 1
    assert transcript.names_prompt(["x" * 300, "short"], by_letters) == "short"
    assert transcript.names_prompt(["one, two"], by_letters) == "one two"
    assert transcript.names_prompt([], by_letters) == ""


@given(st.lists(st.text(min_size=1, max_size=60), max_size=60))
def test_no_list_of_names_is_ever_too_long(names: list[str]) -> None:
    """Whatever the names, the prompt stays within its tokens (here one a letter)."""
    assert len(transcript.names_prompt(names, len)) <= transcript.MOST_TOKENS
