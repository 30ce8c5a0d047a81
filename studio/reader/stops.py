"""Sentences of talk in which few stops were written: the reader, the pauses and the length tell where they end.

Captions and recognisers leave stops out. What was written always counts; the missing ends are those that together are
likeliest: the best path over all words, each sentence by its length, each end by what speaks for it.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from studio import language
from studio.model import Sentence, SentenceWord, Transcript, Word
from studio.quantity import read

if TYPE_CHECKING:
    from studio.reader.batches import Real

VERSION = language.VERSION + 1
FEW = 25
"""Words for each of which at least one mark that ends a sentence stands in a text that is well marked."""
SILENCE_MS = 300
"""In a text that is well marked a stop may be missing only where so long a silence is."""
UNLIKELY = 1e-4
NEVER, ALWAYS = -50.0, 50.0


@dataclass(frozen=True)
class EndWeights:
    """What speaks for an end, in log-odds; set by hand, by what `tests/bench/stops.py` shows of the hands of `tune`."""

    read: float = 0.85
    """For each unit of the reader's own log-odds."""
    second: float = 8.0
    """For each second of silence behind the word."""
    longest_ms: int = 900
    """A longer silence says no more."""
    holding: float = -1.0
    """After this word a silence is a search for the next."""
    heard: float = -2.5
    """Always, where the silences are known: no silence is then no end."""
    shared: float = 1.0
    """Always, where they are not: times are shared out among the words of a caption, whatever silences are inside."""
    length: float = -0.2
    """For a sentence, times the square of the log of how far its length is from the usual."""
    usual: float = 11.0
    """Words."""


WEIGHTS = EndWeights()


def sentences(transcript: Transcript) -> tuple[Sentence, ...]:
    """Return the sentences of a talk; it is read only where stops may be missing.

    Written stops always count. In a well marked text others are looked for where there is silence, else anywhere. A
    sentence that was found so begins with a capital, and in a text without capitals each does.
    """
    said = language.words(transcript)
    marked = language.is_marked(said, FEW)
    known = language.paused_ends(said)
    if not marked and not cut_at_silences(transcript):
        found = ends(said, _stops(said), silences=all(word.confidence is not None for word in said))
    elif silent(said, known):
        found = known | missing(said, _stops(said), known)
    else:
        found = known
    small = not marked or _is_small(said)
    fresh = {place + 1 for place in found - known}
    return tuple(_with_capitals(language.parted(said, found), fresh, everywhere=small))


def _stops(said: Sequence[Word]) -> "Real":
    from studio.reader.model import model
    from studio.reader.reading import read_words

    return read_words(model(), [word.text for word in said]).stops


def cut_at_silences(transcript: Transcript) -> bool:
    """Return whether these are captions of which most end where the speaker is silent; then the pauses tell enough."""
    parts = [part for part in transcript.segments if part.words]
    parted = sum(after.start_ms - before.end_ms >= SILENCE_MS for before, after in pairwise(parts))
    shared = all(word.confidence is None for part in parts for word in part.words)
    return shared and parted * 2 > len(parts) > 1


def silent(said: Sequence[Word], known: Collection[int]) -> set[int]:
    """Return the places of words with silence behind them at which no sentence is known to end."""
    pauses = enumerate(after.start_ms - word.end_ms for word, after in pairwise(said))
    return {place for place, pause in pauses if pause >= SILENCE_MS and place not in known}


def missing(said: Sequence[Word], stops: "Real", known: Collection[int], weights: EndWeights = WEIGHTS) -> set[int]:
    """Return the places in a well marked text where a sentence ends though no stop is written."""
    worth = _worth(said, stops, weights, weights.heard)
    return {place for place in silent(said, known) - inside_amounts(said) if worth[place] > 0}


def ends(said: Sequence[Word], stops: "Real", *, silences: bool, weights: EndWeights = WEIGHTS) -> set[int]:
    """Return the places of the words that end a sentence: all written ones, and those that together are likeliest.

    Args:
        said: all words of the talk.
        stops: for each the reader's probability that it is the last of a sentence.
        silences: whether all silences are known.
        weights: what counts how much.
    """
    worth = _worth(said, stops, weights, weights.heard if silences else weights.shared)
    worth[sorted(inside_amounts(said))] = NEVER
    worth[sorted(language.written_ends(said))] = ALWAYS
    return _best(worth, weights)


def _worth(said: Sequence[Word], stops: "Real", weights: EndWeights, always: float) -> "Real":
    """Return for each word what speaks for an end behind it, (words,); the last word needs nothing."""
    import numpy as np

    likely = np.clip(stops, UNLIKELY, 1 - UNLIKELY)
    worth: Real = weights.read * np.log(likely / (1 - likely)) + always
    for place, (word, after) in enumerate(pairwise(said)):
        silence = min(max(0, after.start_ms - word.end_ms), weights.longest_ms) / 1000
        worth[place] += weights.second * silence + weights.holding * language.holds(word)
    return worth


def inside_amounts(said: Sequence[Word]) -> set[int]:
    """Return the places of words behind which an amount goes on: "four | and a quarter", "between two | and twelve"."""
    starts = [0, *accumulate(len(word.text) + 1 for word in said)]
    found: set[int] = set()
    for one in read(" ".join(word.text for word in said)):
        found.update(range(bisect_right(starts, one.start) - 1, bisect_left(starts, one.end) - 1))
    return found


def _best(worth: "Real", weights: EndWeights) -> set[int]:
    """Return the ends of the best path, the last word not among them."""
    import numpy as np

    lengths = np.arange(1, language.LONGEST_WORDS + 1)
    usual = weights.length * np.log(lengths / weights.usual) ** 2
    best, came = np.zeros(len(worth) + 1), [0] * (len(worth) + 1)
    for end in range(1, len(worth) + 1):
        first = max(0, end - len(usual))
        paths = best[first:end] + usual[end - first - 1 :: -1]
        came[end] = first + int(paths.argmax())
        best[end] = paths.max() + worth[end - 1]
    found, at = set[int](), came[-1]
    while at:
        found.add(at - 1)
        at = came[at]
    return found


def _is_small(said: Sequence[Word]) -> bool:
    """Return whether a text is written without capitals."""
    return sum(word.text[:1].isupper() for word in said) * FEW < len(said)


def _with_capitals(found: Sequence[Sentence], fresh: Collection[int], *, everywhere: bool) -> Iterator[Sentence]:
    """Yield the sentences with a capital at the beginning and in "I", everywhere or where a fresh one begins."""
    place = 0
    for one in found:
        if everywhere or place in fresh:
            shown = tuple(_written(word, begins=word is one.words[0]) for word in one.words)
            yield one.but(text=" ".join(word.text for word in shown), words=shown)
        else:
            yield one
        place += len(one.words)


def _written(word: SentenceWord, *, begins: bool) -> SentenceWord:
    first, rest = word.text[:1], word.text[1:]
    is_i = first == "i" and (not rest.strip(",;:.?!…") or rest[0] in "'’")
    written = first.upper() + rest if is_i or (begins and word.text.islower()) else word.text
    return word if len(written) != len(word.text) else word.but(text=written)
