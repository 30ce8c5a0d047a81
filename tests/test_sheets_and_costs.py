"""Pieces from a sheet, what fits on what, what it costs, and what a basket earns.

Yields were computed by exact search and by hand; sizes come from ISO 216 and ISO 269 (computed by the halving rule) and
from craft trade pages (secondary); the rest is common practice, no source. The check numbers are those of the list of
check values (Y yields, F folds, L layers, E envelopes, C costs, P promotions).
"""

import random
import xml.etree.ElementTree as ET
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from functools import cache
from zoneinfo import ZoneInfo

import pytest

from studio.checks import fits
from studio.cutting import costs, drawing
from studio.cutting.guillotine import Layout, best, grid_layout, sheets_for
from studio.offers import basket

LETTER, SQUARE, A4 = ("8.5", "11"), ("12", "12"), ("210", "297")


def size(pair: tuple[object, object]) -> tuple[Fraction, Fraction]:
    """Return a size of exact fractions."""
    return Fraction(str(pair[0])), Fraction(str(pair[1]))


YIELDS = [
    (LETTER, (4.25, 5.5), 4, 4), (LETTER, (4.25, 11), 2, 2), (LETTER, (5.5, 8.5), 2, 2), (LETTER, (4, 5.25), 4, 4),
    (LETTER, (2, 3.5), 12, 12), (LETTER, (4, 6), 2, 3), (LETTER, (3, 5), 4, 5), (LETTER, (2.5, 3.5), 9, 10),
    (LETTER, (5, 7), 2, 2), (SQUARE, (4, 6), 6, 6), (SQUARE, (6, 6), 4, 4), (SQUARE, (4, 4), 9, 9),
    (SQUARE, (3, 4), 12, 12), (SQUARE, (2, 4), 18, 18), (SQUARE, (4, 5.25), 6, 6), (SQUARE, (4.25, 5.5), 4, 4),
    (SQUARE, (5, 7), 2, 3), (SQUARE, (3.5, 5), 6, 7), (SQUARE, (2.5, 3.5), 12, 14), (A4, (148, 210), 2, 2),
    (A4, (105, 148), 4, 4), (A4, (74, 105), 8, 8), (A4, (99, 210), 3, 3), (A4, (100, 150), 2, 3),
]  # fmt: skip


@pytest.mark.parametrize(("sheet", "piece", "grid", "mixed"), YIELDS, ids=[f"Y{n}" for n in range(1, 25)])
def test_yields_of_common_sheets(sheet: tuple[str, str], piece: tuple[float, float], grid: int, mixed: int) -> None:
    """Y1 to Y24: the simple grid and the best mixed layout of common sheets."""
    assert grid_layout(size(sheet), size(piece)).count == grid
    assert best(size(sheet), size(piece)).count == mixed


@pytest.mark.parametrize(
    ("sheet", "piece", "waste"),
    [(LETTER, (4.25, 5.5), 0.0), (LETTER, (4, 5.25), 0.102), (SQUARE, (4, 6), 0.0), (SQUARE, (4.25, 5.5), 0.351)],
)
def test_the_share_left_over(sheet: tuple[str, str], piece: tuple[float, float], waste: float) -> None:
    """Y1, Y4, Y10 and Y16: how much of the sheet is left over."""
    assert round(float(best(size(sheet), size(piece)).waste), 3) == waste


def test_kerf_upright_and_sheets_to_buy() -> None:
    """Y25: a cut of 1/8 in costs half the cards of a Letter sheet; Y26: no turning; Y27: 20 pieces are 4 sheets."""
    assert best(size(LETTER), size((4.25, 5.5)), Fraction(1, 8)).count == 2
    assert best(size(LETTER), size((4, 6)), upright=True).count == 2
    assert sheets_for(20, best(size(SQUARE), size((4, 6))).count) == 4
    with pytest.raises(ValueError, match="does not fit"):
        sheets_for(1, best(size((3, 3)), size((4, 4))).count)
    with pytest.raises(ValueError, match="positive"):
        best(size((0, 3)), size((4, 4)))


def brute(width: int, height: int, w: int, h: int) -> int:
    """Return the most pieces by trying every whole cut."""

    @cache
    def most(a: int, b: int) -> int:
        found = int((a >= w and b >= h) or (a >= h and b >= w))
        for x in range(1, a // 2 + 1):
            found = max(found, most(x, b) + most(a - x, b))
        for y in range(1, b // 2 + 1):
            found = max(found, most(a, y) + most(a, b - y))
        return found

    return most(width, height)


def overlaps(layout: Layout) -> bool:
    """Return whether two pieces share more than an edge."""
    return any(
        one.x < other.x + other.width and other.x < one.x + one.width
        and one.y < other.y + other.height and other.y < one.y + one.height
        for place, one in enumerate(layout.pieces) for other in layout.pieces[place + 1 :]
    )  # fmt: skip


def test_the_best_layout_is_the_best_there_is() -> None:
    """500 random small sheets give as many pieces as trying every cut, and every layout can be cut as drawn."""
    chance = random.Random(11)
    for _ in range(500):
        width, height, w, h = (chance.randint(*ends) for ends in ((3, 16), (3, 16), (1, 7), (1, 7)))
        layout = best(size((width, height)), size((w, h)))
        assert layout.count == brute(width, height, w, h), (width, height, w, h)
        assert not overlaps(layout)
        for piece in layout.pieces:
            assert {piece.width, piece.height} == {w, h}
            assert 0 <= piece.x <= width - piece.width
            assert 0 <= piece.y <= height - piece.height
        assert len(layout.cuts) >= layout.count - 1


def test_no_cut_goes_through_a_piece() -> None:
    """The cuts are listed from edge to edge in their order; none parts a piece."""
    layout = best(size(SQUARE), size((2.5, 3.5)))
    for cut in layout.cuts:
        for piece in layout.pieces:
            across = cut.y1 == cut.y2 and piece.y < cut.y1 < piece.y + piece.height
            down = cut.x1 == cut.x2 and piece.x < cut.x1 < piece.x + piece.width
            assert not (across and cut.x1 < piece.x + piece.width and cut.x2 > piece.x)
            assert not (down and cut.y1 < piece.y + piece.height and cut.y2 > piece.y)


def test_the_drawing_can_be_read_without_seeing_it() -> None:
    """The SVG is well-formed, draws every piece and cut, and tells them in words too (WCAG 2.2, 1.1.1)."""
    layout = best(size(LETTER), size((4, 6)))
    root = ET.fromstring(drawing.drawing(layout, "in", "Kraft <card>"))
    names = [element.tag.split("}")[1] for element in root]
    assert names.count("rect") == 1 + layout.count
    assert names.count("line") == len(layout.cuts)
    text = drawing.description(layout, "in")
    assert text.startswith("3 pieces, 23 % left over.")
    assert text.count("cut ") == len(layout.cuts)


def test_the_words_tell_which_part_of_the_sheet_a_cut_goes_through() -> None:
    """A cut from edge to edge of the sheet names its place alone, a later one also from where to where (worked out)."""
    text = drawing.description(best(size((10, 6)), size((4, 6))), "in")
    assert text == "2 pieces, 20 % left over. 1. cut down at 4 in from the left; 2. cut down at 8 in from the left."
    text = drawing.description(best(size((8, 8)), size((4, 6))), "in")
    assert "1. cut across at 6 in from the top; 2. cut down at 4 in from the left, from 0 to 6 in from the top." in text
    assert drawing.description(best(size((4, 6)), size((4, 6))), "in") == "1 piece, 0 % left over."


# --- folds, layers, envelopes ----------------------------------------------------------------------------------------


def test_folds() -> None:
    """F1 to F7: card bases, gate folds, accordion thirds that no ruler has, a box blank."""
    card = size((4.25, 5.5))
    assert fits.folded(size((8.5, 5.5)), Fraction("4.25")) == card
    assert sorted(fits.folded(size((11, 4.25)), Fraction("5.5"))) == sorted(card)
    assert fits.gate_scores(Fraction("8.5")) == (Fraction(17, 8), Fraction(51, 8))
    assert fits.gate_scores(Fraction(11)) == (Fraction(11, 4), Fraction(33, 4))
    assert fits.folded(size((210, 148)), Fraction(105)) == size((105, 148))
    thirds = fits.even_scores(Fraction(11), 3)
    assert thirds == (Fraction(11, 3), Fraction(22, 3))
    assert not any(fits.is_on_grid(third) for third in thirds)
    assert fits.is_on_grid(Fraction(17, 8))
    assert fits.box_blank(Fraction(3), Fraction(3), Fraction(1)) == (5, 5)


def test_a_mat_leaves_its_border_on_both_sides() -> None:
    """L1 and L2: an eighth all round is a quarter less; "an eighth smaller" may be the other, so it is asked."""
    assert fits.mat(size((4.25, 5.5)), Fraction(1, 8)) == size((4, 5.25))
    assert fits.mat(size((4.25, 5.5)), Fraction(1, 16)) == (Fraction(33, 8), Fraction(43, 8))


ENVELOPES = [
    ("A2", "US", "envelope", ("4.25", "5.5"), ("1/8", "1/4"), "in"),
    ("A6", "US", "envelope", ("4.5", "6.25"), ("1/4", "1/4"), "in"),
    ("A7", "US", "envelope", ("5", "7"), ("1/4", "1/4"), "in"),
    ("C6", "ISO", "envelope", ("105", "148"), ("9", "14"), "mm"),
    ("C5", "ISO", "envelope", ("148", "210"), ("14", "19"), "mm"),
    ("DL", "ISO", "envelope", ("99", "210"), ("11", "10"), "mm"),
]


@pytest.mark.parametrize(
    ("name", "system", "use", "card", "left", "unit"), ENVELOPES, ids=[f"E{n}" for n in range(1, 7)]
)
def test_cards_in_their_envelopes(
    name: str, system: str, use: fits.Use, card: tuple[str, str], left: tuple[str, str], unit: str
) -> None:
    """E1 to E6: what is left around the card that an envelope is made for."""
    scale = Fraction("25.4") if unit == "in" else Fraction(1)
    (envelope,) = fits.sizes_named(name, use, system)
    inner = (Fraction(card[0]) * scale, Fraction(card[1]) * scale)
    assert fits.clearance(inner, (envelope.width, envelope.height)) == (
        Fraction(left[0]) * scale,
        Fraction(left[1]) * scale,
    )


def test_a_card_of_one_system_in_an_envelope_of_the_other() -> None:
    """E7 and E8: a US A2 card fits a C6 envelope with 6.0 and 22.3 mm to spare; an ISO A6 card does not fit a US A2."""
    (us_card,), (c6,) = fits.sizes_named("A2", "card", "US"), fits.sizes_named("C6")
    left = fits.clearance((us_card.width, us_card.height), (c6.width, c6.height))
    assert left is not None
    assert [round(float(one), 2) for one in left] == [6.05, 22.3]
    (a6,), (us_a2,) = fits.sizes_named("A6", "sheet", "ISO"), fits.sizes_named("A2", "envelope", "US")
    assert fits.clearance((a6.width, a6.height), (us_a2.width, us_a2.height)) is None


def test_a_name_of_two_systems_is_not_decided() -> None:
    """E9: "A2" and "A6" are US envelopes and cards and ISO sheets; without a system all are returned."""
    assert {paper.system for paper in fits.sizes_named("A2")} == {"US", "ISO"}
    assert {paper.system for paper in fits.sizes_named("a6")} == {"US", "ISO"}
    assert fits.sizes_named("Z9") == ()


# --- costs and baskets -----------------------------------------------------------------------------------------------


def test_cost_of_material_and_of_packs() -> None:
    """C1 and C2: 12 sheets for 11.00, six pieces a sheet: 0.15 each, 20 cards 3.06 and not 3.00, outlay one pack."""
    paper = costs.Material(price=Decimal("11.00"), in_pack=12, parts=6)
    assert round(float(paper.used(1)), 4) == 0.1528
    assert costs.cost([paper], 20) == costs.Cost(used=Decimal("3.06"), each=Decimal("0.15"), outlay=Decimal("11.00"))
    assert costs.cost([paper], 73).outlay == Decimal("22.00")


def test_a_sum_of_materials_is_rounded_once() -> None:
    """Three thirds of a penny make a penny: nothing is rounded before the sum; halves go up, yen have no decimals."""
    thirds = [costs.Material(price=Decimal("0.01"), in_pack=3)] * 3
    assert costs.cost(thirds, 1).used == Decimal("0.01")
    assert costs.rounded(Fraction("0.125")) == Decimal("0.13")
    assert costs.rounded(Fraction("2.5"), 0) == Decimal(3)
    with pytest.raises(ValueError, match="At least one"):
        costs.cost(thirds, 0)


@pytest.mark.parametrize(
    ("spend", "free", "to_next"),
    [
        ("0", 0, "50.00"), ("49.99", 0, "0.01"), ("50.00", 1, "50.00"), ("50.01", 1, "49.99"), ("99.99", 1, "0.01"),
        ("100.00", 2, "50.00"), ("149.50", 2, "0.50"),
    ],
    ids=[f"P{n}" for n in range(1, 8)],
)  # fmt: skip
def test_free_picks_and_what_is_missing(spend: str, free: int, to_next: str) -> None:
    """P1 to P7: a threshold of 50.00."""
    threshold = Decimal("50.00")
    assert basket.free_picks(Decimal(spend), threshold) == free
    assert basket.missing(Decimal(spend), threshold) == Decimal(to_next)


def test_over_is_not_at_least() -> None:
    """In talk, "Over fifty" needs a penny more than fifty."""
    assert basket.free_picks(Decimal(50), Decimal(50), over=True) == 0
    assert basket.free_picks(Decimal("50.01"), Decimal(50), over=True) == 1
    with pytest.raises(ValueError, match="more than nothing"):
        basket.free_picks(Decimal(1), Decimal(0))


def test_the_basis_decides_what_counts() -> None:
    """P8: goods of 48.00 with 5.95 post earn one only on the order's total; P10: excluded goods never count."""
    order = basket.Basket(goods=Decimal("48.00"), postage=Decimal("5.95"))
    assert basket.free_picks(order.counted("goods"), Decimal(50)) == 0
    assert basket.free_picks(order.counted("order_total"), Decimal(50)) == 1
    assert basket.Basket(Decimal(60), discount=Decimal(6)).counted("goods_after_discount") == 54
    assert basket.Basket(Decimal(60), excluded=Decimal(15)).counted("goods") == 45


def test_an_offer_lives_to_the_end_of_its_last_day_in_its_zone() -> None:
    """P9: ends 31 August: 23:59 in London is live, 00:00 on 1 September is not, whatever the clock elsewhere says."""
    london = ZoneInfo("Europe/London")
    ends = date(2026, 8, 31)
    assert basket.is_live(None, ends, datetime(2026, 8, 31, 23, 59, tzinfo=london), "Europe/London")
    assert not basket.is_live(None, ends, datetime(2026, 9, 1, 0, 0, tzinfo=london), "Europe/London")
    assert basket.is_live(None, ends, datetime(2026, 9, 1, 0, 30, tzinfo=ZoneInfo("Europe/Berlin")), "Europe/London")
    assert not basket.is_live(date(2026, 8, 31), None, datetime(2026, 8, 30, 23, 59, tzinfo=london), "Europe/London")


def test_the_smallest_top_up() -> None:
    """The least that reaches the sum is found, over every choice of up to three items (checked by trying all)."""
    from itertools import combinations

    chance = random.Random(3)
    for _ in range(200):
        prices = {f"I{n}": Decimal(chance.randint(50, 2500)) / 100 for n in range(7)}
        wanted = Decimal(chance.randint(1, 6000)) / 100
        sums = [sum(prices[code] for code in some) for count in (1, 2, 3) for some in combinations(prices, count)]
        reached = [one for one in sums if one >= wanted]
        found = basket.top_up(wanted, prices)
        assert sum(prices[code] for code in found) == (min(reached) if reached else 0)
        assert len(set(found)) == len(found)


def test_the_top_up_counts_from_the_basket() -> None:
    """A basket of 48.00 is topped up by the cheapest item of 2.00 or more; an item without a price is no choice."""
    shown = [("A", Decimal("1.50")), ("B", Decimal("2.50")), ("C", Decimal("6.00")), ("D", None)]
    assert basket.cheapest_to_threshold(basket.Basket(Decimal(48)), "goods", Decimal(50), shown) == ("B",)
    assert basket.top_up(Decimal(0), {"A": Decimal(1)}) == ()
    assert basket.top_up(Decimal(100), {"A": Decimal(1)}) == ()
