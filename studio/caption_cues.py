"""Words and their times made into captions: the breaks that cost least under the caption rules, found exactly."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from studio import caption_breaks, resources
from studio.caption_files import Cue
from studio.caption_rules import Rules
from studio.model import Word

_CUE_COST = {"sentence": 0.0, "clause": 6.0, "free": 14.0, "leaning": 40.0, "bound": 1000.0}
_LINE_COST = {"sentence": 0.0, "clause": 1.0, "free": 4.0, "leaning": 20.0, "bound": 1000.0}
_PAUSE_MS = 1000
"""A silence that no caption spans."""
_APART_MS = 3000
"""A silence that parts even a number from its unit."""


@dataclass(frozen=True)
class _Text:
    """The words with what the optimiser asks of them again and again."""

    words: Sequence[Word]
    ends: list[int]
    """Length of the first n words with a space behind each."""
    lean: list[str]
    """How each word holds on to the one before it; the first is `sentence`."""

    def width(self, first: int, last: int) -> int:
        """Return the length of the words `first` to `last` (not included) on one line."""
        return self.ends[last] - self.ends[first] - 1

    def pause(self, place: int) -> int:
        """Return the silence in ms before the word at `place`."""
        return self.words[place].start_ms - self.words[place - 1].end_ms


def cues(words: Sequence[Word], rules: Rules, held: frozenset[int] = frozenset()) -> tuple[Cue, ...]:
    """Return captions that hold every word once and in order.

    Args:
        words: with times that grow; see `in_order`.
        rules: figures for lines and times.
        held: places of words that must not be parted from the word before (inside a product name).
    """
    if not words:
        return ()
    text = _text(words, held)
    breaks = _best_breaks(text, rules)
    edges = [*breaks, len(words)]
    return tuple(
        Cue(words[a].start_ms, _end_ms(text, a, b, rules), _lines(text, a, b, rules)) for a, b in pairwise(edges)
    )


def in_order(words: Sequence[Word]) -> tuple[Word, ...]:
    """Return the words with times that grow by at least 1 ms from word to word and never overlap."""
    ordered: list[Word] = []
    at = 0
    starts = []
    for word in words:
        at = max(word.start_ms, at)
        starts.append(at)
        at += 1
    for word, start, after in zip(words, starts, [*starts[1:], None], strict=False):
        end = max(word.end_ms, start + 1)
        end = end if after is None else max(start + 1, min(end, after))
        ordered.append(word.but(start_ms=start, end_ms=end))
    return tuple(ordered)


def _text(words: Sequence[Word], held: frozenset[int]) -> _Text:
    plain = [word.text for word in words]
    ends = [0]
    for word in plain:
        ends.append(ends[-1] + len(word) + 1)
    lean: list[str] = ["sentence"]
    for place in range(1, len(words)):
        bound = caption_breaks.between(plain, place)
        if place in held and bound != "sentence":
            bound = "bound"
        if words[place].start_ms - words[place - 1].end_ms >= _APART_MS:
            bound = "sentence"
        lean.append(bound)
    return _Text(words, ends, lean)


def _best_breaks(text: _Text, rules: Rules) -> list[int]:
    """Return the place of the first word of each caption: the cheapest way through all words (dynamic programme)."""
    total = len(text.words)
    best = [(0.0, 0)] + [(math.inf, 0)] * total
    for first in range(total):
        so_far = best[first][0]
        for last in range(first + 1, total + 1):
            cost = _cue_cost(text, first, last, rules)
            if cost is None:
                break
            if so_far + cost < best[last][0]:
                best[last] = (so_far + cost, first)
    breaks = [best[total][1]]
    while breaks[-1] > 0:
        breaks.append(best[breaks[-1]][1])
    return breaks[::-1]


def _cue_cost(text: _Text, first: int, last: int, rules: Rules) -> float | None:
    """Return what a caption of these words costs, or None where it and every longer one is impossible."""
    alone = last == first + 1
    if not alone and text.pause(last - 1) >= _PAUSE_MS and text.lean[last - 1] != "bound":
        return None
    lines = _line_cost(text, first, last, rules)
    if lines is None and not alone:
        return None if text.width(first, last) > rules["line_length"].figure * rules["lines"].figure else 5000.0
    return (lines or 0.0) + _break_cost(text, last) + _time_cost(text, first, last, rules) + _inside(text, first, last)


def _break_cost(text: _Text, last: int) -> float:
    if last == len(text.words):
        return 3.0
    return 3.0 + _CUE_COST[text.lean[last]] - min(text.pause(last), 900) / 100


def _inside(text: _Text, first: int, last: int) -> float:
    """Return the cost of sentence ends and silences inside a caption."""
    ends = sum(text.lean[place] == "sentence" for place in range(first + 1, last))
    silence = sum(max(0, text.pause(place) - 300) for place in range(first + 1, last))
    return 8.0 * ends + silence / 50


def _time_cost(text: _Text, first: int, last: int, rules: Rules) -> float:
    lasts = _end_ms(text, first, last, rules) - text.words[first].start_ms
    count = last - first
    least = count * rules["shortest_per_word"].figure
    quick = count * 60_000 / rules["speed"].figure
    comfortable = resources.table("captions.toml")["timing"]["comfortable_ms"]
    cost = max(0.0, (quick - lasts) / 40) + max(0, comfortable - lasts) / 40 + (5.0 if lasts < least else 0.0)
    return cost + max(0, lasts - rules["longest"].figure) / 5


def _end_ms(text: _Text, first: int, last: int, rules: Rules) -> int:
    """Return when a caption goes: with its speech, or later where that helps reading; a gap is none or a full one."""
    timing = resources.table("captions.toml")["timing"]
    start, spoken = text.words[first].start_ms, text.words[last - 1].end_ms
    count, longest = last - first, start + rules["longest"].figure
    wanted = max(
        spoken + timing["linger_ms"], start + max(count * 60_000 // rules["speed"].figure, timing["comfortable_ms"])
    )
    wanted = min(wanted, spoken + timing["hanging_ms"])
    if last == len(text.words):
        return max(start + 1, min(wanted, longest))
    after = text.words[last].start_ms
    clear = after - rules["gap"].figure
    if wanted > clear and after - spoken <= timing["hanging_ms"] and after <= longest:
        return after
    end = min(wanted, clear, longest)
    return (
        end
        if end > start and (end >= min(spoken, longest))
        else (after if after <= longest else max(start + 1, min(clear, longest)))
    )


def _line_cost(text: _Text, first: int, last: int, rules: Rules) -> float | None:
    found = _split(text, first, last, rules["lines"].figure, rules["line_length_preferred"].figure, rules)
    return None if found is None else found[0]


def _lines(text: _Text, first: int, last: int, rules: Rules) -> tuple[str, ...]:
    found = _split(text, first, last, rules["lines"].figure, rules["line_length_preferred"].figure, rules)
    places = found[1] if found else []
    edges = [first, *places, last]
    return tuple(" ".join(word.text for word in text.words[a:b]) for a, b in pairwise(edges))


def _split(
    text: _Text, first: int, last: int, lines: int, preferred: int, rules: Rules
) -> tuple[float, list[int]] | None:
    """Return the cheapest way to set words on at most so many lines, with its cost; None where they do not fit."""
    width = text.width(first, last)
    if width <= preferred:
        return 0.0, []
    most = rules["line_length"].figure
    over = (50.0, []) if width <= most else None
    if lines == 1 or width > most * lines:
        return over
    best: tuple[float, list[int]] | None = over
    for place in range(last - 1, first, -1):
        below = text.width(place, last)
        if below > (most if lines == 2 else most * (lines - 1)):
            break
        above = text.width(first, place)
        if above > most:
            continue
        rest = _split(text, place, last, lines - 1, preferred, rules)
        if rest is None:
            continue
        cost = rest[0] + 2.0 + _LINE_COST[text.lean[place]] + abs(above - below / max(1, lines - 1)) / 12
        cost += 50.0 if above > preferred else 0.0
        if best is None or cost < best[0]:
            best = (cost, [place, *rest[1]])
    return best
