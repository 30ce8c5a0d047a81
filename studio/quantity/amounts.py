"""A number and its unit: "4 1/4 inches", "an inch and three quarters", "two feet three inches", "half a teaspoon"."""

from fractions import Fraction
from itertools import pairwise

from studio.quantity import money, numbers, units
from studio.quantity.found import Found
from studio.quantity.named_units import unit_at
from studio.quantity.number_words import DOZEN, HUNDRED
from studio.quantity.tokens import NUMBER, WORD, Tokens
from studio.quantity.units import Unit
from studio.quantity.words import words

_DASHES = frozenset("-‐‑")
_SMALLER = {
    ("ft", "in"): "in", ("yd", "in"): "in", ("yd", "ft"): "ft", ("lb", "oz"): "oz", ("stone", "lb"): "lb",
    ("h", "min"): "min", ("min", "s"): "s", ("m", "cm"): "cm", ("kg", "g"): "g",
}  # fmt: skip
"""Units said one after the other -> the unit that both are put into."""
_AND_BETWEEN = frozenset(["lb", "h", "min", "ft", "stone"])
_UNITS_ALONE = frozenset(["inch", "foot", "yard", "metre", "meter"])
_NO_ARTICLE = frozenset(["s", "stone", "degree", "other", "knot", "C", "F", "K", "%", "radian"])


def article_amount(tokens: Tokens, at: int) -> Found | None:
    """Read "an inch", "a pound and a half", "a couple of metres", "a penny", "a dollar"."""
    word = tokens.low[at + 1]
    if word == "couple":
        return _couple(tokens, at)
    if word == "pair" and tokens.low[at + 2] == "of":
        return _pair(tokens, at)
    if word in ("penny", "dollar", "euro", "quid", "buck"):
        one = numbers.Number(Fraction(1), at + 1, "words")
        return _and_a_half(tokens, at, money.after_number(tokens, at, one))
    named = unit_at(tokens, at + 1)
    if named is None or tokens.kind[at + 1] != WORD or len(word) == 1:
        return None
    unit, end = named
    if (
        unit.name in _NO_ARTICLE
        or unit.dimension in _NO_ARTICLE
        or word in ("in", "ins")
        or _is_idiom(tokens, at, unit, end)
    ):
        return None
    return _whole(tokens, at, numbers.Number(Fraction(1), at + 1, "words"), unit, end)


def _is_idiom(tokens: Tokens, at: int, unit: Unit, end: int) -> bool:
    if unit.name == "cup":
        return tokens.low[end + 1] in ("tea", "coffee", "cocoa") or tokens.low[end] != "of"
    before = tokens.before(at)
    if unit.dimension == "time" and at and numbers.starts_number(tokens, at - 1):
        return True
    if unit.name == "min":
        return before in ("wait", "just", "on", "in", "hold", "it", "got")
    if unit.dimension == "time" and unit.name != "h":
        return before not in ("for", "about", "after", "within", "takes", "take", "least")
    return unit.name == "ft" and tokens.low[end] in ("in", "on")


def _inch_and(tokens: Tokens, at: int) -> Found | None:
    """Read "inch and a quarter" without an article."""
    if _fraction_after(tokens, at + 1) is None:
        return None
    return _whole(tokens, at, numbers.Number(Fraction(1), at, "words"), units.unit("in"), at + 1)


def _wide(tokens: Tokens, at: int) -> Found | None:
    """Read "a plain inch-wide band" and "foot-long" as one of the unit."""
    side = at + 1 + (tokens.raw[at + 1] in _DASHES)
    if tokens.low[side] not in ("wide", "long", "thick", "deep", "tall", "high"):
        return None
    if at == 0 or tokens.kind[at - 1] != WORD or numbers.starts_number(tokens, at - 1):
        return None
    return _whole(tokens, at, numbers.Number(Fraction(1), at, "words"), units.unit(tokens.low[at]), at + 1)


def _couple(tokens: Tokens, at: int) -> Found | None:
    end = at + 2 + (tokens.low[at + 2] == "of")
    two = numbers.Number(Fraction(2), end, "words")
    if tokens.low[end] in DOZEN or tokens.low[end] in HUNDRED or tokens.low[end] in numbers.SCALES:
        many = numbers.cardinal(tokens, end)
        two = many._replace(value=2 * many.value, form="words") if many is not None else two
        return _plain(tokens, at, two)
    named = unit_at(tokens, end)
    if named is not None:
        found = _whole(tokens, at, two, named[0], named[1])
    elif (
        end > at + 2
        and tokens.kind[end] == WORD
        and tokens.low[end] not in ("the", "my", "these", "those", "our", "your")
    ):
        found = _plain(tokens, at, two)
    else:
        return None
    found.approximate = True
    return found


def _pair(tokens: Tokens, at: int) -> Found | None:
    """Read "a pair of eyelets" as two; a pair of scissors is one thing."""
    if tokens.low[at + 3] not in units.counted():
        return None
    return _plain(tokens, at, numbers.Number(Fraction(2), at + 3, "words"))


def amount(tokens: Tokens, at: int) -> Found | None:
    """Read one amount at this piece: money, a measure, a percentage, or a bare number."""
    if at and tokens.glued(at) and tokens.kind[at - 1] == WORD and tokens.kind[at] == NUMBER:
        return None
    if _in_date(tokens, at):
        return None
    found = money.before_number(tokens, at)
    if found is not None:
        return found
    if tokens.low[at] in _UNITS_ALONE:
        return _inch_and(tokens, at) if tokens.low[at] == "inch" and tokens.low[at + 1] == "and" else _wide(tokens, at)
    if tokens.low[at] in ("a", "an") or (tokens.low[at] == "another"):
        found = article_amount(tokens, at)
        if found is not None:
            return found
    number = numbers.number(tokens, at)
    if number is None or (number.form == "article" and number.value == 1):
        return None
    return measured(tokens, at, _short_hundreds(tokens, number) or number)


def _short_hundreds(tokens: Tokens, first: numbers.Number) -> numbers.Number | None:
    """Read "one eighty degrees" and "two fifty grams" as 180 and 250; not "two fifty gram bags"."""
    if first.form != "words" or first.value not in range(1, 10) or not numbers.starts_number(tokens, first.end):
        return None
    second = numbers.cardinal(tokens, first.end)
    if second is None or second.form != "words" or not 10 <= second.value < 100:
        return None
    named = unit_at(tokens, second.end)
    if named is None or (named[0].name not in _IN_HUNDREDS and tokens.low[named[1] - 1] != "grit"):
        return None
    alone = tokens.low[named[1] - 1].endswith("s") or _ends(tokens, named[1])
    return second._replace(value=first.value * 100 + second.value) if alone else None


_IN_HUNDREDS = frozenset(["g", "ml", "mil", "mm", "gsm", "degree", "C", "F"])


def _in_date(tokens: Tokens, at: int) -> bool:
    """Return whether a number is part of a date or a code in figures: "1/2/2026", "0800-123-456"."""
    if tokens.kind[at] != NUMBER or (tokens.raw[at + 1] not in _CHAINED and tokens.raw[at - 1] not in _CHAINED):
        return False
    steps = [_chain(tokens, place) for place in (at - 3, at - 1, at + 1, at + 3)]
    return any(first and first == second for first, second in pairwise(steps))


def _chain(tokens: Tokens, at: int) -> str:
    """Return the sign at a piece where it ties two numbers together without spaces."""
    inside = 0 < at < tokens.count and tokens.raw[at] in _CHAINED and tokens.glued(at) and tokens.glued(at + 1)
    return tokens.raw[at] if inside and tokens.kind[at - 1] == tokens.kind[at + 1] == NUMBER else ""


_CHAINED = frozenset("/-")


def measured(tokens: Tokens, at: int, number: numbers.Number) -> Found:
    """Read the unit after a number that has been read."""
    found = money.after_number(tokens, at, number)
    if found is not None:
        return _and_a_half(tokens, at, found) or found
    named = _unit_after(tokens, number)
    if named is None or not _unit_allowed(tokens, number, named[0], named[1] - 1):
        return _plain(tokens, at, number)
    return _whole(tokens, at, number, named[0], named[1])


def _unit_after(tokens: Tokens, number: numbers.Number) -> tuple[Unit, int] | None:
    end = number.end
    if tokens.raw[end] in _DASHES and (tokens.kind[end + 1] == WORD):
        return unit_at(tokens, end + 1)
    direct = unit_at(tokens, end)
    if direct is None and tokens.low[end] in words("context", "before_unit"):
        named = unit_at(tokens, end + 1)
        return named if named is not None and len(tokens.low[end + 1]) > 2 else None
    part_of_one = tokens.low[end] == "of" and tokens.low[end + 1] in ("a", "an") and number.value.denominator > 1
    if direct is not None or (number.value >= 1 and not part_of_one):
        return direct
    step = end + (tokens.low[end] == "of")
    step += tokens.low[step] in ("a", "an")
    if step == end or (tokens.low[step - 1] == "of" and (number.form != "fraction" or tokens.low[step].endswith("s"))):
        return None
    return unit_at(tokens, step) if len(tokens.low[step]) > 2 or tokens.low[step - 1] != "of" else None


def _unit_allowed(tokens: Tokens, number: numbers.Number, unit: Unit, at: int) -> bool:
    """Return whether this unit fits this number: "1990 s" is a decade, and "2x4s" are several of one size."""
    if unit.name != "s" or tokens.raw[at] != "s":
        return True
    several = ("x", "×", "by", "the", "these", "those", "my", "your", "our", "some")
    return tokens.glued(at) and number.value < 1000 and tokens.before(at, 2) not in several


def _whole(tokens: Tokens, first: int, number: numbers.Number, unit: Unit, end: int) -> Found:
    """Put a measure together, with what may follow its unit: a fraction, a smaller unit, hundredths of money."""
    value = number.value
    if unit.name == "lb" and tokens.low[end - 1] in ("pound", "pounds", "lb"):
        with_pence, after = money.with_hundredths(tokens, value, end)
        named = unit_at(tokens, after)
        if after > end and (named is None or named[0].name != "oz") and _is_price(tokens, end, after, with_pence):
            return _misheard(money.money_found(tokens, first, after, with_pence, "GBP"), tokens.low[end - 1] == "lb")
    part = _fraction_after(tokens, end) if value.denominator == 1 else None
    if part is not None:
        value, end = value + part.value, part.end
    value, unit, end = _with_smaller(tokens, value, unit, end)
    if unit.name == "h" and value.denominator > 1:
        value, unit = value * 60, units.unit("min")
    return Found(
        tokens.start[first], tokens.end[end - 1], (value,), unit.name, unit.dimension, first, end,
        repaired=number.repaired, form=number.form, glued_unit=True,
    )  # fmt: skip


def _misheard(found: Found, wrong_sign: bool) -> Found:
    found.repaired = wrong_sign
    return found


def _is_price(tokens: Tokens, end: int, after: int, value: Fraction) -> bool:
    """Return whether "twelve pound fifty" is money: two figures of pence, and no "and" without an end after it."""
    pence = (value - int(value)) * 100
    return pence >= 10 or tokens.low[after - 1] in ("pence", "p") or tokens.low[end] != "and"


def _fraction_after(tokens: Tokens, end: int) -> numbers.Number | None:
    """Read "and a half" after a unit, unless the fraction has a unit of its own."""
    if tokens.low[end] != "and":
        return None
    part = numbers.fraction(tokens, end + 1)
    if part is None or part.value >= 1 or _unit_after(tokens, part) is not None:
        return None
    bare = tokens.low[end + 1] in ("half", "quarter")
    return None if bare and tokens.low[part.end] in ("of", "the", "my", "a", "an", "your") else part


def _and_a_half(tokens: Tokens, at: int, found: Found | None) -> Found | None:
    """Add "and a half" to money."""
    part = _fraction_after(tokens, found.last) if found is not None else None
    if found is None or part is None:
        return found
    found.values = (found.value + part.value,)
    found.last, found.end = part.end, tokens.end[part.end - 1]
    return found


def _with_smaller(tokens: Tokens, value: Fraction, unit: Unit, end: int) -> tuple[Fraction, Unit, int]:
    at = end + (tokens.low[end] == "and" and unit.name in _AND_BETWEEN)
    if tokens.kind[at] not in (NUMBER, WORD) or not numbers.starts_number(tokens, at) or tokens.low[at] in ("a", "an"):
        return value, unit, end
    number = numbers.number(tokens, at)
    named = unit_at(tokens, number.end) if number is not None else None
    if named is None and number is not None and _bare_inches(tokens, number, unit, end):
        return value * 12 + number.value, units.unit("in"), number.end
    if named is None and number is not None and _bare_centimetres(tokens, number, unit, end):
        return value + number.value / 100, unit, number.end
    if named is None and number is not None and _bare_thousandths(tokens, number, unit, end):
        return value + number.value / 1000, unit, number.end
    into = _SMALLER.get((unit.name, named[0].name)) if named else None
    if number is None or named is None or into is None or number.value < 0:
        return value, unit, end
    both = units.to(value, unit.name, into) + units.to(number.value, named[0].name, into)
    return both, units.unit(into), named[1]


def _bare_inches(tokens: Tokens, number: numbers.Number, unit: Unit, end: int) -> bool:
    """Return whether "five foot six" ends in inches that are not named."""
    if unit.name != "ft" or tokens.low[end - 1] not in ("foot", "feet") or tokens.low[end] == "and":
        return False
    ends = _ends(tokens, number.end)
    return ends and 0 < number.value < 12


def _bare_centimetres(tokens: Tokens, number: numbers.Number, unit: Unit, end: int) -> bool:
    """Return whether "one metre twenty" ends in centimetres that are not named."""
    if unit.name != "m" or tokens.kind[end - 1] != WORD or tokens.low[end] == "and":
        return False
    ends = _ends(tokens, number.end)
    return ends and 10 <= number.value < 100


def _bare_thousandths(tokens: Tokens, number: numbers.Number, unit: Unit, end: int) -> bool:
    """Return whether "one kilo two hundred" ends in grams, or "a litre two hundred and fifty" in millilitres."""
    if unit.name not in ("kg", "l") or tokens.kind[end - 1] != WORD or tokens.low[end] == "and":
        return False
    return _ends(tokens, number.end) and 100 <= number.value < 1000 and number.value % 50 == 0


def _ends(tokens: Tokens, at: int) -> bool:
    """Return whether no noun follows that a number could count."""
    return tokens.kind[at] != WORD or tokens.low[at] in words("context", "after_measure")


def _plain(tokens: Tokens, first: int, number: numbers.Number) -> Found:
    return Found(
        tokens.start[first], tokens.end[number.end - 1], (number.value,), "", "number", first, number.end,
        repaired=number.repaired, form=number.form,
    )  # fmt: skip
