"""How each line of the cutting list is cut from the sheet that the catalogue sells, how many sheets, and what it costs.

A line gets a plan only where its material is one row of the catalogue, that is not asked about, with one size of two
sides in a unit. Where the row does not say how many sheets are in a pack, nothing is told of the cost.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache
from math import ceil

from studio import quantity, rule_files, stated, text
from studio.cutting import drawing, guillotine
from studio.cutting.costs import Cost, Material, cost
from studio.cutting.guillotine import Layout, Size
from studio.model import Catalogue, Cut, Document, Product
from studio.quantity import Found, show, to
from studio.settings import Settings
from studio.settled import settled
from studio.writing import printed
from studio.writing.facts import SheetRow

_LENGTHS = frozenset({"in", "ft", "yd", "mm", "cm", "m"})
_ALIKE = Fraction(1, 50)
"""A size written in two units is one size where the two agree this closely: 12 x 12 in is sold as 30 x 30 cm too."""
_MOST_PIECES = 500
"""More pieces than these from one sheet are a size that was misheard, or nothing to be cut by hand."""
_MOST_CUTS = 24
"""More cuts than these are told by the drawing alone."""


@dataclass(frozen=True)
class SheetPlan:
    """One line of the cutting list on its sheet; the layouts are in the unit of the line."""

    cut: Cut
    product: Product
    sheet: str
    """Size of the sheet, as it is printed."""
    simple: Layout
    best: Layout

    @property
    def sheets(self) -> int:
        """How many sheets give the pieces of the line."""
        return guillotine.sheets_for(self.cut.quantity, self.best.count)

    @property
    def in_pack(self) -> int | None:
        """How many sheets a pack holds, where the row says one number."""
        numbers = {one.number for one in _packed(self.product) if one.number > 0}
        return self.product.pack_quantity or (numbers.pop() if len(numbers) == 1 else None)

    @property
    def noun(self) -> str:
        """What the row calls one of them: "sheet", "piece", "square"."""
        return next((one.noun for one in _packed(self.product) if one.noun), "sheet")


def _packed(product: Product) -> list[stated.Count]:
    """Return what the row counts of flat things: "12 sheets", "pack of 30"."""
    return [
        one
        for one in stated.stated(product).counts
        if not one.noun or rule_files.finds(one.noun, "paper.toml", "words", "sheet")
    ]


def plans(document: Document, catalogue: Catalogue, settings: Settings) -> list[SheetPlan | None]:
    """Return a plan for each settled line of the cutting list, None where it has none."""
    cuts = settled(document).cuts
    if not cuts:
        return []
    asked = {row.code for row in document.supplies if row.state == "ask"}
    rows: dict[str, list[Product]] = {}
    for product in catalogue.products:
        rows.setdefault(product.name.casefold(), []).append(product)
    return [_of_row(cut, rows.get(cut.material.casefold(), []), asked, settings) for cut in cuts]


def _of_row(cut: Cut, rows: list[Product], asked: set[str | None], settings: Settings) -> SheetPlan | None:
    if len(rows) != 1 or rows[0].code in asked:
        return None
    return plan(cut, rows[0], Fraction(settings.cost.kerf_in))


@lru_cache(maxsize=256)
def plan(cut: Cut, product: Product, kerf_in: Fraction) -> SheetPlan | None:
    """Return how a piece is cut from a product.

    Args:
        cut: the piece.
        product: what it is cut from.
        kerf_in: width that a cut takes away, in inches.

    Returns:
        None where the row has no sure size of two sides, or the piece does not fit on it or is far too small.
    """
    found = sheet(product)
    if found is None or cut.unit not in _LENGTHS or min(cut.width, cut.height) <= 0:
        return None
    sides = _in_unit(found, cut.unit)
    piece = (cut.width, cut.height)
    if sides[0] * sides[1] > _MOST_PIECES * piece[0] * piece[1]:
        return None
    kerf = to(kerf_in, "in", cut.unit)
    best = guillotine.best(sides, piece, kerf)
    if not best.count:
        return None
    size = show(found.exact, found.unit, "size")
    return SheetPlan(cut, product, size, guillotine.grid_layout(sides, piece, kerf), best)


def sheet(product: Product) -> Found | None:
    """Return the one size of two sides that the row's size column states with its unit, or None."""
    sizes = [found for found in quantity.read(product.size) if _is_sheet(found)]
    sides = [sorted(_in_unit(found, "mm")) for found in sizes]
    agree = all(abs(one - two) <= _ALIKE * one for other in sides for one, two in zip(sides[0], other, strict=True))
    return sizes[0] if sizes and agree else None


def _is_sheet(found: Found) -> bool:
    return (
        found.kind == "size"
        and found.unit in _LENGTHS
        and len(found.exact) == 2
        and min(found.exact) > 0
        and not (found.unit_implied or found.ambiguous or found.approximate)
    )


def _in_unit(found: Found, unit: str) -> Size:
    one, two = (to(side, found.unit, unit) for side in found.exact)
    return one, two


def material_cost(one: SheetPlan, on: date) -> Cost | None:
    """Return what the pieces of a line cost on a day, or None where price or pack are not known or it is not sold."""
    product = one.product
    over = product.available_until is not None and product.available_until < on
    if product.price is None or not product.currency or one.in_pack is None or over:
        return None
    material = Material(product.price, one.in_pack, one.best.count)
    return cost([material], one.cut.quantity, quantity.money_places(product.currency))


# --- in words --------------------------------------------------------------------------------------------------------


def sheet_rows(document: Document, catalogue: Catalogue, settings: Settings) -> tuple[SheetRow, ...]:
    """Return the plans as text for the written pieces, each with the name of its drawing."""
    on = printed.publishing_day(document, settings)
    found = plans(document, catalogue, settings)
    return tuple(
        _sheet_row(file, one, _cost_words(one, on, settings))
        for file, one in zip(names(found), (one for one in found if one), strict=True)
    )


def _sheet_row(file: str, one: SheetPlan, costs: str) -> SheetRow:
    size = show((one.cut.width, one.cut.height), one.cut.unit, "size")
    material = text.one_line(one.product.name)
    steps = drawing.steps(one.best, one.cut.unit)
    many = len(steps) > _MOST_CUTS
    data = {"piece": size, "sheet": one.sheet, "simple": one.simple.count, "best": one.best.count}
    left = round(float(one.best.waste) * 100)
    return SheetRow(
        file=file,
        title=f"{material}, {size}",
        alt=text.shortened(_said("alt", material=material, **data), 125),
        yield_=_said(_yield(one), noun=one.noun, left=left, **data),
        sheets=_said("sheets", pieces=one.cut.quantity, sheets=show((Fraction(one.sheets),), one.noun)),
        steps=() if many else tuple(step[:1].upper() + step[1:] for step in steps),
        note=_said("many_cuts", cuts=len(steps)) if many else "",
        cost=costs,
    )


def _yield(one: SheetPlan) -> str:
    if one.best.count > one.simple.count:
        return "mixed"
    return "grid" if one.best.waste else "whole"


def _cost_words(one: SheetPlan, on: date, settings: Settings) -> str:
    found = material_cost(one, on)
    if found is None or one.in_pack is None:
        return ""
    pieces, packs = one.cut.quantity, ceil(Fraction(one.sheets, one.in_pack))
    used, each, outlay = (
        printed.money(amount, one.product.currency, settings.publishing.locale)
        for amount in (found.used, found.each, found.outlay)
    )
    bought = "single" if one.in_pack == 1 else "pack" if packs == 1 else "packs"
    return " ".join(
        (
            _said("used_one" if pieces == 1 else "used", used=used, each=each, pieces=pieces),
            _said(bought, packs=packs, in_pack=one.in_pack, outlay=outlay),
        )
    )


def _said(name: str, **data: object) -> str:
    return printed.added(name, "cutting", **data)


# --- the drawings ----------------------------------------------------------------------------------------------------


def names(found: Iterable[SheetPlan | None]) -> list[str]:
    """Return a file name for the drawing of each plan, in order, no two alike."""
    made: list[str] = []
    for number, one in enumerate(found, 1):
        if one:
            made.append(f"layouts/{number}-{text.slug(one.product.name, 'sheet')}.svg")
    return made


def sheet_drawings(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str | bytes]:
    """Return the drawing of each plan as SVG, by file name."""
    found = plans(document, catalogue, settings)
    drawn = [
        drawing.drawing(one.best, one.cut.unit, f"{text.one_line(one.product.name)}, {one.sheet}")
        for one in found
        if one
    ]
    return dict(zip(names(found), drawn, strict=True))
