"""The reader: one pass over the tokens finds the quantities, a few passes over them settle what they are."""

from copy import copy
from functools import lru_cache
from typing import NamedTuple

from studio.quantity import amounts, context, counts, mending, money, shapes, special
from studio.quantity.found import Found
from studio.quantity.number_words import STARTS
from studio.quantity.tokens import Tokens, cut
from studio.quantity.words import words

_FIRST_WORDS = (
    STARTS | money.starters() | amounts.UNITS_ALONE | {"percent", "percents", "percentage", "per", "into", "in"}
) | {"b", "another", "%"}


class Amounts(NamedTuple):
    """A text read once: its pieces, and every quantity in it, each of which tells its pieces by number."""

    tokens: Tokens
    found: list[Found]


def amounts_of(text: str, *, currency: str = "GBP", length: str = "in") -> Amounts:
    """Return the pieces of a text and every quantity in it, in its order, what was corrected away left out.

    Args:
        text: one or more sentences, as spoken or written.
        currency: ISO 4217 code taken for a price that was said without one, and for dollars of no named country.
        length: unit taken for a length that was said without one.
    """
    t, found = _remembered(text, currency, length)
    return Amounts(t, [copy(one) for one in found])


def read(text: str, *, currency: str = "GBP", length: str = "in") -> list[Found]:
    """Return every quantity in a text, as `amounts_of` does; a text read before is not read again."""
    return amounts_of(text, currency=currency, length=length).found


@lru_cache(maxsize=4096)
def _remembered(text: str, currency: str, length: str) -> tuple[Tokens, tuple[Found, ...]]:
    t = cut(text)
    quantities = scan(t, currency)
    money.own_dollars(t, quantities, currency)
    quantities = [found for found in quantities if not _is_no_amount(t, found)]
    context.settle(t, quantities, length)
    quantities = mending.mended(t, counts.with_pieces(t, quantities, length))
    counts.check_products(quantities)
    for found in quantities:
        context.modify(t, found)
    return t, tuple(quantities)


def scan(t: Tokens, currency: str) -> list[Found]:
    """Find the quantities from left to right, each in its longest reading."""
    found: list[Found] = []
    at = 0
    while at < t.count:
        quantity = _at(t, at, currency) if t.low[at] in _FIRST_WORDS or t.kind[at] in "nv" else None
        at = max(at + 1, quantity.last if quantity else 0)
        found += [quantity] if quantity else []
    return found


def _at(t: Tokens, at: int, currency: str) -> Found | None:
    found = special.special(t, at)
    if found is not None:
        return found
    found = amounts.amount(t, at)
    if found is None:
        return None
    if found.kind == "number":
        other = special.clock(t, found) or special.pair(t, found, currency) or special.price_per(t, found, currency)
        if other is None and (name := special.name_number(t, found)):
            return name
        found = other or shapes.joined(t, found)
    else:
        found = shapes.joined(t, found)
    if found.base == "number":
        return _counted(t, found)
    context.per(t, found)
    return found


def _counted(t: Tokens, found: Found) -> Found:
    """Read what a bare number counts: a product, a noun, seconds counted aloud."""
    product = counts.each_of(t, found)
    if product is None:
        counts.with_noun(t, found)
        special.counted_off(t, found)
    return product or counts.each_of(t, found) or found


def _is_no_amount(t: Tokens, found: Found) -> bool:
    if found.kind == "idiom" or counts.is_pronoun(t, found):
        return True
    one_half = found.form == "fraction" and found.kind == "number" and t.low[found.first] in ("half", "quarter")
    return one_half and t.before(found.first) in words("one", "half")
