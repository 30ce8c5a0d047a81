"""A number and its unit: "4 1/4 inches", "an inch and three quarters", "two feet three inches", "half a teaspoon"."""

from fractions import Fraction
from itertools import pairwise

from studio.quantity import money, numbers, units
from studio.quantity.found import Found
from studio.quantity.tokens import END, FRACTION, NUMBER, SIGN, WORD, Tokens
from studio.quantity.units import Unit

_DASHES = frozenset("-‐‑")
_SMALLER = {
    ("ft", "in"): "in", ("yd", "in"): "in", ("yd", "ft"): "ft", ("lb", "oz"): "oz", ("stone", "lb"): "lb",
    ("h", "min"): "min", ("min", "s"): "s", ("m", "cm"): "cm", ("kg", "g"): "g",
}  # fmt: skip
"""Units said one after the other -> the unit that both are put into."""
_AND_BETWEEN = frozenset(["lb", "h", "min", "ft", "stone"])
_NO_ARTICLE = frozenset(["s", "stone", "degree", "other", "knot", "C", "F", "K", "%", "in sign", "radian"])
_IN_FOLLOWERS = frozenset("by x wide long tall high deep thick across square squares and or to of from each".split())
_LETTERS_NEVER_APART = frozenset(["C", "F", "K", "B", "V", "W", "J", "N", "M", "ct"])
MIL = Unit("mil", "length", Fraction(1))
"""Said for millimetres and for millilitres: told apart from the talk around."""


def unit_at(tokens: Tokens, at: int) -> tuple[Unit, int] | None:
    """Return the unit that is named at this piece and the index after its name; the longest name wins."""
    low = tokens.low[at]
    if low in ("mil", "mils"):
        return MIL, at + 1
    table = units.table()
    best: tuple[Unit, int] | None = None
    longest = table.longest.get(low, 0)
    if longest:
        said, ends = _joined_words(tokens, at, longest)
        for length in range(len(said), 0, -1):
            unit = table.by_words.get(tuple(said[:length]))
            if unit is not None:
                best = unit, ends[length - 1]
                break
    sign = _sign_at(tokens, at)
    return sign if sign is not None and (best is None or sign[1] > best[1]) else best


def _joined_words(tokens: Tokens, at: int, longest: int) -> tuple[list[str], list[int]]:
    """Return the next words, over the dots and hyphens in "sq. ft." and "square-foot", and where each ends."""
    said, ends = [tokens.low[at]], [at + 1]
    place = at + 1
    while len(said) < longest and place < tokens.count:
        if tokens.raw[place] in ".-" and tokens.kind[place + 1] == WORD and tokens.glued(place):
            place += 1
        said.append(tokens.low[place])
        place += 1
        ends.append(place)
    return said, ends


def _sign_at(tokens: Tokens, at: int) -> tuple[Unit, int] | None:
    by_sign = units.table().by_sign
    length = 1
    while length < 4 and tokens.glued(at + length) and at + length < tokens.count:
        length += 1
    for end in range(at + length, at, -1):
        unit = by_sign.get(tokens.text[tokens.start[at] : tokens.end[end - 1]])
        if unit is not None and _sign_fits(tokens, at, end):
            return unit, end
    return None


def _sign_fits(tokens: Tokens, at: int, end: int) -> bool:
    """Return whether a sign that may be a word, a letter or a quotation mark is a unit here."""
    raw, glued = tokens.raw[at], tokens.glued(at)
    if end < tokens.count and tokens.glued(end) and tokens.kind[end] in (WORD, NUMBER) and tokens.kind[at] == WORD:
        return False
    if raw == "in":
        return glued or tokens.kind[end] in (END, SIGN) or tokens.low[end] in _IN_FOLLOWERS
    if raw in ('"', "”", "'"):
        return not _in_quotes(tokens, at) if raw == '"' else glued
    if raw in ("C", "F"):
        return glued or ((tokens.kind[end] != WORD or tokens.raw[end].islower()) and len(tokens.raw[at - 1]) > 1)
    if raw in _LETTERS_NEVER_APART and end == at + 1:
        return glued
    if raw == "s":
        return glued or len(tokens.raw[at - 1]) < 4
    return raw != "t" or tokens.kind[at - 1] == NUMBER


def _in_quotes(tokens: Tokens, at: int) -> bool:
    """Return whether a quotation was opened a little before and this mark closes it."""
    opened = False
    for place in range(max(0, at - _QUOTED), at):
        if tokens.raw[place] == '"' and not (tokens.glued(place) and tokens.kind[place - 1] in (NUMBER, FRACTION)):
            opened = not opened
    return opened


_QUOTED = 40


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


def _couple(tokens: Tokens, at: int) -> Found | None:
    end = at + 2 + (tokens.low[at + 2] == "of")
    two = numbers.Number(Fraction(2), end, "words")
    named = unit_at(tokens, end)
    if named is not None and _unit_allowed(tokens, two, named[0], end):
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
    if tokens.low[at] == "inch":
        return _inch_and(tokens, at)
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
    if named is None or named[0].name not in _IN_HUNDREDS:
        return None
    alone = tokens.low[named[1] - 1].endswith("s") or tokens.kind[named[1]] != WORD or tokens.low[named[1]] == "of"
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
    if direct is not None or number.value >= 1:
        return direct
    step = end + (tokens.low[end] == "of")
    step += tokens.low[step] in ("a", "an")
    return unit_at(tokens, step) if step > end and tokens.low[step - 1] in ("a", "an") else None


def _unit_allowed(tokens: Tokens, number: numbers.Number, unit: Unit, at: int) -> bool:
    """Return whether this unit fits this number: "1990 s" is a decade, "one second" may be the second of a row."""
    if unit.name == "s" and tokens.raw[at] == "s":
        if tokens.low[at - 2] in ("x", "×", "by"):
            return False
        return tokens.glued(at) and number.value < 1000
    return True


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
    into = _SMALLER.get((unit.name, named[0].name)) if named else None
    if number is None or named is None or into is None or number.value < 0:
        return value, unit, end
    both = units.to(value, unit.name, into) + units.to(number.value, named[0].name, into)
    return both, units.unit(into), named[1]


def _bare_inches(tokens: Tokens, number: numbers.Number, unit: Unit, end: int) -> bool:
    """Return whether "five foot six" ends in inches that are not named."""
    if unit.name != "ft" or tokens.low[end - 1] not in ("foot", "feet") or tokens.low[end] == "and":
        return False
    ends = tokens.kind[number.end] != WORD or tokens.low[number.end] in (
        "of",
        "long",
        "wide",
        "tall",
        "high",
        "by",
        "and",
    )
    return ends and 0 < number.value < 12


def _bare_centimetres(tokens: Tokens, number: numbers.Number, unit: Unit, end: int) -> bool:
    """Return whether "one metre twenty" ends in centimetres that are not named."""
    if unit.name != "m" or tokens.kind[end - 1] != WORD or tokens.low[end] == "and" or tokens.kind[end] == NUMBER:
        return False
    ends = tokens.kind[number.end] != WORD or tokens.low[number.end] in (
        "of",
        "long",
        "wide",
        "tall",
        "high",
        "by",
        "and",
    )
    return ends and 10 <= number.value < 100


def _plain(tokens: Tokens, first: int, number: numbers.Number) -> Found:
    return Found(
        tokens.start[first], tokens.end[number.end - 1], (number.value,), "", "number", first, number.end,
        repaired=number.repaired, form=number.form,
    )  # fmt: skip
