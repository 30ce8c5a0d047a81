"""Quantities that do not begin with a plain number: sheet sizes, clock times, prices without a unit, divisions."""

from fractions import Fraction
from itertools import pairwise

from studio.quantity import numbers, units
from studio.quantity.found import Found
from studio.quantity.named_units import unit_at
from studio.quantity.number_words import SMALL
from studio.quantity.tokens import END, NUMBER, WORD, Tokens
from studio.quantity.words import words

_PARTS = {"half": 2, "halves": 2, "thirds": 3, "quarters": 4, "fifths": 5, "sixths": 6, "eighths": 8}
_CUT = frozenset("cut cutting fold folding split divide slice chop tear break".split())
_PERCENT = frozenset(["percent", "percents", "percentage"])


def special(tokens: Tokens, at: int) -> Found | None:
    """Read what only looks like a bare number, or has none, at this piece."""
    low = tokens.low[at]
    if tokens.kind[at] == WORD:
        if len(low) == 1 and low in "abc" and tokens.kind[at + 1] == NUMBER:
            return _paper_size(tokens, at)
        if low in _PERCENT or low == "per":
            return _percent_of(tokens, at)
        if low in ("into", "in"):
            return _division(tokens, at)
    elif low == "%" and tokens.kind[at + 1] == NUMBER and tokens.glued(at + 1) and not tokens.glued(at):
        number = numbers.number(tokens, at + 1)
        return _percent(tokens, at, number) if number else None
    return None


def _percent(tokens: Tokens, at: int, number: numbers.Number) -> Found:
    start, end = tokens.start[at], tokens.end[number.end - 1]
    return Found(start, end, (number.value,), "%", "percent", at, number.end, glued_unit=True)


def _paper_size(tokens: Tokens, at: int) -> Found | None:
    name = tokens.text[tokens.start[at] : tokens.end[at + 1]]
    size = units.paper_sizes().get(name)
    if size is None or (tokens.glued(at + 2) and tokens.kind[at + 2] == WORD):
        return None
    return Found(tokens.start[at], tokens.end[at + 1], size, "mm", "size", at, at + 2, form="paper", glued_unit=True)


def _percent_of(tokens: Tokens, at: int) -> Found | None:
    """Read "percent of twenty"."""
    end = at + 1 if tokens.low[at] in _PERCENT else at + 2 if tokens.low[at + 1] in ("cent", "cents") else 0
    if not end or tokens.low[end] != "of":
        return None
    number = numbers.number(tokens, end + 1)
    if number is None or number.form == "article":
        return None
    return _percent(tokens, at, number)


def _division(tokens: Tokens, at: int) -> Found | None:
    """Read "cut it into quarters" and "cut it in half"."""
    parts = _PARTS.get(tokens.low[at + 1])
    back = next((back for back in range(1, 6) if tokens.before(at, back) in _CUT), None)
    if parts is None:
        return None
    first = at - back if back else at
    kind = "division" if back else "idiom"
    return Found(
        tokens.start[first], tokens.end[at + 1], (Fraction(parts),), "piece", kind, first, at + 2, glued_unit=True
    )


# --- clock -----------------------------------------------------------------------------------------------------------


def clock(tokens: Tokens, found: Found) -> Found | None:
    """Read a time of day that begins with this number: "half past seven", "7:30", "2 pm", "eight o'clock"."""
    at, low = found.last, tokens.low
    if low[at] not in _CLOCK_AFTER and not (found.form == "fraction" and tokens.before(found.first) in _CLOCK_BEFORE):
        return None
    if low[at] in ("past", "to") and (found.form == "fraction" or low[at] == "past"):
        return _past(tokens, found)
    if found.form == "fraction" and low[found.first] == "half" and tokens.before(found.first) in _CLOCK_BEFORE:
        return _half_to_hour(tokens, found)
    hour, minute, end = found.value, 0, at
    if hour.denominator > 1 or not 0 <= hour < 25:
        return None
    if (
        low[at] == ":"
        and tokens.glued(at)
        and tokens.glued(at + 1)
        and len(low[at + 1]) == 2
        and low[at + 1].isdecimal()
    ):
        minute, end = int(low[at + 1]), at + 2
    half, after = _half_of_day(tokens, end)
    if after > end or minute or low[end] == "o'clock" or (end > at and minute == 0):
        return _time(tokens, found.first, max(after, end + (low[end] == "o'clock")), int(hour), minute, half)
    return None


_CLOCK_AFTER = frozenset(["past", "to", ":", "am", "pm", "a", "p", "o'clock", "in"])
_CLOCK_BEFORE = frozenset("at by until till from since around before after".split())


def _half_to_hour(tokens: Tokens, found: Found) -> Found | None:
    """Read "at half seven" as half past seven, as said in Britain."""
    hour = numbers.cardinal(tokens, found.last) if numbers.starts_number(tokens, found.last) else None
    if hour is None or hour.form == "article" or hour.value not in range(1, 13) or unit_at(tokens, hour.end):
        return None
    half, end = _half_of_day(tokens, hour.end)
    return _time(tokens, found.first, end, int(hour.value), 30, half)


def _past(tokens: Tokens, found: Found) -> Found | None:
    hour = numbers.cardinal(tokens, found.last + 1)
    if hour is None or hour.value.denominator > 1 or not 1 <= hour.value <= 12 or hour.form == "article":
        return None
    if found.form == "fraction" and found.value not in (Fraction(1, 2), Fraction(1, 4)):
        return None
    if tokens.low[found.last] == "to":
        parts = numbers.fraction(tokens, found.last + 1) is not None
        if parts or unit_at(tokens, hour.end) is not None or tokens.low[hour.end] in units.counted():
            return None
    minute = found.value * 60 if found.form == "fraction" else found.value
    if tokens.low[found.last] == "to":
        minute = -minute
    half, end = _half_of_day(tokens, hour.end)
    total = (int(hour.value) * 60 + int(minute)) % (12 * 60)
    return _time(tokens, found.first, end, total // 60, total % 60, half)


def _half_of_day(tokens: Tokens, at: int) -> tuple[str, int]:
    low = tokens.low
    if low[at] in ("am", "pm"):
        return low[at], at + 1
    if low[at] in ("a", "p") and low[at + 1] == "." and low[at + 2] == "m":
        return f"{low[at]}m", at + 3 + (low[at + 3] == ".")
    if low[at : at + 3] == ["in", "the", "morning"]:
        return "am", at
    return ("pm", at) if low[at : at + 3] in (["in", "the", "evening"], ["in", "the", "afternoon"]) else ("", at)


def _time(tokens: Tokens, first: int, last: int, hour: int, minute: int, half: str) -> Found:
    morning, evening = f"{hour % 12:02d}:{minute:02d}", f"{hour % 12 + 12:02d}:{minute:02d}"
    said = f"{hour:02d}:{minute:02d}" if hour > 12 else {"am": morning, "pm": evening}.get(half, f"{evening}|{morning}")
    return Found(tokens.start[first], tokens.end[last - 1], (said,), "", "clock", first, last)


# --- prices without a unit --------------------------------------------------------------------------------------------


def bare_price(tokens: Tokens, found: Found, currency: str) -> Found | None:
    """Read "eighteen ninety nine" as money: two numbers side by side, where no clock time is meant; or as a year."""
    hundredths = _second_number(tokens, found)
    if hundredths is None or found.approximate:
        return None
    last = hundredths.end
    before, after = tokens.before(found.first), tokens.low[last]
    start, end = found.start, tokens.end[last - 1]
    if found.value in _CENTURIES and (after == "when" or before in _BEFORE_YEAR):
        return Found(start, end, (found.value * 100 + hundredths.value,), "", "number", found.first, last)
    if before in _BEFORE_NUMBERS or not _price_follows(tokens, last, after):
        return None
    if _is_heat(tokens, found, last):
        return _oven_heat(tokens, found, hundredths)
    if _GRADED.intersection(tokens.low[max(0, found.first - _OVEN_NEAR) : found.first]):
        return Found(start, end, (found.value * 100 + hundredths.value,), "", "number", found.first, last)
    value = found.value + hundredths.value / 100
    return Found(start, end, (value,), currency, "currency", found.first, last, unit_implied=True)


def _oven_heat(tokens: Tokens, found: Found, tens: numbers.Number) -> Found:
    """Read "one eighty" as a heat beside words of the oven, its scale left open."""
    value, end = found.value * 100 + tens.value, tokens.end[tens.end - 1]
    return Found(
        found.start, end, (value,), "degree", "temperature", found.first, tens.end,
        unit_implied=True, ambiguous=("C", "F"),
    )  # fmt: skip


def price_per(tokens: Tokens, found: Found, currency: str) -> Found | None:
    """Read "11.95 a kilo" and "2.40 each" as money: two decimals in figures, for one of something."""
    raw, at = tokens.raw[found.first], found.last
    if at != found.first + 1 or len(raw.partition(".")[2]) != 2 or tokens.kind[found.first] != NUMBER:
        return None
    of_one = tokens.low[at] in ("a", "an") and tokens.kind[at + 1] == WORD and unit_at(tokens, at + 1) is not None
    if not of_one and tokens.low[at] not in ("each", "apiece"):
        return None
    return Found(found.start, found.end, found.values, currency, "currency", found.first, at, unit_implied=True)


def _is_heat(tokens: Tokens, found: Found, last: int) -> bool:
    """Return whether words of an oven or a kiln are near, or "heat it to" before."""
    near = [word.removesuffix("'s") for word in tokens.low[max(0, found.first - _OVEN_NEAR) : last + _OVEN_NEAR]]
    coned = any(word in ("cone", "cones") and following in SMALL for word, following in pairwise(near))
    if coned or _KILN.intersection(near):
        return found.value < _HOTTEST_KILN
    heated = tokens.before(found.first) in ("to", "at") and _HEATED.intersection(near[:_OVEN_NEAR])
    return found.value < 10 and bool(heated or _OVEN.intersection(near))


_GRADED = frozenset("grit mesh degrees sand sands sanded sanding sandpaper".split())
_OVEN = frozenset("oven ovens gas fan preheat bake bakes baked baking roast".split())
_KILN = frozenset("kiln kilns bisque firing fired".split())
_HEATED = frozenset("heat heats heated heating preheat bring warm warmed cool cooled".split())
_HOTTEST_KILN = 14
"""Hundreds of degrees that no craft kiln exceeds (common practice, no source)."""
_OVEN_NEAR = 10


def _second_number(tokens: Tokens, found: Found) -> numbers.Number | None:
    """Return the number of two digits that stands right after a whole number, both in words or both in figures."""
    at = found.last
    if not numbers.starts_number(tokens, at) or found.form == "fraction":
        return None
    if found.value.denominator > 1 or not 0 < found.value < 1000:
        return None
    second = numbers.cardinal(tokens, at)
    if second is None or second.form == "article" or not 10 <= second.value < 100 or second.value.denominator > 1:
        return None
    figures = tokens.kind[found.first] == NUMBER
    if figures != (tokens.kind[at] == NUMBER) or (figures and len(tokens.raw[at]) != 2):
        return None
    return second


_CENTURIES = frozenset(range(17, 21))
_BEFORE_YEAR = frozenset(["in", "since", "by", "year", "from", "of", "until", "the"])
_BEFORE_NUMBERS = frozenset(["past", "number", "page", "code", "x", "by"])
_AFTER_PRICE = frozenset(
    "in for each a an the and per on at with but so or plus apiece including altogether which that because if when "
    "they it's that's this he she we you i from instead only all just is was".split()
)


def _price_follows(tokens: Tokens, at: int, after: str) -> bool:
    if tokens.kind[at] == END or (tokens.kind[at] != WORD and tokens.kind[at] != NUMBER and tokens.raw[at] in ".,;!?…"):
        return True
    return after in _AFTER_PRICE


def name_number(tokens: Tokens, found: Found) -> Found | None:
    """Read the number of a page, a version, a step: a name and no amount."""
    spoken_no = found.first > 0 and tokens.raw[found.first - 1] == "no"
    named = found.kind == "number" and found.form != "fraction" and not spoken_no
    if named and tokens.before(found.first) in words("name_number", "before"):
        found.kind, found.first = "name_number", found.first - 1
        found.start = tokens.start[found.first]
        return found
    return None
