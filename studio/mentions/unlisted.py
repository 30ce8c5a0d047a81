"""Product-like names in talk that fit no row: shown, with capitals of their own or a noun of the trade at the end."""

from collections.abc import Iterable, Sequence

from studio.mentions import words
from studio.mentions.heard import Heard
from studio.mentions.roles import Phrase

_LONGEST = 6
_PLAIN = 1.5
"""Weight of a phrase that introduces a thing."""


def spans(heard: Heard, phrases: Iterable[Phrase], taken: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the tokens of each name that is introduced in a sentence and that no row fits."""
    found: list[tuple[int, int]] = []
    for phrase in phrases:
        if phrase.role != "shown" or not phrase.product_after or phrase.weight < _PLAIN:
            continue
        span = _name(heard, phrase.last)
        if span and not any(first < span[1] and span[0] < last for first, last in [*taken, *found]):
            found.append(span)
    return sorted(found)


def _name(heard: Heard, start: int) -> tuple[int, int] | None:
    """Return the run of capitalised words behind an introduction, with the trade noun that it ends in."""
    said = heard.tokens
    first = start
    while first < len(said) and (
        said[first].low in words.as_said("articles") or said[first].low in words.as_said("adjectives")
    ):
        first += 1
    last = first
    while last < min(len(said), first + _LONGEST) and _belongs(heard, first, last):
        last += 1
    capitals = [token for token in said[first:last] if token.capital]
    noun = last - first > 1 and said[last - 1].key in words.listed("product")
    return (first, last) if capitals and noun and first > start - 1 and _unknown(capitals) else None


def _belongs(heard: Heard, first: int, at: int) -> bool:
    token = heard.tokens[at]
    if at > first and token.stop_before:
        return False
    return token.capital or (at > first and token.key in words.listed("product"))


def _unknown(capitals: Sequence[words.Token]) -> bool:
    return any(token.key not in words.listed("glue") for token in capitals)
