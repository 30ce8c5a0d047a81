"""The walk through the talk: each place becomes a link to a row, in the light of all that was said before."""

from collections.abc import Iterator, Sequence

from studio.mentions import naming, roles, variants, words
from studio.mentions.claims import Claim, Place
from studio.mentions.heard import Heard
from studio.mentions.index import Index, Row
from studio.mentions.kinship import related
from studio.mentions.resolve import Around, Choice, Talk, choose, fits, rivals_of
from studio.mentions.telling import Link, Telling

_FAMILY = 60
"""Rows of one noun, as "tape", up to which they are taken for a family."""
_TIE = 0.05
"""Lead below which two rows fit alike."""


def link(index: Index, heard: Sequence[Heard]) -> list[Link]:
    """Return every link in the order of the talk."""
    walk = _Walk(index, heard)
    for at in range(len(heard)):
        walk.sentence(at)
    return walk.telling.settled()


class _Walk:
    def __init__(self, index: Index, heard: Sequence[Heard]) -> None:
        self.talk = Talk(index, heard)
        phrases = [
            roles.phrases(one.sentence.text, one.tokens) if _matters(heard, at) else [] for at, one in enumerate(heard)
        ]
        for at, found in enumerate(phrases):
            if away := roles.denied(found, heard[at].tokens):
                self.talk.denied[at] = away
        self.phrases = phrases
        self.telling = Telling(self.talk, phrases)
        self.never_small = _never_small(heard)

    def sentence(self, at: int) -> None:
        """Link the places of one sentence, then settle how each is spoken of."""
        heard = self.talk.heard[at]
        places = [(place, self._strength(heard, place)) for place in heard.places]
        places = [self._variant(at, place, how) if how in {"", "kin"} else (place, how) for place, how in places]
        named = [(place, how) for place, how in places if how]
        links: list[Link] = []
        for number, (place, how) in enumerate(named):
            end = named[number + 1][0].span[0] if number + 1 < len(named) else len(heard.tokens)
            start = max(named[number - 1][0].span[1] if number else 0, place.span[0] - 5)
            found = self._place(at, place, how, (start, end)) or self._narrowed(at, place, how, (start, end))
            if found:
                links.append(found)
                self.talk.spoken.append((at, found.row))
        links += self._numbers(at, links)
        links += self._of_kind(at, links)
        links.sort(key=lambda one: one.span)
        self.telling.tell(at, links)

    def _narrowed(self, at: int, place: Place, how: naming.Strength, region: tuple[int, int]) -> Link | None:
        """Return the link of a word that fits several rows, but one only of the kind named before."""
        narrowed, how = self._variant(at, place, how)
        return self._place(at, narrowed, how, region) if narrowed is not place else None

    def _strength(self, heard: Heard, place: Place) -> naming.Strength:
        rivals = rivals_of(place)
        found = [naming.strength(heard, claim, self.never_small, alone=len(rivals) == 1) for claim in rivals[:8]]
        order: tuple[naming.Strength, ...] = ("name", "short", "part", "kin", "pointing")
        return next((how for how in order if how in found), "")

    def _place(self, at: int, place: Place, how: naming.Strength, region: tuple[int, int]) -> Link | None:
        around = Around(self.talk, at, place.span, region)
        claims = rivals_of(place)
        if how in {"pointing", "kin"}:
            claims = self._of_family(at, claims)
        chosen = choose(around, claims)
        if chosen is None or chosen.evidence < words.weight("least_evidence"):
            return None
        if how != "name" and not self._may_stand(at, place, chosen):
            return None
        found = Link(at, place.span, chosen.row, how, chosen)
        found.tied = chosen.lead < _TIE
        if self._is_generic(at, place, chosen):
            return None
        found.sure = chosen.lead >= words.weight("margin") and self._well_heard(chosen.claim)
        found.sure = found.sure and not self._is_kind_only(place, chosen)
        return found

    def _is_generic(self, at: int, place: Place, chosen: Choice) -> bool:
        """Return whether a plural means the kind of thing ("the oils") and not one of several rows."""
        several = len(rivals_of(place)) > 1 and len(place.best.keys) == 1
        known = chosen.row.at in self.talk.shown
        several = several or place.best.keys <= self.talk.index.kinds
        return several and not known and naming.is_plural(self.talk.heard[at], chosen.claim or place.best)

    def _is_kind_only(self, place: Place, chosen: Choice) -> bool:
        """Return whether all that was said of a row not spoken of yet is a kind of thing, as "the paper"."""
        kinds = self.talk.index.kinds | words.listed("weak_heads")
        known = place.best.given or any(row is chosen.row for _, row in self.talk.spoken)
        return not known and len(place.best.keys) == 1 and place.best.keys <= kinds and not place.best.whole

    def _well_heard(self, claim: Claim | None) -> bool:
        return claim is None or claim.quality >= 0.85

    def _of_family(self, at: int, claims: Sequence[Claim]) -> list[Claim]:
        """Keep the rows that are siblings of what the talk is about."""
        focus = self.talk.focus(at)
        return [claim for claim in claims if any(self._beside(claim.row, row) for row in focus)]

    def _beside(self, one: Row, other: Row) -> bool:
        """Return whether two rows are siblings: in a family of few the same noun is enough, else more words agree."""
        few = all(len(self.talk.index.postings.get(head, ())) <= _FAMILY for head in one.heads)
        return related(one, other) and (few or len(set(one.words) & set(other.words)) > 1)

    def _may_stand(self, at: int, place: Place, chosen: Choice) -> bool:
        """Return whether a short form is enough: for the only row it fits, or one on the table or spoken of."""
        if chosen.row.at in self.talk.shown or chosen.lead >= words.weight("margin"):
            return True
        return any(row.at == chosen.row.at for row in self.talk.focus(at))

    def _variant(self, at: int, place: Place, how: naming.Strength) -> tuple[Place, naming.Strength]:
        """Return a place narrowed to the variant of the kind named before, where a phrase shows it or sets it aside."""
        beside = any(
            phrase.last <= place.span[0] and self._near(at, phrase.last, place.span[0]) for phrase in self.phrases[at]
        )
        beside = beside or variants.is_corrected(self.talk.heard[at], place)
        claim = variants.of_kind(self.talk.index, self.talk.heard, at, place) if beside else None
        return (Place([claim]), "part") if claim else (place, how)

    def _near(self, at: int, first: int, last: int) -> bool:
        return all(token.low in words.as_said("articles") for token in self.talk.heard[at].tokens[first:last])

    def _of_kind(self, at: int, links: Sequence[Link]) -> Iterator[Link]:
        """Give links for bare numbers that tell rows of a kind apart: "the mesh with 120, then 240"."""
        taken = [one.span for one in links]
        for amount, row in variants.numbers(self.talk.index, self.talk.heard, at, taken):
            choice = Choice(row, 1.0, 1.0, ())
            self.talk.spoken.append((at, row))
            yield Link(at, (amount.first, amount.last), row, "part", choice, sure=True)

    def _numbers(self, at: int, links: Sequence[Link]) -> Iterator[Link]:
        """Give links that a number alone makes: "the number 8", "the kilo", for a sibling of what is talked about."""
        heard, focus = self.talk.heard[at], self.talk.focus(at)
        taken = [one.span for one in links]
        for amount in heard.amounts:
            if not focus or not amount.sizes or not _stands_alone(heard, amount.first, amount.last):
                continue
            if any(first - 6 <= amount.first < last + 6 for first, last in taken if first <= amount.last):
                continue
            family = [focus[0], *self.talk.index.siblings(focus[0])]
            fitting = [
                row
                for row in family
                if related(row, focus[0]) and any(fits(size, row, in_name=size[1] == "") for size in amount.sizes)
            ]
            if len(fitting) == 1:
                choice = Choice(fitting[0], 1.0, 1.0, ())
                yield Link(at, (amount.first, amount.last), fitting[0], "pointing", choice, sure=True)


def _stands_alone(heard: Heard, first: int, last: int) -> bool:
    """Return whether a number stands for a product: "the number 8", "the kilo", not "the 8 strips"."""
    before = heard.tokens[first - 1].low if first else ""
    if heard.tokens[first].begins and last < len(heard.tokens):
        return last - first > 1 and heard.tokens[last].low in words.as_said("verbs")
    if heard.tokens[first].low in {"number", "no", "size"} and first:
        return before in words.as_said("pointing")
    small_words = words.as_said("adjectives") | words.as_said("large") | words.as_said("small")
    start = next((at for at in range(first - 1, max(-1, first - 4), -1) if heard.tokens[at].low not in small_words), 0)
    before = heard.tokens[start].low if first else ""
    container = last < len(heard.tokens) and heard.tokens[last].key in words.listed("containers")
    return before in words.as_said("pointing") | {"a"} and (container or naming.ends_a_noun(heard, last))


def _matters(heard: Sequence[Heard], at: int) -> bool:
    """Return whether what a sentence says may bear on a product: it may name one, or the one before may."""
    return bool(heard[at].amounts) or any(heard[near].places for near in range(max(0, at - 1), at + 1))


def _never_small(heard: Sequence[Heard]) -> frozenset[str]:
    """Return the words that begin a sentence with a capital and are never written small in the whole talk."""
    small, big = set[str](), set[str]()
    for one in heard:
        for token in one.tokens:
            written = one.sentence.text[token.start]
            (big if written.isupper() else small).add(token.key)
    return frozenset(big - small - words.ordinary())
