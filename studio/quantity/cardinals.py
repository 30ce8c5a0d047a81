"""Whole numbers, and decimals in figures: "a hundred and fifty", "4 thousand 3 hundred and 21", "two dozen"."""

from fractions import Fraction

from studio.quantity.number_words import AND, DASHES, DOZEN, HUNDRED, ORDINALS, SCALES, SMALL, SUFFIXES, TENS, Number
from studio.quantity.parts import fraction
from studio.quantity.tokens import LONGEST_NUMBER, NUMBER, WORD, Tokens
from studio.quantity.words import words


def cardinal(t: Tokens, at: int) -> Number | None:
    """Read a whole number (or a decimal in figures), in words, figures or both ("4 thousand 3 hundred and 21")."""
    group = _group(t, at)
    if group is None:
        return None
    total, limit, value, end = Fraction(0), 10**15, group.value, group.end
    while SCALES.get(t.low[end], limit) < limit:
        limit = SCALES[t.low[end]]
        total, value, end = total + value * limit, Fraction(0), end + 1
        more = _next_group(t, end, limit)
        if more is None:
            break
        value, end = more.value, more.end
    return Number(total + value, end, group.form)


def _next_group(t: Tokens, at: int, limit: int) -> Number | None:
    """Read what may follow a scale word: a smaller group, with or without "and" or a comma."""
    joined = t.low[at] in AND or (t.raw[at] == "," and t.kind[at + 1] == WORD)
    if joined and _separate_part(t, at + 1):
        return None
    group = _group(t, at + joined)
    if group is None or not group.whole or not group.value > 0:
        return None
    return group if group.value * SCALES.get(t.low[group.end], 1) < limit else None


def _group(t: Tokens, at: int) -> Number | None:
    """Read a number below the scale words: "two hundred and five", "25", "a dozen"."""
    first = simple(t, at)
    if first is None:
        return None
    after = t.low[first.end]
    if after in HUNDRED and first.value < (100 if first.form == "words" else 10_000):
        return _hundreds(t, first)
    if after in DOZEN:
        return Number(first.value * 12, first.end + 1, "words")
    return first if first.form != "article" or after in SCALES else None


def _hundreds(t: Tokens, first: Number) -> Number:
    value, end = first.value * 100, first.end + 1
    start = end + (t.low[end] in AND)
    rest = None if _separate_part(t, start) else simple(t, start)
    if rest is None or not rest.whole or not 0 < rest.value < 100 or t.low[rest.end] in HUNDRED:
        return Number(value, end, first.form)
    dozens = t.low[rest.end] in DOZEN
    return Number(value + rest.value * (12 if dozens else 1), rest.end + dozens, first.form)


def _separate_part(t: Tokens, at: int) -> bool:
    """Return whether a fraction stands here that does not take the whole number before it for its numerator."""
    part = fraction(t, at)
    return part is not None and part.value.denominator < 100


def simple(t: Tokens, at: int) -> Number | None:
    """Read figures, a number below a hundred in words, or an article before "hundred", "dozen", "couple"."""
    if t.kind[at] == NUMBER:
        return _figures(t, at)
    word = t.low[at]
    if word in TENS:
        return _tens(t, at)
    if word in SMALL:
        return Number(Fraction(SMALL[word]), at + 1, "words")
    if _is_many(word):
        return Number(Fraction(1), at, "article") if not word.endswith("s") else None
    if word in ("a", "an", "another") and _is_many(t.low[at + 1]):
        return Number(Fraction(1), at + 1, "article")
    return None


def _is_many(word: str) -> bool:
    return word in HUNDRED or word in SCALES or word in DOZEN


def _tens(t: Tokens, at: int) -> Number | None:
    value, end = TENS[t.low[at]], at + 1
    dashed = t.raw[end] in DASHES and t.spaced(end) == (not t.glued(end))
    unit = t.low[end + dashed]
    timed = unit == "second" and t.before(at) in ("a", "another", "for")
    if dashed and not timed and (unit in ORDINALS or unit in ("first", "second")):
        return None
    if 0 < SMALL.get(unit, 0) < 10 and (dashed or fraction(t, end) is None):
        return Number(Fraction(value + SMALL[unit]), end + dashed + 1, "words")
    return Number(Fraction(value), end, "words")


def _figures(t: Tokens, at: int) -> Number | None:
    """Read figures, also cut apart by a careless tokeniser ("46 . 8", "80 , 000")."""
    digits = t.raw[at].translate(_NO_GROUPS)
    if len(digits) > LONGEST_NUMBER or (t.low[at + 1] in SUFFIXES and t.glued(at + 1)):
        return None
    end = at + 1
    while t.raw[end] == "," and t.spaced(end) and len(t.raw[end + 1]) == 3 and digits.isdecimal():
        if t.kind[end + 1] != NUMBER or len(digits) > LONGEST_NUMBER:
            break
        digits, end = digits + t.raw[end + 1], end + 2
    apart = t.raw[end] == "." and t.spaced(end) and t.raw[end + 1].isdecimal() and digits.isdecimal()
    if apart or _decimal_comma(t, end):
        digits, end = f"{digits}.{t.raw[end + 1]}", end + 2
    return Number(Fraction(digits), end, "figures")


_NO_GROUPS = dict.fromkeys(map(ord, ", \u202f\u00a0\u2009"))


def _decimal_comma(t: Tokens, at: int) -> bool:
    """Return whether a comma parts whole and decimals, as on the continent of Europe: "1,2"; not in "1,2,3"."""
    if t.raw[at] != "," or not (t.glued(at) and t.glued(at + 1)) or t.kind[at + 1] != NUMBER:
        return False
    whole, part, after = t.raw[at - 1], t.raw[at + 1], t.low[at + 2]
    if not (whole.isdecimal() and part.isdecimal()) or len(part) > 2:
        return False
    if len(part) == 2 and whole != "0" and after not in words("context", "sold_by_hundredths"):
        return False
    more = t.raw[at + 2] in _AFTER_COMMA and t.glued(at + 2) and t.kind[at + 3] == NUMBER
    return not more and not (t.before(at, 2) in _AFTER_COMMA and t.glued(at - 1))


_AFTER_COMMA = frozenset(",/-")
