"""Amounts joined to one: sizes ("4 by 6 inches", "thirty square"), ranges ("six or seven", "forty, fifty"), ratios."""

from fractions import Fraction

from studio.quantity import amounts, numbers, units
from studio.quantity.found import Found, found_at
from studio.quantity.number_words import COUNTING
from studio.quantity.tokens import NUMBER, WORD, Tokens
from studio.quantity.words import words

BY = frozenset(["by", "x", "×", "*"])
_TO = frozenset(["to", "through"])
_DASHES = frozenset("-–—‐‑−~")
_LENGTHS = frozenset(["in", "ft", "yd", "mm", "cm", "m", "mil", "dm"])
_INCHES = frozenset(["in", "ft", "yd"])
_SQUARES = frozenset("square squares cube cubes".split())
_PARTS = frozenset(["part", "parts"])
_GOES_ON = BY | _TO | _DASHES | _SQUARES | _PARTS | words("of", "adjectives") | {"or", "and", ",", ":"}
"""Pieces after which an amount may go on."""


def joined(t: Tokens, found: Found) -> Found:
    """Read on after an amount: the other sides of a size, the end of a range, "square"."""
    if t.low[found.last] not in _GOES_ON:
        return found
    return _size(t, found) or _square(t, found) or _range(t, found) or _ratio(t, found) or found


def _amount_here(t: Tokens, at: int) -> Found | None:
    if not t.starts_number(at) or (t.glued(at) and t.raw[at] in ("-", "−")):
        return None
    number = numbers.number(t, at)
    if number is not None:
        return amounts.measured(t, at, number)
    return amounts.article_amount(t, at) if t.low[at] in ("a", "an") else None


# --- sizes -----------------------------------------------------------------------------------------------------------


def _side_unit(found: Found) -> bool:
    return found.kind == "number" or (found.kind == "length" and found.unit in _LENGTHS)


def _size(t: Tokens, first: Found) -> Found | None:
    sides, last = [first], first.last
    while _side_unit(first) and len(sides) < 3:
        at = last + (t.low[last] in words("of", "adjectives"))
        at += t.raw[at] == "," and t.low[at + 1] in BY
        if t.low[at] not in BY or (t.low[at + 1] == "10" and t.raw[at + 2] in "^-−"):
            break
        side = _amount_here(t, at + 1)
        if side is None or not _side_unit(side) or _other_system(sides[-1], side):
            break
        sides.append(side)
        last = side.last
    if len(sides) > 1:
        return _of_sides(t, sides, last + (t.low[last] in words("of", "adjectives")))
    each = _amount_here(t, last + 1) if first.kind == "number" and t.low[last] in BY - {"by"} else None
    if each is None or not each.unit or first.value not in range(1, 1000):
        return None
    each.quantity = int(first.value)  # "2 x 50 ml"
    each.begin(t, first.first)
    return each


def _other_system(first: Found, second: Found) -> bool:
    """Return whether two sides are said in inches and in millimetres: each then stands with its own unit."""
    return bool(first.unit and second.unit) and (first.unit in _INCHES) != (second.unit in _INCHES)


def _of_sides(t: Tokens, sides: list[Found], last: int, form: str = "") -> Found:
    """Give every side the unit that was said, the last one where several were."""
    said = [side.unit for side in sides if side.unit]
    unit = said[-1] if said else ""
    values = [_in_unit(side, unit) for side in sides]
    return found_at(
        t, sides[0].first, last, values, unit, "size", form=form,
        unit_implied=not said, repaired=any(side.repaired for side in sides), glued_unit=bool(said),
    )  # fmt: skip


def _in_unit(side: Found, unit: str) -> Fraction:
    """Return a side in the unit of all; said beside another length, "mil" is no millilitre."""
    here, there = ("mm" if name == "mil" else name for name in (side.unit, unit))
    return units.to(side.value, here, there) if side.unit and here != there else side.value


def _square(t: Tokens, found: Found) -> Found | None:
    """Read "fifty square" and "five inch squares" as a size of two like sides."""
    at = found.last + (t.raw[found.last] == "-")
    word = t.low[at]
    if word not in _SQUARES or not _side_unit(found) or found.value <= 0:
        return None
    if not found.unit and (word != "square" or found.form == "fraction" or found.value == 1):
        return None
    return _of_sides(t, [found] * (3 if word.startswith("cube") else 2), at + 1, "square")


# --- ranges ----------------------------------------------------------------------------------------------------------


def _range(t: Tokens, low: Found) -> Found | None:
    at, word = low.last, t.low[low.last]
    hanging = word in _DASHES and t.low[at + 1] in ("to", "or", *_DASHES) and not t.glued(at + 1)
    at += hanging
    word = t.low[at]
    dash = word in _DASHES
    known = word in _TO or word in ("or", ",") or dash or (word == "and" and t.before(low.first) == "between")
    if not known or (dash and t.glued(at) != t.glued(at + 1)) or t.raw[at + 1] in _DASHES:
        return None
    step = at + 1 + (t.low[at + 1] in words("bound", "perhaps"))
    high = _amount_here(t, step + (t.low[step] in words("bound", "perhaps")))
    if high is None or not (_alternative(t, low, high) if word == "," else _is_range(t, low, high, word)):
        return None
    return _of_ends(t, low, high, written=dash or hanging or (bool(low.unit) and low.form == "figures"))


def _alternative(t: Tokens, low: Found, high: Found) -> bool:
    """Return whether a number said after another only widens it: "forty, fifty degrees", "two hours, three"."""
    listed = t.before(low.first) == "," and (t.before(low.first, 2) in COUNTING or t.kind[low.first - 2] == NUMBER)
    near = low.value < high.value <= low.value * Fraction(3, 2)
    if listed or t.glued(low.last + 1) or not near or "currency" in (low.kind, high.kind):
        return False
    if not low.unit:
        return high.unit not in ("", "%") and high.kind != "other" and t.low[high.last] not in BY
    said = high.first > low.last + 1 or low.kind in ("time", "temperature", "angle")
    return not high.unit and said and t.raw[high.last] in (",", ".", "…", "")


def _is_range(t: Tokens, low: Found, high: Found, word: str) -> bool:
    """Return whether two amounts belong together: a unit, a counted thing, or "between" and "from" say so."""
    if low.unit and (low.kind != high.kind or low.kind in ("other", "currency")):
        return False
    if high.unit or word == "and":
        return word != "or" or low.value < high.value
    noun = t.low[high.last] in units.counted() or (word == "or" and t.kind[high.last] == WORD)
    if word == "or":
        near = 0 < high.value - low.value <= max(Fraction(_NEAR), low.value)
        return near and noun and "fraction" not in (low.form, high.form)
    whole = low.value < high.value and low.value.denominator == high.value.denominator == 1
    return whole and (noun or (word in _TO and t.before(low.first) in ("from", "between")))


_NEAR = 5
"""So far apart, or twice the first, two counts joined by "or" may be."""


def _of_ends(t: Tokens, low: Found, high: Found, *, written: bool) -> Found:
    """Put a range together: two values as spoken, or the middle of a written interval with its ends."""
    unit, kind = high.unit or low.unit, high.kind if high.unit else low.kind
    convert = low.unit and high.unit and kind not in ("currency", "other")
    bottom = units.to(low.value, low.unit, unit) if convert else low.value
    found = found_at(t, low.first, high.last, (bottom, high.value), unit, f"{kind}_range", glued_unit=bool(unit))
    found.approximate = t.before(low.first) == "between"
    if written and unit:
        found.low, found.high = min(bottom, high.value), max(bottom, high.value)
        found.values, found.kind = ((bottom + high.value) / 2,), kind
    return found


# --- ratios ----------------------------------------------------------------------------------------------------------


def _ratio(t: Tokens, found: Found) -> Found | None:
    """Read "two to one" beside a word of mixing, "2:1", "half and half", "one part resin to two parts sand"."""
    at = found.last
    if found.form == "fraction" and t.low[found.first] == "half" and t.says(at, "and", "half"):
        return found_at(t, found.first, at + 2, (Fraction(1), Fraction(1)), kind="ratio")
    if found.kind != "number" or t.low[at] not in _PARTS | {"to", ":"}:
        return None
    if t.low[at] in _PARTS:
        at = next((place for place in range(at + 1, at + 6) if t.low[place] in words("context", "ratio_joins")), 0)
    other = _amount_here(t, at + 1) if at else None
    if other is None or other.kind != "number" or t.kind[other.first] != t.kind[found.first]:
        return None
    last = other.last + (t.low[other.last] in _PARTS | {"of"} and t.low[found.last] in _PARTS)
    if t.low[found.last] in _PARTS:
        told = last > other.last or t.low[at] == "to"
        return found_at(t, found.first, last, (found.value, other.value), kind="ratio") if told else None
    around = [*t.low[max(0, found.first - _MIXED) : found.first], *t.low[other.last : other.last + 4]]
    by_what = around[-4:-2] in (["by", "weight"], ["by", "volume"], ["by", "mass"])
    mixed = by_what or words("context", "ratio").intersection(around)
    return found_at(t, found.first, last, (found.value, other.value), kind="ratio") if mixed else None


_MIXED = 14
