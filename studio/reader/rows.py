"""Which catalogue rows a stretch of talk may mean: words folded alike on both sides, the best few with the evidence."""

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from studio.reader.folding import fold, folded, value

if TYPE_CHECKING:
    from studio.model import Catalogue, Product

CLOSE_BEFORE, CLOSE_AFTER, WIDE_BEFORE, WIDE_AFTER = 10, 8, 40, 20
"""Words around a stretch that are looked at for its candidates; the close ones count more."""
CLOSE, WIDE, TOLD = 0.35, 0.12, 2.0
"""Weight of a word close by and of one around, beside a word of the stretch; of a name told somewhere in the talk."""
PART = 0.3
"""Weight of three letters in a row beside a whole word: names misheard or in other endings still share some."""
RECENT = 1.5
"""What a row gains that was meant just before, falling with each later mention."""
REACH = 14
"""Words within which the words of one name are told."""
_COMMON = frozenset(
    "the a an of and or in on to for with it is that this i you we they them so just one ones some my your its at as "
    "be was are not no but do have has got get if then there here up out by from like what which these "
    "those oh well now".split()
)
_SMALL = frozenset(
    "small smaller smallest little tiny thin thinner thinnest fine finer short shorter narrow wee".split()
)
_LARGE = frozenset(
    "large larger largest big bigger biggest thick thicker thickest long longer wide wider heavy".split()
)
_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:/\d+)?")


def row_text(row: "Product") -> str:
    """Return a row as the reader reads it: name, size, colour, kind, price, contents; what tells it apart is first."""
    price = f"{row.price:f}" if row.price is not None else ""
    return "; ".join(part for part in (row.name, row.size, row.colour, row.kind, price, row.contents) if part)


def _parts(word: str) -> list[str]:
    return [f"~{word[n : n + 3]}" for n in range(len(word) - 2)] if len(word) > 4 else []


@dataclass(frozen=True)
class Candidate:
    """A row that may be meant, with the evidence beside the text."""

    at: int
    """Index of the row in the catalogue."""
    evidence: tuple[float, ...]
    """`EVIDENCE` names them."""


EVIDENCE = (
    "score", "of_best", "said_of_stretch", "said_of_name", "close_of_name", "wide_of_name", "told_before", "told_after",
    "told_ever", "all_said", "few_have_it", "last_word", "kind_said", "kind_close", "number_said", "number_close",
    "number_wide", "price_close", "colour_said", "colour_close", "pair_said", "part_said", "met", "just_met",
    "times_met", "met_of_family", "smaller_said", "bare", "words", "found_before",
)  # fmt: skip
"""Numbers from 0 to about 2 beside each candidate, for the reader to weigh."""


@dataclass(frozen=True)
class RowWords:
    """A catalogue row read once into what may be said of it."""

    name: frozenset[str]
    order: tuple[str, ...]
    kind: frozenset[str]
    colour: frozenset[str]
    numbers: frozenset[str]
    price: str
    everything: frozenset[str]
    bulk: float
    """The largest number of its size or name, for the smaller and the larger of a family."""


def _row(row: "Product") -> RowWords:
    order = tuple(fold(row.name))
    name = frozenset(order) - _COMMON
    size = fold(row.size)
    numbers = frozenset(word for word in (*order, *size) if _NUMBER.fullmatch(word))
    values = [value(number) for number in numbers]
    price = f"{row.price.normalize():f}" if row.price is not None else ""
    everything = name | (frozenset((*size, *fold(row.colour), *fold(row.kind), *fold(row.contents))) - _COMMON)
    kind = frozenset(fold(row.kind)) - _COMMON
    colour = frozenset(fold(row.colour))
    return RowWords(name, order, kind, colour, numbers, price, everything, max(values, default=0.0))


class Rows:
    """A catalogue made ready: which rows share words with a stretch of talk."""

    def __init__(self, catalogue: "Catalogue") -> None:
        self.products = catalogue.products
        self.texts = [row_text(row) for row in self.products]
        self.rows = [_row(row) for row in self.products]
        self.index: dict[str, list[tuple[int, float]]] = defaultdict(list)
        counts: Counter[str] = Counter()
        keyed = [self._weighted(row) for row in self.products]
        for keys in keyed:
            counts.update(keys)
        self._short: dict[str, tuple[str, ...]] = {}
        self._initials: dict[str, list[str]] = defaultdict(list)
        for key in counts:
            if 2 <= len(key) <= 5 and key.isalpha():
                self._initials[key[0]].append(key)
        total = len(self.products)
        self.weight = {key: math.log(1 + total / n) for key, n in counts.items()}
        for at, keys in enumerate(keyed):
            norm = 1 / math.sqrt(1 + 0.25 * sum(self.weight[key] * share for key, share in keys.items()))
            for key, share in keys.items():
                self.index[key].append((at, self.weight[key] * share * norm))

    def _weighted(self, row: "Product") -> dict[str, float]:
        keys: dict[str, float] = {}
        fields = (
            (row.name, 1.0),
            (row.colour, 0.8),
            (row.size, 0.7),
            (row.kind, 0.6),
            (row.contents, 0.4),
            (row.code, 0.6),
        )
        for text, share in fields:
            for word in fold(text):
                if word not in _COMMON:
                    keys[word] = max(keys.get(word, 0), share)
                    for part in _parts(word):
                        keys[part] = max(keys.get(part, 0), share * PART)
        return keys

    def short(self, word: str) -> tuple[str, ...]:
        """Return the words of the catalogue that may be a word of the talk cut short, as "brs" is brass."""
        if word not in self._short:
            begin = self._initials.get(word[:1], ()) if len(word) > 3 and word.isalpha() else ()
            self._short[word] = tuple(key for key in begin if len(key) < len(word) - 1 and _cut_short(key, word))
        return self._short[word]

    def worth(self, words: Iterable[str]) -> float:
        """Return how telling words are together; a word of no row tells little."""
        return sum(self.weight.get(word, 0.5) for word in words)


def _cut_short(short: str, word: str) -> bool:
    """Return whether a short form has the letters of a word in their order, and ends as a short form does."""
    letters = iter(word)
    return all(letter in letters for letter in short) and (word.startswith(short) or not set(short[1:]) & set("aeiou"))


@dataclass(frozen=True)
class Met:
    """A row that was meant before."""

    ago: int
    """How many mentions ago; 1 is the last one."""
    times: int


def met(codes: Sequence[int]) -> dict[int, Met]:
    """Return of each row meant so far how long ago it was and how often."""
    times = Counter(codes)
    found: dict[int, Met] = {}
    for back, at in enumerate(reversed(codes), start=1):
        if at not in found:
            found[at] = Met(back, times[at])
    return found


class Scene:
    """A whole talk beside a catalogue, folded once: what is said of which row, and where."""

    def __init__(self, words: Sequence[str], rows: Rows) -> None:
        self.rows = rows
        self.keys: list[frozenset[str]] = [frozenset()] * len(words)
        self.order: list[tuple[str, ...]] = [()] * len(words)
        short = rows.short
        for keys, first in folded(words):
            self.order[first] = tuple(keys)
            meant = [whole for key in keys for whole in short(key)]
            self.keys[first] = frozenset((*keys, *meant)) - _COMMON
        self._places: dict[str, list[int]] = defaultdict(list)
        for at, said in enumerate(self.keys):
            for key in said:
                self._places[key].append(at)
        self._told: dict[int, list[tuple[int, float]]] = {}

    def said(self, first: int, last: int) -> frozenset[str]:
        """Return the telling words from a word up to another."""
        return frozenset[str]().union(*self.keys[max(0, first) : last])

    def told(self, row: int) -> list[tuple[int, float]]:
        """Return where words of a row's name are told together, and how much of the name each time."""
        if row not in self._told:
            name = self.rows.rows[row].name
            whole = self.rows.worth(name) or 1.0
            places = sorted((at, key) for key in name for at in self._places.get(key, ()))
            found, begin = [], 0
            for end, (at, _) in enumerate(places):
                while places[begin][0] < at - REACH:
                    begin += 1
                found.append((at, self.rows.worth({key for _, key in places[begin : end + 1]}) / whole))
            self._told[row] = found
        return self._told[row]

    def candidates(self, first: int, last: int, before: Mapping[int, Met], most: int = 16) -> list[Candidate]:
        """Return the rows that a stretch may mean, best first.

        Args:
            first: the first word of the stretch.
            last: the word after its last.
            before: rows meant before.
            most: how many at most.
        """
        look = _Look(self, first, last, before)
        scores = look.scores()
        likely = sorted(scores, key=lambda at: (-scores[at], at))[: 3 * most]
        for at in likely:
            scores[at] += TOLD * max((share for _, share in self.told(at)), default=0.0)
        best = sorted(likely, key=lambda at: (-scores[at], at))[:most]
        family = {at: self.rows.rows[at].bulk for at in best}
        return [Candidate(at, look.evidence(at, scores[at], scores[best[0]], family)) for at in best]


class _Look:
    """One stretch looked at: the words of it, close to it, around it."""

    def __init__(self, scene: Scene, first: int, last: int, before: Mapping[int, Met]) -> None:
        self.scene, self.first, self.last, self.before = scene, first, last, before
        self.stretch = scene.said(first, last)
        self.close = scene.said(first - CLOSE_BEFORE, first) | scene.said(last, last + CLOSE_AFTER)
        self.wide = scene.said(first - WIDE_BEFORE, first) | scene.said(last, last + WIDE_AFTER)

    def scores(self) -> dict[int, float]:
        """Return how many telling words each row shares with what is said."""
        told = dict.fromkeys(self.wide, WIDE) | dict.fromkeys(self.close, CLOSE) | dict.fromkeys(self.stretch, 1.0)
        found: dict[int, float] = defaultdict(float)
        for word, weight in told.items():
            for key in (word, *_parts(word)):
                for at, gain in self.scene.rows.index.get(key, ()):
                    found[at] += weight * gain
        for at, one in self.before.items():
            found[at] += RECENT / one.ago
        return found

    @cached_property
    def _having(self) -> int:
        """How many rows have every known word of the stretch."""
        known = [word for word in self.stretch if word in self.scene.rows.index]
        if not known:
            return len(self.scene.rows.rows)
        having = [{at for at, _ in self.scene.rows.index[word]} for word in known]
        return len(set.intersection(*having))

    @cached_property
    def _pairs(self) -> set[tuple[str, str]]:
        order = [key for keys in self.scene.order[self.first : self.last] for key in keys]
        return set(pairwise(order))

    @cached_property
    def _said_parts(self) -> set[str]:
        return {part for word in self.stretch for part in (*_parts(word), word)}

    @cached_property
    def _last_word(self) -> str:
        order = [key for keys in self.scene.order[self.first : self.last] for key in keys if key not in _COMMON]
        return order[-1] if order else ""

    def evidence(self, at: int, score: float, top: float, family: Mapping[int, float]) -> tuple[float, ...]:
        """Return the numbers that `EVIDENCE` names."""
        row, worth = self.scene.rows.rows[at], self.scene.rows.worth
        name = worth(row.name) or 1.0
        near = self.stretch | self.close
        told = self.scene.told(at)
        one = self.before.get(at)
        met_family = [other for other in family if other in self.before]
        said_parts = {part for word in row.name for part in (*_parts(word), word)}
        bulks = sorted(set(family.values()))
        rank = bulks.index(family[at]) / (len(bulks) - 1) if len(bulks) > 1 else 0.5
        small, large = bool(_SMALL & near), bool(_LARGE & near)
        return (
            min(score / 10, 2.0), score / top if top else 0.0,
            worth(self.stretch & row.everything) / (worth(self.stretch) or 1.0), worth(self.stretch & row.name) / name,
            worth(near & row.name) / name, worth((near | self.wide) & row.name) / name,
            max((share for place, share in told if place < self.first), default=0.0),
            max((share for place, share in told if place >= self.first), default=0.0),
            max((share for _, share in told), default=0.0),
            float(bool(self.stretch) and self.stretch <= row.everything),
            1 / max(1, self._having) if self.stretch else 0.0,
            float(self._last_word in row.name) if self._last_word else 0.0,
            float(bool(self.stretch & row.kind)), float(bool(self.close & row.kind)),
            float(bool(self.stretch & row.numbers)), float(bool(self.close & row.numbers)),
            float(bool(self.wide & row.numbers)), float(row.price in near if row.price else 0.0),
            float(bool(self.stretch & row.colour)), float(bool(self.close & row.colour)),
            float(bool(self._pairs & set(pairwise(row.order)))),
            len(self._said_parts & said_parts) / max(1, len(said_parts)),
            float(one is not None), 1 / one.ago if one else 0.0, min(one.times, 8) / 8 if one else 0.0,
            float(one is not None and met_family == [at]),
            (1 - rank if small else rank) if small != large else 0.5,
            float(not self.stretch), min(self.last - self.first, 8) / 8, len(met_family) / len(family),
        )  # fmt: skip
