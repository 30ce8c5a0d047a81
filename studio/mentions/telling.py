"""How each product of a sentence is spoken of, in the light of what was shown and said before and after."""

from collections.abc import Sequence
from dataclasses import dataclass

from studio.mentions import naming, roles, words
from studio.mentions.heard import Heard
from studio.mentions.index import Row
from studio.mentions.kinship import close, of_one_line, related
from studio.mentions.resolve import Choice, Talk
from studio.model import Role

_TURNS = frozenset({"sorry", "i", "no", "wait", "oops", "excuse", "pardon"})
"""Words that open a correction after a comma."""
_IS = frozenset({"is", "are", "that's", "it's", "they're"})
_STATED = frozenset({"it's", "that's", "is", "this"})
_DENIALS = (
    "is it",
    "isn't",
    "is not",
    "it's not",
    "that's not",
    "my foot",
    "my eye",
    "wasn't",
    "what am i",
    "tell a lie",
    "i lie",
    "my mistake",
)
_SOON = 2
"""Words that may stand before a verdict which opens a sentence ("Mine are in a drawer", "And I have none")."""


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
    measured: bool = False
    """A size, an amount or a price is said with it."""
    decided: bool = False
    """The speaker chose it."""
    sure: bool = False
    tied: bool = False
    """Another row fits as well."""
    replaces: str | None = None


class Telling:
    """Gives the links of a talk their roles."""

    def __init__(self, talk: Talk, phrases: Sequence[Sequence[roles.Phrase]]) -> None:
        """Take the talk, and for each sentence the constructions found in it."""
        self.talk = talk
        self.phrases = phrases
        self.links: list[Link] = []

    def tell(self, at: int, links: Sequence[Link]) -> None:
        """Settle the role of each link of a sentence."""
        heard, found = self.talk.heard[at], self.phrases[at]
        spans = [one.span for one in links]
        before = self._withdrawn_by(at)
        withdrawn: set[int] = set()
        for one in links:
            others = [span for span in spans if span != one.span]
            told = roles.signs(found, one.span, others, heard.tokens)
            after = min((span[0] for span in others if span[0] >= one.span[1]), default=len(heard.tokens))
            one.measured = bool(heard.amounts_in(one.span[0], after))
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
        self.links += links

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
        heard = self.talk.heard[one.at]
        if one.role == "shown" and one.strength in {"name", "short"}:
            one.used = one.used or _is_heading(heard, one.span) or _says_which(heard, one.span, one.row)
        if one.role == "shown" and not one.used and _is_dated(one.row):
            one.role, one.talked = "mentioned", True
        if one.role == "shown" and not one.plainly and self._refused(one):
            one.role = "mentioned"
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

    def _refused(self, one: Link) -> bool:
        """Return whether a row pointed at was set aside when it was last spoken of."""
        last = next((other for other in reversed(self.links) if other.row is one.row), None)
        return last is not None and last.role == "rejected" and one.strength in {"pointing", "part"}

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
        cue = between & words.as_said("correction") or (before.at == one.at and _is_denied(heard, before, one))
        if cue and (related(before.row, one.row) or self._swapped(before, one)) and one.role in {"shown", "mentioned"}:
            one.role, one.plainly, one.replaces = "shown", True, self.talk.heard[before.at].text(*before.span)
            before.role = "rejected"
            self._forget(before.row)
            return True
        return False

    def _swapped(self, before: Link, one: Link) -> bool:
        """Return whether "I mean" or "sorry" swaps two tools of one kind: "the knife, I mean, oh dear, the needle"."""
        if before.at != one.at or before.row.product.kind != one.row.product.kind:
            return False
        between = self.talk.heard[one.at].tokens[before.span[1] : one.span[0]]
        turn = next((n for n, token in enumerate(between) if token.low in _TURNS and token.stop_before), None)
        marks = sum(token.stop_before for token in between)
        return turn is not None and marks > 1 and between[-1].low in words.as_said("articles")

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
        """Return whether a name that fits several rows is kept as a question: none of them is shown soon after."""
        tied = {one.row.at, *(row.at for row in one.choice.runners_up)}
        soon = range(one.at + 1, one.at + 2 + words.reach("twin_sentences"))
        if any(other.at in soon and other.row.at in tied and not other.tied for other in self.links):
            return False
        return one.plainly or (one.strength == "name" and one.choice.claim is not None and one.choice.claim.whole)

    def _look_back(self, at: int, links: Sequence[Link]) -> None:
        """Let "it hasn't turned up" of a sentence without a name tell of the product named last."""
        if links or not self.links or at - self.links[-1].at > 1:
            return
        last, said = self.links[-1], self.talk.heard[at].tokens
        if last.plainly or last.role != "shown":
            return
        verdicts = [phrase for phrase in self.phrases[at] if phrase.back and phrase.first <= _SOON]
        first = next((token.low for token in said if token.low not in {"and", "so", "but", "now"}), "")
        found = self.phrases[at] if first in {"it", "it's", "they", "they're", "that", "that's"} else verdicts
        told = roles.signs(found, (0, 0), [], said)
        if told.role in {"mentioned", "rejected"}:
            last.role = told.role
            self._forget(last.row)


def _is_denied(heard: Heard, before: Link, one: Link) -> bool:
    """Return whether a statement is denied and made anew: "My colour's rust, is it heck, it's moss"."""
    between = heard.tokens[before.span[1] : one.span[0]]
    denial = f" {' '.join(token.low for token in between)} "
    again = bool(between) and between[-1].low in _STATED and close(before.row, one.row)
    return again and between[0].stop_before and any(f" {words} " in denial for words in _DENIALS)


def _is_heading(heard: Heard, span: tuple[int, int]) -> bool:
    """Return whether the bare name makes a statement of its own: "Round nose for the loops." "Bench block, hammer."."""
    first, last = span
    token = heard.tokens[first]
    if not token.begins and not token.stop_before:
        return False
    return (
        last >= len(heard.tokens)
        or heard.tokens[last].stop_before
        or (token.begins and heard.tokens[last].low in {"for", "on", "in"})
    )


def _says_which(heard: Heard, span: tuple[int, int], row: Row) -> bool:
    """Return whether the sentence tells which one it is: "The cutter's the slim one"."""
    inside = heard.tokens[span[0] + 1 : span[1]]
    first = heard.tokens[span[0]]
    return (first.low.endswith("'s") and first.key in row.heads) or any(token.low in _IS for token in inside)


def _is_dated(row: Row) -> bool:
    """Return whether a row is sold for a season only, so that naming it announces it rather than shows it."""
    return row.product.available_from is not None or row.product.available_until is not None


def _is_subject(heard: Heard, span: tuple[int, int]) -> bool:
    """Return whether a sentence begins with the product and tells what it is like ("The clear is very clever")."""
    before = {token.low for token in heard.tokens[: span[0]]}
    if len(before) > 4 or not before <= words.as_said("articles") | {"and", "but", "so", "now", "oh", "well", "number"}:
        return False
    after = heard.tokens[span[1]].low if span[1] < len(heard.tokens) else ""
    return after in words.as_said("verbs") or heard.text(*span).endswith(("'s", "’s"))


def _listed(heard: Heard, end: int, start: int) -> bool:
    """Return whether only list words stand between two names: "the moss, the clay and the heather"."""
    between = heard.tokens[end:start]
    return len(between) <= 4 and all(
        token.low in {"and", "or", "the", "a", "my", "plus", "then", "some", "after", "it", "that"} for token in between
    )
