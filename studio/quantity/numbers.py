"""Numbers as they are said and written, read exactly: cardinals, fractions, mixed numbers, decimals, dozens."""

from fractions import Fraction
from typing import NamedTuple

from studio.quantity import units
from studio.quantity.tokens import FRACTION, LONGEST_NUMBER, NUMBER, VULGAR, WORD, Tokens

SMALL = {
    word: value
    for value, word in enumerate(
        "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
        "seventeen eighteen nineteen".split()
    )
} | {"nought": 0, "naught": 0, "fourty": 40}
TENS = {word: 10 * value for value, word in enumerate(
    "twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)}  # fmt: skip
SCALES = {"thousand": 10**3, "million": 10**6, "billion": 10**9, "trillion": 10**12, "grand": 10**3}
SCALES |= {f"{word}s": value for word, value in SCALES.items() if word != "grand"}
LETTERS = {"k": 10**3, "K": 10**3, "mn": 10**6, "bn": 10**9, "tn": 10**12}
DOZEN = frozenset("dozen dozens doz dozs dz dzs".split())
HUNDRED = frozenset(["hundred", "hundreds"])
_ORDINALS = (
    "third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth "
    "seventeenth eighteenth nineteenth"
).split()
ORDINALS = {word: value for value, word in enumerate(_ORDINALS, 3)}
ORDINALS |= {"twentieth": 20, "thirtieth": 30, "fortieth": 40, "fiftieth": 50, "hundredth": 100, "thousandth": 1000}
PARTS = ORDINALS | {"half": 2, "quarter": 4}
PARTS |= {f"{word}s": value for word, value in PARTS.items()} | {"halves": 2, "halfs": 2}
RULER_PARTS = frozenset([2, 4, 8, 16, 32, 64])
MINUS = frozenset(["minus", "negative"])
_AND = frozenset(["and", "&"])
_SUFFIXES = frozenset(["st", "nd", "rd", "th"])
_DASHES = frozenset("-‐‑")  # noqa: RUF001
_SLASHES = frozenset("/⁄")


class Number(NamedTuple):
    """A number read.

    Attributes:
        value: exact.
        end: index after its last piece.
        form: `figures`, `words`, `fraction` (below one and said as a fraction), or `article` ("a", "half").
        repaired: it was written wrongly, and one reading fits.
    """

    value: Fraction
    end: int
    form: str
    repaired: bool = False


def starts_number(tokens: Tokens, at: int) -> bool:
    """Return whether a number may begin at this piece; cheap."""
    return tokens.kind[at] in (NUMBER, FRACTION) or tokens.low[at] in _STARTS


_STARTS = frozenset([*SMALL, *TENS, *HUNDRED, *SCALES, *DOZEN, *PARTS, *MINUS, "a", "an", "point", "couple", "-", "−"])  # noqa: RUF001


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
    if tokens.raw[at] not in ("-", "−") or not tokens.glued(at + 1):  # noqa: RUF001
        return at
    free = at == 0 or (not tokens.glued(at) and tokens.kind[at - 1] != NUMBER) or tokens.raw[at - 1] in "($£€=[:"
    return at + 1 if free and tokens.kind[at + 1] in (NUMBER, FRACTION) else at


def _extended(tokens: Tokens, whole: Number) -> Number:
    """Read on after a whole number: decimals, a fraction, "over", a scale."""
    for reading in (_letter, _power, _point, _over, _mixed):
        found = reading(tokens, whole)
        if found is not None:
            return _scaled(tokens, found)
    return whole


# --- whole numbers -------------------------------------------------------------------------------------------------


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
    start = at + 1 if tokens.low[at] in _AND else at
    if tokens.raw[at] == "," and tokens.kind[at + 1] == WORD:
        start = at + 1
    if start > at and fraction(tokens, start) is not None:
        return None
    group = _group(tokens, start)
    if group is None or group.form == "article" or group.value.denominator > 1 or not 0 < group.value:
        return None
    scale = SCALES.get(tokens.low[group.end], 1)
    return group if group.value * scale < limit else None


def _group(tokens: Tokens, at: int) -> Number | None:
    """Read a number below the scale words: "two hundred and five", "25", "a dozen"."""
    first = _simple(tokens, at)
    if first is None:
        return None
    if tokens.low[first.end] in HUNDRED and first.value < 100:
        return _hundreds(tokens, first)
    if tokens.low[first.end] in DOZEN:
        return Number(first.value * 12, first.end + 1, "words")
    if first.form != "article" or tokens.low[first.end] in SCALES:
        return first
    return None


def _hundreds(tokens: Tokens, first: Number) -> Number:
    value, end = first.value * 100, first.end + 1
    start = end + 1 if tokens.low[end] in _AND else end
    rest = _simple(tokens, start) if fraction(tokens, start) is None else None
    if rest is None or rest.form == "article" or not 0 < rest.value < 100 or rest.value.denominator > 1:
        return Number(value, end, first.form)
    if tokens.low[rest.end] in HUNDRED:
        return Number(value, end, first.form)
    if tokens.low[rest.end] in DOZEN:
        return Number(value + rest.value * 12, rest.end + 1, "words")
    return Number(value + rest.value, rest.end, first.form)


def _simple(tokens: Tokens, at: int) -> Number | None:
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


def _tens(tokens: Tokens, at: int) -> Number:
    value, end = TENS[tokens.low[at]], at + 1
    unit = end + 1 if tokens.raw[end] in _DASHES and tokens.spaced(end) == (not tokens.glued(end)) else end
    unit_value = SMALL.get(tokens.low[unit], 0)
    if 0 < unit_value < 10 and (fraction(tokens, unit) is None or unit > end):
        return Number(Fraction(value + unit_value), unit + 1, "words")
    return Number(Fraction(value), end, "words")


def _figures(tokens: Tokens, at: int) -> Number | None:
    """Read figures, also cut apart by a careless tokeniser ("46 . 8", "80 , 000")."""
    digits = tokens.raw[at].translate(_NO_GROUPS)
    if len(digits) > LONGEST_NUMBER or (tokens.low[at + 1] in _SUFFIXES and tokens.glued(at + 1)):
        return None
    end = at + 1
    while tokens.raw[end] == "," and tokens.spaced(end) and len(tokens.raw[end + 1]) == 3 and "." not in digits:
        if tokens.kind[end + 1] != NUMBER or len(digits) > LONGEST_NUMBER:
            break
        digits, end = digits + tokens.raw[end + 1], end + 2
    if tokens.raw[end] == "." and tokens.spaced(end) and tokens.raw[end + 1].isdecimal() and "." not in digits:
        digits, end = f"{digits}.{tokens.raw[end + 1]}", end + 2
    return Number(Fraction(digits) if len(digits) <= 2 * LONGEST_NUMBER else Fraction(0), end, "figures")


_NO_GROUPS = {ord(sign): None for sign in ", \u202f\u00a0\u2009"}


# --- fractions -------------------------------------------------------------------------------------------------------


def fraction(tokens: Tokens, at: int) -> Number | None:
    """Read a fraction: "¾", "3/4", "three quarters", "a third", "half"."""
    if tokens.kind[at] == FRACTION:
        return Number(Fraction(*VULGAR[tokens.raw[at]]), at + 1, "fraction")
    if tokens.kind[at] == NUMBER:
        return _slashed(tokens, at) or _said_parts(tokens, at)
    word = tokens.low[at]
    if word in ("half", "quarter"):
        return Number(Fraction(1, PARTS[word]), at + 1, "fraction")
    if word in ("a", "an"):
        return _one_part(tokens, at)
    return _said_parts(tokens, at) if word in SMALL or word in TENS or word in HUNDRED else None


def _one_part(tokens: Tokens, at: int) -> Number | None:
    if tokens.raw[at + 1] in _DASHES:
        at += 1
    part = tokens.low[at + 1]
    if part not in PARTS or part.endswith("s"):
        compound = _denominator(tokens, at + 1, plural=False) if part in ("thirty", "sixty") else None
        return Number(1 / compound.value, compound.end, "fraction") if compound else None
    if part in ("half", "quarter") or _may_follow_part(tokens, at + 2):
        return Number(Fraction(1, PARTS[part]), at + 2, "fraction")
    return None


_AFTER_PART = frozenset("of inch inches in and or to into off from more less the is a an for at as by on wide long".split())


def _may_follow_part(tokens: Tokens, at: int) -> bool:
    """Return whether "a fifth" is a fraction here and not the fifth thing of a row."""
    return tokens.kind[at] != WORD or tokens.low[at] in _AFTER_PART or tokens.low[at] in SCALES or tokens.low[at] in units.table().longest



def _slashed(tokens: Tokens, at: int) -> Number | None:
    if tokens.raw[at + 1] not in _SLASHES or tokens.kind[at + 2] != NUMBER or tokens.raw[at + 3] in _SLASHES:
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
    end = top.end + (tokens.raw[top.end] in _DASHES)
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
        unit = at + 2 if tokens.raw[at + 1] in _DASHES else at + 1
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
    last = at + 2 if tokens.raw[at + 1] in _DASHES else at + 1
    if tens and tokens.low[last] in ("second", "seconds", "fourth", "fourths"):
        return Number(Fraction(tens), last + 1, "words")
    return _long_denominator(tokens, at) if not plural else None


def _long_denominator(tokens: Tokens, at: int) -> Number | None:
    """Read "one hundred and fifth" below "one"."""
    if tokens.low[at + 1] not in HUNDRED or tokens.low[at] not in SMALL:
        return None
    last = at + 3 if tokens.low[at + 2] in _AND else at + 2
    if tokens.low[last] not in ORDINALS:
        return None
    return Number(Fraction(SMALL[tokens.low[at]] * 100 + ORDINALS[tokens.low[last]]), last + 1, "words")


# --- what may follow a whole number ----------------------------------------------------------------------------------


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
    """Read scientific notation: "2.48×10−5"."""  # noqa: RUF002
    at = whole.end
    if tokens.raw[at] not in ("×", "x") or tokens.raw[at + 1] != "10" or not tokens.glued(at + 2):  # noqa: RUF001
        return None
    at += 2 + (tokens.raw[at + 2] == "^")
    down = tokens.raw[at] in ("-", "−", "–")  # noqa: RUF001
    digits = tokens.raw[at + down]
    if not digits.isdecimal() or len(digits) > 2 or not tokens.glued(at + down):
        return None
    return Number(whole.value * Fraction(10) ** (-int(digits) if down else int(digits)), at + down + 1, "figures")


def _point(tokens: Tokens, whole: Number) -> Number | None:
    """Read spoken decimals: "two point seven five", "nought point five"."""
    if tokens.low[whole.end] != "point":
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
        more = _simple(tokens, at)
        if more is None or more.form == "article" or more.value.denominator > 1:
            return None
        digits, at = str(more.value), more.end
    return Number(whole.value + Fraction(f"0.{digits[:LONGEST_NUMBER]}"), at, whole.form)


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


def _mixed(tokens: Tokens, whole: Number) -> Number | None:
    """Read a whole number and a fraction: "four and a quarter", "4-1/4", "5¼", "2 and 5-8"."""
    at = whole.end
    joined = tokens.low[at] in _AND or tokens.raw[at] in _DASHES
    if joined and tokens.raw[at + 1] in _DASHES:
        at += 1
    if tokens.raw[at] in _DASHES and tokens.low[at + 1] in _AND:
        at, joined = at + 1, True
    start = at + 1 + (tokens.raw[at + 1] in _DASHES) if joined else at
    if joined and tokens.low[start] in ("a", "an") and tokens.kind[start + 1] in (NUMBER, FRACTION):
        start += 1
    part = fraction(tokens, start) or (_misheard_part(tokens, start) if tokens.low[at] in _AND else None)
    if part is None or part.value >= 1 or whole.value.denominator > 1 or not _belongs(tokens, whole, start, joined):
        return None
    scale = SCALES.get(tokens.low[whole.end - 1], 1)
    return Number(whole.value + part.value * scale, part.end, whole.form, part.repaired)


def _belongs(tokens: Tokens, whole: Number, start: int, joined: bool) -> bool:
    """Return whether a fraction after a whole number is part of it and not a thing of its own."""
    if joined:
        return True
    figures = whole.form == "figures" and tokens.kind[start] in (NUMBER, FRACTION)
    return figures and (tokens.kind[start] == FRACTION or tokens.raw[start + 1] in _SLASHES)


def _misheard_part(tokens: Tokens, at: int) -> Number | None:
    """Read a fraction that a recogniser wrote with a dash ("5-8") or doubled ("3 ¼" for three quarters)."""
    if tokens.kind[at] != NUMBER or not tokens.raw[at].isdecimal() or len(tokens.raw[at]) > 2:
        return None
    top = int(tokens.raw[at])
    if tokens.raw[at + 1] in _DASHES and tokens.raw[at + 2].isdecimal() and tokens.glued(at + 1):
        bottom = int(tokens.raw[at + 2][:4])
        fits = bottom in RULER_PARTS and top % 2 and top < bottom
        return Number(Fraction(top, bottom), at + 3, "fraction", True) if fits else None
    if tokens.kind[at + 1] == FRACTION:
        part = Fraction(*VULGAR[tokens.raw[at + 1]])
        fits = part.numerator == 1 and top % 2 and top < part.denominator and top > 1
        return Number(part * top, at + 2, "fraction", True) if fits else None
    return None
