"""What the supply list earns of an offer with a threshold, and the smallest way to the next free pick."""

from dataclasses import dataclass
from decimal import Decimal

from studio.model import Document, Offer, Supply
from studio.offers import basket
from studio.quantity import money_places


@dataclass(frozen=True)
class Earned:
    """One pack of each item, counted as goods alone: postage and discounts are not known."""

    goods: Decimal
    picks: int
    missing: Decimal
    """To the next free pick."""
    top_up: tuple[Supply, ...]
    """The items shown, each once, that reach the next pick at the smallest sum; empty where no three do."""


def earned(offer: Offer, document: Document, currency: str) -> Earned | None:
    """Return what one pack of each sure item on sale earns, or None where it cannot be told.

    Args:
        offer: of any kind; only a gift over a threshold earns.
        document: for the supply list.
        currency: of an offer that names none.

    Nothing is told where the offer counts a whole order or what is left after a discount, or where the prices are in
    another currency.
    """
    if offer.kind != "gift_over_threshold" or not offer.threshold or offer.basis not in {"", "goods"}:
        return None
    rows = {row.code: row for row in document.supplies if _counts(row, offer)}
    if not rows or {row.currency for row in rows.values()} != {offer.currency or currency}:
        return None
    goods = sum((row.price for row in rows.values() if row.price), Decimal(0))
    over = offer.comparison == "over"
    penny = Decimal(1).scaleb(-money_places(offer.currency or currency)) if over else Decimal(0)
    order = basket.Basket(goods - penny)
    prices = [(code, row.price) for code, row in rows.items() if code]
    return Earned(
        goods=goods,
        picks=basket.free_picks(goods, offer.threshold, over=over),
        missing=basket.missing(order.counted("goods"), offer.threshold),
        top_up=tuple(rows[code] for code in basket.cheapest_to_threshold(order, "goods", offer.threshold, prices)),
    )


def _counts(row: Supply, offer: Offer) -> bool:
    sold = row.availability not in {"retired", "not_yet"}
    return bool(row.code and row.price and sold) and row.state == "confirmed" and row.code != offer.reward_code
