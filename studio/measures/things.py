"""What a measure is of: the noun it stands with, the item named near it, and what the catalogue has of that item."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from studio.model import Catalogue, Mention, Product
from studio.quantity import units
from studio.quantity.found import Found
from studio.quantity.reader import read
from studio.quantity.tokens import WORD, Tokens
from studio.quantity.words import words
from studio.talk import RunningText

Size = tuple[tuple[Fraction, ...], str]
"""Values in their rising order, and their unit."""
_NAMED_SIZES = frozenset("length mass volume size percent".split())
_ROWS_READ = 2000
_LONGEST = 200


@dataclass(frozen=True)
class Things:
    """Finds what a measure is of, in one talk."""

    whole: RunningText
    tokens: Tokens
    mentions: Sequence[Mention]
    catalogue: Catalogue

    def text(self, found: Found) -> str:
        """Return the words of a quantity."""
        return self.whole.text[found.start : found.end]

    def said(self, found: Found) -> list[str]:
        """Return the words of a quantity one by one, in lower case."""
        return self.tokens.low[found.first : found.last]

    def before(self, found: Found, back: int = 1) -> str:
        """Return the word so many places before a quantity in its sentence."""
        at = found.first - back
        begins = self.whole.starts[self.whole.place(found.start)]
        return self.tokens.low[at] if at >= 0 and self.tokens.start[at] >= begins else ""

    def sentence(self, found: Found, back: int = 0) -> list[str]:
        """Return the words of the sentence of a quantity, and of so many before it."""
        place = self.whole.place(found.start)
        ends = (*self.whole.starts, len(self.whole.text))
        low, high = ends[max(0, place - back)], ends[place + 1]
        first, last = found.first, found.last
        while first > 0 and self.tokens.start[first - 1] >= low:
            first -= 1
        while last < self.tokens.count and self.tokens.start[last] < high:
            last += 1
        return self.tokens.low[first:last]

    def near(self, found: Found, known: frozenset[str]) -> bool:
        """Return whether one of some words is in the sentence of a quantity or the one before."""
        return not known.isdisjoint(self.sentence(found, 1))

    def apart(self, before: Found, after: Found) -> int:
        """Return how many sentences lie between two quantities; 0 in one sentence."""
        return self.whole.place(after.start) - self.whole.place(before.start)

    # --- items -------------------------------------------------------------------------------------------------------

    @cached_property
    def products(self) -> dict[str, Product]:
        """The rows of the catalogue by their codes."""
        return self.catalogue.by_code()

    def _mentions_of(self, found: Found, reach: int = 0) -> list[Mention]:
        """Return the mentions in the sentence of a quantity, and in so many sentences before it."""
        place = self.whole.place(found.start)
        first = self.whole.sentences[max(0, place - reach)].start_ms
        last = self.whole.sentences[place].end_ms
        near = [one for one in self.mentions if one.code and one.start_ms <= last and one.end_ms >= first]
        return sorted(near, key=lambda one: one.start_ms)

    def code(self, found: Found) -> str | None:
        """Return the code of the item that a quantity is said of."""
        start_ms, end_ms = self.whole.time_of(found.start, found.end)
        sure = [one for one in self._mentions_of(found) if one.state == "confirmed" and one.role != "rejected"]
        before = [one for one in sure if one.start_ms <= start_ms]
        after = [one for one in sure if one.start_ms >= end_ms]
        if before or (after and "of" in self.tokens.low[found.first : found.first + 12]):
            return (before[-1] if before else after[0]).code
        points_back = not words("measures", "points_back").isdisjoint(self.sentence(found)) and not after
        earlier = [one for one in self._mentions_of(found, 1) if one.role in ("shown", "mentioned")]
        return earlier[-1].code if points_back and earlier and earlier[-1].state == "confirmed" else None

    def rows(self, found: Found, reach: int) -> list[Product]:
        """Return the catalogue rows of the items named in the sentence of a quantity and so many before; last first."""
        codes = dict.fromkeys(one.code for one in reversed(self._mentions_of(found, reach)) if one.code)
        return [self.products[code] for code in codes if code in self.products]

    def told_by_rows(self, found: Found, reach: int) -> Iterator[Found]:
        """Give the amounts that the sizes and contents of the rows named near a quantity state."""
        for product in self.rows(found, reach):
            yield from read(product.size[:_LONGEST])
            yield from read(product.contents[:_LONGEST])

    @cached_property
    def listed(self) -> dict[Size, str]:
        """The sizes and amounts that the catalogue has anywhere in a name, a size or contents -> their kind."""
        texts = (text for row in self.catalogue.products[:_ROWS_READ] for text in (row.name, row.size, row.contents))
        found = [one for text in dict.fromkeys(text[:_LONGEST] for text in texts) for one in read(text)]
        return {sized(one): one.kind for one in found if one.exact and one.unit}

    def names_row(self, found: Found) -> bool:
        """Return whether an amount only names a thing: "the ten inch", or the amount of a row as part of its name."""
        if found.base not in _NAMED_SIZES or found.replaces or found.of:
            return False
        if self.before(found) in ("the", "this", "that", "these", "those"):
            return found.kind == "percent" or sized(found) in self.listed
        return self._said_with_row(found, 0)

    def may_name_row(self, found: Found) -> bool:
        """Return whether the amount of a row is said right beside its name: "the block, eighteen by twenty-six"."""
        return found.base in _NAMED_SIZES and not (found.replaces or found.of) and self._said_with_row(found, 1)

    def _said_with_row(self, found: Found, apart_ms: int) -> bool:
        """Return whether an amount that the catalogue has is said less than so long after or before a row's name."""
        start_ms, end_ms = self.whole.time_of(found.start, found.end)
        near = [one for one in self._mentions_of(found) if one.start_ms < end_ms + apart_ms]
        return any(one.end_ms > start_ms - apart_ms for one in near) and sized(found) in self.listed

    # --- the noun ----------------------------------------------------------------------------------------------------

    def of(self, found: Found) -> str | None:
        """Return the noun phrase a measure stands with, as said; nothing where the talk has none."""
        t = self.tokens
        first = next((at for at in range(found.first) if t.start[at] >= _begin(found)), found.first)
        if found.kind == "count":
            return _after(t, found.last) if t.low[found.last] == "of" else None
        before = t.low[max(0, first - 8) : first]
        if not words("measures", "scoring").isdisjoint(before):
            return "score line"
        if not words("measures", "folding").isdisjoint(before[-4:]):
            return "fold line"
        return _after(t, found.last) or _before(t, first)


def _begin(found: Found) -> int:
    return min(found.start, *(found.replaced_at or (found.start,)))


def sized(found: Found) -> Size:
    """Return what is alike in one amount however it is said: its sides in rising order and its unit in lower case."""
    return tuple(sorted(found.exact)), found.unit


def _after(t: Tokens, last: int) -> str | None:
    """Return the noun after a measure: "half inch strip", "400 grams of olive oil", "six inches for the sky"."""
    joined = t.low[last] in ("of", "for") or t.says(last, "from", "the")
    if not joined and (t.kind[last] != WORD or t.low[last] in words("measures", "no_noun")):
        return None
    start = last + joined
    start += t.low[start] in words("article", "the")
    end = start
    while end - start < 4 and t.kind[end] == WORD and t.low[end] not in words("measures", "no_noun"):
        end += 1
    return " ".join(t.raw[start:end]) or None


def _before(t: Tokens, first: int) -> str | None:
    """Return the subject before a measure: "the borders are two inches", "olive oil, the pomace, 400 grams"."""
    at = first
    if t.before(first) == "of":
        return " ".join(t.raw[_phrase_start(t, first - 1) : first - 1]) or None
    while at > 0 and t.low[at - 1] in words("measures", "leading"):
        at -= 1
    spoken_of = at < first and t.low[at] in words("measures", "is")
    comma = at > 1 and t.raw[at - 1] == ","
    end = at - comma
    start = _phrase_start(t, end)
    if comma and start > 1 and t.low[start - 1] in ("the", "a") and t.raw[start - 2] == ",":
        end = start - 2
        start = _phrase_start(t, end)
    begins = start == 0 or t.raw[start - 1] == "."
    begins = begins or (not comma and (t.raw[start - 1] == "," or t.low[start - 1] in words("measures", "determiners")))
    name = " ".join(t.raw[start:end])
    said = comma or spoken_of or name.endswith("'s")
    return name.removesuffix("'s") or None if begins and said else None


def _phrase_start(t: Tokens, end: int) -> int:
    start = end
    while (
        start > 0
        and end - start < 4
        and t.kind[start - 1] == WORD
        and t.low[start - 1] not in words("measures", "no_noun")
    ):
        low = t.low[start - 1]
        if (t.starts_number(start - 1) and low != "one") or units.table().longest.get(low):
            break
        start -= 1
    return start
