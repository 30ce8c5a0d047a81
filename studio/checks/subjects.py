"""Which item a figure is said of: one named in its sentence, one that "it" still means, or none for certain."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from studio import stated
from studio.checks.claims import Claim, clause_start, pattern
from studio.checks.listed import Listed
from studio.model import Mention, Product, Sentence

_CARRY = {"price": 2, "page": 2, "count": 3, "size": 5}
"""Sentences over which "it" still means the item shown before: fewer for what more things have."""
_FEW = 3
"""A word in the names of at most so many rows names them."""

_SHORT = re.compile(
    r"(?:and |but |so |now |oh |then )*(?:the|that|this|my|your) "
    r"((?:[a-z-]+ ){0,2}?[a-z-]+)(?:'s| is| are| was| were|,)",
    re.IGNORECASE,
)
"""A sentence that begins with a short name: "the block was", "the mica trio is"."""


@dataclass(frozen=True)
class Named:
    """A mention in one sentence, with the place of its words."""

    mention: Mention
    start: int
    end: int


def named_in(sentence: Sentence, mentions: Iterable[Mention]) -> list[Named]:
    """Return the mentions of a sentence with their places, in order."""
    found = []
    for mention in mentions:
        if sentence.start_ms <= mention.start_ms < sentence.end_ms:
            spans = [
                word
                for word in sentence.words
                if mention.start_ms <= word.start_ms < max(mention.end_ms, mention.start_ms + 1)
            ]
            if spans:
                found.append(Named(mention, spans[0].start, spans[-1].end))
    return sorted(found, key=lambda one: one.start)


@dataclass(frozen=True)
class ClaimSite:
    """One sentence in its talk: its text and names, what was said before it, and the items of the catalogue."""

    text: str
    here: tuple[Named, ...]
    claims: tuple[Claim, ...]
    before: Sequence[Sentence]
    mentions: Sequence[Mention]
    products: Listed

    def subject(self, claim: Claim) -> Mention | None:
        """Return the mention of the item that a claim is about, or None where that is not certain."""
        earlier = [one for one in self.here if one.end <= claim.start]
        later = [one.mention for one in self.here if one.start >= claim.start]
        if earlier:
            breaks = clause_start(self.text, claim.start)
            last = next((one for one in reversed(earlier) if one.mention.role != "rejected" or one.end > breaks), None)
            if last is None:
                return None
            other = self._introduced(claim, last.end)
            return None if other and not self._is_called(last.mention, other) else last.mention
        if later and pattern("subject", "for_it").match(self.text[claim.found.end :]):
            return later[0]
        short = self._short_name(self.text[: claim.start])
        if short:
            return short
        if claim.tie == "in" and later:
            return later[0]
        return self._carried(claim)

    def _carried(self, claim: Claim) -> Mention | None:
        """Return the item that "it" means: the last shown before, or one only mentioned right before."""
        if not self.before or not self._goes_on(claim):
            return None
        recent = [m for m in self._since(_CARRY[claim.field]) if m.role == "shown"]
        recent = recent or [m for m in self._since(1) if m.role == "mentioned" and m.state == "confirmed"]
        able = [m for m in recent if can_bear(claim, self.products[m.code or ""])]
        if not able or self._speaks_of_others(claim, able[-1]):
            return None
        other = self._introduced(claim, 0)
        return None if other and not self._is_called(able[-1], other) else self._first_alike(able)

    def _first_alike(self, able: Sequence[Mention]) -> Mention:
        """Return the last item, or of the variants of one thing told right before it the first."""
        words = [stated.name_words(self.products[m.code or ""]) for m in able]
        at = len(able) - 1
        while at and words[at - 1] == words[at]:
            at -= 1
        return able[at]

    def _speaks_of_others(self, claim: Claim, mention: Mention) -> bool:
        """Return whether the words before a figure name something of few other rows and nothing of this one."""
        own = stated.name_words(self.products[mention.code or ""]) | stated.singular_words(mention.heard)
        said = stated.singular_words(self.text[: claim.start])
        few = {word for word in said - own if 0 < self.products.words[word] <= _FEW}
        return bool(few) and not said & own

    def _since(self, sentences: int) -> list[Mention]:
        since = self.before[-sentences:][0].start_ms
        return [m for m in self.mentions if since <= m.start_ms <= self.before[-1].end_ms]

    def _introduced(self, claim: Claim, start: int) -> tuple[str, str] | None:
        """Return the noun, and the words before it, of the thing that a sentence or clause begins with."""
        lead = self.text[start : claim.start]
        clause = self.text[max(start, clause_start(self.text, claim.start)) : claim.start]
        for words, name in ((lead, "opens"), (clause, "opens"), (lead, "comes_in")):
            hit = pattern("subject", name).match(words)
            if hit:
                return stated.stem(hit.group("noun")), hit.group("how")
        hit = pattern("subject", "headed").match(lead) if start == 0 else None
        noun = stated.stem(hit.group("noun")) if hit else ""
        return (noun, "") if self.products.words[noun] else None

    def _is_called(self, mention: Mention, thing: tuple[str, str]) -> bool:
        """Return whether a noun can mean an item; "the old one" is another one unless the item is called old."""
        noun, how = thing
        row = self.products[mention.code or ""]
        if noun == "one":
            told = stated.singular_words(how) - {"first", "only", "whole", "same"}
            return not told or bool(told & (stated.name_words(row) | stated.singular_words(mention.heard)))
        vague = pattern("subject", "vague").fullmatch(noun) is not None
        counted = {count.noun for count in stated.stated(row).counts}
        return vague or noun in stated.name_words(row) | stated.singular_words(mention.heard) | counted

    def by_heading(self, claim: Claim) -> Product | None:
        """Return the only row that the first noun of a sentence names and that another figure in it bears out."""
        hit = pattern("subject", "headed").match(self.text[: claim.start])
        if hit is None or self.here:
            return None
        noun = stated.stem(hit.group("noun"))
        rows = [row for row in self.products.values() if noun in stated.name_words(row)]
        others = [one for one in self.claims if one != claim and one.field == "price"]
        sure = [row for row in rows if any(stated.stated(row).price == one.values[-1] for one in others)]
        return sure[0] if len(sure) == 1 else None

    def _goes_on(self, claim: Claim) -> bool:
        """Return whether the sentence, or the clause of the claim, speaks of what was named before."""
        lead = self.text[: claim.start]
        if claim.field == "count" and claim.tie == "beside":
            return not lead.strip() and self.text[claim.found.end :][:1] in {"", ",", ".", ";"}
        known = pattern("subject", "goes_on")
        clause = self.text[clause_start(self.text, claim.start) :]
        return known.match(self.text) is not None or known.match(clause) is not None or len(lead.split()) <= 4

    def _short_name(self, lead: str) -> Mention | None:
        """Return the item named before that alone shares the noun of "the block", "the mica trio", best match first."""
        phrase = _SHORT.match(lead)
        if phrase is None or not self.before:
            return None
        said = stated.singular_words(phrase.group(1))
        head = stated.stem(phrase.group(1).split()[-1])
        until = self.before[-1].end_ms
        earlier = {m.code: m for m in self.mentions if m.start_ms <= until and m.role != "rejected"}
        shown = {m.code for m in self.mentions if m.role == "shown"}
        scores = {code: 2 * len(said & stated.name_words(self.products[code or ""])) for code in earlier}
        scores = {code: score + (code in shown) if score else 0 for code, score in scores.items()}
        best = [code for code in earlier if scores[code] == max(scores.values()) and scores[code] > 0]
        if len(best) != 1 or head not in stated.name_words(self.products[best[0] or ""]):
            return None
        return earlier[best[0]]


def can_bear(claim: Claim, product: Product) -> bool:
    """Return whether a row states something that the claim can be compared with."""
    row = stated.stated(product)
    if claim.field == "count":
        nouns = {count.noun for count in row.counts} | row.words
        return claim.noun in nouns if claim.noun else any(count.number > 1 for count in row.counts)
    if claim.field == "size":
        return any(stated.comparable(size, other) for size in stated.readings(claim.found) for other in row.sizes)
    return bool(row.pages) if claim.field == "page" else row.price is not None
