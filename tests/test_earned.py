"""What the supply list earns of an offer with a threshold.

The check numbers are those of the list of check values (P promotions); the rest is worked out by hand.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
import small_document

from studio import post
from studio.earned import Earned, earned
from studio.model import Document, Offer, Supply
from studio.settings import PublishingChoices
from studio.writing import printed

OFFER = small_document.document().offers[0].but(threshold=Decimal("50.00"))


def shown(code: str, price: str | None, **changes: Any) -> Supply:
    """Return a sure row of the supply list that is on sale."""
    row = Supply(code=code, name=f"Item {code}", kind="", first_shown_ms=0, mention_ids=(), state="confirmed",
                 price=Decimal(price) if price else None, currency="GBP", availability="on_sale")  # fmt: skip
    return row.but(**changes)  # type: ignore[no-any-return]


def document(*rows: Supply) -> Document:
    """Return the small document with these rows."""
    return small_document.document().but(supplies=rows)  # type: ignore[no-any-return]


def told(offer: Offer, *rows: Supply) -> str:
    """Return what the offer box says beside an offer."""
    made = printed.offer_rows(
        document(*rows).but(offers=(offer,)), small_document.catalogue(), small_document.settings()
    )
    return made[0].earned


@pytest.mark.parametrize(
    ("price", "picks", "missing"),
    [("49.99", 0, "0.01"), ("50.00", 1, "50.00"), ("50.01", 1, "49.99"), ("99.99", 1, "0.01"), ("100.00", 2, "50.00"),
     ("149.50", 2, "0.50")],
    ids=[f"P{n}" for n in range(2, 8)],
)  # fmt: skip
def test_each_full_threshold_earns_one(price: str, picks: int, missing: str) -> None:
    """P2 to P7: a threshold of 50.00."""
    found = earned(OFFER, document(shown("A", price)), "GBP")
    assert found is not None
    assert (found.goods, found.picks, found.missing) == (Decimal(price), picks, Decimal(missing))


def test_over_the_threshold_needs_a_penny_more() -> None:
    """Where it was said "over fifty", 50.00 earns none and a penny is missing; 50.01 earns one."""
    over = OFFER.but(comparison="over")
    for price, picks, missing in (("50.00", 0, "0.01"), ("50.01", 1, "50.00")):
        found = earned(over, document(shown("A", price)), "GBP")
        assert found is not None
        assert (found.picks, found.missing) == (picks, Decimal(missing))


def test_only_what_can_be_bought_counts_and_postage_never() -> None:
    """P8 and P10: the gift itself, what is asked, retired, not yet sold or without a price does not count."""
    rows = [
        shown("A", "30.00"),
        shown("B", "9.00", state="ask"),
        shown("C", "9.00", availability="retired"),
        shown("D", "9.00", availability="not_yet"),
        shown("E", None),
        shown("GS-3", "9.00"),
        shown("A", "30.00"),
    ]
    assert earned(OFFER, document(*rows), "GBP") == Earned(Decimal("30.00"), 0, Decimal("20.00"), (rows[0],))


@pytest.mark.parametrize(
    "changes",
    [{"basis": "order_total"}, {"basis": "goods_after_discount"}, {"currency": "EUR"}, {"threshold": None},
     {"threshold": Decimal(0)}, {"kind": "free_delivery"}],
)  # fmt: skip
def test_nothing_is_told_where_it_cannot_be_known(changes: dict[str, Any]) -> None:
    """Postage, discounts and rates of exchange are not known; only a gift over a threshold earns picks."""
    assert earned(OFFER.but(**changes), document(shown("A", "60.00")), "GBP") is None
    assert earned(OFFER, document(), "GBP") is None


def test_the_box_tells_the_basis_and_the_smallest_top_up() -> None:
    """60.50 earns one for 50.00; the 39.50 to the next are reached best by 12.50 and 30.00."""
    rows = [shown("A", "12.50"), shown("B", "18.00"), shown("C", "30.00")]
    assert told(OFFER, *rows) == (
        "One pack of each item on the list comes to £60.50 (goods only, postage not counted), which earns 1, counted "
        "once for each full £50.00. The next one is £39.50 away; the smallest top-up from the items shown is Item A "
        "and Item C, £42.50."
    )
    assert told(OFFER, shown("A", "2.00")) == (
        "One pack of each item on the list comes to £2.00 (goods only, postage not counted), which earns none yet. The "
        "next one is £48.00 away."
    )
    assert told(OFFER, shown("A", "101.00")).startswith(
        "One pack of each item on the list comes to £101.00 (goods only"
    )
    assert "which earns 2, counted once" in told(OFFER, shown("A", "101.00"))


def test_the_post_and_its_page_show_what_is_earned() -> None:
    """The line stands in the offer box, in Markdown and in HTML."""
    made = document(shown("A", "60.00")).but(offers=(OFFER,))
    files = post.files(small_document.edition(made))
    for name in ("post.md", "post.html"):
        assert "comes to £60.00 (goods only, postage not counted), which earns 1" in str(files[name]), name


def test_the_last_day_of_an_offer_counts_to_its_end_in_the_zone_of_the_shop() -> None:
    """P9: on its last day an offer is in the post, on the day after it is not."""
    base = small_document.settings()
    for day, there in ((date(2026, 3, 31), True), (date(2026, 4, 1), False)):
        publishing = PublishingChoices(publish_on=day, timezone="Pacific/Auckland")
        settings = base.model_copy(update={"publishing": publishing})
        made = printed.offer_rows(document().but(offers=(OFFER,)), small_document.catalogue(), settings)
        assert bool(made) is there
