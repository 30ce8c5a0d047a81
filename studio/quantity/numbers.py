"""Numbers as they are said and written, read exactly: whole, mixed, decimal, signed, scaled."""

from fractions import Fraction

from studio.quantity.cardinals import cardinal, simple
from studio.quantity.number_words import (
    AND,
    DASHES,
    DOZEN,
    HUNDRED,
    LETTERS,
    MINUS,
    PARTS,
    RULER_PARTS,
    SCALES,
    SLASHES,
    SMALL,
    STARTS,
    Number,
    starts_number,
)
from studio.quantity.parts import fraction
from studio.quantity.tokens import END, FRACTION, LONGEST_NUMBER, NUMBER, SIGN, VULGAR, Tokens

__all__ = ["SCALES", "STARTS", "Number", "cardinal", "fraction", "number", "starts_number"]
_EXTENDING_SIGNS = frozenset("^×&-‐‑")


def number(tokens: Tokens, at: int) -> Number | None:
    """Read the longest number that begins at this piece."""
    sign_end = _minus(tokens, at)
    if sign_end > at:
        found = number(tokens, sign_end) if tokens.low[sign_end] not in ("-", "a", "an", *MINUS) else None
        return None if found is None else found._replace(value=-found.value)
    part = fraction(tokens, at)
    if part is not None:
        return _scaled(tokens, part)
    whole = cardinal(tokens, at)
    if whole is None:
        return _point(tokens, Number(Fraction(0), at, "words")) if tokens.low[at] == "point" else None
    return _extended(tokens, whole)


def _minus(tokens: Tokens, at: int) -> int:
    if tokens.low[at] in MINUS:
        return at + 1
    if tokens.raw[at] not in ("-", "−") or not tokens.glued(at + 1):
        return at
    free = at == 0 or (not tokens.glued(at) and tokens.kind[at - 1] != NUMBER) or tokens.raw[at - 1] in "($£€=[:"
    return at + 1 if free and tokens.kind[at + 1] in (NUMBER, FRACTION) else at


def _extended(tokens: Tokens, whole: Number) -> Number:
    """Read on after a whole number: decimals, a fraction, "over", a scale."""
    if (tokens.kind[whole.end] == SIGN and tokens.raw[whole.end] not in _EXTENDING_SIGNS) or tokens.kind[
        whole.end
    ] == END:
        return whole
    for reading in (_letter, _power, _point, _over, _parts_of, _mixed):
        found = reading(tokens, whole)
        if found is not None:
            return _scaled(tokens, found)
    return whole


def _scaled(tokens: Tokens, found: Number) -> Number:
    """Multiply by what follows a fraction or a mixed number: "half a dozen", "five and a half million"."""
    end = found.end + (tokens.low[found.end] in ("a", "of") and found.form == "fraction")
    word = tokens.low[end]
    if word in SCALES:
        return Number(found.value * SCALES[word], end + 1, "words")
    if word in DOZEN:
        return Number(found.value * 12, end + 1, "words")
    if word in HUNDRED and end > found.end:
        return Number(found.value * 100, end + 1, "words")
    return found


def _letter(tokens: Tokens, whole: Number) -> Number | None:
    """Read a scale letter: "0.5k"."""
    scale = LETTERS.get(tokens.raw[whole.end]) if tokens.glued(whole.end) and whole.form == "figures" else None
    if scale is None:
        return None
    return Number(whole.value * scale, whole.end + 1, "figures")


def _power(tokens: Tokens, whole: Number) -> Number | None:
    """Read scientific notation and powers: "2.48×10−5", "1.1^23"."""
    at = whole.end
    if tokens.raw[at] == "^":
        power = _exponent(tokens, at + 1) if 0 < whole.value <= _HIGHEST_BASE else None
        return Number(whole.value ** int(power.value), power.end, "figures") if power else None
    if tokens.raw[at] not in ("×", "x") or tokens.raw[at + 1] != "10":
        return None
    power = _exponent(tokens, at + 2 + (tokens.raw[at + 2] == "^"))
    return Number(whole.value * Fraction(10) ** int(power.value), power.end, "figures") if power else None


def _exponent(tokens: Tokens, at: int) -> Number | None:
    down = tokens.raw[at] in ("-", "−", "–")
    digits = tokens.raw[at + down]
    if not digits.isdecimal() or len(digits) > 2 or not tokens.glued(at) or not tokens.glued(at + down):
        return None
    return Number(Fraction(-int(digits) if down else int(digits)), at + down + 1, "figures")


_HIGHEST_BASE = 100
"""A greater number is not raised to a power."""


def _point(tokens: Tokens, whole: Number) -> Number | None:
    """Read spoken decimals: "two point seven five", "nought point five", and "one comma two" of the continent."""
    if tokens.low[whole.end] != "point" and not _said_comma(tokens, whole):
        return None
    digits, at = "", whole.end + 1
    while len(digits) < LONGEST_NUMBER:
        word = tokens.low[at]
        if SMALL.get(word, 10) < 10 or word in ("oh", "o"):
            digits, at = digits + str(SMALL.get(word, 0)), at + 1
        elif tokens.kind[at] == NUMBER and word.isdecimal():
            digits, at = digits + word, at + 1
        else:
            break
    if not digits:
        more = simple(tokens, at)
        if more is None or more.form == "article" or more.value.denominator > 1:
            return None
        digits, at = str(more.value), more.end
    return Number(whole.value + Fraction(f"0.{digits[:LONGEST_NUMBER]}"), at, whole.form)


def _said_comma(tokens: Tokens, whole: Number) -> bool:
    at = whole.end
    return tokens.low[at] == "comma" and whole.form == "words" and SMALL.get(tokens.low[at + 1], 10) < 10


def _over(tokens: Tokens, whole: Number) -> Number | None:
    """Read "one over three" and "one out of three"."""
    at = whole.end
    if tokens.low[at] == "over":
        at += 1
    elif tokens.low[at] == "out" and tokens.low[at + 1] == "of":
        at += 2
    else:
        return None
    below = cardinal(tokens, at)
    if below is None or not below.value or below.form == "article":
        return None
    return Number(whole.value / below.value, below.end, "fraction")


def _parts_of(tokens: Tokens, whole: Number) -> Number | None:
    """Read a long numerator: "one hundred and seventy-one trillionths"."""
    parts = PARTS.get(tokens.low[whole.end], 0)
    if parts < 3 or not tokens.low[whole.end].endswith("s") or whole.form == "article":
        return None
    return Number(whole.value / parts, whole.end + 1, "fraction")


def _mixed(tokens: Tokens, whole: Number) -> Number | None:
    """Read a whole number and a fraction: "four and a quarter", "4-1/4", "5¼", "2 and 5-8"."""
    at = whole.end
    joined = tokens.low[at] in AND or tokens.raw[at] in DASHES
    if joined and tokens.raw[at + 1] in DASHES:
        at += 1
    if tokens.raw[at] in DASHES and tokens.low[at + 1] in AND:
        at, joined = at + 1, True
    start = at + 1 + (tokens.raw[at + 1] in DASHES) if joined else at
    if joined and tokens.low[start] in ("a", "an") and tokens.kind[start + 1] in (NUMBER, FRACTION):
        start += 1
    part = fraction(tokens, start) or (_misheard_part(tokens, start) if tokens.low[at] in AND else None)
    if part is None or part.value >= 1 or whole.value.denominator > 1 or not _belongs(tokens, whole, start, joined):
        return None
    scale = SCALES.get(tokens.low[whole.end - 1], 1)
    return Number(whole.value + part.value * scale, part.end, whole.form, part.repaired)


def _belongs(tokens: Tokens, whole: Number, start: int, joined: bool) -> bool:
    """Return whether a fraction after a whole number is part of it and not a thing of its own."""
    if joined:
        return True
    figures = whole.form == "figures" and tokens.kind[start] in (NUMBER, FRACTION)
    return figures and (tokens.kind[start] == FRACTION or tokens.raw[start + 1] in SLASHES)


def _misheard_part(tokens: Tokens, at: int) -> Number | None:
    """Read a fraction that a recogniser wrote with a dash ("5-8") or doubled ("3 ¼" for three quarters)."""
    if tokens.kind[at] != NUMBER or not tokens.raw[at].isdecimal() or len(tokens.raw[at]) > 2:
        return None
    top = int(tokens.raw[at])
    if tokens.raw[at + 1] in DASHES and tokens.raw[at + 2].isdecimal() and tokens.glued(at + 1):
        bottom = int(tokens.raw[at + 2][:4])
        fits = bottom in RULER_PARTS and top % 2 and top < bottom
        return Number(Fraction(top, bottom), at + 3, "fraction", True) if fits else None
    if tokens.kind[at + 1] == FRACTION:
        part = Fraction(*VULGAR[tokens.raw[at + 1]])
        fits = part.numerator == 1 and top % 2 and top < part.denominator and top > 1
        return Number(part * top, at + 2, "fraction", True) if fits else None
    return None
