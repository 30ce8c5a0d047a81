"""Counted things: "sixteen pockets", "three of each of four colours", "two strips one inch by eleven"."""

from itertools import pairwise

from studio.quantity import numbers, units
from studio.quantity.found import Found
from studio.quantity.tokens import WORD, Tokens
from studio.quantity.words import phrase_after, phrases, words

_BETWEEN_NUMBER_AND_SIZE = frozenset(["at", "of", "measuring", "each", "that", "are", "cut", "all", ",", "at:"])
_ANY_NOUN_AFTER = frozenset(["free"])
_PIECE = "piece"


def is_pronoun(tokens: Tokens, found: Found) -> bool:
    """Return whether "one" stands for a thing here and counts nothing."""
    if tokens.low[found.first] != "one" or found.last > found.first + 1 or found.kind != "number":
        return False
    after = tokens.low[found.last]
    if tokens.before(found.first) in words("one", "after"):
        return True
    if phrase_after(tokens, found.last, phrases("one", "before")) > found.last:
        return True
    if after.startswith("'") or after in ("or", "in", "at", "on", "to", "so", "but", "as", "if", "when", "i'm", "i've"):
        return True
    return (
        tokens.kind[found.last] != WORD
        and tokens.count > 1
        and tokens.before(found.first) not in ("just", "only", "of", "to")
    )


def with_noun(tokens: Tokens, found: Found) -> None:
    """Give a bare number the counted thing that follows it, over at most two words of description."""
    if found.kind not in ("number", "number_range") or found.form == "fraction" or found.unit:
        return
    counted = units.counted()
    for at in range(found.last, found.last + 3):
        noun = tokens.low[at]
        if noun in _ALSO_VERBS and tokens.low[at + 1] in _WHOM and tokens.low[at + 2] in _SO_MUCH:
            return
        if counted.get(noun) is not None and (noun != counted[noun]) == (found.value != 1):
            found.unit, found.last, found.end = counted[noun], at + 1, tokens.end[at]
            found.kind = found.kind.replace("number", "count")
            return
        described = noun not in _NO_DESCRIPTION or _describes(tokens, at)
        if tokens.kind[at] != WORD or not described or numbers.starts_number(tokens, at):
            return
    return


def _describes(tokens: Tokens, at: int) -> bool:
    """Return whether a side is said of several things and measures none: "two long sides", not "two long"."""
    noun = units.counted().get(tokens.low[at + 1])
    return tokens.low[at] in _SIDES and noun is not None and noun != tokens.low[at + 1]


_SIDES = frozenset("long wide tall high deep thick".split())


_ALSO_VERBS = frozenset("leaves cuts marks turns rings hooks clips lines pins".split())
_WHOM = frozenset("you me us him her them it".split())
_SO_MUCH = frozenset("short with no nothing enough plenty room too little some more about only just exactly".split())
_NO_DESCRIPTION = frozenset(
    "of in at on by for to with and or from is are was were the this that these those it they you we i he she which "
    "who but so if when as than then has have had can will would per each every all only just off over under into more "
    "before after because where while no not too there here up down out your my our their its his her long wide tall "
    "high deep thick across free times times' hundred percent".split()
)


def each_of(tokens: Tokens, found: Found) -> Found | None:
    """Read "three of each of four colours" and "four each of five patterns" as their product."""
    if tokens.low[found.last] not in ("of", "each", "every"):
        return None
    if found.kind not in ("number", "count") or found.value.denominator > 1 or found.value <= 0:
        return None
    at, low = found.last, tokens.low
    at += low[at] == "of"
    if low[at] not in ("each", "every"):
        return None
    at += 1
    at += low[at] == "of"
    at += low[at] in ("the", "my", "these", "those", "our", "your")
    kinds = numbers.cardinal(tokens, at) if numbers.starts_number(tokens, at) else None
    if kinds is None or kinds.value.denominator > 1 or kinds.form == "article" or kinds.value <= 1:
        return None
    last = kinds.end + (tokens.kind[kinds.end] == WORD)
    unit = found.unit or _PIECE
    return Found(
        found.start, tokens.end[last - 1], (found.value * kinds.value,), unit, "count", found.first, last, computed=True
    )


def check_products(quantities: list[Found]) -> None:
    """Give a computed product the noun of the total said after it, and mark a total that does not agree."""
    for made, total in pairwise(quantities):
        if made.computed and total.kind == "count" and not total.computed:
            if made.unit == _PIECE:
                made.unit = total.unit
            total.conflict = total.unit == made.unit and total.value != made.value


def with_pieces(tokens: Tokens, quantities: list[Found], length: str) -> list[Found]:
    """Move the number of pieces into the size that follows it: "two strips one inch by eleven"."""
    kept: list[Found] = []
    for found in quantities:
        before = kept[-1] if kept else None
        if before is not None and _counts_pieces(tokens, before, found):
            kept.pop()
            found.quantity = int(before.value)
            if found.kind == "number":
                found.kind, found.unit, found.unit_implied = "length", length, True
            found.first, found.start = before.first, before.start
        kept.append(found)
    return kept


def _counts_pieces(tokens: Tokens, count: Found, size: Found) -> bool:
    if count.kind not in ("number", "count") or count.computed or count.replaces or count.value.denominator > 1:
        return False
    of_bare = size.kind == "number" and size.value > count.value and size.form != "fraction"
    if not (of_bare or size.kind in ("size", "length")) or size.quantity:
        return False
    if size.value == count.value and (count.form == "words" or tokens.raw[count.last] == ","):
        return _said_again(tokens, count, size)
    if not 0 < count.value < 1000 or count.form == "fraction" or count.form == "list":
        return False
    between = tokens.low[count.last : size.first]
    if between == ["of"] and count.kind == "number":
        return True
    if count.kind == "number":
        return not between and size.glued_unit and tokens.low[size.last - 1] not in _MANY_UNITS
    return size.kind == "size" and len(between) <= 4 and _BETWEEN_NUMBER_AND_SIZE.issuperset(between)


def _said_again(tokens: Tokens, count: Found, size: Found) -> bool:
    """Return whether a number that is also the size's counts its pieces: "three, three inch strips"."""
    if tokens.low[count.last : size.first] not in ([], [","]) or size.kind not in ("length", "size"):
        return False
    several = any(
        tokens.low[at] in units.counted() and tokens.low[at] != units.counted()[tokens.low[at]]
        for at in range(size.last, size.last + 3)
    )
    return several and count.kind == "number" and not count.unit and tokens.low[size.last - 1] not in _MANY_UNITS


_MANY_UNITS = frozenset("inches feet yards metres meters centimetres centimeters millimetres millimeters".split())


def free_choice(tokens: Tokens, found: Found) -> None:
    """Call what is chosen free an item: "you choose one free"."""
    if found.kind == "number" and tokens.low[found.last] in _ANY_NOUN_AFTER and not found.unit:
        found.unit, found.kind = "item", "count"
