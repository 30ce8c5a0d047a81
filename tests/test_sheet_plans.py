"""The lines of the cutting list on the sheets of the catalogue: how many, how they are cut, what they cost."""

import xml.etree.ElementTree as ET
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
import small_document
from counted import calls

from studio.cutting.costs import Cost
from studio.model import Catalogue, Cut, Document, Product
from studio.settings import CostChoices, Settings
from studio.writing import sheet_plans
from studio.writing.facts import SheetRow

CARD = Product(
    code="HC-1",
    name="Heavy Card",
    kind="card",
    price=Decimal("11.00"),
    currency="GBP",
    contents="12 sheets",
    size="12 x 12 in, 300 gsm",
)
ON = date(2026, 3, 5)


def cut(width: object, height: object, quantity: int = 20, unit: str = "in") -> Cut:
    """Return a line of the cutting list."""
    sides = (Fraction(str(width)), Fraction(str(height)))
    return Cut(material="Heavy Card", width=sides[0], height=sides[1], unit=unit, quantity=quantity)


def planned(product: Product = CARD, line: Cut | None = None, kerf: str = "0") -> sheet_plans.SheetPlan | None:
    """Return the plan of a line on a product, twenty pieces of 4 x 6 in where none is given."""
    return sheet_plans.plan(line or cut(4, 6), product, Fraction(kerf))


def changed(**changes: Any) -> Product:
    """Return the card with some columns changed."""
    return CARD.but(**changes)  # type: ignore[no-any-return]


def folio(*cuts: Cut, product: Product = CARD, **changes: Any) -> tuple[Document, Catalogue]:
    """Return the small document with these lines, and its catalogue with the card in it."""
    document = small_document.document().but(cuts=cuts, **changes)
    catalogue = small_document.catalogue()
    return document, catalogue.but(products=(product, *catalogue.products[1:]))


def shown(*cuts: Cut, product: Product = CARD, settings: Settings | None = None) -> tuple[SheetRow, ...]:
    """Return the plans in words."""
    return sheet_plans.sheet_rows(*folio(*cuts, product=product), settings or small_document.settings())


@pytest.mark.parametrize(
    ("size", "line", "simple", "best", "sheets"),
    [
        ("12 x 12 in", cut(4, 6), 6, 6, 4),
        ("12 x 12 in", cut("5/2", "7/2", 15), 12, 14, 2),
        ("12 x 12 in", cut(5, 7, 3), 2, 3, 1),
        ("8.5 x 11 in", cut(4, 6, 4), 2, 3, 2),
        ("A4", cut(100, 150, 3, "mm"), 2, 3, 1),
        ("30 x 60 cm", cut(100, 150, 3, "mm"), 12, 12, 1),
    ],
)
def test_pieces_from_the_sheet_of_the_row(size: str, line: Cut, simple: int, best: int, sheets: int) -> None:
    """Y10, Y19, Y17, Y6 and Y24 of the check values, through the row's size column; sheets rounded up (Y27)."""
    found = planned(changed(size=size), line)
    assert found is not None
    assert (found.simple.count, found.best.count, found.sheets) == (simple, best, sheets)


@pytest.mark.parametrize(
    "size",
    [
        "", "44 in wide", "one size", "300 gsm", "100 x 70 x 2 mm", "5 x 7", "12 x 12 in or 6 x 6 in", "3 x 5 in",
        "about 12 x 12 in",
    ],
)  # fmt: skip
def test_no_sure_sheet_no_layout(size: str) -> None:
    """No size, one side, three sides, no unit, two sizes, an approximate or a too small one: nothing is made up."""
    assert planned(changed(size=size)) is None


def test_a_far_too_small_piece_has_no_layout() -> None:
    """A million pieces from a sheet are a size misheard: no layout, and no more work than for one that is drawn."""
    assert planned(line=cut("1/100", "1/100")) is None
    assert planned(line=cut("7/100", 11)) is not None
    assert calls(lambda: planned(line=cut("1/100", "1/100"))) <= calls(lambda: planned(line=cut("7/100", 11)))


def test_one_size_in_two_units_is_one_size() -> None:
    """12 x 12 in sold as 30.5 x 30.5 cm too gives six pieces of 4 x 6 in; the first size counts."""
    found = planned(changed(size="12 x 12 in (30.5 x 30.5 cm)"))
    assert found is not None
    assert (found.best.count, found.sheet) == (6, "12 x 12 in")


def test_the_kerf_of_the_settings_is_taken_away() -> None:
    """Y25: with an eighth of an inch a Letter sheet gives two cards of 4 1/4 x 5 1/2 in and not four."""
    settings = small_document.settings().model_copy(update={"cost": CostChoices(kerf_in=Decimal("0.125"))})
    product = changed(size="8.5 x 11 in")
    line = cut("17/4", "11/2", 4)
    counts = []
    for choice in (small_document.settings(), settings):
        found = sheet_plans.plans(*folio(line, product=product), choice)[0]
        assert found is not None
        counts.append((found.best.count, found.sheets))
    assert counts == [(4, 1), (2, 2)]
    with pytest.raises(ValueError, match="greater than or equal to 0"):
        CostChoices(kerf_in=Decimal(-1))


def test_an_item_that_is_asked_about_has_no_layout() -> None:
    """Where the row is to be decided, or two rows have the name of the material, no sheet is taken."""
    document, catalogue = folio(cut(4, 6))
    rows = tuple(row.but(state="ask") for row in document.supplies)
    assert sheet_plans.plans(document, catalogue, Settings())[0] is not None
    assert sheet_plans.plans(document.but(supplies=rows), catalogue, Settings()) == [None]
    twice = catalogue.but(products=(*catalogue.products, changed(code="HC-2")))
    assert sheet_plans.plans(document, twice, Settings()) == [None]
    assert sheet_plans.plans(document.but(cuts=(cut(4, 6).but(material="card"),)), catalogue, Settings()) == [None]


def test_the_cost_of_what_is_used_and_of_what_is_bought() -> None:
    """C1 and C2: 12 sheets for 11.00, six pieces a sheet: 0.15 for one, 3.06 for 20 (not 3.00), one pack for 11.00."""
    found = planned()
    assert found is not None
    assert sheet_plans.material_cost(found, ON) == Cost(Decimal("3.06"), Decimal("0.15"), Decimal("11.00"))
    (row,) = shown(cut(4, 6))
    assert row.yield_ == "A sheet of 12 x 12 in gives 6; nothing is left over."
    assert row.cost == "Material used: £0.15 for one, £3.06 for all 20. To buy: 1 pack of 12 for £11.00."
    (row,) = shown(cut(4, 6, 73))
    assert row.cost.endswith("To buy: 2 packs of 12 for £22.00.")
    (row,) = shown(cut(4, 6, 7), product=changed(contents="1 piece"))
    assert row.yield_.startswith("A piece of 12 x 12 in gives 6;")
    assert row.sheets == "Cutting 7 takes 2 pieces."
    assert row.cost == "Material used: £1.83 for one, £12.83 for all 7. To buy: 2 for £22.00."


@pytest.mark.parametrize(
    "changes",
    [
        {"price": None}, {"currency": ""}, {"contents": ""}, {"contents": "12 sheets, 6 cards"},
        {"contents": "8 designs"}, {"available_until": date(2026, 3, 4)},
    ],
)  # fmt: skip
def test_no_cost_where_price_or_pack_is_not_known(changes: dict[str, Any]) -> None:
    """Without a price, a currency or one number of sheets, and for what is no longer sold, no cost is told."""
    found = planned(changed(**changes))
    assert found is not None
    assert sheet_plans.material_cost(found, ON) is None
    assert shown(cut(4, 6), product=changed(**changes))[0].cost == ""


def test_a_currency_without_cents_is_rounded_to_whole_units() -> None:
    """20 of 1/72 of 1100 yen are 306 yen (ISO 4217: no decimals)."""
    found = planned(changed(price=Decimal(1100), currency="JPY"))
    assert found is not None
    assert sheet_plans.material_cost(found, ON) == Cost(Decimal(306), Decimal(15), Decimal(1100))


def test_both_yields_are_told_where_turning_some_gives_more() -> None:
    """The simple grid and the mixed layout stand side by side, with every cut in order."""
    (row,) = shown(cut(5, 7, 4))
    assert row.yield_ == (
        "A sheet of 12 x 12 in gives 2 with all the same way round, 3 with some turned as drawn, where the pattern "
        "allows it; then 27 % of it is left over."
    )
    assert row.sheets == "Cutting 4 takes 2 sheets."
    assert row.steps[0] == "Cut down at 5 in from the left"
    assert len(row.alt) <= 125


def test_many_cuts_are_left_to_the_drawing() -> None:
    """Above two dozen cuts the text only says how many there are."""
    (row,) = shown(cut(1, 1))
    assert row.steps == ()
    assert row.note == "The 143 cuts are numbered in the drawing."


def test_each_plan_has_a_drawing_under_its_own_name() -> None:
    """Two lines from one sheet give two files; each is well-formed SVG, whatever the catalogue calls the item."""
    hostile = "Card <script>alert(1)</script> & \x1b../../x"
    lines = [cut(4, 6).but(material=hostile), cut(3, 4).but(material=hostile)]
    document, catalogue = folio(*lines, product=changed(name=hostile))
    made = sheet_plans.sheet_drawings(document, catalogue, Settings())
    rows = sheet_plans.sheet_rows(document, catalogue, Settings())
    assert [row.file for row in rows] == list(made)
    assert len(made) == 2
    for name, svg in made.items():
        assert name.startswith("layouts/")
        assert ".." not in name
        tags = {element.tag.split("}")[1] for element in ET.fromstring(svg).iter()}
        assert tags == {"svg", "title", "desc", "rect", "line", "text"}
