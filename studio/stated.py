"""What a catalogue row states in figures: its counts, sizes, price and page, made comparable with what is said."""

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache

from studio import quantity
from studio.model import Product
from studio.quantity import Found
from studio.quantity.units import table

_PACK_OF = re.compile(r"\b([a-z]+) of (?:about )?$", re.IGNORECASE)


VESSELS = frozenset({"cup", "bar", "stone", "barrel", "day", "week", "byte"})
"""Units that are things to be counted as well ("bits" among those of "byte")."""


FAR = 5
"""A size or price this many times off is another fact, not a wrong one: what was used, not what the item is."""


@dataclass(frozen=True)
class Count:
    """How many things, and their noun in the singular, or nothing for "pack of 30"."""

    number: int
    noun: str
    text: str


@dataclass(frozen=True)
class Size:
    """Values in the base unit of their dimension, the smallest first; `raw` are the values as written."""

    dimension: str
    values: tuple[Fraction, ...]
    raw: tuple[Fraction, ...]
    text: str


@dataclass(frozen=True)
class Stated:
    """All figures of one row."""

    counts: tuple[Count, ...]
    sizes: tuple[Size, ...]
    numbers: frozenset[Fraction]
    """Every number in the row's name, contents and size."""
    price: Decimal | None
    pages: frozenset[int]
    words: frozenset[str]
    """Words of its name and kind in the singular."""


def stem(word: str) -> str:
    """Return a noun in the singular, roughly: "boxes" and "box" alike."""
    word = word.lower().removesuffix("'s").removesuffix("’s")
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("ches", "shes", "xes", "sses")):
        return word[:-2]
    return word if word.endswith("ss") else word.removesuffix("s")


@lru_cache(maxsize=65536)
def singular_words(text: str) -> frozenset[str]:
    """Return the words of a text in the singular."""
    return frozenset(stem(word) for word in re.findall(r"[a-z][a-z'’]+", text.lower()))


def name_words(product: Product) -> frozenset[str]:
    """Return the words of a row's name and kind in the singular."""
    return singular_words(f"{product.name} {product.kind}")


def size_of(found: Found, text: str) -> Size | None:
    """Return a measured quantity in the base unit of its dimension; None for a bare number and for money."""
    unit = table().by_name.get(found.unit)
    if not found.exact or found.kind in ("currency", "count", "name_number", "percent"):
        return None
    raw = tuple(sorted(found.exact))
    if unit is None:
        return Size("", raw, raw, text) if found.kind.startswith("size") else None
    return Size(unit.dimension, tuple(value * unit.size for value in raw), raw, text)


def readings(found: Found) -> tuple[Size, ...]:
    """Return a size in each unit that it may be in: "eight mil" is millimetres or millilitres."""
    names = dict.fromkeys((found.unit, *found.ambiguous))
    sizes = [size_of(replace(found, unit=name), "") for name in names if name in table().by_name or name == found.unit]
    return tuple(size for size in sizes if size)


@cache
def stated(product: Product) -> Stated:
    """Read a row's figures."""
    counts: list[Count] = []
    sizes: list[Size] = []
    numbers: set[Fraction] = set()
    for text in (product.contents, product.size, product.name):
        for found in quantity.read(text):
            numbers.update(found.exact)
            numbers.update([Fraction(found.quantity)] if found.quantity else [])
            count, size = _count(found, text), size_of(found, text)
            counts += [count] if count and text != product.name else []
            sizes += [size] if size else []
    if product.pack_quantity:
        counts.append(Count(product.pack_quantity, "", f"pack of {product.pack_quantity}"))
    pages = frozenset(int(page) for page in re.findall(r"\d{1,6}", product.page))
    return Stated(tuple(counts), tuple(sizes), frozenset(numbers), product.price, pages, name_words(product))


def _count(found: Found, text: str) -> Count | None:
    if not found.exact or found.exact[0].denominator != 1:
        return None
    number, written = int(found.exact[0]), text[found.start : found.end]
    if found.kind == "count" or found.unit in VESSELS:
        return Count(number, stem(found.unit.split()[-1]), written)
    pack = _PACK_OF.search(text[: found.start])
    if pack:
        after = re.match(r" (?:[a-z-]+ )?([a-z]+)\b", text[found.end :])
        return Count(number, stem(after.group(1)) if after else "", text[pack.start() : found.end])
    noun = re.match(r" ([a-z-]+(?: [a-z-]+)?)\s*(?:,|$|:|\+|;)", text[found.end :], re.IGNORECASE)
    return Count(number, stem(noun.group(1).split()[-1]), written + noun.group().rstrip(" ,:;+")) if noun else None


def comparable(size: Size, other: Size) -> bool:
    """Return whether two sizes can be the same fact: as many values, of one dimension, and none far off."""
    if len(size.values) != len(other.values):
        return False
    if size.dimension and other.dimension and size.dimension != other.dimension:
        return False
    pairs = (
        zip(size.values, other.values, strict=True)
        if size.dimension == other.dimension
        else zip(size.raw, other.raw, strict=True)
    )
    return all(one * FAR > two and two * FAR > one for one, two in pairs)


def is_side(size: Size, other: Size) -> bool:
    """Return whether one length can be meant for a side: of the same dimension and at most twice off."""
    alike = len(size.values) == 1 and size.dimension == other.dimension
    return alike and any(size.values[0] <= 2 * side and side <= 2 * size.values[0] for side in other.values)


def all_in(said: tuple[Fraction, ...], listed: tuple[Fraction, ...], allowed: Fraction) -> bool:
    """Return whether every value said is one of the row's; "18 wide" fits "18 x 24"."""
    left = list(listed)
    for value in said:
        hit = next((one for one in left if abs(one - value) <= allowed * abs(one)), None)
        if hit is None:
            return False
        left.remove(hit)
    return True
