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
    Number,
)
from studio.quantity.parts import fraction
from studio.quantity.tokens import FRACTION, LONGEST_NUMBER, NUMBER, VULGAR, Tokens

__all__ = ["SCALES", "Number", "cardinal", "fraction", "number"]


def number(t: Tokens, at: int) -> Number | None:
    """Read the longest number that begins at this piece."""
    sign_end = _minus(t, at)
    if sign_end > at:
        found = number(t, sign_end) if t.low[sign_end] not in ("-", "a", "an", *MINUS) else None
        return None if found is None else found._replace(value=-found.value)
    part = fraction(t, at)
    if part is not None:
        return _scaled(t, part)
    whole = cardinal(t, at)
    if whole is None:
        return _point(t, Number(Fraction(0), at, "words")) if t.low[at] == "point" else None
    more = (reading(t, whole) for reading in (_letter, _power, _point, _over, _parts_of, _mixed))
    found = next((reading for reading in more if reading is not None), None)
    return whole if found is None else _scaled(t, found)


def _minus(t: Tokens, at: int) -> int:
    if t.low[at] in MINUS:
        return at + 1
    if t.raw[at] not in ("-", "−") or not t.glued(at + 1):
        return at
    free = at == 0 or (not t.glued(at) and t.kind[at - 1] != NUMBER) or t.raw[at - 1] in "($£€=[:"
    return at + 1 if free and t.kind[at + 1] in (NUMBER, FRACTION) else at


def _scaled(t: Tokens, found: Number) -> Number:
    """Multiply by what follows a fraction or a mixed number: "half a dozen", "five and a half million"."""
    end = found.end + (t.low[found.end] in ("a", "of") and found.form == "fraction")
    word = t.low[end]
    size = SCALES.get(word, 0) or (12 if word in DOZEN else 100 if word in HUNDRED and end > found.end else 0)
    return Number(found.value * size, end + 1, "words") if size else found


def _letter(t: Tokens, whole: Number) -> Number | None:
    """Read a scale letter: "0.5k"."""
    scale = LETTERS.get(t.raw[whole.end]) if t.glued(whole.end) and whole.form == "figures" else None
    return Number(whole.value * scale, whole.end + 1, "figures") if scale else None


def _power(t: Tokens, whole: Number) -> Number | None:
    """Read scientific notation: "2.48×10−5", "3 x 10^4"."""
    at = whole.end
    if t.raw[at] not in ("×", "x") or t.raw[at + 1] != "10":
        return None
    at += 2 + (t.raw[at + 2] == "^")
    down = t.raw[at] in ("-", "−", "–")
    digits = t.raw[at + down]
    if not digits.isdecimal() or len(digits) > 2 or not t.glued(at) or not t.glued(at + down):
        return None
    return Number(whole.value * Fraction(10) ** (-int(digits) if down else int(digits)), at + down + 1, "figures")


def _point(t: Tokens, whole: Number) -> Number | None:
    """Read spoken decimals: "two point seven five", "nought point five"."""
    at = whole.end + 1
    if t.low[whole.end] != "point":
        return None
    digits = ""
    while len(digits) < LONGEST_NUMBER and (digit := _digits(t, at)):
        digits, at = digits + digit, at + 1
    if not digits:
        more = simple(t, at)
        if more is None or not more.whole:
            return None
        digits, at = str(more.value), more.end
    return Number(whole.value + Fraction(f"0.{digits[:LONGEST_NUMBER]}"), at, whole.form)


def _digits(t: Tokens, at: int) -> str:
    word = t.low[at]
    if t.kind[at] == NUMBER and word.isdecimal():
        return word
    return str(SMALL.get(word, 0)) if SMALL.get(word, 10) < 10 or word in ("oh", "o") else ""


def _over(t: Tokens, whole: Number) -> Number | None:
    """Read "one over three" and "one out of three"."""
    at = whole.end + 1 if t.low[whole.end] == "over" else whole.end + 2 if t.says(whole.end, "out", "of") else 0
    below = cardinal(t, at) if at else None
    if below is None or not below.value or below.form == "article":
        return None
    return Number(whole.value / below.value, below.end, "fraction")


def _parts_of(t: Tokens, whole: Number) -> Number | None:
    """Read a long numerator: "one hundred and seventy-one trillionths"."""
    parts = PARTS.get(t.low[whole.end], 0)
    if parts < 3 or not t.low[whole.end].endswith("s") or whole.form == "article":
        return None
    return Number(whole.value / parts, whole.end + 1, "fraction")


def _mixed(t: Tokens, whole: Number) -> Number | None:
    """Read a whole number and a fraction: "four and a quarter", "4-1/4", "5¼", "2 and 5-8"."""
    at = whole.end
    joined = t.low[at] in AND or t.raw[at] in DASHES
    at += t.raw[at] in DASHES and t.low[at + 1] in AND
    start = at + joined
    start += joined and t.raw[start] in DASHES
    start += joined and t.low[start] in ("a", "an") and t.kind[start + 1] in (NUMBER, FRACTION)
    part = fraction(t, start) or (_misheard_part(t, start) if t.low[at] in AND else None)
    if part is None or part.value >= 1 or whole.value.denominator > 1 or not (joined or _written(t, whole, start)):
        return None
    scale = SCALES.get(t.low[whole.end - 1], 1)
    return Number(whole.value + part.value * scale, part.end, whole.form, part.repaired)


def _written(t: Tokens, whole: Number, start: int) -> bool:
    """Return whether a fraction right after a whole number is part of it: "5¼", "4 1/4"."""
    slashed = t.kind[start] == NUMBER and t.raw[start + 1] in SLASHES
    return whole.form == "figures" and (t.kind[start] == FRACTION or slashed)


def _misheard_part(t: Tokens, at: int) -> Number | None:
    """Read a fraction that a recogniser wrote with a dash ("5-8") or doubled ("3 ¼" for three quarters)."""
    if t.kind[at] != NUMBER or not t.raw[at].isdecimal() or len(t.raw[at]) > 2:
        return None
    top = int(t.raw[at])
    if t.raw[at + 1] in DASHES and t.raw[at + 2].isdecimal() and t.glued(at + 1):
        bottom = int(t.raw[at + 2][:4])
        fits = bottom in RULER_PARTS and top % 2 and top < bottom
        return Number(Fraction(top, bottom), at + 3, "fraction", True) if fits else None
    one, bottom = VULGAR.get(t.raw[at + 1], (0, 0))
    fits = one == 1 and top % 2 and 1 < top < bottom
    return Number(Fraction(top, bottom), at + 2, "fraction", True) if fits else None
