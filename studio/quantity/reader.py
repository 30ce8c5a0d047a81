"""The reader: one pass over the tokens finds the quantities, a few passes over them settle what they are."""

from copy import copy
from functools import lru_cache

from studio.quantity import amounts, context, counts, mending, money, numbers, shapes, special
from studio.quantity.found import Found
from studio.quantity.tokens import Tokens, cut

_FIRST_WORDS = (
    numbers.STARTS
    | money.starters()
    | frozenset("percent percents percentage per into in b another % inch foot yard metre meter".split())
)


def read(text: str, *, currency: str = "GBP", length: str = "in") -> list[Found]:
    """Return every quantity in a text, in its order, what was corrected away left out.

    Args:
        text: one or more sentences, as spoken or written.
        currency: ISO 4217 code taken for a price that was said without one, and for dollars of no named country.
        length: unit taken for a length that was said without one.
    """
    return [copy(found) for found in _read(text, currency, length)]


@lru_cache(maxsize=8192)
def _read(text: str, currency: str, length: str) -> tuple[Found, ...]:
    """Read a text once: several stages ask for the same sentences, and again after each decision."""
    tokens = cut(text)
    quantities = scan(tokens, currency)
    money.own_dollars(tokens, quantities, currency)
    return tuple(settled(tokens, quantities, length))


def scan(tokens: Tokens, currency: str) -> list[Found]:
    """Find the quantities from left to right, each in its longest reading."""
    found: list[Found] = []
    at = 0
    while at < tokens.count:
        quantity = _at(tokens, at, currency) if tokens.low[at] in _FIRST_WORDS or tokens.kind[at] in "nv" else None
        if quantity is None:
            at += 1
        else:
            at = max(at + 1, quantity.last)
            found.append(quantity)
    return found


def _at(tokens: Tokens, at: int, currency: str) -> Found | None:
    found = special.special(tokens, at)
    if found is not None:
        return found
    found = amounts.amount(tokens, at)
    if found is None:
        return None
    if found.kind != "number":
        found = shapes.joined(tokens, found)
        context.per(tokens, found)
        return found
    other = special.clock(tokens, found) or special.bare_price(tokens, found, currency)
    other = other or special.price_per(tokens, found, currency)
    if other is not None:
        if other.kind == "currency":
            context.per(tokens, other)
        return other
    joined = shapes.joined(tokens, found)
    return _counted(tokens, joined) if joined.kind.startswith("number") else joined


def _counted(tokens: Tokens, found: Found) -> Found:
    """Read the noun of a bare number, or take it for the number of a name."""
    named = special.name_number(tokens, found)
    if named is not None:
        return named
    product = counts.each_of(tokens, found)
    if product is not None:
        return product
    counts.with_noun(tokens, found)
    counts.free_choice(tokens, found)
    return counts.each_of(tokens, found) or found


def settled(tokens: Tokens, quantities: list[Found], length: str) -> list[Found]:
    """Settle units, joined pieces and corrections over all quantities of a text."""
    quantities = [found for found in quantities if not _is_no_amount(tokens, found)]
    context.settle(tokens, quantities, length)
    quantities = counts.with_pieces(tokens, quantities, length)
    quantities = mending.mended(tokens, quantities)
    counts.check_products(quantities)
    for found in quantities:
        context.modify(tokens, found)
    return quantities


def _is_no_amount(tokens: Tokens, found: Found) -> bool:
    if found.kind == "idiom" or counts.is_pronoun(tokens, found):
        return True
    if found.form == "fraction" and found.kind == "number" and tokens.low[found.first] in ("half", "quarter"):
        return tokens.before(found.first) in (
            "the",
            "other",
            "first",
            "second",
            "this",
            "that",
            "your",
            "top",
            "bottom",
            "better",
        )
    return False
