"""Counted things: "sixteen pockets", "three of each of four colours", "two strips one inch by eleven"."""

from itertools import pairwise

from studio.quantity import numbers, units
from studio.quantity.found import Found, found_at
from studio.quantity.tokens import WORD, Tokens
from studio.quantity.words import phrase_after, phrases, words

_PIECE = "piece"


def is_pronoun(t: Tokens, found: Found) -> bool:
    """Return whether "one" stands for a thing here and counts nothing."""
    if t.low[found.first] != "one" or found.last > found.first + 1 or found.kind != "number":
        return False
    after, before = t.low[found.last], t.before(found.first)
    if before in words("one", "after") or after in words("one", "before_a_clause") or after.startswith("'"):
        return True
    if phrase_after(t, found.last, phrases("one", "before")) > found.last:
        return True
    return t.kind[found.last] != WORD and t.count > 1 and before not in ("just", "only", "of", "to")


def with_noun(t: Tokens, found: Found) -> None:
    """Give a bare number the counted thing that follows it, over at most two words of description."""
    if found.base != "number" or found.form == "fraction" or found.unit:
        return
    if t.low[found.last] == "free":
        found.unit, found.kind = "item", "count"
        return
    counted = units.counted()
    for at in range(found.last, found.last + 3):
        noun = t.low[at]
        if noun in counted and (noun != counted[noun]) == (found.value != 1) and not _does(t, at):
            found.unit, found.kind = counted[noun], found.kind.replace("number", "count")
            found.reach(t, at + 1)
            return
        plain = noun not in words("counted", "no_description") or _describes(t, at)
        if t.kind[at] != WORD or not plain or t.starts_number(at):
            return


def _does(t: Tokens, at: int) -> bool:
    """Return whether a plural is a verb here: "twenty rings you short"."""
    whom = t.low[at] in words("counted", "also_verbs") and t.low[at + 1] in words("counted", "whom")
    return whom and t.low[at + 2] in words("counted", "so_much")


def _describes(t: Tokens, at: int) -> bool:
    """Return whether a side is said of several things and measures none: "two long sides", not "two long"."""
    noun = units.counted().get(t.low[at + 1])
    return t.low[at] in words("of", "adjectives") and noun is not None and noun != t.low[at + 1]


def each_of(t: Tokens, found: Found) -> Found | None:
    """Read "three of each of four colours" and "four each of five patterns" as their product."""
    if found.kind not in ("number", "count") or found.value.denominator > 1 or found.value <= 0:
        return None
    at = found.last + (t.low[found.last] == "of")
    if t.low[at] not in ("each", "every"):
        return None
    at += 1 + (t.low[at + 1] == "of")
    at += t.low[at] in words("article", "the")
    kinds = numbers.cardinal(t, at) if t.starts_number(at) else None
    if kinds is None or not kinds.whole or kinds.value <= 1:
        return None
    last = kinds.end + (t.kind[kinds.end] == WORD)
    unit = found.unit or _PIECE
    return found_at(t, found.first, last, (found.value * kinds.value,), unit, "count", computed=True)


def check_products(quantities: list[Found]) -> None:
    """Give a computed product the noun of the total said after it, and mark a total that does not agree."""
    for made, total in pairwise(quantities):
        if made.computed and total.kind == "count" and not total.computed:
            made.unit = total.unit if made.unit == _PIECE else made.unit
            total.conflict = total.unit == made.unit and total.value != made.value


def with_pieces(t: Tokens, quantities: list[Found], length: str) -> list[Found]:
    """Move the number of pieces into the size that follows it: "two strips one inch by eleven"."""
    kept: list[Found] = []
    for found in quantities:
        if kept and _counts_pieces(t, kept[-1], found):
            count = kept.pop()
            found.quantity = int(count.value)
            if found.kind == "number":
                found.kind, found.unit, found.unit_implied = "length", length, True
            found.begin(t, count.first)
        kept.append(found)
    return kept


def _counts_pieces(t: Tokens, count: Found, size: Found) -> bool:
    if count.kind not in ("number", "count") or count.computed or count.replaces or count.form in ("fraction", "list"):
        return False
    bare = count.kind == "number"
    of_bare = size.kind == "number" and size.value > count.value and size.form != "fraction"
    fits = (of_bare or size.kind in ("size", "length")) and not size.quantity
    if not fits or count.value not in range(1, 1000):
        return False
    between = t.low[count.last : size.first]
    many = t.low[size.last - 1] in words("counted", "plural_units")
    if size.value == count.value and (count.form == "words" or t.raw[count.last] == ","):
        return bare and between in ([], [","]) and not many and _several(t, size.last)
    if between == ["of"] and bare:
        return True
    if bare:
        return not between and size.glued_unit and not many
    return size.kind == "size" and len(between) <= 4 and words("counted", "before_size").issuperset(between)


def _several(t: Tokens, last: int) -> bool:
    """Return whether a plural noun follows: "three, three inch strips"."""
    counted = units.counted()
    return any(counted.get(noun, noun) != noun for noun in t.low[last : last + 3])
