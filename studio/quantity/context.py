"""What the words around decide: money or weight, ml or mm, paper, leather, "about", "just under", inches not said."""

from collections.abc import Callable

from studio.quantity import units
from studio.quantity.found import Found
from studio.quantity.number_words import RULER_PARTS
from studio.quantity.shapes import BY
from studio.quantity.tokens import END, WORD, Tokens
from studio.quantity.words import phrase_after, phrase_before, phrases, words

_WINDOW = 7
WEAK = "weak"
"""Form of a quantity whose unit one word far away decided."""


def settle(t: Tokens, quantities: list[Found], length: str) -> None:
    """Decide what the words around say of each quantity, in place.

    Args:
        t: the text.
        quantities: in their order.
        length: unit taken for a length said without one.
    """
    for found in quantities:
        rule = _BY_UNIT.get(found.unit)
        if rule is not None:
            rule(t, found)
        if found.kind == "size" and found.unit_implied and not found.unit:
            found.unit = length
    _imply_lengths(t, quantities, length)


# --- units that mean two things --------------------------------------------------------------------------------------


def _pounds(t: Tokens, found: Found) -> None:
    """Decide whether pounds are a paper weight, money or a weight; else leave both open."""
    if _paper_pounds(t, found) or t.low[found.last - 1] not in ("pound", "pounds", "half", "quarter", "quarters"):
        return
    before, after = t.low[max(0, found.first - _WINDOW) : found.first], t.low[found.last : found.last + _WINDOW]
    money = (
        phrase_before(t, found.first, phrases("context", "money_before")) < found.first
        or found.value >= _MANY_POUNDS
        or not words("context", "money").isdisjoint(before + after[:3])
        or after[0] in words("context", "money_after")
    )
    mass = not words("context", "mass").isdisjoint(before)
    of_it = after[0] == "of" and after[1] not in words("context", "pronouns")
    if of_it or after[0] in ("heavier", "lighter") or t.raw[found.last - 2] == "-":
        mass, money = True, False
    elif after[0] == "the" and after[1] in words("context", "lots"):
        money = True
    if money and not mass:
        found.unit, found.kind = "GBP", "currency"
    elif not mass:
        found.ambiguous = ("lb", "GBP")


_MANY_POUNDS = 100_000


def _paper_pounds(t: Tokens, found: Found) -> bool:
    at = found.last + (t.low[found.last] in ("white", "black", "kraft", "smooth", "weight", "-"))
    word, grades = t.low[at], units.basis_areas()
    if word not in grades and word not in words("context", "paper"):
        return False
    found.kind = "paper_weight"
    found.reach(t, at + 1)
    if word in grades:
        found.unit, found.gsm = f"lb_{word}", units.gsm(found.value, word)
    else:
        found.unit, found.ambiguous = "lb", ("lb_cover", "lb_index", "lb_text")
    return True


def _mil(t: Tokens, found: Found) -> None:
    """Decide whether "mil" is millimetres or millilitres; else leave both open."""
    found.unit = "mm"
    if found.kind.startswith("size") or t.low[found.last] in BY or _inwards(t, found.last):
        return
    after = t.low[found.last : found.last + 3]
    wet = dry = 0
    for window, weight in ((after[:1], 4), (after, 2), (t.near(found.first, found.last, 14), 1)):
        wet += weight * len(words("context", "volume").intersection(window))
        dry += weight * len(words("context", "length").intersection(window))
    if wet > dry:
        found.unit, found.kind = "ml", found.kind.replace("length", "volume")
    elif wet == dry:
        found.ambiguous = ("mm", "ml")
    found.form = WEAK if abs(wet - dry) == 1 else found.form


def _degrees(t: Tokens, found: Found) -> None:
    """Decide whether degrees are of heat (then C or F is open) or of an angle."""
    near = t.near(found.first, found.last, 14)
    hot, turned = (len(words("context", kind).intersection(near)) for kind in ("heat", "angle"))
    if hot > turned:
        found.kind, found.ambiguous = found.kind.replace("angle", "temperature"), ("C", "F")
    elif hot == turned:
        found.ambiguous = ("degree", "C", "F")


def _grams(t: Tokens, found: Found) -> None:
    """Take "300 gram paper" for a paper weight."""
    paper = t.low[found.last] in words("context", "paper") or t.low[found.last] in ("watercolour", "watercolor")
    if found.kind == "mass" and paper and t.low[found.last - 1] in ("gram", "g"):
        found.unit, found.kind = "gsm", "paper_weight"


def _pence(t: Tokens, found: Found) -> None:
    """Print a small price in pence as pounds: "sixty pence each"."""
    priced = found.form == "words" or t.low[found.last] in ("each", "per", "apiece")
    priced = priced or not words("price", "before_pence").isdisjoint(t.low[max(0, found.first - 3) : found.first])
    if found.value < 100 and priced and t.low[found.last - 1] != "penny":
        found.values, found.unit = (found.value / 100,), "GBP"


def _points(t: Tokens, found: Found) -> None:
    """Take "12 pt card" for a thickness in points, no pints."""
    if t.low[found.last] in words("context", "in_points"):
        found.kind, found.of = "thickness", "thickness"


def _ounces(t: Tokens, found: Found) -> None:
    """Decide what ounces measure: a weight, a liquid, or how thick leather is; what nothing tells is left open.

    A thickness keeps its ounces (an ounce of leather is 1/64 in thick); a liquid that may have been weighed or measured
    is a volume to be asked about, so that it is never printed in grams.
    """
    if found.base != "mass":
        return
    before, after = _clause(t, found.first, -12), _clause(t, found.last, 8)
    weighed = not words("ounces", "weighed").isdisjoint(t.low[before : found.first] + t.low[found.last : after])
    at = found.last
    while t.low[at] in words("ounces", "skipped"):
        at += 1
    end = at
    while end - at < 5 and t.kind[end] == WORD and t.low[end] not in words("ounces", "no_noun"):
        end += 1 + (t.raw[end + 1] == "-")
    thing = _leather_or_liquid(t, at, end) if at < end else _leather_or_liquid(t, before, found.first)
    thick = not words("of", "thick").isdisjoint(t.low[found.last : after])
    if thick or thing == "leather":
        found.kind, found.of = found.kind.replace("mass", "thickness"), "thickness"
        unsure = weighed or (t.low[found.last] == "of" and not thick)
        found.ambiguous = ("thickness", "mass") if unsure else ()
    elif thing == "liquid" and not weighed:
        found.kind, found.unit = found.kind.replace("mass", "volume"), "fl oz"
        found.ambiguous = ("fl oz", "oz")


def _clause(t: Tokens, at: int, reach: int) -> int:
    """Return where the words before or after an amount end: some way on, in the same sentence."""
    step = 1 if reach > 0 else -1
    for _ in range(abs(reach)):
        if not 0 <= at + min(step, 0) < t.count or t.raw[at + min(step, 0)] in ".?!;":
            break
        at += step
    return at


def _leather_or_liquid(t: Tokens, start: int, end: int) -> str:
    """Return `leather` or `liquid` by the last word that names either, a vessel or pouring before all; else nothing."""
    if not words("ounces", "vessel").isdisjoint(t.low[start:end]):
        return "liquid"
    leather = max(
        (phrase_after(t, at, phrases("ounces", "leather")) - at and at + 1 for at in range(start, end)), default=0
    )
    liquid = max((at + 1 for at in range(start, end) if t.low[at] in words("ounces", "liquid")), default=0)
    return "leather" if leather > liquid else "liquid" if liquid else ""


_BY_UNIT: dict[str, Callable[[Tokens, Found], None]] = {
    "lb": _pounds, "mil": _mil, "degree": _degrees, "g": _grams, "pence": _pence, "pt": _points,
    "oz": _ounces,
}  # fmt: skip


# --- about, under, wide, each ----------------------------------------------------------------------------------------


def modify(t: Tokens, found: Found) -> None:
    """Read what stands beside a quantity: "about", "just under", "wide", "smaller", "each", a question mark."""
    found.question = t.raw[found.last] == "?"
    _bound_before(t, found)
    at = found.last + (t.raw[found.last] in "-," and t.kind[found.last] != END)
    end = phrase_after(t, at, phrases("bound", "after"))
    if end > at:
        found.approximate = True
        found.reach(t, end)
    if found.kind.startswith(("length", "size")):
        _side(t, found)
    word = t.low[found.last]
    found.relative = "-" if word in words("relative", "smaller") else "+" if word in words("relative", "bigger") else ""


def _side(t: Tokens, found: Found) -> None:
    """Read which side a length is of: "six inches wide", "1.5 mm board"."""
    word = t.low[found.last]
    said = word in words("of", "adjectives")
    if said or (found.unit == "mm" and found.kind == "length" and found.value <= _THICKEST_MM):
        found.of = next((side for side in _SIDES if word in words("of", side)), found.of)
    if found.of and said:
        found.reach(t, found.last + 1)


_THICKEST_MM = 10
_SIDES = ("width", "height", "length", "depth", "thickness", "diameter")


def _bound_before(t: Tokens, found: Found) -> None:
    for _ in range(2):
        start = phrase_before(t, found.first, phrases("bound", *_BOUNDS))
        said = tuple(t.low[start : found.first])
        if not said:
            return
        kinds = [kind for kind in _BOUNDS if said in phrases("bound", kind)]
        found.approximate = found.approximate or "about" in kinds or "loose" in kinds
        found.bound = "<" if "below" in kinds else ">" if "above" in kinds else found.bound
        found.begin(t, start)


_BOUNDS = ("about", "below", "above", "loose")


def per(t: Tokens, found: Found) -> None:
    """Read "each", "a yard", "per metre" after an amount."""
    at, low = found.last, t.low
    if low[at] in ("each", "apiece"):
        found.per = "each" if low[at + 1] != "of" else None
        return
    step = at + (t.raw[at] == "-")
    priced = found.kind == "currency" or (found.unit == "lb" and low[at - 1] == "pounds")
    noun = step + 1 + (t.raw[step + 1] == "-")
    for_one = low[step] in ("per", "/") or (priced and low[step] in ("a", "an", "every"))
    if not for_one or t.kind[noun] != WORD or found.kind == "number":
        return
    found.per = low[noun]
    found.reach(t, noun + 1)
    if found.unit == "lb":
        found.kind, found.unit = "currency", "GBP"
    elif found.kind not in ("currency", "percent"):
        found.kind = "rate"


# --- lengths without a unit -------------------------------------------------------------------------------------------


def _imply_lengths(t: Tokens, quantities: list[Found], length: str) -> None:
    """Take bare numbers for lengths after "score at", and in a list that ends in a length."""
    before: Found | None = None
    for found in quantities:
        goes_on = before is not None and before.unit_implied and before.kind == "length" and _in_list(t, before, found)
        if found.base == "number" and not found.unit and (goes_on or _is_length(t, found)):
            near = before is not None and before.kind in ("length", "size") and found.first - before.last < _WINDOW
            found.unit, found.unit_implied = (before.unit if before and near else length), True
            found.kind = found.kind.replace("number", "length")
        before = found
    for found in quantities:
        if found.kind == "length" and len(found.values) == 1 and _is_side(t, found):
            found.kind, found.values, found.form = "size", found.values * 2, "square"
    for at in range(len(quantities) - 1, 0, -1):
        found, after = quantities[at - 1], quantities[at]
        bare = not found.glued_unit and (found.kind == "number" or (found.unit_implied and found.kind == "length"))
        if after.kind == "length" and bare and _in_list(t, found, after):
            found.unit, found.kind, found.form = after.unit, "length", "list"
            found.unit_implied = after.unit_implied


def _is_length(t: Tokens, found: Found) -> bool:
    """Return whether the words beside a bare number make it a length: "score it at four", "a sixteenth gap"."""
    after = t.low[found.last]
    if after in words("of", "adjectives") or _inwards(t, found.last):
        return True
    if phrase_before(t, found.first, phrases("context", "length_before")) < found.first:
        return True
    if found.form != "fraction" or found.value.denominator not in RULER_PARTS:
        return False
    sized = after in words("context", "length") or after in words("context", "gap")
    return after in words("relative", "smaller") or (sized and found.value.denominator > 4)


def _is_side(t: Tokens, found: Found) -> bool:
    """Return whether a length is the side of a square: "square it up to eight and a half", "draw a four inch box"."""
    before = t.low[max(0, found.first - 5) : found.first]
    if t.low[found.last] in ("box", "boxes"):
        return not words("context", "drawn").isdisjoint(before)
    return before[-1:] in (["to"], ["at"]) and not words("context", "squared").isdisjoint(before)


def _inwards(t: Tokens, at: int) -> bool:
    """Return whether a number is how far in from an edge something lies: "put it ten in from the end"."""
    return t.says(at, "in", "from") and t.low[at + 2] in words("context", "edge_of")


def _in_list(t: Tokens, found: Found, after: Found) -> bool:
    between = t.low[found.last : after.first]
    said_again = between == [","] and found.values == after.values
    listed = tuple(between) in phrases("context", "listing")
    return "clock" not in (found.kind, after.kind) and found.value < 1000 and not said_again and listed
