"""What the catalogue rows of the items named beside a quantity tell of it: its unit, its size, that it is a price."""

import re
from collections.abc import Iterable
from fractions import Fraction

from studio.measures.things import Things
from studio.model import Product
from studio.quantity import units
from studio.quantity.context import WEAK
from studio.quantity.found import Found
from studio.quantity.reader import read
from studio.quantity.units import unit

Amounts = frozenset[tuple[Fraction, str]]
"""Single amounts in the catalogue with their units."""
_MIL = re.compile(r"\bmil+s?\b", re.IGNORECASE)
_PRICE = re.compile(r"\d+\.\d\d$")
_SINGLE = frozenset(["length", "mass", "volume"])
_RANGE_OF_ROWS = 2
"""So many sentences back an item may be named for its row to speak of a quantity."""
_AMERICAN = frozenset(["A1", "A2", "A6", "A7", "A8"])
"""Names that American envelopes and note cards share with ISO sheets of other sizes (common practice, no source)."""
_SAME_SIDE = Fraction(1, 20)


def told_by_row(row: Found, things: Things, listed: Amounts, *, american: bool) -> bool:
    """Settle a quantity in place by the rows of the items named beside it; return whether nothing is left to do.

    Args:
        row: the quantity.
        things: finds the rows.
        listed: the amounts of the whole catalogue.
        american: sheets may be named by American sizes.
    """
    if row.form == "paper":
        _sheet(row, things, american=american)
        return True
    if row.kind in ("length", "volume") and len(row.exact) == 1 and _MIL.search(things.text(row)):
        return _mil(row, things, listed)
    return False


def _amounts(products: Iterable[Product]) -> list[Found]:
    return [found for product in products for text in (product.size, product.contents) for found in read(text)]


def _mil(row: Found, things: Things, listed: Amounts) -> bool:
    """Take "mil" for millilitres or millimetres where one row named beside it has that amount and no other has."""
    for reach in range(_RANGE_OF_ROWS + 1):
        amounts = _amounts(things.rows(row, reach))
        known = {
            found.kind
            for found in amounts
            if found.kind in ("length", "volume") and found.value * unit(found.unit).size == row.value
        }
        if len(known) == 1:
            row.kind = known.pop()
            row.unit, row.ambiguous = ("ml" if row.kind == "volume" else "mm"), ()
            return True
    if row.form == WEAK and len(units_of := [name for name in ("mm", "ml") if (row.value, name) in listed]) == 1:
        row.unit, row.ambiguous = units_of[0], ()
        row.kind = "volume" if row.unit == "ml" else "length"
        return True
    return bool(row.ambiguous) and _sold_by(row, things)


def sold_by(row: Found, things: Things) -> set[str]:
    """Return the kinds of amounts that the sizes and contents of the rows named beside a quantity state."""
    return {found.kind for found in _amounts(things.rows(row, _RANGE_OF_ROWS))}


def _sold_by(row: Found, things: Things) -> bool:
    """Take an open "mil" for what the item named last is sold by, a volume or a length."""
    for product in things.rows(row, _RANGE_OF_ROWS):
        kinds = {found.kind for found in read(product.size)} & {"length", "volume", "size"}
        if kinds in ({"volume"}, {"length"}):
            row.kind = kinds.pop()
            row.unit, row.ambiguous, row.unit_implied = ("ml" if row.kind == "volume" else "mm"), (), True
            row.form = "catalogue"
            return True
    return False


def _sheet(row: Found, things: Things, *, american: bool) -> None:
    """Take the sides of a sheet from the row that bears its name; ask where an American size may be meant."""
    name = things.text(row).split()[-1].upper()
    for product in things.rows(row, _RANGE_OF_ROWS):
        if name not in product.name.upper().split():
            continue
        size = next((found for found in read(product.size) if found.kind == "size" and found.form != "paper"), None)
        if size is not None:
            if not _same_sides(row, size):
                row.values, row.unit, row.form, row.unit_implied = size.exact, size.unit, "catalogue", True
            return
        american = False
    if american and name in _AMERICAN:
        row.ambiguous = ("mm", "in")


def _same_sides(row: Found, size: Found) -> bool:
    if len(row.exact) != len(size.exact):
        return False
    here = sorted(units.to(side, row.unit, "mm") for side in row.exact)
    there = sorted(units.to(side, size.unit, "mm") for side in size.exact)
    return all(abs(one - other) <= _SAME_SIDE * one for one, other in zip(here, there, strict=True))


def is_price(row: Found, things: Things, prices: frozenset[Fraction]) -> bool:
    """Return whether a bare number, no whole one, is the price of the item beside it, or any price in figures."""
    if len(row.exact) != 1 or row.value.denominator == 1:
        return False
    written = bool(_PRICE.search(things.text(row))) and row.value in prices
    named = (product.price for product in things.rows(row, _RANGE_OF_ROWS) if product.price is not None)
    return written or row.value in map(Fraction, named)


def bare_amount(row: Found, things: Things) -> Found | None:
    """Return the amount that a bare number names of the item beside it: "the roller buckle, the thirty"."""
    if len(row.exact) != 1 or not things.names_amount(row):
        return None
    for reach in (0, 1):
        products = things.rows(row, reach)
        if any(product.price is not None and Fraction(product.price) == row.value for product in products):
            return None
        known = {
            (found.unit, found.kind): found
            for product in products
            for found in read(product.size)
            if found.kind in _SINGLE and found.exact == row.exact
        }
        if len(known) == 1:
            return next(iter(known.values()))
    return None


def part_of(row: Found, things: Things) -> str:
    """Return the unit of the pack that a part is taken of: "one point five of that" beside a bag of 5 kg; else none."""
    if len(row.exact) != 1 or row.value.denominator == 1 or not things.takes_of(row):
        return ""
    sold = {
        found.unit
        for product in things.rows(row, 1)
        for found in read(product.size)
        if found.kind in ("mass", "volume") and found.value > row.value
    }
    return sold.pop() if len(sold) == 1 else ""
