"""One sentence as the linker reads it: its words, the name places in it, and the sizes, prices and pages said."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from studio import quantity
from studio.mentions import words
from studio.mentions.claims import Finder, Place
from studio.mentions.hits import Vocabulary
from studio.mentions.index import Index, Size, based, of_quantity
from studio.mentions.nicknames import Nicknames
from studio.mentions.words import Token, tokens
from studio.model import Sentence

_NUMBER = frozenset({"number", "no", "size"})


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity said, at its tokens."""

    first: int
    last: int
    sizes: frozenset[Size] = frozenset()
    price: Decimal | None = None
    page: str = ""
    loose: bool = False
    """A bare number that may count or measure anything ("nine tenths")."""
    count: int | None = None
    """The number where it is a bare whole number."""


@dataclass
class Heard:
    """A sentence with what was found in it."""

    sentence: Sentence
    tokens: tuple[Token, ...]
    amounts: tuple[Amount, ...] = ()
    places: list[Place] = field(default_factory=list)

    def amounts_in(self, first: int, last: int) -> list[Amount]:
        """Return the quantities between two tokens."""
        return [amount for amount in self.amounts if first <= amount.first < last]

    def words_in(self, first: int, last: int) -> set[str]:
        """Return the folded words between two tokens."""
        return {token.key for token in self.tokens[max(0, first) : last]}

    def text(self, first: int, last: int) -> str:
        """Return the words as said between two tokens."""
        return self.sentence.text[self.tokens[first].start : self.tokens[last - 1].end]


def read(sentence: Sentence, index: Index, vocabulary: Vocabulary, nicknames: Nicknames | None = None) -> Heard:
    """Read one sentence."""
    said = tokens(sentence.text)
    heard = Heard(sentence, said, tuple(_amounts(sentence.text, said, index)))
    measured = [(amount.first, amount.last) for amount in heard.amounts if any(unit for _, unit in amount.sizes)]
    hits = [hit for hit in vocabulary.hits(said) if not _inside((hit.at, hit.end), measured)]
    given, exact = nicknames.claims(said) if nicknames else (), vocabulary.exact.rows(said)
    heard.places = Finder(index, said, hits, given, exact).places()
    if taken_back := set().union(*(_taken_back(said, place) for place in heard.places)):
        kept = [hit for hit in hits if hit.at not in taken_back]
        heard.places = Finder(index, said, kept, given, exact).places()
    return heard


def _taken_back(said: Sequence[Token], place: Place) -> set[int]:
    """Return the tokens of a name that a correction inside it takes back: "the knife, the long, sorry, the short"."""
    first, last = place.best.first, max(claim.last for claim in place.claims)
    turn = next((at for at in range(first, last) if said[at].low in words.as_said("opening_correction")), None)
    if turn is None:
        return set()
    before = [hit for hit in place.best.hits if hit.at < turn]
    after = {hit.key for claim in place.claims for hit in claim.hits if hit.at > turn}
    return (
        {before[-1].at} if len(before) > 1 and after and before[-1].key not in after | place.best.row.heads else set()
    )


def _inside(span: tuple[int, int], others: Sequence[tuple[int, int]]) -> bool:
    return any(first <= span[0] and span[1] <= last for first, last in others)


def _amounts(text: str, said: Sequence[Token], index: Index) -> list[Amount]:
    if not said:
        return []
    found = [_amount(one, text, said) for one in quantity.read(text)]
    found += [
        _unit_alone(said, at)
        for at in range(1, len(said))
        if said[at].key not in index.postings and _is_unit_alone(said, at)
    ]
    return sorted(found, key=lambda amount: amount.first)


def _amount(found: quantity.Found, text: str, said: Sequence[Token]) -> Amount:
    inside = [at for at, token in enumerate(said) if token.start < found.end and token.end > found.start]
    first, last = (inside[0], inside[-1] + 1) if inside else (0, 0)
    if "currency" in found.kind:
        value = found.exact[0] if found.exact else None
        return Amount(
            first, last, price=Decimal(value.numerator) / Decimal(value.denominator) if value is not None else None
        )
    said_as = text[found.start : found.end].lower()
    if said_as.endswith(("pound", "pounds")) and found.exact:  # money or weight: a row is asked for both
        price = Decimal(found.value.numerator) / Decimal(found.value.denominator)
        return Amount(first, last, frozenset(of_quantity(found)), price=price)
    if said_as.startswith("page"):
        return Amount(first, last, page=str(found.exact[0]) if found.exact else "")
    bare = found.exact[0] if len(found.exact) == 1 and found.kind in {"number", "count"} else None
    count = int(bare) if bare is not None and bare.denominator == 1 else None
    loose = len(found.exact) == 1 and (not found.unit or found.unit_implied) and not _is_pointed(said, first)
    return Amount(first, last, frozenset(of_quantity(found)), count=count, loose=loose)


def _is_pointed(said: Sequence[Token], first: int) -> bool:
    """Return whether a number is said as a name: "the 45", "number 10", "a forty-five"."""
    if first < len(said) and said[first].low in _NUMBER:
        return True
    return first > 0 and said[first - 1].low in words.as_said("articles") | _NUMBER


def _is_unit_alone(said: Sequence[Token], at: int) -> bool:
    """Return whether a unit stands for one of it, as in "the kilo"."""
    if said[at - 1].low not in {"the", "a"} or len(said[at].low) < 4:
        return False
    known = quantity.units.table().by_words.get((said[at].low,))
    return known is not None and known.dimension in {"mass", "volume"}


def _unit_alone(said: Sequence[Token], at: int) -> Amount:
    return Amount(at, at + 1, frozenset({based(Fraction(1), said[at].low)}))
