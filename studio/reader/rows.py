"""Which catalogue rows a stretch of talk may mean: words folded alike on both sides, the best few by shared words."""

import math
import re
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.model import Catalogue, Product
from studio.reader.digits import in_digits

NEAR, AROUND = 0.35, 0.12
"""Weight of a word of the same sentence, and of one of the sentences around, beside a word of the stretch itself."""
PART = 0.3
"""Weight of three letters in a row beside a whole word: names misheard or in other endings still share some."""
RECENT = 1.5
"""What a row gains that was meant just before, falling with each later mention."""
_ALIKE = {
    "mil": "mm", "mils": "mm", "millimetre": "mm", "millimeter": "mm", "centimetre": "cm", "centimeter": "cm",
    "inches": "in", "inch": "in",
    "metre": "m", "meter": "m", "gram": "g", "gramme": "g", "kilo": "kg", "kilogram": "kg", "ounce": "oz",
    "pound": "lb", "litre": "l", "liter": "l", "color": "colour", "gray": "grey", "half": "1/2", "quarter": "1/4",
}  # fmt: skip
"""Other ways to say the same word (common practice, no source)."""
_COMMON = frozenset(
    "the a an of and or in on to for with it is that this i you we they them so just one ones some my your its at as "
    "be was are not no but do have has got get if then there here up out by from like what which these "
    "those oh well now".split()
)
_WORD = re.compile(r"\d+/\d+|\d+(?:\.\d+)?|[^\W\d_]+(?:'[^\W\d_]+)?")


def fold(text: str) -> list[str]:
    """Return the words of a text in one form: lower case, digits, no plural s, units by their signs."""
    digits = " ".join(word for word, _, _ in in_digits(text.split(), money=False)) if text else ""
    found = []
    for word in _WORD.findall(digits.lower()):
        bare = word.removesuffix("'s")
        bare = bare[:-1] if len(bare) > 3 and bare.endswith("s") and not bare.endswith("ss") else bare
        found.append(_ALIKE.get(word) or _ALIKE.get(bare, bare))
    return found


def row_text(row: Product) -> str:
    """Return a row as the reader reads it: name, kind, contents, size, colour, price."""
    price = f"{row.price:f}" if row.price is not None else ""
    return "; ".join(part for part in (row.name, row.kind, row.contents, row.size, row.colour, price) if part)


def _parts(word: str) -> list[str]:
    return [f"~{word[n : n + 3]}" for n in range(len(word) - 2)] if len(word) > 4 else []


@dataclass(frozen=True)
class Candidate:
    """A row that may be meant, with the evidence beside the text."""

    at: int
    """Index of the row in the catalogue."""
    evidence: tuple[float, ...]
    """`EVIDENCE` names them."""


EVIDENCE = ("score", "of_best", "said_share", "name_share", "name_in_sentence", "kind_said", "met", "just_met")


class Rows:
    """A catalogue made ready: which rows share words with a stretch of talk."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.products = catalogue.products
        self.texts = [row_text(row) for row in self.products]
        self._names = [frozenset(fold(row.name)) - _COMMON for row in self.products]
        self._kinds = [frozenset(fold(row.kind)) - _COMMON for row in self.products]
        self._index: dict[str, list[tuple[int, float]]] = defaultdict(list)
        counts: Counter[str] = Counter()
        keyed = [self._keys(row) for row in self.products]
        for keys in keyed:
            counts.update(keys)
        total = len(self.products)
        self._weight = {key: math.log(1 + total / n) for key, n in counts.items()}
        for at, keys in enumerate(keyed):
            norm = 1 / math.sqrt(1 + 0.25 * sum(self._weight[key] * share for key, share in keys.items()))
            for key, share in keys.items():
                self._index[key].append((at, self._weight[key] * share * norm))

    def _keys(self, row: Product) -> dict[str, float]:
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

    def candidates(
        self, said: str, sentence: str, around: str, met: Mapping[int, int], most: int = 12
    ) -> list[Candidate]:
        """Return the rows that a stretch may mean, best first.

        Args:
            said: the words of the stretch.
            sentence: the sentence it stands in.
            around: the sentences before and after.
            met: rows meant before, with how many mentions ago (1 is the last one).
            most: how many at most.
        """
        scores: dict[int, float] = defaultdict(float)
        told: dict[str, float] = {}
        for text, weight in ((around, AROUND), (sentence, NEAR), (said, 1.0)):
            for word in fold(text):
                if word not in _COMMON:
                    told[word] = max(told.get(word, 0), weight)
        for word, weight in told.items():
            for key in (word, *_parts(word)):
                for at, gain in self._index.get(key, ()):
                    scores[at] += weight * gain
        for at, ago in met.items():
            scores[at] += RECENT / ago
        best = sorted(scores, key=lambda at: (-scores[at], at))[:most]
        words, near = set(fold(said)) - _COMMON, set(fold(sentence)) - _COMMON
        return [self._candidate(at, scores, scores[best[0]], words, near, met) for at in best]

    def _candidate(
        self, at: int, scores: Mapping[int, float], top: float, words: set[str], near: set[str], met: Mapping[int, int]
    ) -> Candidate:
        name = self._names[at]
        evidence = (
            min(scores[at] / 10, 2.0), scores[at] / top, len(words & name) / max(1, len(words)),
            len(words & name) / max(1, len(name)), len(near & name) / max(1, len(name)),
            float(bool(words & self._kinds[at])), float(at in met), 1 / met[at] if at in met else 0.0,
        )  # fmt: skip
        return Candidate(at, evidence)


def ago(codes: Sequence[int]) -> dict[int, int]:
    """Return how many mentions ago each row was last meant."""
    found: dict[int, int] = {}
    for back, at in enumerate(reversed(codes), start=1):
        found.setdefault(at, back)
    return found
