"""Amounts joined to one: sizes ("4 by 6 inches", "thirty square"), ranges, ratios."""

from fractions import Fraction

from studio.quantity import amounts, numbers, units
from studio.quantity.found import Found
from studio.quantity.tokens import NUMBER, WORD, Tokens

_BY = frozenset(["by", "x", "×", "*"])
_SIDES = frozenset("wide long deep high tall thick across".split())
_TO = frozenset(["to", "through"])
_DASHES = frozenset("-–—‐‑−~")
_LENGTHS = frozenset(["in", "ft", "yd", "mm", "cm", "m", "mil", "dm"])
_INCHES = frozenset(["in", "ft", "yd"])
_GOES_ON = _BY | _SIDES | _TO | _DASHES | {"or", "and", ",", ":", "part", "parts", "square", "squares", "cube", "cubes"}
"""Pieces after which an amount may go on."""
_RATIO = frozenset("ratio ratios mix mixed mixing parts part proportion proportions dilute diluted".split())


def joined(tokens: Tokens, found: Found) -> Found:
    """Read on after an amount: the other sides of a size, the end of a range, "square"."""
    if tokens.low[found.last] not in _GOES_ON:
        return found
    return _size(tokens, found) or _square(tokens, found) or _range(tokens, found) or _ratio(tokens, found) or found


# --- sizes -----------------------------------------------------------------------------------------------------------


def _side_unit(found: Found) -> bool:
    return found.kind == "number" or (found.kind == "length" and found.unit in _LENGTHS)


def _size(tokens: Tokens, first: Found) -> Found | None:
    if not _side_unit(first):
        return _times(tokens, first)
    sides, last = [first], first.last
    while len(sides) < 3:
        at = last + (tokens.low[last] in _SIDES)
        at += tokens.raw[at] == "," and tokens.low[at + 1] in _BY
        if tokens.low[at] not in _BY or (tokens.low[at + 1] == "10" and tokens.raw[at + 2] in "^-−"):
            break
        side = _amount_here(tokens, at + 1)
        if side is None or not _side_unit(side) or side.last == side.first or _other_system(sides[-1], side):
            break
        sides.append(side)
        last = side.last
    if len(sides) < 2:
        return _times(tokens, first)
    if tokens.low[last] in _SIDES:
        last += 1
    return _of_sides(tokens, sides, last)


def _other_system(first: Found, second: Found) -> bool:
    """Return whether two sides are said in inches and in millimetres: each then stands with its own unit."""
    return bool(first.unit and second.unit) and (first.unit in _INCHES) != (second.unit in _INCHES)


def _amount_here(tokens: Tokens, at: int) -> Found | None:
    if not numbers.starts_number(tokens, at) or (tokens.glued(at) and tokens.raw[at] in ("-", "−")):
        return None
    number = numbers.number(tokens, at)
    if number is None:
        return amounts.article_amount(tokens, at) if tokens.low[at] in ("a", "an") else None
    return amounts.measured(tokens, at, number)


def _of_sides(tokens: Tokens, sides: list[Found], last: int) -> Found:
    """Give every side the unit that was said, the last one where several were."""
    said = [side.unit for side in sides if side.unit]
    unit = said[-1] if said else ""
    values = tuple(_in_unit(side, unit) for side in sides)
    return Found(
        sides[0].start, tokens.end[last - 1], values, unit, "size", sides[0].first, last,
        unit_implied=not said, repaired=any(side.repaired for side in sides), glued_unit=bool(said),
    )  # fmt: skip


def _in_unit(side: Found, unit: str) -> Fraction:
    if not side.unit or side.unit == unit:
        return side.value
    return units.to(side.value, _MIL.get(side.unit, side.unit), _MIL.get(unit, unit))


_MIL = {"mil": "mm"}
"""Said beside another length, "mil" is no millilitre."""


def _times(tokens: Tokens, first: Found) -> Found | None:
    """Read "2 x 50 ml" as so many of one amount."""
    if first.kind != "number" or tokens.low[first.last] not in ("x", "×", "*") or first.value.denominator > 1:
        return None
    each = _amount_here(tokens, first.last + 1)
    if each is None or not each.unit or not 0 < first.value < 1000:
        return None
    each.quantity, each.start, each.first = int(first.value), first.start, first.first
    return each


def _square(tokens: Tokens, found: Found) -> Found | None:
    """Read "fifty square" and "five inch squares" as a size of two like sides."""
    at = found.last + (tokens.raw[found.last] == "-")
    word = tokens.low[at]
    if word not in ("square", "squares", "cube", "cubes") or not _side_unit(found) or found.value <= 0:
        return None
    if not found.unit and (word != "square" or found.form == "fraction" or found.value == 1):
        return None
    sides = 3 if word.startswith("cube") else 2
    size = _of_sides(tokens, [found] * sides, at + 1)
    size.form = "square"
    return size


# --- ranges ----------------------------------------------------------------------------------------------------------


def _range(tokens: Tokens, low: Found) -> Found | None:
    at = low.last
    word, before = tokens.low[at], tokens.before(low.first)
    hanging = word in _DASHES and tokens.low[at + 1] in ("to", "or", *_DASHES) and not tokens.glued(at + 1)
    if hanging:
        at += 1
        word = tokens.low[at]
    dash = word in _DASHES
    known = word in _TO or word == "or" or dash or (word == "and" and before == "between")
    if not known or (dash and tokens.glued(at) != tokens.glued(at + 1)) or tokens.raw[at + 1] in _DASHES:
        return None
    high = _amount_here(tokens, at + 1 + (tokens.low[at + 1] in ("about", "maybe", "even", "possibly")))
    if high is None or not _alike(low, high):
        return None
    if not _is_range(tokens, low, high, word):
        return None
    return _of_ends(tokens, low, high, written=dash or hanging or (bool(low.unit) and low.form == "figures"))


def _alike(low: Found, high: Found) -> bool:
    if low.unit and high.unit:
        same = low.kind == high.kind and low.kind != "other"
        return same and low.kind != "currency"
    return not low.unit


_NEAR = 5
"""So far apart, or twice the first, two counts joined by "or" may be."""


def _is_range(tokens: Tokens, low: Found, high: Found, word: str) -> bool:
    """Return whether two amounts belong together: a unit, a counted thing, or "between" and "from" say so."""
    before = tokens.before(low.first)
    if high.unit:
        return word != "or" or low.value < high.value
    noun = tokens.low[high.last] in units.counted() or (word == "or" and tokens.kind[high.last] == WORD)
    rises = low.value < high.value
    if word == "or":
        near = high.value - low.value <= max(Fraction(_NEAR), low.value)
        return rises and noun and near and "fraction" not in (low.form, high.form)
    if word == "and":
        return True
    whole = rises and low.value.denominator == high.value.denominator == 1
    return rises and (noun or before in ("from", "between")) if word in _TO else (whole and noun)


def _of_ends(tokens: Tokens, low: Found, high: Found, *, written: bool) -> Found:
    """Put a range together: two values as spoken, or the middle of a written interval with its ends."""
    unit, kind = high.unit, high.kind
    bottom = units.to(low.value, low.unit, unit) if low.unit and kind not in ("currency", "other") else low.value
    if kind == "other" and low.unit != unit:
        bottom = low.value
    found = Found(
        low.start, high.end, (bottom, high.value), unit, f"{kind}_range", low.first, high.last, glued_unit=bool(unit)
    )
    if tokens.before(low.first) == "between":
        found.approximate = True
    if written and unit:
        found.low, found.high = min(bottom, high.value), max(bottom, high.value)
        found.values, found.kind = ((bottom + high.value) / 2,), kind
    return found


def _ratio(tokens: Tokens, found: Found) -> Found | None:
    """Read "two to one" beside a word of mixing, "2:1", "half and half"."""
    at = found.last
    if (
        found.form == "fraction"
        and tokens.low[found.first] == "half"
        and tokens.low[at] == "and"
        and tokens.low[at + 1] == "half"
    ):
        return Found(found.start, tokens.end[at + 1], (Fraction(1), Fraction(1)), "", "ratio", found.first, at + 2)
    if found.kind != "number" or (
        tokens.low[at] not in ("to", ":") and tokens.low[at] != "part" and tokens.low[at] != "parts"
    ):
        return None
    if tokens.low[at] in ("part", "parts"):
        return _parts(tokens, found)
    other = _amount_here(tokens, at + 1)
    if other is None or other.kind != "number" or tokens.kind[at + 1] != tokens.kind[found.first]:
        return None
    around = [*tokens.low[max(0, found.first - _MIXED) : found.first], *tokens.low[other.last : other.last + 4]]
    if not _RATIO.intersection(around) and around[-4:-2] not in _BY_WHAT:
        return None
    return Found(found.start, other.end, (found.value, other.value), "", "ratio", found.first, other.last)


_MIXED = 14
_BY_WHAT = (["by", "weight"], ["by", "volume"], ["by", "mass"])


def _parts(tokens: Tokens, found: Found) -> Found | None:
    """Read "two parts blue and one of brown" and "one part resin to two parts sand"."""
    for at in range(found.last + 1, found.last + 6):
        again = _amount_here(tokens, at) if at > found.last + 1 and tokens.low[at] not in ("a", "an") else None
        if again is not None and again.kind == "number" and tokens.low[again.last] in ("part", "parts"):
            last = again.last + 1
            return Found(found.start, tokens.end[last - 1], (found.value, again.value), "", "ratio", found.first, last)
        if tokens.low[at] in ("to", "and", "with", ",") and numbers.starts_number(tokens, at + 1):
            other = _amount_here(tokens, at + 1)
            named = other is not None and tokens.low[other.last] in ("of", "part", "parts")
            if other is None or other.kind != "number" or not (named or tokens.low[at] == "to"):
                return None
            last = other.last + named
            return Found(found.start, tokens.end[last - 1], (found.value, other.value), "", "ratio", found.first, last)
        if tokens.kind[at] != WORD and tokens.kind[at] != NUMBER:
            return None
    return None
