"""Word times that agree with where there is speech."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio import media, transcript
from studio.hearing import recogniser, speech_model, word_times
from studio.hearing.recogniser import HeardWord, Recogniser
from studio.model import Segment, Span, Word
from studio.settings import HearingChoices

SPEECH = (Span(start_ms=1000, end_ms=2000), Span(start_ms=3000, end_ms=4000))


def times(*pairs: tuple[int, int]) -> list[tuple[int, int]]:
    """Return the times of words after fitting."""
    words = [Word(start_ms=start, end_ms=end, text="word") for start, end in pairs]
    return [(word.start_ms, word.end_ms) for word in word_times.fitted(words, SPEECH)]


def test_a_word_does_not_begin_long_before_the_voice() -> None:
    """The first word after a silence begins with the voice, or the 60 ms that a soft sound takes."""
    assert times((2600, 3300), (3300, 3400)) == [(2940, 3300), (3300, 3400)]


def test_the_last_word_before_a_silence_lasts_as_long_as_the_voice() -> None:
    """An end that is too early is drawn out, one that is too late is brought back."""
    assert times((1500, 1700), (3100, 3200)) == [(1500, 2000), (3100, 3200)]
    assert times((1500, 2500), (3100, 3200)) == [(1500, 2000), (3100, 3200)]


def test_a_word_long_before_the_end_of_the_voice_stays() -> None:
    """More than half a second of voice after the last word was something else."""
    assert times((1000, 1300), (3100, 3200)) == [(1000, 1300), (3100, 3200)]


def test_words_inside_and_outside_all_speech_stay() -> None:
    """There is nothing to correct, or nothing to correct by."""
    assert times((1100, 1200), (1200, 1400), (2300, 2500), (6000, 6100)) == [
        (1100, 1200), (1200, 1400), (2300, 2500), (6000, 6100),
    ]  # fmt: skip


def test_words_never_begin_before_the_one_before() -> None:
    """Times of two hearings side by side are put in order."""
    mixed = [Word(start_ms=start, end_ms=end, text="x") for start, end in ((0, 500), (500, 1000), (300, 400))]
    block = word_times.block(mixed)
    assert [(word.start_ms, word.end_ms) for word in block.words] == [(0, 500), (500, 1000), (500, 500)]
    assert (block.start_ms, block.end_ms, block.text) == (0, 500, "x x x")


PAIRS = st.lists(st.tuples(st.integers(0, 5000), st.integers(0, 900)), max_size=20)


@given(PAIRS, PAIRS)
def test_any_words_and_speech_give_times_in_order(words: list[tuple[int, int]], gaps: list[tuple[int, int]]) -> None:
    """No word is lost, and none ends before it begins."""
    at, speech = 0, []
    for gap, length in gaps:
        speech.append(Span(start_ms=at + gap, end_ms=at + gap + length + 1))
        at += gap + length + 2
    said = [Word(start_ms=start, end_ms=start + length, text="x") for start, length in sorted(words)]
    once = word_times.fitted(said, speech)
    assert all(word.start_ms <= word.end_ms for word in once)
    assert len(once) == len(said)


def risen(*blocks: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the times of the words of some blocks once they rise."""
    segments = [word_times.block([Word(start_ms=a, end_ms=b, text="x") for a, b in block]) for block in blocks]
    return [(word.start_ms, word.end_ms) for segment in word_times.rising(segments) for word in segment.words]


def test_words_that_begin_together_share_their_time() -> None:
    """A word without a time of its own takes half of the one before; an end that is too late is brought back."""
    assert risen([(0, 500), (500, 1000), (500, 500)]) == [(0, 500), (500, 750), (750, 770)]
    assert risen([(0, 700), (500, 1000)]) == [(0, 500), (500, 1000)]


def test_a_block_never_begins_inside_the_one_before() -> None:
    """Words that fell onto the block before follow it, and each lasts long enough to be seen."""
    assert risen([(0, 400), (400, 800)], [(300, 305), (310, 700)]) == [(0, 400), (400, 600), (600, 620), (650, 700)]


@given(st.lists(st.lists(st.tuples(st.integers(0, 5000), st.integers(0, 900)), min_size=1, max_size=8), max_size=6))
def test_any_words_are_made_to_rise(pairs: list[list[tuple[int, int]]]) -> None:
    """Whatever the times, words begin and end one after another, none under 20 ms, and once is enough."""
    said = [
        Segment(
            start_ms=0, end_ms=9000, text="x", words=tuple(Word(start_ms=a, end_ms=a + b, text="x") for a, b in block)
        )
        for block in pairs
    ]
    once = word_times.rising(said)
    words = [word for segment in once for word in segment.words]
    assert all(word.end_ms - word.start_ms >= word_times.SHORTEST_MS for word in words)
    assert all(one.end_ms <= other.start_ms for one, other in pairwise(words))
    assert [len(segment.words) for segment in once] == [len(block) for block in pairs]
    assert word_times.rising(once) == once


def test_what_is_heard_in_a_recording_rises(silence: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever times the recogniser gives, the transcript of a recording holds words that rise and can be seen."""
    second = recogniser.RATE

    def words(_: Recogniser, chunks: list[list[recogniser.Piece]], **__: object) -> list[list[HeardWord]]:
        return [[HeardWord(1000, 1400, "a", 1.0), HeardWord(1400, 1405, "b", 1.0)] for _ in chunks]

    monkeypatch.setattr(Recogniser, "words", words)
    monkeypatch.setattr(Recogniser, "start", lambda _: None)
    monkeypatch.setattr(speech_model, "find_model", lambda _: speech_model.Model("none", Path(), ""))
    monkeypatch.setattr(recogniser, "speech", lambda *_: [(second, 2 * second), (3 * second, 4 * second)])
    monkeypatch.setattr(recogniser, "chunks", lambda spans, _: [[span] for span in spans])
    told = transcript.hear(silence, media.probe(silence), HearingChoices(), (), tmp_path, lambda *_: None)
    said = [word for segment in told.segments for word in segment.words]
    assert [word.text for word in said] == list("abab")
    assert all(word.end_ms - word.start_ms >= word_times.SHORTEST_MS for word in said)
    assert all(one.end_ms <= other.start_ms for one, other in pairwise(said))
