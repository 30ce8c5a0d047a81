"""Promotions as they are told."""

import re
from datetime import date
from decimal import Decimal
from pathlib import Path

import named
import pytest
from counted import sees_no_end

from studio import offers
from studio.model import Catalogue, Offer, Product
from studio.settings import KnownOffer, PublishingChoices

ROWS = (
    Product(code="A1", name="Bone Folder", kind="tool", currency="GBP"),
    Product(code="A2", name="Harvest Kit", kind="kit", currency="GBP",
            available_from=date(2026, 9, 1), available_until=date(2026, 10, 31)),
    Product(code="A3", name="Mini Loom", kind="loom", currency="GBP", available_until=date(2026, 8, 31)),
    Product(code="A4", name="Beeswax Pellets", kind="wax", currency="GBP"),
)  # fmt: skip
ON = date(2026, 8, 20)
LINES = [
    line for line in (Path(__file__).parent / "fixtures" / "offers.txt").read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]  # fmt: skip


def told(text: str, *known: KnownOffer, on: date | None = ON) -> tuple[Offer, ...]:
    """Return the offers of a text said on a day."""
    sentences, mentions = named.said(text, ROWS)
    return offers.offers(sentences, mentions, Catalogue(products=ROWS), on, PublishingChoices(), known)


def shown(offer: Offer) -> str:
    """Return an offer as the fixture writes it."""
    parts = [
        offer.kind, offer.threshold, f"{offer.percent}%" if offer.percent else None,
        f"code={offer.promo_code}" if offer.promo_code else None,
        f"gift={offer.reward_code}" if offer.reward_code else None,
        f"from={offer.starts_on}" if offer.starts_on else None, f"to={offer.ends_on}" if offer.ends_on else None,
        "ask" if offer.state == "ask" else None,
    ]  # fmt: skip
    return " ".join(str(part) for part in parts if part is not None)


@pytest.mark.parametrize("line", LINES)
def test_an_offer_is_read_with_its_terms_and_its_days(line: str) -> None:
    """Kind, sum, percent, code, gift and days are read; talk of making things is no offer."""
    text, expected = line.split(" => ")
    assert " + ".join(shown(offer) for offer in told(text)) == expected.replace("none", "")


def test_the_last_of_a_corrected_sum_stands_and_the_first_is_kept() -> None:
    """In talk, "Fifty, no, sixty" is sixty, with what was said first as evidence."""
    (offer,) = told("If you spend £50, no, sorry, £60, you get the *Bone Folder* free.")
    assert (offer.threshold, offer.replaces) == (Decimal(60), "£50")


def test_what_counts_towards_the_sum_is_kept_where_it_was_said() -> None:
    """In talk, "Before postage" and "over" change who gets the gift (notes on qualifying baskets, common practice)."""
    (first,) = told("When you order sixty or more before postage, the *Bone Folder* is yours.")
    (second,) = told("Postage is free on orders over 45 pounds.")
    assert (first.basis, first.comparison) == ("goods", "at_least")
    assert (second.basis, second.comparison) == ("", "over")


def test_an_offer_told_again_is_completed_and_a_different_sum_is_asked() -> None:
    """A reminder shares its days with the first telling; told with another sum, both are to be asked."""
    first, again = told(
        "Spend £35 or more and you get the *Bone Folder* for nothing. I like this green. "
        "Remember it's £35 for the *bone folder*, up to the 8th of September."
    )
    assert (first.ends_on, again.ends_on, first.state) == (date(2026, 9, 8), date(2026, 9, 8), "confirmed")
    first, again = told("Spend £35 and the *Bone Folder* is free. Remember it's £45 for the *bone folder*.")
    assert {first.state, again.state} == {"ask"}
    assert "told twice" in again.doubt


def test_an_offer_in_writing_completes_or_questions_what_was_told() -> None:
    """The person's own table is right: missing days come from it, another sum is asked."""
    written = KnownOffer(kind="free_delivery", threshold=Decimal(45), ends_on=date(2026, 9, 30), basis="goods")
    (alike,) = told("Postage is free on orders over 45 pounds.", written)
    assert (alike.state, alike.ends_on, alike.basis) == ("confirmed", date(2026, 9, 30), "goods")
    (other,) = told("Postage is free on orders over 40 pounds.", written)
    assert (other.state, other.doubt) == ("ask", "in writing it is threshold 45")


def test_money_in_another_currency_than_the_catalogue_is_asked() -> None:
    """In talk, "Spend forty euros" in a catalogue in pounds goes to the person."""
    (offer,) = told("Spend forty euros or more and the *Bone Folder* is free.")
    assert (offer.state, offer.currency) == ("ask", "GBP")


def test_without_the_day_of_recording_the_terms_are_still_read() -> None:
    """In talk, "Until Friday" has no date then, the sum is known."""
    (offer,) = told("Postage is free on orders over 45 pounds until Friday.", on=None)
    assert (offer.threshold, offer.ends_on) == (Decimal(45), None)


@pytest.mark.parametrize("piece", ["1", '"', "1/2/", "a", "spend ", "buy one "])
def test_no_pattern_runs_away(piece: str) -> None:
    """However long a stretch of one thing is, every pattern of the offers finds in it what it finds in a short one."""
    from studio import resources
    from studio.offers import terms

    table = resources.table("offers.toml")
    patterns = [terms.pattern(name) for name in table["patterns"]]
    for pattern in [*patterns, *map(re.compile, table["basis"].values())]:
        assert sees_no_end(pattern, piece), pattern.pattern


def test_a_promotion_told_twice_is_one_and_a_changed_one_is_two() -> None:
    """Outputs print a promotion once; other days or terms make another, and a sure telling stands for an unsure one."""
    first = Offer(kind="free_delivery", heard="a", start_ms=0, threshold=Decimal(40), state="ask")
    again = first.but(heard="b", start_ms=9000, state="confirmed")
    later = first.but(heard="c", start_ms=20_000, ends_on=ON)
    assert offers.distinct((later, again, first)) == (again, later)


def test_an_item_that_is_gone_is_no_promotion() -> None:
    """What left the shop before the recording is told of the item, not as an offer."""
    assert told("The *mini loom* was discontinued at the end of July.") == ()
    assert told("The *mini loom* is discontinued at the end of August.")[0].kind == "last_chance"


def test_what_an_offer_is_on_is_read_before_and_after_its_percent() -> None:
    """The things that cost less are named on either side."""
    assert told("Every shuttle is good and twenty percent off every dye this week.")[0].applies_to == ("dye",)
    assert told("The dyes are a quarter off until Sunday.")[0].applies_to == ("dyes",)
