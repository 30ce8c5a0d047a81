"""What ounces are: a weight, a measure of liquid, or how thick leather is; what nothing tells is left open."""

from studio.quantity.found import Found
from studio.quantity.tokens import WORD, Tokens
from studio.quantity.words import phrase_after, phrases, words

_BEFORE, _AFTER, _NOUN = 12, 8, 5
_SKIPPED = frozenset("of the a an my your our this that these those some so -".split())
_ENDS = frozenset(".?!;")
_THICK = frozenset(["thick", "thickness", "thicker"])


def settle(tokens: Tokens, found: Found) -> None:
    """Decide in place what ounces measure; only what was called fluid, or a catalogue row, makes a volume sure.

    A thickness keeps its ounces (an ounce of leather is 1/64 in thick); a liquid that may have been weighed or measured
    is a volume to be asked about, so that it is never printed in grams.
    """
    if not found.kind.startswith("mass"):
        return
    before, after = _clause_start(tokens, found.first), _clause_end(tokens, found.last)
    said = tokens.low[before : found.first] + tokens.low[found.last : after]
    weighed = not words("ounces", "weighed").isdisjoint(said)
    noun = _noun(tokens, found.last)
    thing = _thing(tokens, *noun) if noun[0] < noun[1] else _thing(tokens, before, found.first)
    thick = not _THICK.isdisjoint(tokens.low[found.last : after])
    if thick or thing == "leather":
        _thickness(found, unsure=weighed or (tokens.low[found.last] == "of" and not thick))
    elif thing == "liquid" and not weighed:
        found.kind, found.unit = found.kind.replace("mass", "volume"), "fl oz"
        found.ambiguous = ("fl oz", "oz")


def _thickness(found: Found, *, unsure: bool) -> None:
    found.kind, found.of = found.kind.replace("mass", "thickness"), "thickness"
    found.ambiguous = ("thickness", "mass") if unsure else ()


def _clause_start(tokens: Tokens, first: int) -> int:
    """Return where the words before an amount begin: some way back, in the same sentence."""
    at = first
    while at > max(0, first - _BEFORE) and tokens.raw[at - 1] not in _ENDS:
        at -= 1
    return at


def _clause_end(tokens: Tokens, last: int) -> int:
    at = last
    while at < min(tokens.count, last + _AFTER) and tokens.raw[at] not in _ENDS:
        at += 1
    return at


def _noun(tokens: Tokens, at: int) -> tuple[int, int]:
    """Return where the words stand that name what is measured, right behind it: "of olive oil", "bottle", "veg tan"."""
    while tokens.low[at] in _SKIPPED:
        at += 1
    end = at
    while end - at < _NOUN and tokens.kind[end] == WORD and tokens.low[end] not in words("ounces", "no_noun"):
        end += 1 + (tokens.raw[end + 1] == "-")
    return at, end


def _thing(tokens: Tokens, start: int, end: int) -> str:
    """Return `leather` or `liquid` by the last word that names either, a vessel or pouring before all; else nothing."""
    low = tokens.low[start:end]
    if not (words("ounces", "vessel") | words("ounces", "pour")).isdisjoint(low):
        return "liquid"
    leather = max(
        (phrase_after(tokens, at, _LEATHER) for at in range(start, end) if _is_leather(tokens, at)), default=0
    )
    liquid = max((at for at in range(start, end) if tokens.low[at] in words("ounces", "liquid")), default=-1)
    return "leather" if leather > max(liquid, 0) else "liquid" if liquid >= 0 else ""


_LEATHER = phrases("ounces", "leather")


def _is_leather(tokens: Tokens, at: int) -> bool:
    return phrase_after(tokens, at, _LEATHER) > at
