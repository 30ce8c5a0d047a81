"""The second hearing: which stretches are heard again, and what of them is taken over."""

import pytest

from studio.hearing import rehearing, word_times
from studio.model import Span, Transcript, Word


def said(text: str, start_ms: int = 0, each_ms: int = 500) -> tuple[Word, ...]:
    """Return words that follow one another, each as long as the other."""
    times = range(start_ms, start_ms + each_ms * len(text.split()), each_ms)
    return tuple(Word(start_ms=at, end_ms=at + each_ms, text=w) for at, w in zip(times, text.split(), strict=True))


def told(*segments: tuple[Word, ...], speech: tuple[tuple[int, int], ...] = ()) -> Transcript:
    """Return a transcript of segments, heard for an hour."""
    spans = tuple(Span(start_ms=a, end_ms=b) for a, b in speech)
    blocks = tuple(word_times.block(words) for words in segments)
    return Transcript(language="en", recogniser="test", segments=blocks, speech=spans, heard_ms=3_600_000)


def after(first: str, second: str, *names: str) -> str:
    """Return the text when a whole stretch was first heard one way, then the other."""
    words = said(first)
    stretch = Span(start_ms=0, end_ms=words[-1].end_ms + 1)
    return rehearing.merged(told(words), [(stretch, said(second, each_ms=480))], names).segments[0].text


MERGES = [
    ("this is the ren and thimble paper", "this is the Wren and Thimble paper", ["Wren and Thimble"],
     "this is the Wren and thimble paper"),
    ("on the ash grove mat now", "on the Ashgrove mat now", ["Ashgrove self healing mat"], "on the Ashgrove mat now"),
    ("cut it at five inches", "cut it at nine inches", ["Wren and Thimble"], "cut it at five inches"),
    ("the glue is quill stead. Hold it", "the glue is Quillstead, hold it", ["Quillstead glue"],
     "the glue is Quillstead, Hold it"),
    ("hold it for ten seconds", "Quillstead Quillstead Quillstead", ["Quillstead"], "hold it for ten seconds"),
    ("I like the blue one", "I like the Marrowmist one", ["Marrowmist"], "I like the blue one"),
    ("the Pellworth ribbon", "the Pellworth ribbon", ["Pellworth ribbon"], "the Pellworth ribbon"),
    ("fold it and press", "fold it", ["Pellworth"], "fold it and press"),
]  # fmt: skip


@pytest.mark.parametrize(("first", "second", "names", "result"), MERGES)
def test_only_a_name_that_sounds_like_what_was_heard_is_taken(
    first: str, second: str, names: list[str], result: str
) -> None:
    """A listed name takes the place of its own misspelling; numbers, other words and repeated names do not come in."""
    assert after(first, second, *names) == result


def test_words_that_stay_keep_their_times_and_confidence() -> None:
    """Around a word taken over, all is as the first hearing had it; the new word has the second's time."""
    first = told(tuple(word.but(confidence=0.25) for word in said("the ren paper is here")))
    new = said("the Wren paper is here", start_ms=20)
    result = rehearing.merged(first, [(Span(start_ms=0, end_ms=2600), new)], ["Wren"]).segments[0].words
    assert [word.confidence for word in result] == [0.25, None, 0.25, 0.25, 0.25]
    assert (result[1].start_ms, result[0], result[2]) == (520, first.segments[0].words[0], first.segments[0].words[2])


def test_words_outside_the_stretch_are_not_touched() -> None:
    """The same misspelling before the stretch stays."""
    first = told(said("ren ren ren ren"))
    stretch = Span(start_ms=1000, end_ms=1500)
    result = rehearing.merged(first, [(stretch, said("Wren", start_ms=1000))], ["Wren"])
    assert result.segments[0].text == "ren ren Wren ren"


def test_a_stretch_over_two_blocks_says_nothing_twice() -> None:
    """A name that lies at the end of one block is not put into the next as well."""
    first = told(said("this is ren"), said("and here is more", start_ms=1500))
    again = said("this is Wren and here is more")
    result = rehearing.merged(first, [(Span(start_ms=0, end_ms=3500), again)], ["Wren"])
    assert [segment.text for segment in result.segments] == ["this is Wren", "and here is more"]


def test_nothing_new_gives_the_first_transcript_itself() -> None:
    """Where the second hearing says the same, the very same transcript comes back."""
    first = told(said("this is the Wren"))
    assert rehearing.merged(first, [(Span(start_ms=0, end_ms=2000), said("this is the Wren"))], ["Wren"]) is first


def test_what_is_heard_again_is_whole_speech_around_the_name() -> None:
    """A stretch reaches from silence to silence, with the 400 ms that the first hearing had, and not into the next."""
    first = told(said("x"), speech=((1000, 3000), (3400, 6000), (9000, 12_000)))
    assert rehearing.unsure_stretches(first, [Span(start_ms=4000, end_ms=4500)]) == (Span(start_ms=3200, end_ms=6400),)


def test_speech_without_a_pause_is_cut_around_the_name() -> None:
    """In half a minute without a silence only four seconds on either side are heard again."""
    first = told(said("x"), speech=((0, 29_000),))
    assert rehearing.unsure_stretches(first, [Span(start_ms=10_000, end_ms=11_000)]) == (
        Span(start_ms=6000, end_ms=15_000),
    )


def test_names_close_together_are_heard_in_one_stretch() -> None:
    """Two unsure names in one breath are one stretch; a name outside all speech is none."""
    first = told(said("x"), speech=((0, 5000), (60_000, 62_000)))
    unsure = [Span(start_ms=1000, end_ms=1500), Span(start_ms=3000, end_ms=3500), Span(start_ms=30_000, end_ms=30_500)]
    assert rehearing.unsure_stretches(first, unsure) == (Span(start_ms=0, end_ms=5400),)


def test_no_more_than_a_small_share_is_heard_again() -> None:
    """With an unsure name in every breath of an hour, at most 8 % of the speech is chosen, the densest first."""
    breaths = tuple((at, at + 4000) for at in range(0, 3_600_000, 5000))
    unsure = [Span(start_ms=a + 1000, end_ms=a + 1500) for a, _ in breaths]
    dense = [Span(start_ms=1_000_000 + at, end_ms=1_000_100 + at) for at in (200, 900, 2000, 3000)]
    first = told(said("x"), speech=breaths)
    chosen = rehearing.unsure_stretches(first, [*unsure, *dense])
    assert sum(span.end_ms - span.start_ms for span in chosen) <= rehearing.SHARE * 4000 * len(breaths)
    assert any(span.start_ms <= 1_000_200 < span.end_ms for span in chosen)
    assert list(chosen) == sorted(chosen, key=lambda span: span.start_ms)
