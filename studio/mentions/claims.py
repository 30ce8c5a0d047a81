"""The places of a sentence that may name catalogue rows, each with the rows that fit it."""

import itertools
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from studio.mentions import words
from studio.mentions.hits import Hit
from studio.mentions.index import Index, Row
from studio.mentions.words import Token

_RARE = 60
"""Rows of a word that are looked at one by one; for commoner words only rows that share two words said."""
_PREPOSITIONS = frozenset({"with", "using", "in", "into", "on", "onto", "from", "to", "through", "by"})
_LONGEST = 24
"""Tokens from the first to the last word of one name."""


@dataclass(frozen=True)
class Claim:
    """A row that a stretch of a sentence may name."""

    row: Row
    hits: tuple[Hit, ...]
    evidence: float
    """In telling words, see `shared/names.toml`."""

    given: bool = False
    """By a nickname of the person's own, not by words of the catalogue."""

    @property
    def first(self) -> int:
        """Index of the first token."""
        return self.hits[0].at

    @property
    def last(self) -> int:
        """Index after the last token."""
        return self.hits[-1].end

    @property
    def keys(self) -> frozenset[str]:
        """Name words said."""
        return frozenset(hit.key for hit in self.hits)

    @property
    def whole(self) -> bool:
        """Whether every word of the name was said."""
        return len(self.keys) == len(self.row.words)

    @property
    def quality(self) -> float:
        """The worst likeness of a word."""
        return min(hit.quality for hit in self.hits)


@dataclass
class Place:
    """A stretch of a sentence with the rows that it may name, best first."""

    claims: list[Claim] = field(default_factory=list)

    @property
    def best(self) -> Claim:
        """The row that the words alone fit best."""
        return self.claims[0]

    @cached_property
    def span(self) -> tuple[int, int]:
        """First token, and after the last."""
        return self.best.first, self.best.last


class Finder:
    """Finds the places of one sentence."""

    def __init__(
        self,
        index: Index,
        said: Sequence[Token],
        hits: Sequence[Hit],
        given: Sequence[Claim] = (),
        exact: Sequence[int] = (),
    ) -> None:
        self._index = index
        self._said = said
        self._hits = hits
        self._given = given
        self._exact = exact
        glue = words.listed("glue") | words.listed("articles") | words.listed("small") | words.listed("large")
        self._solid = [0]
        for token in said:
            self._solid.append(self._solid[-1] + (token.key not in glue and token.low not in glue))

    def places(self) -> list[Place]:
        """Return the places in the order of the sentence; none of them overlap."""
        claims = sorted([*self._given, *self._claims()], key=lambda c: (-c.evidence, c.first, -c.last, c.row.at))
        taken: list[Place] = []
        for claim in claims:
            over = [place for place in taken if claim.first < place.best.last and place.best.first < claim.last]
            if not over:
                taken.append(Place([claim]))
            elif len(over) == 1 and over[0].best.evidence - claim.evidence <= words.weight("rivals"):
                over[0].claims.append(claim)
        return sorted(taken, key=lambda place: place.best.first)

    def _claims(self) -> Iterator[Claim]:
        for at, hits in self._by_row().items():
            row = self._index.rows[at]
            for cluster in self._clusters(hits):
                yield Claim(row, tuple(cluster), self._evidence(row, cluster))

    def _by_row(self) -> dict[int, list[Hit]]:
        """Return the hits of each row that is worth a look."""
        rows: dict[int, list[Hit]] = defaultdict(list)
        common: list[Hit] = []
        for hit in self._hits:
            if len(self._index.postings[hit.key]) <= _RARE:
                for at in self._index.postings[hit.key]:
                    rows[at].append(hit)
            else:
                common.append(hit)
        for at in self._exact if common else ():
            rows.setdefault(at, [])
        if common:
            self._add_common(rows, common)
        return {at: sorted(hits, key=lambda hit: hit.at) for at, hits in rows.items()}

    def _add_common(self, rows: dict[int, list[Hit]], common: Sequence[Hit]) -> None:
        for first, second in itertools.pairwise(common):
            near = second.at - first.end <= 2 and first.key != second.key
            shared = self._index.sharing(first.key, second.key) if near else frozenset[int]()
            if len(shared) <= _RARE:
                for at in shared:
                    rows.setdefault(at, [])
        for at, hits in rows.items():
            hits.extend(hit for hit in common if hit.key in self._index.rows[at].words)

    def _clusters(self, hits: Sequence[Hit]) -> Iterator[list[Hit]]:
        """Part the hits of one row where what stands between them cannot be inside one name."""
        cluster: list[Hit] = []
        for hit in hits:
            if cluster and not self._bridged(cluster[-1], hit, cluster[0]):
                yield cluster
                cluster = []
            if len(cluster) > 1 and hit.key == cluster[0].key and self._is_other_noun(cluster[0].end, cluster[1].at):
                cluster.pop(0)
            if any(hit.key == other.key for other in cluster):
                continue
            cluster.append(hit)
        if cluster:
            yield cluster

    def _is_other_noun(self, first: int, last: int) -> bool:
        """Return whether a preposition parts two words of a name: "the *lines* away with the fine *line* cutter"."""
        return any(token.low in _PREPOSITIONS for token in self._said[first:last])

    def _bridged(self, before: Hit, hit: Hit, first: Hit) -> bool:
        between = hit.at - before.end
        if between <= 0:
            return hit.at >= before.at
        if any(token.low in words.as_said("barriers") for token in self._said[before.end : hit.at]):
            return False
        if any(token.begins for token in self._said[before.end : hit.at + 1]):
            return False
        if any(token.low == "with" and token.stop_before for token in self._said[before.end : hit.at]):
            return False
        solid = self._solid[hit.at] - self._solid[before.end]
        allowed = 0 if between > 3 else 1
        return solid <= allowed and between <= words.reach("bridge_words") and hit.end - first.at <= _LONGEST

    def _evidence(self, row: Row, cluster: Sequence[Hit]) -> float:
        telling = self._index.telling
        said = {hit.key for hit in cluster}
        found = sum(telling(hit.key) * hit.quality for hit in cluster)
        found -= words.weight("missing") * sum(telling(key) for key in row.words if key not in said)
        for before, after in itertools.pairwise(cluster):
            found -= words.weight("gap") * max(0, after.at - before.end)
            if after.at == before.end and row.words.index(before.key) < row.words.index(after.key):
                found += words.weight("in_order")
        if len(said) == len(row.words) > 1:
            found += words.weight("whole")
        return found + words.weight("capital") * any(self._said[hit.at].capital for hit in cluster)
