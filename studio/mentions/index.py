"""The catalogue made ready for looking names up: words, how telling each is, heads, families, sizes."""

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cached_property

from studio import quantity
from studio.mentions import words
from studio.model import Catalogue, Product

SMALL_WORDS = frozenset({"and", "of", "the", "with", "for", "in", "a", "an", "&", "to", "by", "on", "no", "number"})
_SIZE = re.compile(
    r"\d[\d.,/]*(?:\s?[x×]\s?\d[\d.,/]*)*\s?(?:mm|cm|ml|kg|oz|fl oz|in|ft|yd|gsm|lb|[gml])?\b", re.IGNORECASE
)
_CAPITALISED = re.compile(r"\b[A-Z][a-z]{2,}")
Size = tuple[Fraction, str]
"""A number in the base unit of its dimension, and the dimension; an empty dimension where no unit is written."""


class Row:
    """One row of the catalogue and what its name is made of."""

    __slots__ = ("__dict__", "at", "heads", "product", "words")

    def __init__(self, at: int, product: Product, names: tuple[str, ...]) -> None:
        self.at = at
        self.product = product
        self.words = names
        self.heads: frozenset[str] = frozenset()

    @cached_property
    def name_sizes(self) -> frozenset[Size]:
        """Numbers in the name."""
        return sizes(self.product.name)

    @cached_property
    def name_numbers(self) -> frozenset[Fraction]:
        """Numbers in the name as they are printed, whatever they count."""
        return frozenset(map(Fraction, re.findall(r"\d+(?:\.\d+)?", self.product.name)))

    @cached_property
    def serial_numbers(self) -> frozenset[Fraction]:
        """Numbers that the name has behind "No."."""
        return frozenset(map(Fraction, re.findall(r"\bNo\.? ?(\d+)\b", self.product.name)))

    @cached_property
    def sizes(self) -> frozenset[Size]:
        """Numbers in the name, the size and the contents."""
        return self.name_sizes | sizes(self.product.size) | sizes(self.product.contents)

    @cached_property
    def extra(self) -> frozenset[str]:
        """Words of kind, contents, colour and size that are not in the name."""
        product = self.product
        text = f"{product.kind} {product.contents} {product.colour} {product.size}"
        return frozenset(_keys(text)) - set(self.words)

    @cached_property
    def components(self) -> frozenset[str]:
        """Names of the parts that the row holds, as colours of a set: capitalised words of the contents."""
        return frozenset(words.fold(word) for word in _CAPITALISED.findall(self.product.contents)) - set(self.words)

    @cached_property
    def bulk(self) -> float:
        """How big it is beside its siblings: its sizes added up."""
        text = f"{self.product.size} {self.product.name}"
        return float(sum(value for value, dimension in sizes(text) if dimension))


def sizes(text: str) -> frozenset[Size]:
    """Return the numbers of a text with their dimension."""
    return frozenset(size for found in quantity.read(text) for size in of_quantity(found)) if text else frozenset()


def of_quantity(found: quantity.Found) -> Iterator[Size]:
    """Give the numbers of one quantity; a unit that was only implied counts as none."""
    if "currency" in found.kind:
        return
    either = found.ambiguous if found.unit == "fl oz" else ()
    for value in found.exact:
        for unit in dict.fromkeys(("" if found.unit_implied else found.unit, *either)):
            yield based(value, unit)


def based(value: Fraction, unit: str) -> Size:
    """Return a number in the base unit of its dimension."""
    try:
        kind = quantity.units.unit(unit)
    except KeyError:
        return value, ""
    return (value * kind.size, kind.dimension) if kind.dimension not in {"temperature", "other"} else (value, "")


def _keys(text: str) -> list[str]:
    """Return the folded words of a name, without sizes and small words, each once."""
    plain = _SIZE.sub(" ", text)
    found = [token.key for token in words.tokens(plain) if token.end - token.start > 1 or plain[token.end :][:1] == "-"]
    return list(dict.fromkeys(key for key in found if key not in SMALL_WORDS and not key[0].isdigit()))


class Index:
    """All rows, found by the words of their names."""

    def __init__(self, products: Sequence[Product]) -> None:
        self.rows = [Row(at, product, tuple(_keys(product.name))) for at, product in enumerate(products)]
        self.postings: dict[str, list[int]] = defaultdict(list)
        for row in self.rows:
            for key in row.words:
                self.postings[key].append(row.at)
        self.postings = dict(self.postings)
        scale = math.log(len(self.rows) + 1) or 1.0
        self._telling = {
            key: max(0.05, math.log((len(self.rows) + 1) / (len(rows) + 0.5)) / scale)
            for key, rows in self.postings.items()
        }
        self.kinds = frozenset(words.fold(product.kind) for product in products if product.kind)
        self._sets: dict[str, frozenset[int]] = {}
        self._find_heads()

    def telling(self, key: str) -> float:
        """Return how much a name word tells: near 1 where one row has it, near 0 where all have."""
        return self._telling.get(key, 1.0)

    def sharing(self, first: str, second: str) -> frozenset[int]:
        """Return the rows whose names have both words."""
        return self._set(first) & self._set(second)

    def _set(self, key: str) -> frozenset[int]:
        if key not in self._sets:
            self._sets[key] = frozenset(self.postings.get(key, ()))
        return self._sets[key]

    def siblings(self, row: Row, most: int = 60) -> list[Row]:
        """Return other rows of the same head, those that share more words first."""
        shared = {at for head in row.heads if len(self.postings[head]) <= 4000 for at in self.postings[head]} - {row.at}
        near = [other for other in (self.rows[at] for at in shared) if other.heads & row.heads]
        mine = set(row.words)
        return sorted(near, key=lambda other: (-len(mine & set(other.words)), other.at))[:most]

    def _find_heads(self) -> None:
        """Find the noun that each name is a name of ("block", "tape"), by trade nouns and by what rows share."""
        last = Counter(core[-1] for core in {tuple(_core(row)) for row in self.rows} if core)
        starts: Counter[tuple[str, ...]] = Counter()
        for row in self.rows:
            starts.update(row.words[:n] for n in range(1, min(4, len(row.words)) + 1))
        for row in self.rows:
            row.heads = frozenset(_heads(row, last, starts))


def _core(row: Row) -> list[str]:
    """Return the name up to its first comma, without size, colour and finish at its end."""
    first, comma, _ = row.product.name.partition(",")
    core = [key for key in (_keys(first) if comma else row.words) if key in row.words]
    attributes, nouns = words.attributes() | words.listed("material"), words.listed("product")
    while len(core) > 1 and core[-1] in attributes and (core[-1] not in nouns or nouns & set(core[:-1])):
        core.pop()
    return core


def _heads(row: Row, last: Counter[str], starts: Counter[tuple[str, ...]]) -> Iterator[str]:
    core = _core(row)
    if not core:
        return
    nouns = [key for key in core if key in words.trade_nouns()]
    if core[-1] in words.listed("product"):
        yield core[-1]
        return
    if nouns:
        yield nouns[-1]
        return
    if last[core[-1]] > 1 and starts[(core[0],)] <= last[core[-1]]:
        yield core[-1]
        return
    runs = [row.words[:n] for n in range(1, min(4, len(row.words)))]
    best = max(runs, key=lambda run: (starts[run], len(run)), default=())
    yield best[-1] if best and starts[best] > 2 else core[-1]


def build(catalogue: Catalogue) -> Index:
    """Index a catalogue: about 20 µs a row."""
    return Index(catalogue.products)
