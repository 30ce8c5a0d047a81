"""Word times that agree with where there is speech."""

from hypothesis import given
from hypothesis import strategies as st

from studio.hearing import word_times
from studio.model import Span, Word

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
