"""What a catalogue row states in figures: its counts, sizes, price and page, made comparable with what is said."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from studio import quantity
from studio.model import Product
from studio.quantity import Found
from studio.quantity.units import table

_PACK_OF = re.compile(r"\b([a-z]+) of (?:about )?$", re.IGNORECASE)


VESSELS = frozenset({"cup", "bar", "stone", "barrel", "day", "week"})
"""Units that are things to be counted as well."""


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


def words(text: str) -> frozenset[str]:
    """Return the words of a text in the singular."""
    return frozenset(stem(word) for word in re.findall(r"[a-z][a-z'’]+", text.lower()))


def size_of(found: Found, text: str) -> Size | None:
    """Return a measured quantity in the base unit of its dimension; None for a bare number and for money."""
    unit = table().by_name.get(found.unit)
    if not found.exact or found.kind in ("currency", "count", "name_number", "percent"):
        return None
    raw = tuple(sorted(found.exact))
    if unit is None:
        return Size("", raw, raw, text) if found.kind.startswith("size") else None
    return Size(unit.dimension, tuple(value * unit.size for value in raw), raw, text)


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
    name = words(f"{product.name} {product.kind}")
    return Stated(tuple(counts), tuple(sizes), frozenset(numbers), product.price, pages, name)


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
