"""Whole numbers, and decimals in figures: "a hundred and fifty", "4 thousand 3 hundred and 21", "two dozen"."""

from fractions import Fraction

from studio.quantity.number_words import AND, DASHES, DOZEN, HUNDRED, ORDINALS, SCALES, SMALL, SUFFIXES, TENS, Number
from studio.quantity.parts import fraction
from studio.quantity.tokens import LONGEST_NUMBER, NUMBER, WORD, Tokens


def cardinal(tokens: Tokens, at: int) -> Number | None:
    """Read a whole number (or a decimal in figures), in words, figures or both ("4 thousand 3 hundred and 21")."""
    group = _group(tokens, at)
    if group is None:
        return None
    total, limit, value, end = Fraction(0), 10**15, group.value, group.end
    while tokens.low[end] in SCALES and SCALES[tokens.low[end]] < limit:
        limit = SCALES[tokens.low[end]]
        total, value, end = total + value * limit, Fraction(0), end + 1
        more = _next_group(tokens, end, limit)
        if more is None:
            break
        value, end = more.value, more.end
    return Number(total + value, end, group.form)


def _next_group(tokens: Tokens, at: int, limit: int) -> Number | None:
    """Read what may follow a scale word: a smaller group, with or without "and" or a comma."""
    start = at + 1 if tokens.low[at] in AND else at
    if tokens.raw[at] == "," and tokens.kind[at + 1] == WORD:
        start = at + 1
    if start > at and _separate_part(tokens, start):
        return None
    group = _group(tokens, start)
    if group is None or group.form == "article" or group.value.denominator > 1 or not group.value > 0:
        return None
    scale = SCALES.get(tokens.low[group.end], 1)
    return group if group.value * scale < limit else None


def _group(tokens: Tokens, at: int) -> Number | None:
    """Read a number below the scale words: "two hundred and five", "25", "a dozen"."""
    first = simple(tokens, at)
    if first is None:
        return None
    if tokens.low[first.end] in HUNDRED and first.value < (100 if first.form == "words" else 10_000):
        return _hundreds(tokens, first)
    if tokens.low[first.end] in DOZEN:
        return Number(first.value * 12, first.end + 1, "words")
    if first.form != "article" or tokens.low[first.end] in SCALES:
        return first
    return None


def _hundreds(tokens: Tokens, first: Number) -> Number:
    value, end = first.value * 100, first.end + 1
    start = end + 1 if tokens.low[end] in AND else end
    rest = None if _separate_part(tokens, start) else simple(tokens, start)
    if rest is None or rest.form == "article" or not 0 < rest.value < 100 or rest.value.denominator > 1:
        return Number(value, end, first.form)
    if tokens.low[rest.end] in HUNDRED:
        return Number(value, end, first.form)
    if tokens.low[rest.end] in DOZEN:
        return Number(value + rest.value * 12, rest.end + 1, "words")
    return Number(value + rest.value, rest.end, first.form)


def _separate_part(tokens: Tokens, at: int) -> bool:
    """Return whether a fraction stands here that does not take the whole number before it for its numerator."""
    part = fraction(tokens, at)
    return part is not None and part.value.denominator < 100


def simple(tokens: Tokens, at: int) -> Number | None:
    """Read figures, a number below a hundred in words, or an article before "hundred", "dozen", "couple"."""
    if tokens.kind[at] == NUMBER:
        return _figures(tokens, at)
    word = tokens.low[at]
    if word in TENS:
        return _tens(tokens, at)
    if word in SMALL:
        return Number(Fraction(SMALL[word]), at + 1, "words")
    if word in HUNDRED or word in SCALES or word in DOZEN:
        return Number(Fraction(1), at, "article") if not word.endswith("s") else None
    if word in ("a", "an", "another") and (tokens.low[at + 1] in HUNDRED | DOZEN or tokens.low[at + 1] in SCALES):
        return Number(Fraction(1), at + 1, "article")
    return None


def _tens(tokens: Tokens, at: int) -> Number | None:
    value, end = TENS[tokens.low[at]], at + 1
    unit = end + 1 if tokens.raw[end] in DASHES and tokens.spaced(end) == (not tokens.glued(end)) else end
    timed = tokens.low[unit] == "second" and tokens.before(at) in ("a", "another", "for")
    if unit > end and not timed and (tokens.low[unit] in ORDINALS or tokens.low[unit] in ("first", "second")):
        return None
    unit_value = SMALL.get(tokens.low[unit], 0)
    if 0 < unit_value < 10 and (fraction(tokens, unit) is None or unit > end):
        return Number(Fraction(value + unit_value), unit + 1, "words")
    return Number(Fraction(value), end, "words")


def _figures(tokens: Tokens, at: int) -> Number | None:
    """Read figures, also cut apart by a careless tokeniser ("46 . 8", "80 , 000")."""
    digits = tokens.raw[at].translate(_NO_GROUPS)
    if len(digits) > LONGEST_NUMBER or (tokens.low[at + 1] in SUFFIXES and tokens.glued(at + 1)):
        return None
    end = at + 1
    while tokens.raw[end] == "," and tokens.spaced(end) and len(tokens.raw[end + 1]) == 3 and digits.isdecimal():
        if tokens.kind[end + 1] != NUMBER or len(digits) > LONGEST_NUMBER:
            break
        digits, end = digits + tokens.raw[end + 1], end + 2
    if _decimal_comma(tokens, end):
        digits, end = f"{digits}.{tokens.raw[end + 1]}", end + 2
    if tokens.raw[end] == "." and tokens.spaced(end) and tokens.raw[end + 1].isdecimal() and digits.isdecimal():
        digits, end = f"{digits}.{tokens.raw[end + 1]}", end + 2
    return Number(Fraction(digits), end, "figures") if len(digits) <= 2 * LONGEST_NUMBER else None


def _decimal_comma(tokens: Tokens, at: int) -> bool:
    """Return whether a comma parts whole and decimals, as on the continent of Europe: "1,2"; not in "1,2,3"."""
    if tokens.raw[at] != "," or not (tokens.glued(at) and tokens.glued(at + 1)) or tokens.kind[at + 1] != NUMBER:
        return False
    whole, part, after = tokens.raw[at - 1], tokens.raw[at + 1], tokens.low[at + 2]
    if not (whole.isdecimal() and part.isdecimal()) or len(part) > 2:
        return False
    if len(part) == 2 and whole != "0" and after not in _SOLD_BY_HUNDREDTHS:
        return False
    more = tokens.raw[at + 2] in _AFTER_COMMA and tokens.glued(at + 2) and tokens.kind[at + 3] == NUMBER
    return not more and not (tokens.before(at, 2) in _AFTER_COMMA and tokens.glued(at - 1))


_SOLD_BY_HUNDREDTHS = frozenset("euro euros eur € zloty kr kroner kronor metre metres meter meters m kg l".split())
"""Before these two figures after a comma are decimals; elsewhere "20,60 mm" is a list of two."""
_AFTER_COMMA = frozenset(",/-")
_NO_GROUPS = {ord(sign): None for sign in ", \u202f\u00a0\u2009"}
