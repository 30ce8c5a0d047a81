"""Units that were not said, or mean two things: settled from the catalogue, the talk around, then the settings."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from studio.measures.rows import bare_amount, is_price, part_of, sold_by, told_by_row
from studio.measures.things import Things, is_open_number
from studio.model import Catalogue
from studio.quantity.found import Found
from studio.quantity.reader import read
from studio.quantity.units import to, unit
from studio.settings import PublishingChoices

_INCHES = frozenset(["in", "ft", "yd"])
_METRIC = frozenset(["mm", "cm", "m"])
_SHOPPED = {"yd": "in", "ft": "in", "m": "cm"}
"""Units that cloth and ribbon are sold by -> the unit that pieces are cut by."""
_ENOUGH = 3
_INHERITED = frozenset(["length", "mass", "volume", "time", "temperature"])
_RULER_PARTS = frozenset([2, 4, 8, 16, 32, 64])


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
    sizes: dict[tuple[Fraction, ...], str] = field(default_factory=dict)
    """Sizes in the catalogue, sides in rising order -> their unit."""
    amounts: frozenset[tuple[Fraction, str]] = frozenset()
    """Single amounts in the catalogue with their units."""
    prices: frozenset[Fraction] = frozenset()
    american: bool = False
    """The readers are in the United States, or every price is in US dollars."""

    def sure(self, found: Found) -> bool:
        """Return whether an implied unit is beyond doubt."""
        if found.form == "inherited" or found.form == "catalogue":
            return True
        if found.kind.startswith("temperature"):
            return self.heat_clear
        usual = self.clear and (found.unit == self.length or not _is_ruled(found))
        return usual or self.sizes.get(tuple(sorted(found.exact))) == found.unit


def usage(
    found: Sequence[Found], mentioned: frozenset[str], catalogue: Catalogue, publishing: PublishingChoices
) -> Usage:
    """Count which units the talk and the catalogue use; `mentioned` holds the codes of the items named."""
    rows, contents = _catalogue_amounts(catalogue, mentioned)
    length, clear = _length_unit(found, rows, publishing)
    heat, heat_clear = _heat_unit(found, catalogue, publishing)
    priced = frozenset(Fraction(product.price) for product in catalogue.products if product.price is not None)
    sizes = {tuple(sorted(row.exact)): row.unit for row in rows if row.kind == "size" and not row.unit_implied}
    amounts = frozenset((row.value, row.unit) for row in [*rows, *contents] if row.glued_unit and row.exact)
    heats = any(row.kind.startswith("temperature") for row in found)
    return Usage(length, clear, heat, heat_clear, heats, sizes, amounts, priced, _is_american(catalogue, publishing))


def _catalogue_amounts(catalogue: Catalogue, mentioned: frozenset[str]) -> tuple[list[Found], list[Found]]:
    """Read sizes and contents of the items named and of the first rows; each text once."""
    products = [product for product in catalogue.products if product.code in mentioned]
    products += catalogue.products[:_ROWS_READ]
    sizes = dict.fromkeys(product.size[:_LONGEST] for product in products)
    contents = dict.fromkeys(product.contents[:_LONGEST] for product in products)
    return [row for text in sizes for row in read(text)], [row for text in contents for row in read(text)]


_ROWS_READ = 2000
"""So many rows of a large catalogue tell which units it uses."""
_LONGEST = 200


def _length_unit(found: Sequence[Found], rows: Sequence[Found], publishing: PublishingChoices) -> tuple[str, bool]:
    votes: Counter[str] = Counter()
    for row, weight in [*((row, 2) for row in found), *((row, 1) for row in rows)]:
        if row.kind.startswith(("length", "size")) and not row.unit_implied and row.form != "paper":
            unit = _SHOPPED.get(row.unit, row.unit)
            votes[unit] += weight if unit == row.unit else 1
    inches = votes["in"]
    metric = votes["cm"] + votes["mm"]
    if inches + metric == 0:
        return publishing.units, False
    clear = max(inches, metric) >= _ENOUGH * min(inches, metric) and inches + metric >= _ENOUGH
    if metric > inches and max(votes["cm"], votes["mm"]) < 2 * min(votes["cm"], votes["mm"]):
        clear = False
    if inches == metric:
        return publishing.units, False
    if inches > metric:
        return "in", clear
    return ("mm" if votes["mm"] > 2 * votes["cm"] else "cm"), clear


def _heat_unit(found: Sequence[Found], catalogue: Catalogue, publishing: PublishingChoices) -> tuple[str, bool]:
    votes = Counter(row.unit for row in found if row.kind.startswith("temperature") and not row.ambiguous)
    usual = "F" if _is_american(catalogue, publishing) else "C"
    if not votes:
        return usual, False
    unit = votes.most_common(1)[0][0]
    return (unit if unit in ("C", "F") else usual), len(votes) == 1 and (unit == usual or votes[unit] > 1)


def _is_american(catalogue: Catalogue, publishing: PublishingChoices) -> bool:
    return publishing.market == "US" or {product.currency for product in catalogue.products} == {"USD"}


def settle_units(found: Sequence[Found], things: Things, usage: Usage) -> list[Found]:
    """Give every quantity its unit, in place, where the talk or the catalogue tells it; return them all."""
    rows = list(found)
    for place, row in enumerate(rows):
        if told_by_row(row, things, usage.amounts, american=usage.american):
            continue
        if row.unit_implied and row.kind.startswith(("size", "length")):
            _implied(row, things, usage)
        elif row.ambiguous:
            _open_unit(row, rows[place + 1 : place + 2], things, usage)
        elif (
            row.unit == "cup" and row.value.denominator == 1 and " of " not in things.whole.text[row.end : row.end + 5]
        ):
            row.kind, row.unit = "count", "cup"
        elif row.kind in ("mass", "mass_range") and row.unit == "g":
            _paper_grams(row, things, usage)
        elif is_open_number(things.whole, row):
            _bare(rows, place, things, usage)
    return rows


def _implied(row: Found, things: Things, usage: Usage) -> None:
    listed = usage.sizes.get(tuple(sorted(row.exact)))
    row.unit = things.listed_unit(row) or listed or _plausible(row, usage)


def _plausible(row: Found, usage: Usage) -> str:
    """Return the usual unit, but inches for parts of a ruler's inch where both are in use."""
    ruled = any(value.denominator in _RULER_PARTS and value.denominator > 2 for value in row.exact)
    return "in" if _is_ruled(row) or (ruled and not usage.clear) else usage.length


def _is_ruled(row: Found) -> bool:
    """Return whether a fraction is one that only an inch is divided into."""
    return any(value.denominator in _RULER_PARTS and value.denominator > _PARTS_OF_ALL for value in row.exact)


_PARTS_OF_ALL = 4
"""Halves and quarters are said of a centimetre as well."""


def _open_unit(row: Found, after: Sequence[Found], things: Things, usage: Usage) -> None:
    """Settle "pounds", "mil" and "degrees" by what the catalogue and the talk say."""
    if "GBP" in row.ambiguous and row.value in usage.prices:
        row.kind, row.unit, row.ambiguous = "currency", "GBP", ()
    elif row.unit == "fl oz":
        _poured(row, things)
    elif "mm" in row.ambiguous:
        listed = [unit for unit in row.ambiguous if (row.value, unit) in usage.amounts]
        if len(listed) == 1:
            row.unit, row.ambiguous = listed[0], ()
            row.kind = "volume" if row.unit == "ml" else "length"
    elif "C" in row.ambiguous and things.names_it(row):
        row.kind, row.ambiguous = "name_number", ()
    elif "degree" in row.ambiguous:
        _degrees(row, things, usage)
    elif "C" in row.ambiguous and after and _said_again(row, after[0]):
        row.unit, row.ambiguous = ("C" if after[0].unit == "F" else "F"), ()
    elif "C" in row.ambiguous:
        hot = min(row.exact) > _HOTTEST_OVEN_C and things.near(row, _OVEN)
        row.unit, row.unit_implied = "F" if hot else usage.heat, not hot
        row.ambiguous = () if usage.heat_clear or hot else row.ambiguous


def _poured(row: Found, things: Things) -> None:
    """Take ounces of a liquid for a volume where a row named beside it is sold by volume and by no weight."""
    kinds = sold_by(row, things)
    if "volume" in kinds and "mass" not in kinds:
        row.ambiguous = ()


def _degrees(row: Found, things: Things, usage: Usage) -> None:
    """Take degrees for a heat where the talk names heats or no angle is so wide, else for an angle, a usual one."""
    if usage.heat_clear or (usage.heats and things.reached(row)) or row.value not in _ANGLES:
        row.unit, row.kind, row.unit_implied = usage.heat, row.kind.replace("angle", "temperature"), True
        row.ambiguous = () if usage.heat_clear else ("C", "F")
    elif row.value in _ANGLES:
        row.ambiguous = ()


_ANGLES = frozenset(map(Fraction, (15, 30, 45, 60, 75, 90, 120, 135, 180, 270, 360)))
"""Angles that are set on a saw, a mitre box or a protractor (common practice, no source)."""
_SAME_HEAT = 8


def _said_again(row: Found, other: Found) -> bool:
    """Return whether the next heat is the same in the other scale: "a hundred and eighty, that's 350 Fahrenheit"."""
    if not other.kind.startswith("temperature") or other.unit not in ("C", "F") or other.ambiguous:
        return False
    mine = "C" if other.unit == "F" else "F"
    return abs(to(row.value, mine, other.unit) - other.value) <= _SAME_HEAT


_HOTTEST_OVEN_C = 260
"""A kitchen oven gets no hotter than this in Celsius, so that more is Fahrenheit (common practice, no source)."""
_OVEN = frozenset("oven bake bakes baked baking preheat roast".split())


def _paper_grams(row: Found, things: Things, usage: Usage) -> None:
    """Take "the 300 gram" for a paper weight where paper is spoken of and the catalogue has that weight."""
    listed = (row.value, "gsm") in usage.amounts
    weighed = (row.value, "g") in usage.amounts
    if (listed and not weighed) or (things.near(row, _PAPER_WORDS) and things.text(row).lower().endswith("gram")):
        row.unit, row.kind = "gsm", row.kind.replace("mass", "paper_weight")


_PAPER_WORDS = frozenset("paper papers sheet sheets card cardstock watercolour watercolor vellum cartridge".split())


def _bare(rows: Sequence[Found], place: int, things: Things, usage: Usage) -> None:
    """Make a measure of a bare number: a size of the item named with it, or another value of the kind before it."""
    row = rows[place]
    size = things.listed_size(row)
    if size is not None:
        row.values, row.unit, row.kind, row.form, row.unit_implied = size.exact, size.unit, "size", "catalogue", True
        return
    if is_price(row, things, usage.prices):
        return
    before = _inherits_from(rows[:place], row, things)
    named = bare_amount(row, things) if before is None else None
    if named is not None:
        row.unit, row.kind, row.form, row.unit_implied = named.unit, named.kind, "catalogue", True
    elif before is not None:
        row.unit, row.unit_implied, row.form = before.unit, True, "inherited"
        row.kind = (
            before.kind.removesuffix("_range")
            if len(row.values) == 1
            else f"{before.kind.removesuffix('_range')}_range"
        )
    elif part := part_of(row, things):
        row.unit, row.kind, row.unit_implied = part, unit(part).dimension, True
        row.ambiguous = (part,)
    elif things.heated(row):
        row.unit, row.kind, row.unit_implied = usage.heat, row.kind.replace("number", "temperature"), True
    elif (
        len(row.values) == 1
        and row.value.denominator in _RULER_PARTS
        and row.value.denominator > 1
        and usage.length == "in"
    ):
        row.unit, row.kind, row.unit_implied = "in", "length", True


def _inherits_from(rows: Sequence[Found], row: Found, things: Things) -> Found | None:
    """Return the measure whose unit a bare number goes on with, without another unit between."""
    told = [other for other in rows[-_TOLD_NEAR:] if other.kind != "number"]
    if not told or told[-1].kind.removesuffix("_range") not in _INHERITED:
        return None
    if not things.same_breath(told[-1], row):
        return told[-1] if things.carried(told[-1], row) else None
    return told[-1] if things.goes_on(row) else None


_TOLD_NEAR = 20
