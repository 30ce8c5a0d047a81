"""A number and its unit: "4 1/4 inches", "an inch and three quarters", "two feet three inches", "half a teaspoon"."""

from fractions import Fraction
from itertools import pairwise

from studio.quantity import money, numbers, units
from studio.quantity.found import Found, found_at
from studio.quantity.number_words import DASHES, DOZEN, HUNDRED, SCALES, Number
from studio.quantity.tokens import NUMBER, WORD, Tokens
from studio.quantity.units import Unit, unit_at
from studio.quantity.words import words

_SMALLER = {
    ("ft", "in"): "in", ("yd", "in"): "in", ("yd", "ft"): "ft", ("lb", "oz"): "oz", ("stone", "lb"): "lb",
    ("h", "min"): "min", ("min", "s"): "s", ("m", "cm"): "cm", ("kg", "g"): "g",
}  # fmt: skip
"""Units said one after the other -> the unit that both are put into."""
_AND_BETWEEN = frozenset(["lb", "h", "min", "ft", "stone"])
UNITS_ALONE = frozenset(["inch", "foot", "yard", "metre", "meter"])
_ONE_OF_MONEY = frozenset(["penny", "dollar", "euro", "quid", "buck"])


def amount(t: Tokens, at: int) -> Found | None:
    """Read one amount at this piece: money, a measure, a percentage, or a bare number."""
    if (t.glued(at) and t.kind[at - 1] == WORD and t.kind[at] == NUMBER) or _in_date(t, at):
        return None
    if found := money.before_number(t, at):
        return found
    if t.low[at] in UNITS_ALONE:
        return _unit_alone(t, at)
    found = article_amount(t, at) if t.low[at] in ("a", "an", "another") else None
    number = None if found else numbers.number(t, at)
    if number is None or (number.form == "article" and number.value == 1):
        return found
    return measured(t, at, _short_hundreds(t, number) or number)


def _in_date(t: Tokens, at: int) -> bool:
    """Return whether a number is part of a date or a code in figures: "1/2/2026", "0800-123-456"."""
    if t.kind[at] != NUMBER or (t.raw[at + 1] not in _CHAINED and t.raw[at - 1] not in _CHAINED):
        return False
    steps = [_chain(t, place) for place in (at - 3, at - 1, at + 1, at + 3)]
    return any(first and first == second for first, second in pairwise(steps))


def _chain(t: Tokens, at: int) -> str:
    """Return the sign at a piece where it ties two numbers together without spaces."""
    inside = 0 < at < t.count and t.raw[at] in _CHAINED and t.glued(at) and t.glued(at + 1)
    return t.raw[at] if inside and t.kind[at - 1] == t.kind[at + 1] == NUMBER else ""


_CHAINED = frozenset("/-")


# --- one of something -------------------------------------------------------------------------------------------------


def article_amount(t: Tokens, at: int) -> Found | None:
    """Read "an inch", "a pound and a half", "a couple of metres", "a penny", "a dollar"."""
    full = t.low[at + 1] in words("context", "before_unit") and unit_at(t, at + 2) is not None
    word, one = t.low[at + 1 + full], Number(Fraction(1), at + 1, "words")
    if word == "couple":
        return _couple(t, at, at + 2 + (t.low[at + 2] == "of"))
    if word in _ONE_OF_MONEY:
        return _and_a_half(t, money.after_number(t, at, one))
    named = unit_at(t, at + 1 + full)
    if named is None or t.kind[at + 1] != WORD or len(word) == 1 or _no_article(t, at, *named):
        return None
    found = _whole(t, at, one, *named)
    found.approximate = full
    return found


def _no_article(t: Tokens, at: int, unit: Unit, end: int) -> bool:
    """Return whether "a" before a unit counts none of it: "a degree", "a cup of tea", "just a minute"."""
    if unit.dimension == "time":
        left = t.before(at, 2 if t.before(at) in ("it", "them", "that") else 1) in words("article", "for_a_time")
        idle = unit.name == "min" and t.before(at) in words("article", "no_minute")
        short = unit.name not in ("min", "h") and t.low[at + 1] == t.low[end - 1]
        return (not left and (short or idle)) or (at > 0 and t.starts_number(at - 1))
    if unit.name == "cup":
        return t.low[end + 1] in ("tea", "coffee", "cocoa") or t.low[end] != "of"
    never = unit.name in _NEVER_ONE or unit.dimension in _NEVER_ONE or t.low[at + 1] in ("in", "ins", "mill")
    return never or (unit.name == "ft" and not _measured_foot(t, end))


def _measured_foot(t: Tokens, end: int) -> bool:
    return t.low[end] not in ("in", "on", "through", "behind") and t.low[end - 1] == "foot"


_NEVER_ONE = frozenset("stone degree other knot C F K % radian s count gauge mesh tpi".split())


def _couple(t: Tokens, at: int, end: int) -> Found | None:
    two = Number(Fraction(2), end, "words")
    if t.low[end] in DOZEN or t.low[end] in HUNDRED or t.low[end] in SCALES:
        many = numbers.cardinal(t, end)
        return plain(t, at, many._replace(value=2 * many.value, form="words") if many else two)
    named = unit_at(t, end)
    if named is None and (end == at + 2 or t.kind[end] != WORD or t.low[end] in words("article", "the")):
        return None
    found = _whole(t, at, two, *named) if named else plain(t, at, two)
    found.approximate = True
    return found


def _unit_alone(t: Tokens, at: int) -> Found | None:
    """Read "inch and a quarter", "a plain inch-wide band" and "foot-long" without an article."""
    side = t.low[at + 1 + (t.raw[at + 1] in DASHES)]
    free = at > 0 and t.kind[at - 1] == WORD and not t.starts_number(at - 1)
    sided = side in words("of", "adjectives") if t.low[at] == "inch" else side == "long"
    alone = t.low[at] == "inch" and t.raw[at - 1] in ",." and t.raw[at + 1] in ",."
    if not alone and not (free and sided) and not (t.low[at] == "inch" and _fraction_after(t, at + 1)):
        return None
    return _whole(t, at, Number(Fraction(1), at, "words"), units.unit(t.low[at]), at + 1)


# --- several of something ---------------------------------------------------------------------------------------------


def _short_hundreds(t: Tokens, first: Number) -> Number | None:
    """Read "one eighty degrees", "two fifty grams", "one forty eight point five grams"; not "two fifty gram bags"."""
    second = short_hundreds(t, first)
    named = unit_at(t, second.end) if second else None
    if second is None or named is None or named[0].name not in _IN_HUNDREDS:
        return None
    return second if t.low[named[1] - 1].endswith("s") or ends(t, named[1]) else None


def short_hundreds(t: Tokens, first: Number) -> Number | None:
    """Return the number that two said side by side make where hundreds are meant: "one eighty", "two thirty eight"."""
    if first.form != "words" or first.value not in range(1, 10) or not t.starts_number(first.end):
        return None
    second = numbers.number(t, first.end)
    if second is None or second.form != "words" or not 10 <= second.value < 100:
        return None
    return second._replace(value=first.value * 100 + second.value)


_IN_HUNDREDS = frozenset("g ml mil mm gsm degree C F grit thou".split())


def measured(t: Tokens, at: int, number: Number) -> Found:
    """Read the unit after a number that has been read."""
    found = money.after_number(t, at, number)
    if found is not None:
        return _and_a_half(t, found) or found
    named = _unit_after(t, number)
    if named is None or not _unit_allowed(t, number, *named):
        return plain(t, at, number)
    return _whole(t, at, number, *named)


def _unit_after(t: Tokens, number: Number) -> tuple[Unit, int] | None:
    end = number.end
    if t.raw[end] in DASHES and t.kind[end + 1] == WORD:
        return unit_at(t, end + 1)
    direct = unit_at(t, end)
    if direct is None and t.low[end] in words("context", "before_unit"):
        return unit_at(t, end + 1) if len(t.low[end + 1]) > 2 else None
    of = t.low[end] == "of"
    of_one = of and t.low[end + 1] in ("a", "an")
    if direct is not None or (number.value >= 1 and not (of_one and number.value.denominator > 1)):
        return direct
    step = end + of + (t.low[end + of] in ("a", "an"))
    bare_of = of and step == end + 1
    if step == end or (bare_of and (number.form != "fraction" or t.low[step].endswith("s") or len(t.low[step]) < 3)):
        return None
    return unit_at(t, step)


def _unit_allowed(t: Tokens, number: Number, unit: Unit, end: int) -> bool:
    """Return whether this unit fits this number: "1990 s" is a decade, and "2x4s" are several of one size."""
    if unit.name != "s" or t.raw[end - 1] != "s":
        return True
    return t.glued(end - 1) and number.value < 1000 and t.before(end - 1, 2) not in words("article", "several")


def _whole(t: Tokens, first: int, number: Number, unit: Unit, end: int) -> Found:
    """Put a measure together, with what may follow its unit: a fraction, a smaller unit, hundredths of money."""
    value = number.value
    if unit.name == "lb" and t.low[end - 1] in ("pound", "pounds", "lb"):
        with_pence, after = money.with_hundredths(t, value, end)
        named = unit_at(t, after) if after > end else None
        if after > end and (named is None or named[0].name != "oz") and _is_price(t, end, after, with_pence):
            found = money.money_found(t, first, after, with_pence, "GBP")
            found.repaired = t.low[end - 1] == "lb"
            return found
    part = _fraction_after(t, end) if value.denominator == 1 else None
    if part is not None:
        value, end = value + part.value, part.end
    value, unit, end = _with_smaller(t, value, unit, end)
    if (unit.name == "h" and value.denominator > 1) or unit.name == "thou":
        smaller = units.unit("min" if unit.name == "h" else "in")
        value, unit = units.to(value, unit.name, smaller.name), smaller
    more = {"repaired": number.repaired, "form": number.form, "glued_unit": True}
    return found_at(t, first, end, (value,), unit.name, unit.dimension, **more)


def _is_price(t: Tokens, end: int, after: int, value: Fraction) -> bool:
    """Return whether "twelve pound fifty" is money: two figures of pence, and no "and" without an end after it."""
    return value % 1 * 100 >= 10 or t.low[after - 1] in ("pence", "p") or t.low[end] != "and"


def _fraction_after(t: Tokens, end: int) -> Number | None:
    """Read "and a half" after a unit, unless the fraction has a unit of its own."""
    part = numbers.fraction(t, end + 1) if t.low[end] == "and" else None
    if part is None or part.value >= 1 or _unit_after(t, part) is not None:
        return None
    bare = t.low[end + 1] in ("half", "quarter")
    return None if bare and (t.low[part.end] == "of" or t.low[part.end] in words("article", "the")) else part


def _and_a_half(t: Tokens, found: Found | None) -> Found | None:
    """Add "and a half" to money."""
    part = _fraction_after(t, found.last) if found is not None else None
    if found is not None and part is not None:
        found.values = (found.value + part.value,)
        found.reach(t, part.end)
    return found


def _with_smaller(t: Tokens, value: Fraction, unit: Unit, end: int) -> tuple[Fraction, Unit, int]:
    """Read on with a smaller unit: "two feet three inches", "one metre twenty", "two hours and five"."""
    at = end + (t.low[end] == "and" and unit.name in _AND_BETWEEN)
    said = t.kind[at] in (NUMBER, WORD) and t.starts_number(at) and t.low[at] not in ("a", "an")
    number = numbers.number(t, at) if said else None
    if number is None or number.value < 0:
        return value, unit, end
    named = unit_at(t, number.end)
    small = "" if named else _unsaid_smaller(t, number, unit, end, at)
    if small:
        into = small if unit.name in ("ft", "h") else unit.name
        return units.to(value, unit.name, into) + units.to(number.value, small, into), units.unit(into), number.end
    both = _SMALLER.get((unit.name, named[0].name)) if named else None
    if named is None or both is None:
        return value, unit, end
    return units.to(value, unit.name, both) + units.to(number.value, named[0].name, both), units.unit(both), named[1]


def _unsaid_smaller(t: Tokens, number: Number, unit: Unit, end: int, at: int) -> str:
    """Return the smaller unit that a bare number after a unit is in: inches after feet, minutes after hours."""
    said = t.kind[end - 1] == WORD and t.low[end - 1] not in ("ft", "m", "kg", "l", "h")
    small, low, high, step = _UNSAID.get(unit.name, _NOTHING)
    joined = at > end and unit.name != "h"
    fits = small and said and not joined and low <= number.value < high and number.value % step == 0
    return small if fits and ends(t, number.end) else ""


_NOTHING = ("", 0, 0, 1)
_UNSAID: dict[str, tuple[str, Fraction | int, int, Fraction | int]] = {
    "ft": ("in", Fraction(1, 16), 12, Fraction(1, 16)), "m": ("cm", 10, 100, Fraction(1, 2)), "h": ("min", 5, 60, 1),
    "kg": ("g", 100, 1000, 50), "l": ("ml", 100, 1000, 50),
}  # fmt: skip
"""Unit -> the smaller one that may go unsaid after it, from how many to below how many, and in what steps."""


def ends(t: Tokens, at: int) -> bool:
    """Return whether no noun follows that a number could count."""
    return t.kind[at] != WORD or t.low[at] in words("context", "after_measure")


def plain(t: Tokens, first: int, number: Number) -> Found:
    """Return a bare number."""
    return found_at(t, first, number.end, (number.value,), repaired=number.repaired, form=number.form)
