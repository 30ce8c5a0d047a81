"""Words and their times made into captions: the breaks that cost least under the caption rules, found exactly."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from studio import rule_files
from studio.caption_files import Cue
from studio.captions import breaks as caption_breaks
from studio.captions.rulebook import Rules
from studio.model import Word

_CUE_COST = {"sentence": 0.0, "clause": 6.0, "free": 14.0, "leaning": 40.0, "bound": 1000.0}
_LINE_COST = {"sentence": 0.0, "clause": 1.0, "free": 4.0, "leaning": 20.0, "bound": 1000.0}
_EACH_CUE, _EACH_LINE, _OVER_PREFERRED = 3.0, 2.0, 50.0
_TOO_WIDE = 5000.0
"""Cost of words that no number of lines holds, but that stand alone."""
_PAUSE_MS = 1000
"""A silence that no caption spans."""
_APART_MS = 3000
"""A silence that parts even a number from its unit."""


@dataclass(frozen=True, slots=True)
class _Limits:
    """The figures of the rules that the optimiser works with."""

    line: int
    preferred: int
    lines: int
    gap_ms: int
    longest_ms: int
    per_word_ms: int
    least_per_word_ms: int
    comfortable_ms: int
    hanging_ms: int
    linger_ms: int


@dataclass(frozen=True, slots=True)
class _Text:
    """The words with what the optimiser asks of them again and again."""

    words: Sequence[Word]
    starts: list[int]
    stops: list[int]
    widths: list[int]
    """Length of the first n words with a space behind each."""
    lean: list[str]
    """How each word holds on to the one before it; the first is `sentence`."""
    pauses: list[int]
    """Silence in ms before each word."""
    inside: list[float]
    """What the sentence ends and silences before each word cost within one caption, summed up."""

    def width(self, first: int, last: int) -> int:
        """Return the length of the words `first` to `last` (not included) on one line."""
        return self.widths[last] - self.widths[first] - 1


def optimal_cues(words: Sequence[Word], rules: Rules, held: frozenset[int] = frozenset()) -> tuple[Cue, ...]:
    """Return captions that hold every word once and in order.

    Args:
        words: with times that grow; see `in_order`.
        rules: figures for lines and times.
        held: places of words that must not be parted from the word before (inside a product name).
    """
    if not words:
        return ()
    text, limits = _text(words, held), _limits(rules)
    edges = [*_best_breaks(text, limits), len(words)]
    return tuple(
        Cue(text.starts[a], _end_ms(text, a, b, limits), _lines(text, a, b, limits)) for a, b in pairwise(edges)
    )


def in_order(words: Sequence[Word]) -> tuple[Word, ...]:
    """Return the words with times that grow by at least 1 ms from word to word and never overlap."""
    starts = []
    at = 0
    for word in words:
        at = max(word.start_ms, at)
        starts.append(at)
        at += 1
    ordered: list[Word] = []
    for word, start, after in zip(words, starts, [*starts[1:], None], strict=False):
        end = max(word.end_ms, start + 1)
        end = end if after is None else max(start + 1, min(end, after))
        ordered.append(word.but(start_ms=start, end_ms=end))
    return tuple(ordered)


def _limits(rules: Rules) -> _Limits:
    timing = rule_files.typed(dict[str, int], "captions.toml", "timing")
    return _Limits(
        line=rules["line_length"].figure,
        preferred=min(rules["line_length_preferred"].figure, rules["line_length"].figure),
        lines=rules["lines"].figure,
        gap_ms=rules["gap"].figure,
        longest_ms=rules["longest"].figure,
        per_word_ms=60_000 // rules["speed"].figure,
        least_per_word_ms=rules["shortest_per_word"].figure,
        comfortable_ms=timing["comfortable_ms"],
        hanging_ms=timing["hanging_ms"],
        linger_ms=timing["linger_ms"],
    )


def _text(words: Sequence[Word], held: frozenset[int]) -> _Text:
    plain = [word.text for word in words]
    pauses = [0, *(after.start_ms - before.end_ms for before, after in pairwise(words))]
    lean = ["sentence", *(_lean(plain, place, pauses[place], place in held) for place in range(1, len(words)))]
    costs = (8.0 * (bound == "sentence") + max(0, pause - 300) / 50 for bound, pause in zip(lean, pauses, strict=True))
    return _Text(
        words=words,
        starts=[word.start_ms for word in words],
        stops=[word.end_ms for word in words],
        widths=[0, *accumulate(len(word) + 1 for word in plain)],
        lean=lean,
        pauses=pauses,
        inside=list(accumulate(costs)),
    )


def _lean(plain: Sequence[str], place: int, pause_ms: int, held: bool) -> str:
    found = caption_breaks.between(plain, place)
    if pause_ms >= _APART_MS:
        return "sentence"
    return "bound" if held and found != "sentence" else found


def _best_breaks(text: _Text, limits: _Limits) -> list[int]:
    """Return the place of the first word of each caption: the cheapest way through all words (dynamic programme)."""
    total = len(text.words)
    best = [0.0] + [math.inf] * total
    origin = [0] * (total + 1)
    for first in range(total):
        so_far = best[first]
        for last in range(first + 1, total + 1):
            cost = _cue_cost(text, first, last, limits)
            if cost is None:
                break
            if so_far + cost < best[last]:
                best[last], origin[last] = so_far + cost, first
    breaks = [origin[total]]
    while breaks[-1] > 0:
        breaks.append(origin[breaks[-1]])
    return breaks[::-1]


def _cue_cost(text: _Text, first: int, last: int, limits: _Limits) -> float | None:
    """Return what a caption of these words costs, or None where it and every longer one is impossible."""
    alone = last == first + 1
    if not alone:
        if text.pauses[last - 1] >= _PAUSE_MS and text.lean[last - 1] != "bound":
            return None
        if text.width(first, last) > limits.line * limits.lines:
            return None
    split = _split(text, first, last, limits.lines, limits)
    if split is None and not alone:
        return _TOO_WIDE
    cost = split[0] if split else 0.0
    cost += text.inside[last - 1] - text.inside[first] + _time_cost(text, first, last, limits)
    return cost + (_EACH_CUE if last == len(text.words) else _break_cost(text, last))


def _break_cost(text: _Text, last: int) -> float:
    return _EACH_CUE + _CUE_COST[text.lean[last]] - min(text.pauses[last], 900) / 100


def _time_cost(text: _Text, first: int, last: int, limits: _Limits) -> float:
    """Return the cost of being too quick to read, a flash, or too long on the screen."""
    lasts = _end_ms(text, first, last, limits) - text.starts[first]
    count = last - first
    cost = max(0, count * limits.per_word_ms - lasts) / 40 + max(0, limits.comfortable_ms - lasts) / 40
    cost += 5.0 if lasts < count * limits.least_per_word_ms else 0.0
    return cost + max(0, lasts - limits.longest_ms) / 5


def _end_ms(text: _Text, first: int, last: int, limits: _Limits) -> int:
    """Return when a caption goes: with its speech, or later where that helps reading; a gap is none or a full one."""
    start, spoken = text.starts[first], text.stops[last - 1]
    longest = start + limits.longest_ms
    to_read = start + max((last - first) * limits.per_word_ms, limits.comfortable_ms)
    wanted = min(max(spoken + limits.linger_ms, to_read), spoken + limits.hanging_ms)
    if last == len(text.words):
        return max(start + 1, min(wanted, longest))
    after = text.starts[last]
    clear = after - limits.gap_ms
    if wanted > clear and after - spoken <= limits.hanging_ms and after <= longest:
        return after
    end = min(wanted, clear, longest)
    if end > start and end >= min(spoken, longest):
        return end
    return after if after <= longest else max(start + 1, min(clear, longest))


def _lines(text: _Text, first: int, last: int, limits: _Limits) -> tuple[str, ...]:
    found = _split(text, first, last, limits.lines, limits)
    edges = [first, *(found[1] if found else ()), last]
    return tuple(" ".join(word.text for word in text.words[a:b]) for a, b in pairwise(edges))


def _split(text: _Text, first: int, last: int, lines: int, limits: _Limits) -> tuple[float, tuple[int, ...]] | None:
    """Return the cheapest way to set words on at most so many lines: its cost, and the first word of each next line.

    None where they do not fit.
    """
    width = text.width(first, last)
    if width <= limits.preferred:
        return 0.0, ()
    best = (_OVER_PREFERRED, ()) if width <= limits.line else None
    if lines == 1 or width > limits.line * lines:
        return best
    found: tuple[float, tuple[int, ...]] | None = best
    lowest = bisect_left(text.widths, text.widths[last] - 1 - limits.line * (lines - 1), first + 1, last)
    highest = bisect_right(text.widths, text.widths[first] + 1 + limits.line, lowest, last)
    for place in range(lowest, highest):
        above, below = text.width(first, place), text.width(place, last)
        cost = _EACH_LINE + _LINE_COST[text.lean[place]] + abs(above - below / (lines - 1)) / 12
        cost += _OVER_PREFERRED if above > limits.preferred else 0.0
        if found is not None and cost >= found[0]:
            continue
        rest = _split(text, place, last, lines - 1, limits)
        if rest is not None and (found is None or cost + rest[0] < found[0]):
            found = (cost + rest[0], (place, *rest[1]))
    return found
