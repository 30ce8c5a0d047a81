"""What a basket earns: free picks over a threshold, what is missing to the next, the smallest top-up."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Literal
from zoneinfo import ZoneInfo

Basis = Literal["goods", "goods_after_discount", "order_total"]


@dataclass(frozen=True)
class Basket:
    """The sums of an order; `excluded` are goods that do not count towards an offer (reduced items, kits)."""

    goods: Decimal
    postage: Decimal = Decimal(0)
    discount: Decimal = Decimal(0)
    excluded: Decimal = Decimal(0)

    def counted(self, basis: Basis) -> Decimal:
        """Return what counts towards a threshold on this basis; excluded goods never do."""
        goods = self.goods - self.excluded
        if basis == "goods":
            return goods
        return goods - self.discount + (self.postage if basis == "order_total" else Decimal(0))


def free_picks(counted: Decimal, threshold: Decimal, *, over: bool = False) -> int:
    """Return how many free picks a sum earns, one for each full threshold.

    Args:
        counted: what counts of the basket.
        threshold: the sum for one pick.
        over: the threshold itself is not enough.

    Raises:
        ValueError: the threshold is not positive.
    """
    if threshold <= 0:
        raise ValueError("A threshold is more than nothing.")
    picks, rest = divmod(counted, threshold)
    return max(0, int(picks) - (1 if over and rest == 0 and picks else 0))


def missing(counted: Decimal, threshold: Decimal) -> Decimal:
    """Return what is missing to the next free pick; a full threshold when one was just reached."""
    return threshold - counted % threshold


def top_up(amount: Decimal, prices: dict[str, Decimal], most: int = 3) -> tuple[str, ...]:
    """Return the codes of the items, each once and at most `most`, that reach an amount at the smallest sum.

    Of equal sums the one with fewer items wins; empty where none reaches it or nothing is missing.
    """
    if amount <= 0:
        return ()
    priced = sorted((price, code) for code, price in prices.items() if price > 0)
    best: dict[Decimal, tuple[str, ...]] = {Decimal(0): ()}
    reached: list[tuple[Decimal, int, tuple[str, ...]]] = []
    for price, code in priced:
        for total, codes in list(best.items()):
            together = total + price
            if len(codes) == most:
                continue
            if together >= amount:
                reached.append((together, len(codes) + 1, (*codes, code)))
            elif together not in best or len(best[together]) > len(codes) + 1:
                best[together] = (*codes, code)
    return min(reached)[2] if reached else ()


def is_live(starts_on: date | None, ends_on: date | None, moment: datetime, zone: str) -> bool:
    """Return whether an offer runs at a moment: the last day counts to its end, in the zone of the shop.

    Args:
        starts_on: first day, or None.
        ends_on: last day, included, or None.
        moment: an aware time.
        zone: IANA name of the time zone that the offer's days are in.
    """
    place = ZoneInfo(zone)
    begins = datetime.combine(starts_on, time.min, place) if starts_on else None
    ends = datetime.combine(ends_on + timedelta(1), time.min, place) if ends_on else None
    return (begins is None or moment >= begins) and (ends is None or moment < ends)


def cheapest_to_threshold(
    basket: Basket, basis: Basis, threshold: Decimal, shown: Sequence[tuple[str, Decimal | None]]
) -> tuple[str, ...]:
    """Return the smallest top-up from the items shown to the next free pick; items without a price are left out."""
    prices = {code: price for code, price in shown if price is not None}
    return top_up(missing(basket.counted(basis), threshold), prices)
