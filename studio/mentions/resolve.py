"""Which row a place names, by the words there and what is said around: sizes, prices, colours, what is on the table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import takewhile

from studio.mentions import words
from studio.mentions.claims import Claim, Place
from studio.mentions.heard import Amount, Heard
from studio.mentions.index import Index, Row, Size

_NAMES_SOMETHING = 0.6
"""Evidence from which a place is taken to name something, before it is looked at."""
_SCALES = {
    "length": tuple(map(Fraction, ("1", "10", "1000", "25.4", "304.8", "914.4"))),
    "mass": tuple(map(Fraction, ("1", "1000", "28.349523125", "453.59237"))),
    "volume": tuple(map(Fraction, ("1", "10", "1000", "29.5735295625"))),
    "paper_weight": (Fraction(1),),
}
"""Units in which a size may be said without its unit, in the base unit of its dimension."""


@dataclass
class Talk:
    """What the talk has come to: which rows were shown, and which it is about just now."""

    index: Index
    heard: Sequence[Heard]
    shown: dict[int, int] = field(default_factory=dict)
    """Row -> sentence in which it was last shown."""
    spoken: list[tuple[int, Row]] = field(default_factory=list)
    """Sentence and row of each name so far, in order."""
    denied: dict[int, set[int]] = field(default_factory=dict)
    """Sentence -> tokens that a refusal sets aside."""

    def focus(self, at: int) -> list[Row]:
        """Return the rows spoken of in the last sentences, the latest first."""
        oldest = at - words.reach("focus_sentences")
        recent = takewhile(lambda spoken: spoken[0] >= oldest, reversed(self.spoken))
        return list(dict.fromkeys(row for _, row in recent))


@dataclass(frozen=True)
class Choice:
    """A row for a place, with its evidence and the rows that come next."""

    row: Row
    evidence: float
    lead: float
    """How far it is before the second."""
    runners_up: tuple[Row, ...]
    claim: Claim | None = None


@dataclass
class Around:
    """What is said around one place that can tell its rows apart."""

    talk: Talk
    at: int
    span: tuple[int, int]
    region: tuple[int, int]
    """The tokens that belong to the place: from a little before it to the next place."""

    @cached_property
    def here(self) -> Heard:
        """The sentence itself."""
        return self.talk.heard[self.at]

    @cached_property
    def denied(self) -> set[str]:
        """Words set aside in the sentence or the next, outside the place itself."""
        found = set()
        for at in (self.at, self.at + 1):
            own = range(*self.span) if at == self.at else range(0)
            found |= {self.talk.heard[at].tokens[n].key for n in self.talk.denied.get(at, ()) if n not in own}
        return found

    @cached_property
    def words_here(self) -> set[str]:
        """Words of the sentence that are not set aside."""
        return self.here.words_in(0, len(self.here.tokens)) - self.denied

    @cached_property
    def words_near(self) -> set[str]:
        """Words of the sentences before and after that do not name something by themselves."""
        near = [self.talk.heard[at] for at in (self.at - 1, self.at + 1) if 0 <= at < len(self.talk.heard)]
        return set[str]().union(*map(_loose_words, near)) - self.denied

    @cached_property
    def amounts(self) -> list[Amount]:
        """Quantities that belong to the place, not set aside."""
        away = self.talk.denied.get(self.at, set())
        return [amount for amount in self.here.amounts_in(*self.region) if amount.first not in away]

    @cached_property
    def amounts_after(self) -> list[Amount]:
        """Quantities in the sentences after, up to the next one that names something else strongly."""
        found: list[Amount] = []
        if self.region[1] < len(self.here.tokens):
            return found
        for heard in self.talk.heard[self.at + 1 : self.at + 1 + words.reach("ahead_sentences")]:
            stop = next((place.span[0] for place in heard.places if place.best.evidence > _NAMES_SOMETHING), None)
            found += heard.amounts_in(0, len(heard.tokens) if stop is None else stop - 2)
            if stop is not None:
                break
        return found


def _loose_words(heard: Heard) -> set[str]:
    named = {at for place in heard.places if place.best.evidence > _NAMES_SOMETHING for at in range(*place.span)}
    return {token.key for at, token in enumerate(heard.tokens) if at not in named}


def choose(around: Around, claims: Sequence[Claim], more: Iterable[Row] = ()) -> Choice | None:
    """Return the row that fits best, with how far it leads; None where there is no row to choose."""
    rows: dict[int, tuple[Row, Claim | None]] = {}
    for claim in claims:
        rows.setdefault(claim.row.at, (claim.row, claim))
    for row in more:
        rows.setdefault(row.at, (row, None))
    if not rows:
        return None
    everyone = [row for row, _ in rows.values()]
    worth = {
        at: (claim.evidence if claim else 0.0) + _context(around, row, claim, everyone)
        for at, (row, claim) in rows.items()
    }
    order = sorted(rows, key=lambda at: (-round(worth[at], 4), rows[at][0].product.price or 0, at))
    best, second = order[0], order[1] if len(order) > 1 else None
    lead = worth[best] - worth[second] if second is not None else 9.0
    runners = tuple(rows[at][0] for at in order[1:4] if worth[best] - worth[at] < words.weight("rivals"))
    return Choice(rows[best][0], worth[best], lead, runners, rows[best][1])


def _context(around: Around, row: Row, claim: Claim | None, rivals: Sequence[Row]) -> float:
    said = claim.keys if claim else frozenset()
    unsaid = [key for key in row.words if key not in said]
    telling = around.talk.index.telling
    worth = sum(words.weight("context_word") * telling(key) for key in unsaid if key in around.words_here)
    worth += sum(
        words.weight("near_word") * telling(key) for key in unsaid if key in around.words_near - around.words_here
    )
    worth += sum(words.weight("denied") * telling(key) for key in unsaid if key in around.denied)
    focus = around.talk.focus(around.at)
    if focus:
        shared = set(unsaid) & set(focus[0].words)
        worth += sum(words.weight("focus_word") * telling(key) for key in shared)
    worth += words.weight("near_word") * bool(_telling_extra(row, rivals) & around.words_here)
    if around.here.words_in(*around.region) & words.listed("plain_form"):
        worth += words.weight("plain_form") * (len(row.words) == min(len(rival.words) for rival in rivals))
    worth += _by_numbers(around, row, rivals) + _by_bulk(around, row, rivals)
    return worth + words.weight("on_table") * (row.at in around.talk.shown)


def _telling_extra(row: Row, rivals: Sequence[Row]) -> frozenset[str]:
    """Return words of contents, size and kind that not every rival has."""
    others = [rival.extra for rival in rivals if rival is not row]
    return row.extra - frozenset.intersection(*others) if others else frozenset()


def _by_numbers(around: Around, row: Row, rivals: Sequence[Row]) -> float:
    """Return what sizes, price and page said with the name are worth for a row, where they tell it from others."""
    worth = 0.0
    here, after = _nearest(around, rivals)
    for name, amounts in (("said_size", here), ("near_size", after)):
        firm = {(size, amount.loose) for amount in amounts for size in amount.sizes}
        worth += words.weight(name) * min(1.5, sum(_share(size, row, rivals, in_name=loose) for size, loose in firm))
    money = {amount.price for amount in (*here, *after) if amount.price is not None}
    pages = {amount.page for amount in (*here, *after) if amount.page}
    if row.product.price in money and any(rival.product.price != row.product.price for rival in rivals):
        worth += words.weight("said_price")
    return worth + words.weight("said_page") * (row.product.page in pages)


def _nearest(around: Around, rivals: Sequence[Row]) -> tuple[Sequence[Amount], Sequence[Amount]]:
    """Return the quantities said with a name, and after; where a nearer one tells the rows apart, no later ones."""
    first, last = around.span
    touching = [one for one in around.amounts if one.last == first or (0 <= one.first - last <= 2 and not one.loose)]
    touching = [one for one in touching if _tells(one, rivals)]
    if touching:
        return touching, ()
    after = around.amounts_after
    if any(_tells(one, rivals) for one in around.amounts):
        return around.amounts, ()
    end = next((number for number, one in enumerate(after, 1) if _tells(one, rivals)), len(after))
    return around.amounts, after[:end]


def _tells(amount: Amount, rivals: Sequence[Row]) -> bool:
    """Return whether a size of an amount fits some of the rows but not all."""
    fitting = [any(fits(size, row, in_name=amount.loose) for size in amount.sizes) for row in rivals]
    return any(fitting) and not all(fitting)


def _share(size: Size, row: Row, rivals: Sequence[Row], *, in_name: bool) -> float:
    """Return 1 where of the rivals only this row has a size, 0 where all have it or this has it not."""
    if not fits(size, row, in_name=in_name):
        return 0.0
    having = sum(fits(size, rival, in_name=in_name) for rival in rivals)
    return 0.0 if having == len(rivals) else 1.0 / having


def fits(size: Size, row: Row, *, in_name: bool = False) -> bool:
    """Return whether a row has a size; a number said without a unit fits any."""
    sizes = row.name_sizes if in_name else row.sizes
    if size in sizes:
        return True
    value, dimension = size
    if dimension == "" and value in row.name_numbers:
        return True
    return dimension == "" and any(value in _as_printed(other) for other in sizes)


def _as_printed(size: Size) -> tuple[Fraction, ...]:
    """Return the numbers under which a size may be printed: in millimetres, centimetres, inches; grams, kilograms."""
    value, dimension = size
    return tuple(value / scale for scale in _SCALES.get(dimension, (Fraction(1),)))


def _by_bulk(around: Around, row: Row, rivals: Sequence[Row]) -> float:
    """Return what "the little one" is worth: for the smallest of the rivals that differ in size."""
    said = around.here.words_in(*around.region) - around.denied
    bulks = sorted({rival.bulk for rival in rivals if rival.bulk})
    if len(bulks) < 2:
        return 0.0
    little, big = bool(said & words.listed("small")), bool(said & words.listed("large"))
    if little == big:
        return 0.0
    return words.weight("bigger_smaller") * (row.bulk == (bulks[0] if little else bulks[-1]))


def rivals_of(place: Place) -> list[Claim]:
    """Return the claims of a place that are near enough to its best."""
    return [claim for claim in place.claims if place.best.evidence - claim.evidence <= words.weight("rivals")]
