"""What the words around decide: money or weight, ml or mm, paper, "about", "just under", inches not said."""

from collections.abc import Callable

from studio.quantity import ounces, units
from studio.quantity.found import Found
from studio.quantity.tokens import END, Tokens
from studio.quantity.words import phrase_after, phrase_before, phrases, words

_WINDOW = 7
_BY = frozenset(["by", "x", "×"])
_PRONOUNS = frozenset(["it", "them", "that", "this", "those", "these"])
_PAPER = frozenset("cardstock card paper papers stock cardboard".split())
_PRICED = frozenset("it's that's they're its thats only just is was for costs each".split())
_CLOSE = frozenset("each per apiece".split())


def settle(tokens: Tokens, quantities: list[Found], length: str) -> None:
    """Decide what the words around say of each quantity, in place.

    Args:
        tokens: the text.
        quantities: in their order.
        length: unit taken for a length said without one.
    """
    for found in quantities:
        rule = _BY_UNIT.get(found.unit)
        if rule is not None:
            rule(tokens, found)
        if found.kind == "size" and found.unit_implied and not found.unit:
            found.unit = length
    _imply_lengths(tokens, quantities, length)


# --- units that mean two things --------------------------------------------------------------------------------------


WEAK = "weak"
"""Form of a quantity whose unit one word far away decided."""
_MANY_POUNDS = 100_000
_ENDS_POUNDS = frozenset(["pound", "pounds", "half", "quarter", "quarters"])


def _around(tokens: Tokens, found: Found) -> tuple[list[str], list[str]]:
    return tokens.low[max(0, found.first - _WINDOW) : found.first], tokens.low[found.last : found.last + _WINDOW]


def _pounds(tokens: Tokens, found: Found) -> None:
    """Decide whether pounds are a paper weight, money or a weight; else leave both open."""
    if _paper_pounds(tokens, found):
        return
    if tokens.low[found.last - 1] not in _ENDS_POUNDS:
        return
    before, after = _around(tokens, found)
    priced = phrase_before(tokens, found.first, phrases("context", "money_before")) < found.first
    money = (
        priced
        or found.value >= _MANY_POUNDS
        or bool(words("context", "money").intersection(before + after[:3]))
        or after[0] in words("context", "money_after")
    )
    mass = bool(words("context", "mass").intersection(before))
    if after[0] == "of" and after[1] not in _PRONOUNS:
        money, mass = False, True
    if after[0] == "the" and after[1] in words("context", "lots"):
        money = True
    if after[0] in ("heavier", "lighter") or tokens.raw[found.last - 2] == "-":
        mass, money = True, False
    if money and not mass:
        found.unit, found.kind = "GBP", "currency"
    elif not mass:
        found.ambiguous = ("lb", "GBP")


def _paper_pounds(tokens: Tokens, found: Found) -> bool:
    word, grades = tokens.low[found.last], units.basis_areas()
    at = found.last + (word in ("white", "black", "kraft", "smooth", "weight", "-"))
    word = tokens.low[at]
    if word not in grades and word not in _PAPER:
        return False
    found.kind, found.last, found.end = "paper_weight", at + 1, tokens.end[at]
    if word in grades:
        found.unit, found.gsm = f"lb_{word}", units.gsm(found.value, word)
    else:
        found.unit, found.ambiguous = "lb", tuple(f"lb_{grade}" for grade in ("cover", "index", "text"))
    return True


def _currency(tokens: Tokens, found: Found) -> None:
    """Take "£110 cardstock" for the paper weight that was said."""
    card = tokens.low[found.last] in ("cardstock", "card", "cover")
    if card and found.kind == "currency" and found.value >= _LIGHTEST_CARD and found.value.denominator == 1:
        found.repaired = _paper_pounds(tokens, found)


_LIGHTEST_CARD = 50


def _mil(tokens: Tokens, found: Found) -> None:
    """Decide whether "mil" is millimetres or millilitres; else leave both open."""
    volume, length = words("context", "volume"), words("context", "length")
    after = tokens.low[found.last : found.last + 3]
    found.unit = "mm"
    if found.kind.startswith("size") or tokens.low[found.last] in _BY or _inwards(tokens, found.last):
        return
    wet = dry = 0
    for window, weight in ((after[:1], 4), (after, 2), (_sentence(tokens, found), 1)):
        wet += weight * len(volume.intersection(window))
        dry += weight * len(length.intersection(window))
    if wet > dry:
        found.unit, found.kind = "ml", found.kind.replace("length", "volume")
    elif wet == dry:
        found.ambiguous = ("mm", "ml")
    found.form = WEAK if abs(wet - dry) == 1 else found.form


def _sentence(tokens: Tokens, found: Found) -> list[str]:
    around = tokens.low[max(0, found.first - 14) : found.last + 14]
    return [word.removesuffix("'s") for word in around]


def _degrees(tokens: Tokens, found: Found) -> None:
    """Decide whether degrees are of heat (then C or F is open) or of an angle."""
    near = _sentence(tokens, found)
    hot = len(words("context", "heat").intersection(near))
    turned = len(words("context", "angle").intersection(near))
    if hot > turned:
        found.kind, found.ambiguous = found.kind.replace("angle", "temperature"), ("C", "F")
    elif hot == turned:
        found.ambiguous = ("degree", "C", "F")


def _grams(tokens: Tokens, found: Found) -> None:
    """Take "300 gram paper" for a paper weight."""
    paper = tokens.low[found.last] in _PAPER or tokens.low[found.last] in ("watercolour", "watercolor")
    if found.kind == "mass" and paper and tokens.low[found.last - 1] in ("gram", "g"):
        found.unit, found.kind = "gsm", "paper_weight"


def _pence(tokens: Tokens, found: Found) -> None:
    """Print a small price in pence as pounds: "sixty pence each"."""
    low = tokens.low
    priced = found.form == "words" or low[found.last] in _CLOSE
    priced = priced or bool(_PRICED.intersection(low[max(0, found.first - 3) : found.first]))
    if found.value < 100 and priced and low[found.last - 1] != "penny":
        found.values, found.unit = (found.value / 100,), "GBP"


def _points(tokens: Tokens, found: Found) -> None:
    """Take "12 pt card" for a thickness in points, no pints."""
    if tokens.low[found.last] in _PAPER or tokens.low[found.last] in ("cover", "board", "chipboard"):
        found.kind, found.of = "other", "thickness"


def _seconds(tokens: Tokens, found: Found) -> None:
    """Leave open whether "5s" are seconds or several of one size, where nothing speaks of time."""
    several = tokens.raw[found.last - 1] == "s" and tokens.glued(found.last - 1) and found.value.denominator == 1
    timed = tokens.before(found.first) == "for" or words("context", "time").intersection(_sentence(tokens, found))
    if several and not timed:
        found.ambiguous = ("s", "number")


_BY_UNIT: dict[str, Callable[[Tokens, Found], None]] = {
    "lb": _pounds, "mil": _mil, "degree": _degrees, "g": _grams, "pence": _pence, "GBP": _currency, "USD": _currency,
    "pt": _points, "s": _seconds, "oz": ounces.settle,
}  # fmt: skip


# --- about, under, wide, each ----------------------------------------------------------------------------------------


def modify(tokens: Tokens, found: Found) -> None:
    """Read what stands beside a quantity: "about", "just under", "wide", "smaller", "each", a question mark."""
    found.question = tokens.raw[found.last] == "?"
    _bound_before(tokens, found)
    _loosely_after(tokens, found)
    if found.kind.startswith(("length", "size")):
        _side(tokens, found)
    word = tokens.low[found.last]
    if word in words("relative", "smaller"):
        found.relative = "-"
    elif word in words("relative", "bigger"):
        found.relative = "+"


def _side(tokens: Tokens, found: Found) -> None:
    """Read which side a length is of: "six inches wide", "1.5 mm board"."""
    word = tokens.low[found.last]
    if word in _ADJECTIVES or (found.unit == "mm" and found.kind == "length" and found.value <= _THICKEST_MM):
        found.of = next((side for side in _SIDES if word in words("of", side)), found.of)
    if found.of and word in _ADJECTIVES:
        found.last, found.end = found.last + 1, tokens.end[found.last]


_THICKEST_MM = 10
_SIDES = ("width", "height", "length", "depth", "thickness", "diameter")
_ADJECTIVES = frozenset("wide across tall high long deep thick".split())


def _bound_before(tokens: Tokens, found: Found) -> None:
    at = found.first
    for _ in range(2):
        start = phrase_before(tokens, at, _BOUNDS)
        if start == at:
            break
        said = tuple(tokens.low[start:at])
        if said in phrases("bound", "about") or said in phrases("bound", "loose"):
            found.approximate = True
        if said in phrases("bound", "below"):
            found.bound = "<"
        elif said in phrases("bound", "above"):
            found.bound = ">"
        at = start
    if at < found.first:
        found.first, found.start = at, tokens.start[at]


_BOUNDS = phrases("bound", "about", "below", "above", "loose")


def _loosely_after(tokens: Tokens, found: Found) -> None:
    at = found.last + (tokens.raw[found.last] in "-," and tokens.kind[found.last] != END)
    end = phrase_after(tokens, at, phrases("bound", "after"))
    if end > at:
        found.approximate, found.last, found.end = True, end, tokens.end[end - 1]


def _priced(found: Found, low: list[str]) -> bool:
    return found.kind == "currency" or (found.unit == "lb" and low[found.last - 1] == "pounds")


def per(tokens: Tokens, found: Found) -> None:
    """Read "each", "a yard", "per metre" after an amount."""
    at, low = found.last, tokens.low
    if low[at] in ("each", "apiece"):
        if low[at + 1] != "of":
            found.per = "each"
        return
    step = at + (tokens.raw[at] == "-")
    if low[step] in ("a", "an", "per", "every", "/") and (_priced(found, low) or low[step] in ("per", "/")):
        noun = step + 1 + (tokens.raw[step + 1] == "-")
        if tokens.kind[noun] != "w" or (found.kind == "number"):
            return
        found.per, found.last, found.end = low[noun], noun + 1, tokens.end[noun]
        if found.unit == "lb":
            found.kind, found.unit = "currency", "GBP"
        elif found.kind not in ("currency", "percent"):
            found.kind = "rate"


# --- lengths without a unit -------------------------------------------------------------------------------------------


def _imply_lengths(tokens: Tokens, quantities: list[Found], length: str) -> None:
    """Take bare numbers for lengths after "score at", and in a list that ends in a length."""
    known = phrases("context", "length_before")
    for number, found in enumerate(quantities):
        if found.kind not in ("number", "number_range") or found.unit:
            continue
        measured = phrase_before(tokens, found.first, known) < found.first or tokens.low[found.last] in _ADJECTIVES
        measured = measured or _inwards(tokens, found.last)
        measured = measured or _cut_at(tokens, found.first) or (found.form == "fraction" and _of_a_ruler(tokens, found))
        if measured or _goes_on(tokens, quantities, number):
            before = quantities[number - 1] if number else found
            near = before.kind in ("length", "size") and found.first - before.last < _WINDOW
            found.unit, found.unit_implied = before.unit if near else length, True
            found.kind = found.kind.replace("number", "length")
    for found in quantities:
        if found.kind == "length" and _is_square(tokens, found):
            found.kind, found.values, found.form = "size", found.values * 2, "square"
    for at in range(len(quantities) - 1, 0, -1):
        found, after = quantities[at - 1], quantities[at]
        if after.kind == "length" and _bare(found) and _in_list(tokens, found, after):
            found.unit, found.kind, found.form = after.unit, "length", "list"
            found.unit_implied = after.unit_implied


def _inwards(tokens: Tokens, at: int) -> bool:
    """Return whether a number is how far in from an edge something lies: "put it ten in from the end"."""
    return tokens.low[at] == "in" and tokens.low[at + 1] == "from" and tokens.low[at + 2] in _EDGE_OF


_EDGE_OF = frozenset("each the either both any every that this its your one all an".split())


def _cut_at(tokens: Tokens, at: int) -> bool:
    """Return whether a number is where something is cut, scored or folded: "score this one at three"."""
    if tokens.before(at) not in ("at", "to"):
        return False
    return bool(words("context", "cutting").intersection(tokens.low[max(0, at - 6) : at - 1]))


def _of_a_ruler(tokens: Tokens, found: Found) -> bool:
    """Return whether a bare fraction is one of an inch: "an eighth smaller", "a sixteenth gap"."""
    after = tokens.low[found.last]
    if after in words("relative", "smaller") or after in words("relative", "bigger"):
        return found.value.denominator in _RULED
    return found.value.denominator in _RULED - {2, 4} and (
        after in words("context", "length") or after in words("context", "gap")
    )


_RULED = frozenset([2, 4, 8, 16, 32, 64])


def _is_square(tokens: Tokens, found: Found) -> bool:
    """Return whether a length is the side of a square: "square it up to eight and a half", "draw a four inch box"."""
    before = tokens.low[max(0, found.first - 5) : found.first]
    if tokens.low[found.last] in ("box", "boxes"):
        return bool(_DRAWN.intersection(before))
    return before[-1:] in (["to"], ["at"]) and bool({"square", "squares", "squared", "squaring"}.intersection(before))


_DRAWN = frozenset("draw draws drew drawn mark marks marked rule ruled trace traced outline".split())


def _bare(found: Found) -> bool:
    return (
        (found.kind == "number" or found.unit_implied) and found.kind in ("number", "length") and not found.glued_unit
    )


def _goes_on(tokens: Tokens, quantities: list[Found], number: int) -> bool:
    """Return whether a bare number goes on with a list of implied lengths."""
    before = quantities[number - 1] if number else None
    return (
        before is not None
        and before.unit_implied
        and before.kind == "length"
        and _in_list(tokens, before, quantities[number])
    )


def _in_list(tokens: Tokens, found: Found, after: Found) -> bool:
    between = tokens.low[found.last : after.first]
    said_again = between == [","] and found.values == after.values
    return found.value < 1000 and not said_again and between in _LISTING  # a greater number is a year


_LISTING = (
    [","],
    ["and"],
    [",", "and"],
    ["or"],
    [",", "or"],
    ["then"],
    [",", "then"],
    [",", "and", "then"],
    ["and", "then"],
)
