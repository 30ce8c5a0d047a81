"""How a product is spoken of: shown, talked of, set aside, given away, or not from the catalogue at all."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from studio import language, resources
from studio.mentions import words
from studio.mentions.words import Token
from studio.model import Role

LEAST = 1.0
"""Weight from which a role other than the usual one is taken."""
_NEAR, _FAR_VERDICT = 8, 1.4
"""A verdict that comes later than so many words after the product weighs less than a plain showing."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A construction found in a sentence, at its tokens."""

    role: Role
    weight: float
    product_after: bool
    reach: int
    choice: bool
    first: int
    last: int
    back: bool = False
    """It also tells of the product that the sentence before named."""


@dataclass
class Signs:
    """What the phrases around one product say of it."""

    weights: dict[Role, float] = field(default_factory=dict)
    choice: bool = False

    def add(self, phrase: Phrase) -> None:
        """Count one phrase in; the strongest of a role stands."""
        self.weights[phrase.role] = max(phrase.weight, self.weights.get(phrase.role, 0.0))
        self.choice = self.choice or phrase.choice

    @property
    def role(self) -> Role | None:
        """The strongest role, or None where nothing tells."""
        best = max(self.weights, key=lambda role: (self.weights[role], role != "shown"), default=None)
        return best if best and (self.weights[best] >= LEAST or best == "shown") else None


@cache
def _table() -> tuple[list[dict[str, Any]], language.Constructions]:
    rows = resources.table("roles.toml")["construction"]
    return rows, language.Constructions([row["patterns"] for row in rows])


def phrases(text: str, said: Sequence[Token]) -> list[Phrase]:
    """Return every construction of the rule file in a sentence."""
    rows, constructions = _table()
    low = text.lower()
    found = []
    for number, start, end in constructions.found(text):
        row = rows[number]
        if "needs" in row and not any(need in low for need in row["needs"]):
            continue
        inside = [at for at, token in enumerate(said) if token.start < end and token.end > start]
        if inside:
            after = row["side"] == "after"
            choice, back = row.get("choice", False), row.get("back", False)
            span = inside[0], inside[-1] + 1
            found.append(Phrase(row["role"], row["weight"], after, row["reach"], choice, *span, back))
    return found


def signs(
    found: Iterable[Phrase], span: tuple[int, int], others: Sequence[tuple[int, int]], said: Sequence[Token]
) -> Signs:
    """Return what is said of the product at a span; a phrase counts for the product that stands next to it."""
    told = Signs()
    for phrase in found:
        gap = (phrase.last, span[0]) if phrase.product_after else (span[1], phrase.first)
        turns = phrase.product_after or phrase.role == "shown"
        if gap[0] > gap[1] + (0 if phrase.product_after else 1) or _parted(gap, others, said, turns=turns):
            continue
        if phrase.role == "rejected" and phrase.product_after and _restarts(said[gap[0] : gap[1]]):
            continue
        distance = _distance(said[gap[0] : gap[1]])
        if distance <= phrase.reach:
            told.add(replace(phrase, weight=_FAR_VERDICT) if phrase.back and distance > _NEAR else phrase)
    return told


def _parted(gap: tuple[int, int], others: Sequence[tuple[int, int]], said: Sequence[Token], *, turns: bool) -> bool:
    """Return whether another product, or a turn of the sentence, stands between phrase and product."""
    if any(first < gap[1] and last > gap[0] for first, last in others):
        return True
    return turns and any(token.low in {"but", "because", "unless"} for token in said[gap[0] : gap[1]])


def _restarts(between: Sequence[Token]) -> bool:
    """Return whether a new statement begins after a refusal: "the wrong reel, it's the green"."""
    return any(token.stop_before and token.low in {"it's", "it", "that's", "this", "here's"} for token in between)


def _distance(between: Sequence[Token]) -> int:
    small = words.as_said("articles") | words.as_said("adjectives")
    return sum(token.low not in small for token in between)


def denied(found: Iterable[Phrase], said: Sequence[Token]) -> set[int]:
    """Return the tokens that a refusal sets aside: from "not the" to the next comma."""
    tokens: set[int] = set()
    for phrase in found:
        if phrase.role != "rejected" or not phrase.product_after:
            continue
        for at in range(phrase.last, min(len(said), phrase.last + 4)):
            if at > phrase.last and said[at].stop_before:
                break
            tokens.add(at)
    return tokens
