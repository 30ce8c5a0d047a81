"""The walk through the talk: each place becomes a link to a row, in the light of all that was said before."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from studio.mentions import naming, roles, words
from studio.mentions.claims import Claim, Place
from studio.mentions.heard import Heard
from studio.mentions.index import Index, Row
from studio.mentions.resolve import Around, Choice, Talk, choose, fits, rivals_of
from studio.model import Role

_TIE = 0.05
"""Lead below which two rows fit alike."""


@dataclass
class Link:
    """A row named at a place."""

    at: int
    """Index of the sentence."""
    span: tuple[int, int]
    """First token, and after the last."""
    row: Row
    strength: naming.Strength
    choice: Choice
    role: Role = "shown"
    plainly: bool = False
    """The talk itself shows it; otherwise it was only used or named."""
    talked: bool = False
    """A phrase says that it was only talked of, set aside or given away."""
    used: bool = False
    """A phrase says that something is done with it."""
    decided: bool = False
    """The speaker chose it."""
    sure: bool = False
    tied: bool = False
    """Another row fits as well."""
    replaces: str | None = None


def link(index: Index, heard: Sequence[Heard]) -> list[Link]:
    """Return every link in the order of the talk."""
    walk = _Walk(index, heard)
    for at in range(len(heard)):
        walk.sentence(at)
    return walk.settled()


class _Walk:
    def __init__(self, index: Index, heard: Sequence[Heard]) -> None:
        self.talk = Talk(index, heard)
        self.links: list[Link] = []
        self.phrases = [
            roles.phrases(one.sentence.text, one.tokens) if _matters(heard, at) else [] for at, one in enumerate(heard)
        ]
        for at, found in enumerate(self.phrases):
            if away := roles.denied(found, heard[at].tokens):
                self.talk.denied[at] = away
        self.never_small = _never_small(heard)

    def sentence(self, at: int) -> None:
        """Link the places of one sentence, then settle how each is spoken of."""
        heard = self.talk.heard[at]
        places = [(place, self._strength(heard, place)) for place in heard.places]
        named = [(place, how) for place, how in places if how]
        links: list[Link] = []
        for number, (place, how) in enumerate(named):
            end = named[number + 1][0].span[0] if number + 1 < len(named) else len(heard.tokens)
            start = max(named[number - 1][0].span[1] if number else 0, place.span[0] - 5)
            found = self._place(at, place, how, (start, end))
            if found:
                links.append(found)
                self.talk.spoken.append((at, found.row))
        links += self._numbers(at, links)
        links.sort(key=lambda one: one.span)
        self._tell(at, links)
        self.links += links

    def _strength(self, heard: Heard, place: Place) -> naming.Strength:
        rivals = rivals_of(place)
        found = [naming.strength(heard, claim, self.never_small, alone=len(rivals) == 1) for claim in rivals[:8]]
        order: tuple[naming.Strength, ...] = ("name", "short", "part", "pointing")
        return next((how for how in order if how in found), "")

    def _place(self, at: int, place: Place, how: naming.Strength, region: tuple[int, int]) -> Link | None:
        around = Around(self.talk, at, place.span, region)
        claims = rivals_of(place)
        if how == "pointing":
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
        return found

    def _is_generic(self, at: int, place: Place, chosen: Choice) -> bool:
        """Return whether a plural means the kind of thing ("the oils") and not one of several rows."""
        several = len(rivals_of(place)) > 1 and len(place.best.keys) == 1
        known = chosen.row.at in self.talk.shown
        return several and not known and naming.is_plural(self.talk.heard[at], chosen.claim or place.best)

    def _well_heard(self, claim: Claim | None) -> bool:
        return claim is None or claim.quality >= 0.85

    def _of_family(self, at: int, claims: Sequence[Claim]) -> list[Claim]:
        """Keep the rows that are siblings of what the talk is about."""
        focus = self.talk.focus(at)
        return [claim for claim in claims if any(related(claim.row, row) for row in focus)]

    def _may_stand(self, at: int, place: Place, chosen: Choice) -> bool:
        """Return whether a short form is enough: for the only row it fits, or one on the table or spoken of."""
        if chosen.row.at in self.talk.shown or chosen.lead >= words.weight("margin"):
            return True
        return any(row.at == chosen.row.at for row in self.talk.focus(at))

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

    def _tell(self, at: int, links: Sequence[Link]) -> None:
        """Settle the role of each link of a sentence."""
        heard, found = self.talk.heard[at], self.phrases[at]
        spans = [one.span for one in links]
        before = self._withdrawn_by(at)
        withdrawn: set[int] = set()
        for one in links:
            others = [span for span in spans if span != one.span]
            told = roles.signs(found, one.span, others, heard.tokens)
            if not told.weights and before and before.at == at and _listed(heard, before.span[1], one.span[0]):
                one.role, one.plainly, one.decided = before.role, before.plainly, False
            else:
                self._give_role(one, told)
            if self._mend(heard, before, one) and before:
                withdrawn.add(before.row.at)
            elif one.row.at in withdrawn:
                one.role = "rejected"
            before = one
        for one in links:
            if one.role == "mentioned" and one.strength == "part" and self._in_list(heard, one, links):
                one.role = "shown"
        refused = {one.row.at for one in links if one.role == "rejected"}
        for one in links:
            if one.role == "shown" and not one.plainly and one.row.at in refused:
                one.role = "rejected"
            elif one.role == "shown":
                self._keep(one)
        self._look_back(at, links)

    def _in_list(self, heard: Heard, one: Link, links: Sequence[Link]) -> bool:
        """Return whether a short name stands in a list of its like: "the heather, the bracken and the oatcake"."""
        if one.talked:
            return False
        pairs = ((min(one.span, other.span), max(one.span, other.span), other) for other in links if other is not one)
        return any(
            _listed(heard, a[1], b[0]) and close(one.row, other.row) and not other.talked for a, b, other in pairs
        )

    def _withdrawn_by(self, at: int) -> Link | None:
        """Return the last link of the sentences before, if a correction opens what came since ("No, this is ...")."""
        last = self.links[-1] if self.links else None
        if last is None or at - last.at > words.reach("ahead_sentences"):
            return None
        firsts = [heard.tokens[0].low for heard in self.talk.heard[last.at + 1 : at + 1] if heard.tokens]
        return last if any(first in words.as_said("opening_correction") for first in firsts) else None

    def _give_role(self, one: Link, told: roles.Signs) -> None:
        one.role = told.role or "shown"
        one.plainly = told.weights.get("shown", 0.0) >= roles.LEAST and one.role == "shown"
        one.decided = told.choice and one.role == "shown"
        one.talked = one.role != "shown"
        one.used = one.role == "shown" and "shown" in told.weights
        if one.role == "shown" and not one.plainly and one.row.at not in self.talk.shown and self._only_talk(one):
            one.role = "mentioned"

    def _only_talk(self, one: Link) -> bool:
        """Return whether a name that no phrase shows is only talked of: pointed at, described, or talked of before."""
        if one.strength == "part" and one.used:
            return False
        if one.strength in {"pointing", "part"} or any(
            o.row is one.row and o.strength == "name" and not o.tied for o in self.links
        ):
            return True
        return _is_subject(self.talk.heard[one.at], one.span) and self._twin_shown(one)

    def _twin_shown(self, one: Link) -> bool:
        """Return whether a sibling was shown just before, so that this one was only talked of."""
        return any(
            one.at - last <= words.reach("twin_sentences") and close(self.talk.index.rows[at], one.row)
            for at, last in self.talk.shown.items()
        )

    def _mend(self, heard: Heard, before: Link | None, one: Link) -> bool:
        """Withdraw the name said first where a correction stands between two siblings; return whether it does."""
        if before is None or before.row is one.row or before.role != "shown":
            return False
        between = {token.low for token in heard.tokens[before.span[1] if before.at == one.at else 0 : one.span[0]]}
        if before.at != one.at:
            between |= {"no"} if one.plainly and close(before.row, one.row) else set()
        if (
            between & words.as_said("correction")
            and related(before.row, one.row)
            and one.role in {"shown", "mentioned"}
        ):
            one.role, one.plainly, one.replaces = "shown", True, self.talk.heard[before.at].text(*before.span)
            before.role = "rejected"
            self._forget(before.row)
            return True
        return False

    def _forget(self, row: Row) -> None:
        """Take a row off the table unless it was shown elsewhere."""
        if not any(other.role == "shown" and other.row is row for other in self.links):
            self.talk.shown.pop(row.at, None)

    def _keep(self, one: Link) -> None:
        self.talk.shown[one.row.at] = one.at
        if not one.decided:
            return
        for earlier in reversed(self.links):
            if one.at - earlier.at > words.reach("twin_sentences"):
                break
            if (
                earlier.role == "shown"
                and not earlier.plainly
                and earlier.row is not one.row
                and close(earlier.row, one.row)
                and not of_one_line(earlier.row, one.row)
            ):
                earlier.role = "mentioned"
                self._forget(earlier.row)

    def settled(self) -> list[Link]:
        """Return the links that stand once the whole talk is known."""
        kept = [one for one in self.links if not one.tied or self._stays(one)]
        plain = {one.row.at: one.at for one in reversed(kept) if one.role == "shown" and one.plainly}
        for one in kept:
            early = one.role == "shown" and not one.plainly and one.at < plain.get(one.row.at, -1)
            if early and (one.strength != "name" or _is_subject(self.talk.heard[one.at], one.span)):
                one.role = "mentioned"
        return kept

    def _stays(self, one: Link) -> bool:
        """Return whether a name that fits several rows alike is kept as a question: none of them is shown soon after."""
        tied = {one.row.at, *(row.at for row in one.choice.runners_up)}
        soon = range(one.at + 1, one.at + 2 + words.reach("twin_sentences"))
        if any(other.at in soon and other.row.at in tied and not other.tied for other in self.links):
            return False
        return one.plainly or (one.strength == "name" and one.choice.claim is not None and one.choice.claim.whole)

    def _look_back(self, at: int, links: Sequence[Link]) -> None:
        """Let "it hasn't turned up" of a sentence without a name tell of the product named last."""
        if links or not self.links or at - self.links[-1].at > 1:
            return
        first = next(
            (token.low for token in self.talk.heard[at].tokens if token.low not in {"and", "so", "but", "now"}), ""
        )
        if first not in {"it", "it's", "they", "they're", "that", "that's"}:
            return
        told = roles.signs(self.phrases[at], (0, 0), [], self.talk.heard[at].tokens)
        last = self.links[-1]
        if told.role in {"mentioned", "rejected"} and not last.plainly and last.role == "shown":
            last.role = told.role


def related(one: Row, other: Row) -> bool:
    """Return whether two rows are of one family: the same head, or the same kind and a shared word."""
    if one.heads & other.heads:
        return True
    return bool(set(one.words) & set(other.words)) and one.product.kind == other.product.kind


def close(one: Row, other: Row) -> bool:
    """Return whether two rows are taken for each other: they differ in one or two words."""
    if one is other:
        return False
    mine, theirs = set(one.words), set(other.words)
    return bool(mine & theirs) and len(mine - theirs) <= 2 and len(theirs - mine) <= 2 and related(one, other)


def of_one_line(one: Row, other: Row) -> bool:
    """Return whether two rows differ in their last word only, as the colours of a line do."""
    return one.words[:-1] == other.words[:-1]


def _is_subject(heard: Heard, span: tuple[int, int]) -> bool:
    """Return whether a sentence begins with the product and tells what it is like ("The clear is very clever")."""
    before = {token.low for token in heard.tokens[: span[0]]}
    if len(before) > 4 or not before <= words.as_said("articles") | {"and", "but", "so", "now", "oh", "well", "number"}:
        return False
    after = heard.tokens[span[1]].low if span[1] < len(heard.tokens) else ""
    return after in words.as_said("verbs") or heard.text(*span).endswith(("'s", "’s"))


def _stands_alone(heard: Heard, first: int, last: int) -> bool:
    """Return whether a number stands for a product: "the number 8", "the kilo", not "the 8 strips"."""
    before = heard.tokens[first - 1].low if first else ""
    if heard.tokens[first].low in {"number", "no", "size"} and first:
        return before in words.as_said("pointing")
    return before in words.as_said("pointing") | {"a"} and naming.ends_a_noun(heard, last)


def _matters(heard: Sequence[Heard], at: int) -> bool:
    """Return whether what a sentence says may bear on a product: it may name one, or the one before may."""
    return bool(heard[at].places) or (at > 0 and bool(heard[at - 1].places))


def _listed(heard: Heard, end: int, start: int) -> bool:
    """Return whether only list words stand between two names: "the moss, the clay and the heather"."""
    between = heard.tokens[end:start]
    return len(between) <= 4 and all(
        token.low in {"and", "or", "the", "a", "my", "plus", "then", "some"} for token in between
    )


def _never_small(heard: Sequence[Heard]) -> frozenset[str]:
    """Return the words that begin a sentence with a capital and are never written small in the whole talk."""
    small, big = set[str](), set[str]()
    for one in heard:
        for token in one.tokens:
            written = one.sentence.text[token.start]
            (big if written.isupper() else small).add(token.key)
    return frozenset(big - small - words.ordinary())
