"""The second hearing of a few stretches: which ones, and what of it is taken over."""

from collections import Counter
from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher
from itertools import chain

from studio.hearing import recogniser, word_times
from studio.model import Segment, Span, Transcript, Word
from studio.text import letters_of

SHARE = 0.08
"""Of the speech, how much is heard again at most; `tests/bench/hearing.py` measures what that costs."""
LEAST_MS = 24_000
"""So much may be heard again in a short recording."""
_REACH_MS = 4_000
"""How much is heard on either side of an unsure name, where no silence comes first."""
_PADDING_MS = 400
_ALIKE = 0.4
"""How much of the letters a name taken over must share with what was heard first; common practice, no source."""
_SMALL = {"and", "the", "for", "with", "from", "this", "that"}


def unsure_stretches(first: Transcript, unsure: Sequence[Span]) -> tuple[Span, ...]:
    """Return what is to be heard again, in order: the speech around unsure names, between its silences.

    At most `SHARE` of the speech, or `LEAST_MS`; first what holds the most unsure names a second, then what is earlier.
    """
    budget = max(LEAST_MS, SHARE * sum(map(_length, first.speech)))
    pairs = [(span.start_ms, span.end_ms) for span in first.speech]
    speech = [_span(start, end) for start, end in recogniser.widened(pairs, first.heard_ms, _PADDING_MS)]
    around = _joined(sorted(_cut_to(span, name) for name in unsure for span in speech if _overlap(span, name)))
    chosen: list[Span] = []
    for stretch in sorted(around, key=lambda s: (-sum(_overlap(s, name) for name in unsure) / _length(s), s.start_ms)):
        if _length(stretch) <= budget:
            chosen.append(stretch)
            budget -= _length(stretch)
    return tuple(sorted(chosen, key=lambda span: span.start_ms))


def _span(start_ms: int, end_ms: int) -> Span:
    return Span(start_ms=start_ms, end_ms=end_ms)


def _length(span: Span) -> int:
    return max(1, span.end_ms - span.start_ms)


def _overlap(one: Span, other: Span) -> bool:
    return one.start_ms < other.end_ms and other.start_ms < one.end_ms


def _cut_to(span: Span, name: Span) -> tuple[int, int]:
    return max(span.start_ms, name.start_ms - _REACH_MS), min(span.end_ms, name.end_ms + _REACH_MS)


def _joined(pairs: Sequence[tuple[int, int]]) -> list[Span]:
    joined: list[list[int]] = []
    for start, end in pairs:
        if joined and start <= joined[-1][1]:
            joined[-1][1] = max(end, joined[-1][1])
        else:
            joined.append([start, end])
    return [_span(start, end) for start, end in joined]


def merged(first: Transcript, heard: Sequence[tuple[Span, Sequence[Word]]], names: Sequence[str]) -> Transcript:
    """Return the first transcript with the names that only the second hearing knew; all other words stay.

    Args:
        first: what was heard without names.
        heard: for each stretch the words of its second hearing.
        names: the names it was given.
    """
    telling = {word for name in names for word in map(_letters, name.split()) if len(word) > 3} - _SMALL
    changed = first
    for stretch, words in heard:
        changed = _with_stretch(changed, stretch, words, telling)
    return changed


def _letters(text: str) -> str:
    return letters_of(text).casefold()


def _with_stretch(known: Transcript, stretch: Span, words: Sequence[Word], telling: set[str]) -> Transcript:
    ends = [*(segment.start_ms for segment in known.segments[1:]), stretch.end_ms]
    starts = [0, *ends[:-1]]
    segments = tuple(
        _mended(segment, stretch, [word for word in words if _middle_in(word, _span(start, end))], telling)
        for segment, start, end in zip(known.segments, starts, ends, strict=True)
    )
    return known.but(segments=segments) if segments != known.segments else known


def _mended(segment: Segment, stretch: Span, words: Sequence[Word], telling: set[str]) -> Segment:
    places = [n for n, word in enumerate(segment.words) if _middle_in(word, stretch)]
    if not places:
        return segment
    low, high = places[0], places[-1] + 1
    inside = segment.words[low:high]
    chosen = tuple(chain.from_iterable(_choices(inside, words, telling)))
    return segment if chosen == inside else word_times.block([*segment.words[:low], *chosen, *segment.words[high:]])


def _middle_in(word: Word, span: Span) -> bool:
    return span.start_ms <= (word.start_ms + word.end_ms) // 2 < span.end_ms


def _choices(old: Sequence[Word], new: Sequence[Word], telling: set[str]) -> Iterator[Sequence[Word]]:
    before, after = [_letters(word.text) for word in old], [_letters(word.text) for word in new]
    for _, i, j, k, m in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        yield new[k:m] if _better(before[i:j], after[k:m], telling) else old[i:j]


def _better(before: Sequence[str], after: Sequence[str], telling: set[str]) -> bool:
    """Tell whether the second hearing has a name that the first lacks, and sounds like the first."""
    gained = Counter(word for word in after if word in telling) - Counter(before)
    return bool(gained) and SequenceMatcher(None, "".join(before), "".join(after), autojunk=False).ratio() >= _ALIKE
