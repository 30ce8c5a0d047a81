"""What a piece costs: the material in it, and the packs that must be bought; exact, and rounded once at the end."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil


@dataclass(frozen=True)
class Material:
    """What one finished piece takes of one material.

    Args:
        price: price of a pack.
        in_pack: sheets or other things in a pack.
        parts: pieces that one of them gives.
        needed: pieces that one finished piece takes.
    """

    price: Decimal
    in_pack: int
    parts: int = 1
    needed: int = 1

    def used(self, finished: int) -> Fraction:
        """Return the cost of what is used up in so many finished pieces."""
        return Fraction(self.price) * finished * self.needed / (self.in_pack * self.parts)

    def packs(self, finished: int) -> int:
        """Return how many packs must be bought."""
        return ceil(Fraction(finished * self.needed, self.in_pack * self.parts))


@dataclass(frozen=True)
class Cost:
    """Both ways to tell what a batch costs."""

    used: Decimal
    """Material used up."""
    each: Decimal
    """Material used up in one finished piece."""
    outlay: Decimal
    """Price of the packs that must be bought."""


def rounded(amount: Fraction, places: int = 2) -> Decimal:
    """Round money half up, as shops do; `places` is 0 for a currency without cents (ISO 4217)."""
    scale = 10**places
    whole = Decimal((amount * scale).numerator) / Decimal((amount * scale).denominator)
    return whole.quantize(Decimal(1), ROUND_HALF_UP) / scale if places else whole.quantize(Decimal(1), ROUND_HALF_UP)


def cost(materials: list[Material], finished: int, places: int = 2) -> Cost:
    """Return what a batch costs: sums are exact and rounded once, so 20 of 0.1528 are 3.06 and not 20 of 0.15.

    Raises:
        ValueError: nothing is to be finished.
    """
    if finished < 1:
        raise ValueError("At least one piece must be finished.")
    used = sum((material.used(finished) for material in materials), Fraction(0))
    outlay = sum((material.price * material.packs(finished) for material in materials), Decimal(0))
    return Cost(rounded(used, places), rounded(used / finished, places), rounded(Fraction(outlay), places))
