"""Fractions: "¾", "3/4", "three quarters", "a third", "one thirty-second", "eighth of an inch"."""

from fractions import Fraction
from functools import cache

from studio.quantity import units
from studio.quantity.number_words import (
    COUNTING,
    DASHES,
    ORDINALS,
    PARTS,
    RULER_PARTS,
    SCALES,
    SLASHES,
    SMALL,
    SUFFIXES,
    TENS,
    Number,
)
from studio.quantity.tokens import FRACTION, NUMBER, VULGAR, WORD, Tokens
from studio.quantity.words import words

_IN_FIGURES = RULER_PARTS | {3, 5, 10}
_SPLIT = {("thirty", "second"): 32, ("sixty", "fourth"): 64}


def fraction(t: Tokens, at: int) -> Number | None:
    """Read a fraction: "¾", "3/4", "three quarters", "a third", "half"."""
    if t.kind[at] == FRACTION:
        return Number(Fraction(*VULGAR[t.raw[at]]), at + 1, "fraction")
    word = t.low[at]
    if word in ("half", "quarter"):
        return Number(Fraction(1, PARTS[word]), at + 1, "fraction")
    if word in ("a", "an"):
        return _one_part(t, at + 1 + (t.raw[at + 1] in DASHES))
    if t.kind[at] == NUMBER or word in COUNTING:
        return _slashed(t, at) or _said_parts(t, at) or _bare_part(t, at)
    return _bare_part(t, at) if word in ORDINALS else None


def _one_part(t: Tokens, at: int) -> Number | None:
    """Read what stands after "a" as one part of something; not "a fifth coat", not "a 4th of July"."""
    below = _denominator(t, at, plural=False)
    if below is None or below.repaired:
        return None
    end, ruled = below.end, below.value in RULER_PARTS
    fits = below.value in (2, 4) and t.kind[at] == WORD
    fits = fits or (ruled and t.low[end] in _measured_words()) or _may_follow_part(t, end)
    dated = t.low[end] == "of" and t.low[end + 1] in words("alike", "month")
    return Number(1 / below.value, end, "fraction") if fits and not dated else None


def _bare_part(t: Tokens, at: int) -> Number | None:
    """Read one part without its article before the unit that it is of: "eighth of an inch", "16th inch"."""
    below = _denominator(t, at, plural=False)
    if below is None or below.repaired:
        return None
    end = below.end
    of = t.low[end] == "of" and t.low[end + 1] in ("a", "an") and t.low[end + 2] in _measured_units()
    inches = below.value in RULER_PARTS and t.low[end + (t.raw[end] in DASHES)] == "inch"
    return Number(1 / below.value, end, "fraction") if of or inches else None


@cache
def _measured_units() -> frozenset[str]:
    """Return the words of units that parts are told of, all but those of time: "the third of a day" is a place."""
    sized = ("length", "mass", "volume")
    rows = units.table().by_words.items()
    return frozenset(said[0] for said, unit in rows if len(said) == 1 and unit.dimension in sized)


@cache
def _measured_words() -> frozenset[str]:
    lists = (("relative", "smaller"), ("relative", "bigger"), ("context", "length"), ("context", "gap"))
    return frozenset().union(*(words(*name) for name in lists))


def _may_follow_part(t: Tokens, at: int) -> bool:
    """Return whether "a fifth" is a fraction here and not the fifth thing of a row."""
    low = t.low[at]
    known = low in words("context", "after_part") or low in SCALES or low in units.table().longest
    return t.kind[at] != WORD or known


def _slashed(t: Tokens, at: int) -> Number | None:
    top, bottom = t.raw[at], t.raw[at + 2]
    chained = SLASHES & {t.raw[at + 3], t.raw[max(0, at - 1)]}
    even = t.raw[at + 1] in SLASHES and t.glued(at + 1) == t.glued(at + 2)
    if not even or chained or not (top.isdecimal() and bottom.isdecimal() and len(top) < 7 and len(bottom) < 5):
        return None
    end = at + 3 + (t.low[at + 3] in SUFFIXES and t.glued(at + 3))
    return Number(Fraction(int(top), int(bottom)), end, "fraction") if int(bottom) else None


def _said_parts(t: Tokens, at: int) -> Number | None:
    """Read "three quarters", "five eighths", "3 16ths", "one thirty-second"."""
    top = _numerator(t, at)
    bottom = _denominator(t, top.end + (t.raw[top.end] in DASHES), plural=top.value != 1) if top else None
    if top is None or bottom is None or not 0 < top.value < 1000:
        return None
    value = top.value / bottom.value
    return Number(value, bottom.end, "fraction") if value < 1 or bottom.repaired else None


def _numerator(t: Tokens, at: int) -> Number | None:
    word = t.low[at]
    if t.kind[at] == NUMBER:
        return Number(Fraction(int(word)), at + 1, "figures") if word.isdecimal() and len(word) < 4 else None
    unit = at + 1 + (t.raw[at + 1] in DASHES)
    if word in TENS and 0 < SMALL.get(t.low[unit], 0) < 10:
        return Number(Fraction(TENS[word] + SMALL[t.low[unit]]), unit + 1, "words")
    value = TENS.get(word, SMALL.get(word))
    return Number(Fraction(value), at + 1, "words") if value is not None else None


def _denominator(t: Tokens, at: int, *, plural: bool) -> Number | None:
    """Read the parts of a fraction; `repaired` says that the plural is certain."""
    word = t.low[at]
    if word in PARTS:
        many = word.endswith("s")
        fits = many or not plural or PARTS[word] in RULER_PARTS
        return Number(Fraction(PARTS[word]), at + 1, "words", many) if fits else None
    if t.kind[at] == NUMBER:
        known = t.low[at + 1] in SUFFIXES and t.glued(at + 1) and word.isdecimal() and int(word[:6]) in _IN_FIGURES
        return Number(Fraction(int(word)), at + 2, "words", t.low[at + 1].endswith("s")) if known else None
    last = at + 1 + (t.raw[at + 1] in DASHES)
    unit = t.low[last].removesuffix("s")
    if (word, unit) in _SPLIT:
        return Number(Fraction(_SPLIT[word, unit]), last + 1, "words")
    dashed = word in TENS and last > at + 1 and 0 < ORDINALS.get(unit, 0) < 10
    return Number(Fraction(TENS[word] + ORDINALS[unit]), last + 1, "words") if dashed else None
