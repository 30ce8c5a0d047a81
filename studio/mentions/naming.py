"""How well the words of a place name a product.

By its `name`; by a `short` form, its noun; by a `part`, its first or last word; as `kin`, a word that names it only
beside its siblings; or only by `pointing` ("the clear one").
"""

from collections.abc import Sequence
from typing import Literal

from studio.mentions import words
from studio.mentions.claims import Claim
from studio.mentions.heard import Heard
from studio.mentions.hits import sound_key
from studio.mentions.resolve import fits

Strength = Literal["name", "short", "part", "kin", "pointing", ""]
_NUMBER_AFTER = 6


def strength(heard: Heard, claim: Claim, never_small: frozenset[str], *, alone: bool) -> Strength:
    """Return how a claim names its row; empty where the words are only ordinary talk.

    Args:
        heard: the sentence.
        claim: the row and the words said.
        never_small: words that the whole talk writes with a capital only.
        alone: no other row fits the words.
    """
    if claim.given:
        return "name"
    keys = claim.keys
    telling = keys - words.ordinary()
    if all(hit.sound for hit in claim.hits):
        return ""
    if claim.quality < words.weight("fuzzy_alone") and len(keys) == 1 and not _sounds_alike(heard, claim):
        return "kin" if telling and _is_variant(heard, claim) else ""
    if claim.quality < 1 and len(keys) == 1 and not telling:
        return ""
    capital = any(heard.tokens[hit.at].capital or hit.key in never_small for hit in claim.hits)
    before = heard.tokens[claim.first - 1].low if claim.first else ""
    pointed = determined(heard, claim.first) or (len(keys) > 1 and before in {"in", "with", "using"})
    heads = keys & claim.row.heads
    if len(keys) > 1:
        return _several(heard, claim, bool(telling), bool(heads), capital or pointed)
    if alone and pointed and before == "of" and ends_a_noun(heard, claim.last):
        return "short"
    return _single(heard, claim, bool(telling), capital, pointed)


def _sounds_alike(heard: Heard, claim: Claim) -> bool:
    """Return whether a noun with an article sounds as the noun of the row: "the mandrill" for a mandrel."""
    hit = claim.hits[0]
    pointed = determined(heard, hit.at) and hit.key in claim.row.heads and hit.end == hit.at + 1
    return pointed and sound_key(heard.tokens[hit.at].key) == sound_key(hit.key)


def _several(heard: Heard, claim: Claim, telling: bool, heads: bool, marked: bool) -> Strength:
    close = all(after.at - before.end <= 1 for before, after in zip(claim.hits, claim.hits[1:], strict=False))
    if claim.whole or (telling and (close or marked)) or (heads and (marked or claim.evidence > 1.0)):
        return "name"
    if marked:
        return "short"
    return "short" if close and _stands_free(heard, claim) else ""


def _stands_free(heard: Heard, claim: Claim) -> bool:
    """Return whether ordinary words of a name stand in its order where a noun is expected ("called porch swing,")."""
    places = [claim.row.words.index(hit.key) for hit in claim.hits]
    if places != sorted(places) or claim.keys & words.as_said("followers") or not ends_a_noun(heard, claim.last):
        return False
    return claim.first == 0 or heard.tokens[claim.first - 1].low in words.as_said("links")


def _single(heard: Heard, claim: Claim, telling: bool, capital: bool, pointed: bool) -> Strength:
    key, row = next(iter(claim.keys)), claim.row
    before = heard.tokens[claim.first - 1].low if claim.first else ""
    head = key in row.heads
    if capital and _in_longer_name(heard, claim):
        return ""
    if telling and capital:
        return "name"
    if capital and key in {row.words[0], row.words[-1]} and key not in words.as_said("calendar"):
        return "short"
    if head and _is_topic(heard, claim):
        return "short"
    if said_number(heard, claim) and (telling or head or pointed) and key not in words.listed("weak_heads"):
        return "name"
    if not ends_a_noun(heard, claim.last) or (not head and is_plural(heard, claim)):
        return ""
    if points(heard, claim.first, claim.last) and capital:
        return "short"
    if head and pointed and key not in words.listed("weak_heads"):
        return "short"
    if head and before in {"and", "plus"} and key not in words.listed("weak_heads"):
        return "part"
    if claim.whole and (telling or pointed):
        return "short"
    if key.endswith("ing"):
        return "pointing" if points(heard, claim.first, claim.last) else ""
    if telling and key in {row.words[0], row.words[-1]} and before in words.as_said("links"):
        return "part"
    used = claim.first > 0 and heard.tokens[claim.first - 1].low in {"with", "using"}
    if used and (telling or key in words.listed("product")) and key == row.words[0]:
        return "part"
    noun = telling or key in words.listed("product") - words.attributes() - words.listed("containers")
    if noun and key in {row.words[0], row.words[-1]} and pointed:
        return "part"
    if points(heard, claim.first, claim.last):
        return "pointing"
    return "kin" if telling and _is_variant(heard, claim) else ""


def _in_longer_name(heard: Heard, claim: Claim) -> bool:
    """Return whether a capitalised word has another beside it that is not of the name: some other name goes on."""
    before = heard.tokens[claim.first - 1] if claim.first else None
    after = heard.tokens[claim.last] if claim.last < len(heard.tokens) else None
    if before is not None and before.capital and not heard.tokens[claim.first].stop_before:
        return True
    return after is not None and after.capital and not after.stop_before and not after.begins


def _is_variant(heard: Heard, claim: Claim) -> bool:
    """Return whether the first or last word of a name stands where a noun ends: it may name a sibling."""
    key = next(iter(claim.keys))
    return key in {claim.row.words[0], claim.row.words[-1]} and ends_a_noun(heard, claim.last)


def _is_topic(heard: Heard, claim: Claim) -> bool:
    """Return whether a noun alone opens a sentence: "Scissors." "Bags: I get through a roll"."""
    if not heard.tokens[claim.first].begins:
        return False
    return claim.last >= len(heard.tokens) or heard.tokens[claim.last].stop_before


def is_plural(heard: Heard, claim: Claim) -> bool:
    """Return whether a noun was said in the plural that the name has in the singular."""
    said = heard.tokens[claim.hits[-1].at].low
    return (
        said != said.rstrip("s")
        and not said.endswith("'s")
        and words.fold(said) == claim.hits[-1].key
        and said not in claim.row.product.name.lower()
    )


def said_number(heard: Heard, claim: Claim) -> bool:
    """Return whether a number of the row's name is said with it."""
    near = heard.amounts_in(claim.first - 4, claim.last + _NUMBER_AFTER)
    return any(fits(size, claim.row, in_name=True) for amount in near for size in amount.sizes)


def determined(heard: Heard, first: int) -> bool:
    """Return whether an article or the like stands before a noun, adjectives between allowed."""
    passed = words.as_said("adjectives") | words.attributes()
    if first > 1 and heard.tokens[first - 1].low == "of" and heard.tokens[first - 2].key in words.listed("containers"):
        return True
    for at in range(first - 1, max(-1, first - 4), -1):
        token = heard.tokens[at]
        if token.low in words.as_said("articles"):
            return True
        if token.low not in passed or heard.tokens[at + 1].stop_before:
            return False
    return False


def ends_a_noun(heard: Heard, last: int) -> bool:
    """Return whether a noun ends here, rather than being part of a longer one."""
    if last >= len(heard.tokens):
        return True
    token = heard.tokens[last]
    kept = words.as_said("followers") | words.as_said("pronouns") | words.as_said("verbs")
    plural = heard.tokens[last - 1].low.endswith("s") and not heard.tokens[last - 1].low.endswith("ss")
    return (
        plural
        or token.stop_before
        or token.low.endswith("ly")
        or token.low in kept
        or token.key.isdigit()
        or heard.text(last - 1, last).endswith("'s")
    )


def points(heard: Heard, first: int, last: int) -> bool:
    """Return whether the words point at one of what is talked about: "the clear one", "the feather,"."""
    tokens: Sequence[words.Token] = heard.tokens
    before = tokens[first - 1].low if first else ""
    after = tokens[last] if last < len(tokens) else None
    if after is not None and after.low in words.as_said("pronouns") and not after.stop_before:
        return True
    if heard.tokens[first].start == 0 and heard.text(first, last).endswith(("'s", "’s")):
        return True
    if before == "in" and {token.low for token in tokens[max(0, first - 4) : first]} & words.as_said("offered"):
        return True
    if before == "not":
        return True
    if before in words.as_said("correction") and after is not None and after.stop_before:
        return True
    return before in words.as_said("pointing") and ends_a_noun(heard, last)
