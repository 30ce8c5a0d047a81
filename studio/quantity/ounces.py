"""What ounces are: a weight, a measure of liquid, or how thick leather is; what nothing tells is left open."""

from studio.quantity.found import Found
from studio.quantity.tokens import WORD, Tokens
from studio.quantity.words import phrase_after, phrases, words

_BEFORE, _AFTER, _NOUN = 12, 8, 5
_SKIPPED = frozenset("of the a an my your our this that these those some or so - ,".split())
_ENDS = frozenset(".?!;")
_THICK = frozenset(["thick", "thickness", "thicker"])


def settle(tokens: Tokens, found: Found) -> None:
    """Decide in place what ounces measure; only what was called fluid, or a catalogue row, makes a volume sure.

    A thickness keeps its ounces (an ounce of leather is 1/64 in thick); a liquid that may have been weighed or measured
    is a volume to be asked about, so that it is never printed in grams.
    """
    if not found.kind.startswith("mass"):
        return
    noun, after = _noun(tokens, found.last), _clause(tokens, range(found.last, found.last + _AFTER))
    before = _clause(tokens, range(found.first - 1, found.first - 1 - _BEFORE, -1))
    weighed = bool(words("ounces", "weighed").intersection(before + after))
    if not weighed and _is_liquid(tokens, found.last, noun, before):
        found.kind, found.unit = found.kind.replace("mass", "volume"), "fl oz"
        found.ambiguous = ("fl oz", "oz")
    elif _THICK.intersection(after) or _leather_after(tokens, found.last, noun):
        _thickness(found, unsure=weighed or (tokens.low[found.last] == "of" and not _THICK.intersection(after)))
    elif not noun and _has_leather(tokens, found.first - len(before), found.first):
        _thickness(found, unsure=weighed)


def _thickness(found: Found, *, unsure: bool) -> None:
    found.kind, found.of = found.kind.replace("mass", "thickness"), "thickness"
    found.ambiguous = ("thickness", "mass") if unsure else ()


def _clause(tokens: Tokens, places: range) -> list[str]:
    """Return the words at these places up to the end of the sentence, nearest first."""
    said: list[str] = []
    for at in places:
        if not 0 <= at < tokens.count or tokens.raw[at] in _ENDS:
            break
        said.append(tokens.low[at])
    return said


def _noun(tokens: Tokens, at: int) -> list[str]:
    """Return the words that name what is measured, right behind it: "of olive oil", "bottle", "veg tan"."""
    while tokens.low[at] in _SKIPPED and tokens.raw[at] != ",":
        at += 1
    end = at
    while end - at < _NOUN and tokens.kind[end] == WORD and tokens.low[end] not in words("ounces", "no_noun"):
        end += 1 + (tokens.raw[end + 1] == "-")
    return tokens.low[at:end]


def _is_liquid(tokens: Tokens, at: int, noun: list[str], before: list[str]) -> bool:
    liquid = words("ounces", "liquid") | words("ounces", "vessel")
    if noun:
        return bool(liquid.intersection(noun))
    poured = words("ounces", "pour").intersection(before)
    named = tokens.low[at] not in words("ounces", "no_noun") or not liquid.intersection(before)
    return bool(poured or (liquid.intersection(before) and not named))


def _leather_after(tokens: Tokens, at: int, noun: list[str]) -> bool:
    return bool(noun) and _has_leather(tokens, at, at + _AFTER)


def _has_leather(tokens: Tokens, start: int, end: int) -> bool:
    """Return whether leather is named between two places of one sentence."""
    known = phrases("ounces", "leather")
    return any(phrase_after(tokens, at, known) > at for at in range(max(0, start), min(end, tokens.count)))
