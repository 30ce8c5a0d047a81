"""Which rows of the catalogue the words of a talk may name, as the reader has it, with what the rules propose."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from studio.model import Catalogue, Mention, Naming, Sentence, SentenceWord

if TYPE_CHECKING:
    from studio.reader.reading import Fits, Words

VERSION = 2
LOOKED_AT = 0.25
"""Probability from which a word is taken to be part of a name, to be looked at."""
LEAST = 0.01
"""Rows less likely than this are not kept."""


def namings(sentences: tuple[Sentence, ...], catalogue: Catalogue, proposed: tuple[Mention, ...]) -> tuple[Naming, ...]:
    """Return the stretches of a talk that may name something, in their order.

    Args:
        sentences: the talk.
        catalogue: the rows that may be named.
        proposed: mentions found by rules; their words are looked at too where nothing else of them is.
    """
    from studio.reader.model import model
    from studio.reader.reading import read_names, read_words, spans
    from studio.reader.rows import Rows

    said = [word for sentence in sentences for word in sentence.words]
    if not said or not catalogue.products:
        return ()
    words = read_words(model(), [word.text for word in said])
    stretches = with_proposed(spans(words, LOOKED_AT), said, proposed)
    found = read_names(model(), words, Rows(catalogue), stretches)
    return tuple(_naming(one, words, said, catalogue) for one in found)


def with_proposed(
    stretches: Sequence[tuple[int, int]], said: Sequence[SentenceWord], proposed: Iterable[Mention]
) -> list[tuple[int, int]]:
    """Return stretches and those that rules propose, in their order; none overlap.

    A stretch in which rules find several names is theirs; else what they find in a stretch is the stretch's own.
    """
    places = [_place(said, one) for one in proposed]
    told = [
        place for n, place in enumerate(places) if place and not any(_meet(place, one) for one in places[:n] if one)
    ]
    parted = [one for one in stretches if sum(_meet(one, place) for place in told) > 1]
    found = [one for one in stretches if one not in parted]
    return sorted([*found, *(place for place in told if not any(_meet(place, one) for one in found))])


def _place(said: Sequence[SentenceWord], one: Mention) -> tuple[int, int] | None:
    """Return the words of a mention: its first, and the one after its last."""
    first = bisect_left(said, one.start_ms, key=lambda word: word.start_ms)
    last = bisect_right(said, one.end_ms, key=lambda word: word.end_ms)
    return (first, last) if first < last else None


def _meet(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _naming(one: "Fits", words: "Words", said: Sequence[SentenceWord], catalogue: Catalogue) -> Naming:
    inside, kinds = said[one.first : one.last], words.kind(one.first, one.last)
    return Naming(
        start_ms=inside[0].start_ms,
        end_ms=inside[-1].end_ms,
        heard=" ".join(word.text for word in inside).strip(".,;:!?…"),
        rows={catalogue.products[at].code: round(p, 4) for at, p in one.rows if p >= LEAST},
        meanings={name: round(p, 4) for name, p in one.meanings.items()},
        talk=round(kinds["chat"] + kinds["viewer"], 4),
    )
