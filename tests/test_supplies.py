"""The supply list."""

from datetime import date
from decimal import Decimal

import pytest

from studio import supplies
from studio.model import Catalogue, Mention, Product

CARD = Product(code="K1", name="Kraft Card A4", kind="card", price=Decimal("4.50"), currency="GBP", page="7",
               url="https://shop.example/k1")  # fmt: skip
INK = Product(
    code="I1", name="Rust Ink", kind="ink", available_from=date(2026, 3, 1), available_until=date(2026, 5, 31)
)
CATALOGUE = Catalogue(products=(CARD, INK))


def mention(code: str | None, start_ms: int, **more: object) -> Mention:
    """Return a confirmed showing unless told otherwise."""
    base = {"id": f"n{start_ms}", "heard": "it", "role": "shown", "state": "confirmed", "confidence": 1.0}
    return Mention.model_validate({**base, "code": code, "start_ms": start_ms, "end_ms": start_ms + 500, **more})


def test_facts_come_from_the_catalogue_and_counts_from_speech() -> None:
    """Name, price, page and link are the row's; quantity, colour and the first time are what was said."""
    found = (mention("K1", 9000, quantity=3, colour="brown"), mention("K1", 2000, heard="the kraft"))
    (row,) = supplies.supplies(found, CATALOGUE, date(2026, 4, 1))
    assert row.model_dump(exclude_defaults=True) == {
        "code": "K1", "name": "Kraft Card A4", "kind": "card", "price": "4.50", "currency": "GBP", "page": "7",
        "url": "https://shop.example/k1", "quantity": 3, "colour": "brown", "first_shown_ms": 2000,
        "mention_ids": ("n2000", "n9000"), "availability": "on_sale", "state": "confirmed",
    }  # fmt: skip


@pytest.mark.parametrize("role", ["mentioned", "rejected", "gift"])
def test_only_what_was_shown_is_listed(role: str) -> None:
    """A product talked of, turned down or given away makes no row."""
    assert supplies.supplies((mention("K1", 0, role=role),), CATALOGUE, None) == ()


def test_a_thing_the_catalogue_does_not_have_is_listed_without_price() -> None:
    """An unlisted thing keeps the words heard as its name, once."""
    unlisted = {"role": "unlisted", "heard": "my old lamp", "state": "ask"}
    (row,) = supplies.supplies((mention(None, 5, **unlisted), mention(None, 9, **unlisted)), CATALOGUE, None)
    assert (row.code, row.name, row.price, row.state, row.mention_ids) == (
        None,
        "my old lamp",
        None,
        "ask",
        ("n5", "n9"),
    )


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2026, 2, 28), "not_yet"),
        (date(2026, 3, 1), "on_sale"),
        (date(2026, 5, 31), "on_sale"),
        (date(2026, 6, 1), "retired"),
        (None, "unknown"),
    ],
)
def test_both_end_days_are_on_sale(day: date | None, expected: str) -> None:
    """The first and the last day of a row count as on sale; without a day nothing is claimed."""
    assert supplies.availability(INK, day) == expected


def test_one_sure_showing_makes_the_row_sure() -> None:
    """A row is asked only while no showing of the item is sure."""
    unsure = mention("K1", 0, state="ask")
    assert supplies.supplies((unsure,), CATALOGUE, None)[0].state == "ask"
    assert supplies.supplies((unsure, mention("K1", 9)), CATALOGUE, None)[0].state == "confirmed"
