"""Units that were not said, or mean two things: settled from the catalogue, the talk around, then the settings."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from studio.measures.things import Things, sized
from studio.quantity import units
from studio.quantity.context import WEAK
from studio.quantity.found import Found
from studio.quantity.number_words import RULER_PARTS
from studio.quantity.special import PAIR
from studio.quantity.tokens import WORD
from studio.quantity.words import words
from studio.settings import PublishingChoices

_SHOPPED = {"yd": "in", "ft": "in", "m": "cm"}
"""Units that cloth and ribbon are sold by -> the unit that pieces are cut by."""
_ENOUGH = 3
_INHERITED = frozenset("length mass volume time temperature percent".split())


@dataclass(frozen=True)
class Usage:
    """How the talk and its catalogue speak of lengths and of heat."""

    length: str
    """Unit for a length said without one."""
    clear: bool
    """The talk or the catalogue speak of one system only, or nearly so."""
    heat: str
    heat_clear: bool
    """The talk names its heats in this scale, and in no other."""
    heats: bool = False
    """The talk names heats, in whatever scale."""
    warm: tuple[Fraction, Fraction] = (Fraction(0), Fraction(0))
    """The lowest and the highest heat that is near one told in the usual scale."""
    prices: frozenset[Fraction] = frozenset()
    in_pounds: bool = True
    """Something may be priced in pounds."""

    def sure(self, found: Found, things: Things) -> bool:
        """Return whether an implied unit is beyond doubt."""
        if found.form in ("inherited", "guessed"):
            return found.form == "inherited"
        if found.base == "temperature":
            return self.heat_clear
        usual = self.clear and (found.unit == self.length or not _is_ruled(found))
        return (usual and found.base in ("length", "size")) or sized(found) in things.listed


def usage(found: Sequence[Found], things: Things, publishing: PublishingChoices) -> Usage:
    """Count which units the talk and the catalogue use."""
    catalogue = things.catalogue
    currencies = {product.currency for product in catalogue.products}
    american = publishing.market == "US" or currencies == {"USD"}
    heats = Counter(row.unit for row in found if row.base == "temperature" and not row.ambiguous)
    usual = "F" if american else "C"
    heat = heats.most_common(1)[0][0] if heats else usual
    clear = len(heats) == 1 and (heat == usual or heats[heat] > 1)
    heated = any(row.base == "temperature" for row in found)
    told = [value for row in found if row.base == "temperature" and row.unit in (heat, "degree") for value in row.exact]
    warm = (min(told, default=Fraction(0)) * Fraction(7, 10), max(told, default=Fraction(0)) * Fraction(13, 10))
    prices = frozenset(Fraction(product.price) for product in catalogue.products if product.price is not None)
    return Usage(
        *_length_unit(found, things, publishing),
        heat,
        clear,
        heated,
        warm,
        prices,
        not currencies or "GBP" in currencies,
    )


def _length_unit(found: Sequence[Found], things: Things, publishing: PublishingChoices) -> tuple[str, bool]:
    votes: Counter[str] = Counter()
    for row in found:
        if row.base in ("length", "size") and not row.unit_implied and row.form != "paper":
            votes[_SHOPPED.get(row.unit, row.unit)] += 1 if row.unit in _SHOPPED else 2
    for (_, unit), kind in things.listed.items():
        votes[_SHOPPED.get(unit, unit)] += kind in ("length", "size")
    inches, metric = votes["in"], votes["cm"] + votes["mm"]
    clear = max(inches, metric) >= _ENOUGH * min(inches, metric) and inches + metric >= _ENOUGH
    if inches == metric:
        return publishing.units, False
    if inches > metric:
        return "in", clear
    mixed = max(votes["cm"], votes["mm"]) < 2 * min(votes["cm"], votes["mm"])
    return ("mm" if votes["mm"] > 2 * votes["cm"] else "cm"), clear and not mixed


def settle_units(rows: Sequence[Found], things: Things, usage: Usage) -> None:
    """Give every quantity its unit, in place, where the talk or the catalogue tells it."""
    for place, row in enumerate(rows):
        before = rows[max(0, place - _TOLD_NEAR) : place]
        if not usage.in_pounds and things.said(row)[-1] in ("pound", "pounds") and "GBP" in (row.unit, *row.ambiguous):
            row.unit, row.kind, row.ambiguous, row.per = "lb", "mass", (), None
        if row.unit_implied and row.base in ("size", "length"):
            row.unit = _listed_unit(row, things) or _plausible(row, usage)
        elif row.base in ("length", "volume") and {"mil", "mils"}.intersection(things.said(row)):
            _mil(row, things)
        elif row.ambiguous:
            _open_unit(row, rows[place + 1 : place + 2], things, usage)
        elif row.unit == "cup" and row.value.denominator == 1 and things.tokens.low[row.last] != "of":
            row.kind = "count"
        elif row.base == "mass" and row.unit == "g":
            _paper_grams(row, things)
        elif _is_open(row, things, usage):
            _bare(row, [*before, *rows[place + 1 : place + _SOON]], things, usage)


# --- units that were not said -----------------------------------------------------------------------------------------


def _listed_unit(row: Found, things: Things) -> str:
    """Return the unit of the catalogue size that has these very sides, first of an item named just before."""
    sides = sorted(row.exact)
    near = [one.unit for one in things.told_by_rows(row, 2) if one.kind == "size" and sorted(one.exact) == sides]
    known = {unit for (values, unit), kind in things.listed.items() if kind == "size" and list(values) == sides}
    return near[0] if near else known.pop() if len(known) == 1 and len(sides) > 1 else ""


def _plausible(row: Found, usage: Usage) -> str:
    """Return the usual unit, but inches for parts of a ruler's inch where both are in use."""
    ruled = any(value.denominator in RULER_PARTS and value.denominator > 2 for value in row.exact)
    return "in" if _is_ruled(row) or (ruled and not (usage.clear and usage.length == "cm")) else usage.length


def _is_ruled(row: Found, *, more_than_half: bool = False) -> bool:
    """Return whether a fraction is one that only an inch is divided into, or at least no bare half or quarter."""
    parts = [value for value in row.exact if value.denominator in RULER_PARTS]
    finer = any(value.denominator > _PARTS_OF_ALL for value in parts)
    return finer or (more_than_half and any(value.denominator > 1 and value.numerator > 1 for value in parts))


_PARTS_OF_ALL = 4
"""Halves and quarters are said of a centimetre as well."""


# --- units that mean two things ---------------------------------------------------------------------------------------


def _open_unit(row: Found, after: Sequence[Found], things: Things, usage: Usage) -> None:
    """Settle "pounds", "mil" and "degrees" by what the catalogue and the talk say."""
    if "GBP" in row.ambiguous and row.value in usage.prices:
        row.kind, row.unit, row.ambiguous = "currency", "GBP", ()
    elif row.unit == "fl oz":
        sold = {one.kind for one in things.told_by_rows(row, 2)}
        row.ambiguous = () if "volume" in sold and "mass" not in sold else row.ambiguous
    elif "degree" in row.ambiguous:
        row.unit, row.kind, row.unit_implied = usage.heat, row.kind.replace("angle", "temperature"), True
        row.ambiguous = () if usage.heat_clear else ("C", "F")
    elif "C" in row.ambiguous and after and _said_again(row, after[0]):
        row.unit, row.ambiguous = ("C" if after[0].unit == "F" else "F"), ()
    elif "C" in row.ambiguous:
        hot = min(row.exact) > _HOTTEST_OVEN_C and things.near(row, words("heat", "oven"))
        row.unit, row.unit_implied = "F" if hot else usage.heat, not hot
        row.ambiguous = () if usage.heat_clear or hot else row.ambiguous


def _mil(row: Found, things: Things) -> None:
    """Take "mil" for what a row named beside it, else any row, has of it; else for what the row named is sold by."""
    kinds = {"mm": "length", "ml": "volume"}
    told = [one for one in things.told_by_rows(row, 2) if one.unit in kinds]
    ways = [{one.unit for one in told if one.exact == row.exact}]
    if row.ambiguous or row.form == WEAK:
        ways.append({unit for unit in kinds if (row.exact, unit) in things.listed})
    if row.ambiguous:
        ways.append({one.unit for one in told})
    known = next((way for way in ways if len(way) == 1), set())
    for unit in known:
        row.unit, row.kind, row.ambiguous = unit, kinds[unit] + row.kind[len(row.base) :], ()


_SAME_HEAT = 8


def _said_again(row: Found, other: Found) -> bool:
    """Return whether the next heat is the same in the other scale: "a hundred and eighty, that's 350 Fahrenheit"."""
    if other.base != "temperature" or other.unit not in ("C", "F") or other.ambiguous:
        return False
    mine = "C" if other.unit == "F" else "F"
    return abs(units.to(row.value, mine, other.unit) - other.value) <= _SAME_HEAT


_HOTTEST_OVEN_C = 260
"""A kitchen oven gets no hotter than this in Celsius, so that more is Fahrenheit (common practice, no source)."""


def _paper_grams(row: Found, things: Things) -> None:
    """Take "the 300 gram" for a paper weight where paper is spoken of and the catalogue has that weight."""
    listed = (row.exact, "gsm") in things.listed and (row.exact, "g") not in things.listed
    paper = things.near(row, words("measures", "paper")) and things.text(row).lower().endswith("gram")
    if listed or paper:
        row.unit, row.kind = "gsm", row.kind.replace("mass", "paper_weight")


# --- bare numbers -----------------------------------------------------------------------------------------------------


def _is_open(row: Found, things: Things, usage: Usage) -> bool:
    """Return whether a quantity is a bare number that the words after it do not make a count of."""
    if row.form == PAIR and usage.heats and row.value not in usage.prices:
        return True
    if row.base != "number" or row.unit or not row.exact:
        return False
    t, at = things.tokens, row.last
    if t.low[at] == "of":
        return t.low[at + 1] not in words("measures", "of_whom")
    return (
        t.raw[at] != "-"
        and t.kind[at] not in "nv"
        and (t.kind[at] != WORD or t.low[at] in words("measures", "no_noun"))
    )


def _bare(row: Found, near: Sequence[Found], things: Things, usage: Usage) -> None:
    """Make a measure of a bare number: a heat, a size of the item named, or a value of the kind before it."""
    heat = _heated(row, things, usage) and not (row.form == "fraction" or _is_ruled(row))
    if row.form == PAIR or heat:
        if heat:
            row.values = tuple(value * 100 for value in row.exact) if row.form == PAIR else row.values
            row.unit, row.kind, row.unit_implied = usage.heat, "temperature" + row.kind[len(row.base) :], True
            row.ambiguous, row.form = (), "guessed"
        return
    if row.value in usage.prices and row.value.denominator > 1:
        return
    size = _listed_size(row, things)
    said = [one for one in near if one.kind != "number" or one.unit]
    told = next((one for one in reversed(said) if one.start < row.start), None)
    how = _goes_on(told, row, things) if told is not None and told.base in _INHERITED else ""
    again = None if how else _said_before(row, said, things)
    if size is not None:
        row.values, row.unit, row.kind, row.unit_implied = size.exact, size.unit, "size", True
    elif again is not None or (told is not None and how):
        one = again or told
        assert one is not None
        row.unit, row.kind, row.unit_implied = one.unit, one.base + row.kind[len(row.base) :], True
        row.form = how or "guessed"
    elif usage.length == "in" and _is_ruled(row, more_than_half=True):
        row.unit, row.kind, row.unit_implied = "in", "length", True


def _said_before(row: Found, near: Sequence[Found], things: Things) -> Found | None:
    """Return the amount near, of one unit, that has the very number: "three. Three litres, then"."""
    same = [
        one
        for one in near
        if one.base in _INHERITED
        and not one.unit_implied
        and row.exact[0] in one.exact
        and -2 <= things.apart(one, row) <= 3
    ]
    alike = len({one.unit for one in same}) == 1 and len(row.exact) == 1
    return same[0] if alike and things.before(row) not in words("measures", "no_amount_after") else None


_TOLD_NEAR, _SOON = 20, 12


def _listed_size(row: Found, things: Things) -> Found | None:
    """Return the catalogue size that a bare number names: "the inner is a forty-five"."""
    if things.before(row) not in ("a", "the", "is", "are", "it's", "that's") or len(row.exact) > 1:
        return None
    sizes = [one for one in things.told_by_rows(row, 0) if one.kind == "size" and set(one.exact) == {row.value}]
    return sizes[0] if sizes else None


def _heated(row: Found, things: Things, usage: Usage) -> bool:
    """Return whether a number is a heat: "cool it to sixty", "top temp is 1100", "gas six, or 200"."""
    value = min(row.exact) * (100 if row.form == PAIR else 1)
    before = things.sentence(row)
    before = before[: before.index(things.tokens.low[row.first])] if things.tokens.low[row.first] in before else before
    reached = things.before(row) in words("measures", "reaching")
    if reached and not words("heat", "heated").isdisjoint(before[-7:]):
        return True
    if not words("measures", "temperature").isdisjoint(word.removesuffix("'s") for word in before[-2:]):
        return True
    if usage.warm[0] <= value <= usage.warm[1] and things.before(row) in words("measures", "at_heat"):
        return True
    oven = _COOLEST_OVEN <= value <= _HOTTEST and value % 5 == 0
    return oven and not words("heat", "oven").isdisjoint(things.sentence(row))


_COOLEST_OVEN, _HOTTEST = 100, 550


def _goes_on(told: Found, row: Found, things: Things) -> str:
    """Return how a bare number tells another value of the kind before it: `inherited`, `guessed`, or nothing."""
    t, at, before = things.tokens, row.last, things.before(row)
    apart, clause = things.apart(told, row), _clause_begins(row, things)
    ends = (t.kind[at] != WORD and t.low[at] not in ("/", "%", ":")) or t.low[at] == "'s"
    ratio = row.value / told.exact[0] if told.exact and told.exact[0] else Fraction(0)
    if apart > 3 or _is_ruled(row) or (apart and not _NEAR[0] <= ratio <= _NEAR[1]):
        return ""
    if apart == 0 and ((clause and t.low[at] in words("measures", "shared_with")) or (ends and row.bound)):
        return "inherited"
    if apart == 0 and ends and before in words("measures", "least"):
        return "inherited"
    alike = _ALIKE[0] <= ratio <= _ALIKE[1]
    noun = t.kind[row.first - 1] == WORD and before not in words("measures", "no_noun")
    states = before in words("measures", "states")
    ways = (
        apart == 0 and ends and (clause or before in ("is", "are", "and")),
        apart == 0 and ends and alike and noun and not t.starts_number(row.first - 1),
        apart < 3 and ends and t.raw[at] in ".?!" and (clause or states),
        apart < 2 and ends and before in words("measures", "sets"),
        apart < 2 and alike and (clause or states) and t.low[at] in words("measures", "goes_on_with"),
        apart < 3 and t.low[at] == "of",
        row.value.denominator > 1 and row.form != "fraction",
    )
    return "guessed" if any(ways) else ""


_NEAR = (Fraction(1, 10), Fraction(10))
_ALIKE = (Fraction(1, 3), Fraction(3))


def _clause_begins(row: Found, things: Things) -> bool:
    """Return whether a number begins a clause, but for words like "about"."""
    back = 1
    while things.before(row, back) in words("measures", "light"):
        back += 1
    return things.before(row, back) in ("", ",", ";", "–", "—")
