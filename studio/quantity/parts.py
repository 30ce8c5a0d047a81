"""Fractions: "¾", "3/4", "three quarters", "a third", "one thirty-second"."""

from fractions import Fraction
from functools import cache

from studio.quantity import units
from studio.quantity.number_words import (
    AND,
    DASHES,
    HUNDRED,
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


def fraction(tokens: Tokens, at: int) -> Number | None:
    """Read a fraction: "¾", "3/4", "three quarters", "a third", "half"."""
    if tokens.kind[at] == FRACTION:
        return Number(Fraction(*VULGAR[tokens.raw[at]]), at + 1, "fraction")
    if tokens.kind[at] == NUMBER:
        return _slashed(tokens, at) or _said_parts(tokens, at) or _bare_part(tokens, at)
    word = tokens.low[at]
    if word in ("half", "quarter"):
        return Number(Fraction(1, PARTS[word]), at + 1, "fraction")
    if word in ("a", "an"):
        return _one_part(tokens, at)
    said = _said_parts(tokens, at) if word in SMALL or word in TENS or word in HUNDRED else None
    return said or _bare_part(tokens, at)


def _bare_part(tokens: Tokens, at: int) -> Number | None:
    """Read one part without its article before the unit that it is of: "eighth of an inch", "16th inch"."""
    if tokens.kind[at] == NUMBER:
        below, end = _ordinal_figures(tokens, at)
    elif tokens.low[at] in ORDINALS:
        below, end = ORDINALS[tokens.low[at]], at + 1
    else:
        found = _denominator(tokens, at, plural=False) if tokens.low[at] in ("thirty", "sixty") else None
        below, end = (int(found.value), found.end) if found else (0, at)
    of = tokens.low[end] == "of" and tokens.low[end + 1] in ("a", "an")
    inches = below in RULER_PARTS and tokens.low[end + (tokens.raw[end] in DASHES)] == "inch"
    if not below or not (inches or (of and tokens.low[end + 2] in _measured_units())):
        return None
    return Number(Fraction(1, below), end, "fraction")


def _ordinal_figures(tokens: Tokens, at: int) -> tuple[int, int]:
    """Return the number and the end of "8th" and "32nd"; 0 where it is none, or no part of a ruler."""
    digits = tokens.raw[at]
    known = tokens.low[at + 1] in SUFFIXES and tokens.glued(at + 1) and digits.isdecimal() and len(digits) < 3
    return (int(digits), at + 2) if known and int(digits) in RULER_PARTS | {3, 5, 10} else (0, at)


@cache
def _measured_units() -> frozenset[str]:
    """Return the words of units that parts are told of, all but those of time: "the third of a day" is a place."""
    rows = units.table()
    return frozenset(
        words[0]
        for words, unit in rows.by_words.items()
        if len(words) == 1 and unit.dimension in ("length", "mass", "volume")
    )


def _one_part(tokens: Tokens, at: int) -> Number | None:
    if tokens.raw[at + 1] in DASHES:
        at += 1
    part = tokens.low[at + 1]
    if tokens.kind[at + 1] == NUMBER:
        return _figure_part(tokens, at + 1)
    if part not in PARTS or part.endswith("s"):
        compound = _denominator(tokens, at + 1, plural=False) if part in ("thirty", "sixty") else None
        fits = compound and (tokens.low[compound.end] in _measured_words() or _may_follow_part(tokens, compound.end))
        return Number(1 / compound.value, compound.end, "fraction") if compound and fits else None
    ruled = PARTS[part] in RULER_PARTS and tokens.low[at + 2] in _measured_words()
    if part in ("half", "quarter") or ruled or _may_follow_part(tokens, at + 2):
        return Number(Fraction(1, PARTS[part]), at + 2, "fraction")
    return None


def _figure_part(tokens: Tokens, at: int) -> Number | None:
    """Read "a 16th of an inch" and "an 8th of depth"; not "a 4th of July"."""
    below, end = _ordinal_figures(tokens, at)
    if not below:
        return None
    dated = tokens.low[end] == "of" and tokens.low[end + 1] in words("alike", "month")
    ruled = below in RULER_PARTS and tokens.low[end] in _measured_words()
    fits = ruled or _may_follow_part(tokens, end)
    return Number(Fraction(1, below), end, "fraction") if fits and not dated else None


_AFTER_PART = frozenset(
    "of inch inches in and or to into off from more less the is a an for at as by on wide long".split()
)


@cache
def _measured_words() -> frozenset[str]:
    return (
        words("relative", "smaller")
        | words("relative", "bigger")
        | words("context", "length")
        | words("context", "gap")
    )


def _may_follow_part(tokens: Tokens, at: int) -> bool:
    """Return whether "a fifth" is a fraction here and not the fifth thing of a row."""
    return (
        tokens.kind[at] != WORD
        or tokens.low[at] in _AFTER_PART
        or tokens.low[at] in SCALES
        or tokens.low[at] in units.table().longest
    )


def _slashed(tokens: Tokens, at: int) -> Number | None:
    if (
        tokens.raw[at + 1] not in SLASHES
        or tokens.kind[at + 2] != NUMBER
        or SLASHES & {tokens.raw[at + 3], tokens.raw[max(0, at - 1)]}
    ):
        return None
    top, bottom = tokens.raw[at], tokens.raw[at + 2]
    even = tokens.glued(at + 1) == tokens.glued(at + 2)
    if not (even and top.isdecimal() and bottom.isdecimal() and len(top) < 7 and len(bottom) < 5 and int(bottom)):
        return None
    end = at + 3 + (tokens.low[at + 3] in ("th", "ths", "rd", "rds", "nd", "nds") and tokens.glued(at + 3))
    return Number(Fraction(int(top), int(bottom)), end, "fraction")


def _said_parts(tokens: Tokens, at: int) -> Number | None:
    """Read "three quarters", "five eighths", "3 16ths", "one thirty-second"."""
    top = _numerator(tokens, at)
    if top is None:
        return None
    end = top.end + (tokens.raw[top.end] in DASHES)
    bottom = _denominator(tokens, end, plural=top.value != 1)
    if bottom is None or not 0 < top.value < 1000:
        return None
    value, end = top.value / bottom.value, bottom.end
    return Number(value, end, "fraction") if value < 1 or bottom.repaired else None


def _numerator(tokens: Tokens, at: int) -> Number | None:
    word = tokens.low[at]
    if tokens.kind[at] == NUMBER:
        return Number(Fraction(int(word)), at + 1, "figures") if word.isdecimal() and len(word) < 4 else None
    if word in TENS:
        unit = at + 2 if tokens.raw[at + 1] in DASHES else at + 1
        if 0 < SMALL.get(tokens.low[unit], 0) < 10:
            return Number(Fraction(TENS[word] + SMALL[tokens.low[unit]]), unit + 1, "words")
        return Number(Fraction(TENS[word]), at + 1, "words")
    return Number(Fraction(SMALL[word]), at + 1, "words") if word in SMALL else None


def _denominator(tokens: Tokens, at: int, *, plural: bool) -> Number | None:
    """Read the parts of a fraction; `repaired` says that the plural is certain."""
    word = tokens.low[at]
    if word in PARTS:
        many = word.endswith("s") or word == "halves"
        singular_fits = not plural or PARTS[word] in RULER_PARTS
        return Number(Fraction(PARTS[word]), at + 1, "words", many) if many or singular_fits else None
    if tokens.kind[at] == NUMBER and tokens.low[at + 1] in ("ths", "nds", "rds", "th") and tokens.glued(at + 1):
        known = tokens.raw[at].isdecimal() and int(tokens.raw[at][:6]) in RULER_PARTS | {3, 5, 10}
        return Number(Fraction(int(tokens.raw[at])), at + 2, "words") if known else None
    tens = {"thirty": 32, "sixty": 64}.get(word)
    last = at + 2 if tokens.raw[at + 1] in DASHES else at + 1
    unit = ORDINALS.get(tokens.low[last].removesuffix("s"), 0) if word in TENS and last == at + 2 else 0
    if 0 < unit < 10 and not (tens and unit == 4):
        return Number(Fraction(TENS[word] + unit), last + 1, "words")
    if tens and tokens.low[last] in ("second", "seconds", "fourth", "fourths"):
        return Number(Fraction(tens), last + 1, "words")
    return _long_denominator(tokens, at) if not plural else None


def _long_denominator(tokens: Tokens, at: int) -> Number | None:
    """Read "one hundred and fifth" below "one"."""
    if tokens.low[at + 1] not in HUNDRED or tokens.low[at] not in SMALL:
        return None
    last = at + 3 if tokens.low[at + 2] in AND else at + 2
    if tokens.low[last] not in ORDINALS:
        return None
    return Number(Fraction(SMALL[tokens.low[at]] * 100 + ORDINALS[tokens.low[last]]), last + 1, "words")
