"""What a sentence claims of an item in figures: its price, page, count or size, apart from what is done with it."""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Literal

from studio import quantity, rule_files, stated
from studio.quantity import Found

Field = Literal["price", "page", "count", "size"]


@dataclass(frozen=True)
class Claim:
    """A figure said of an item, with its place in the sentence.

    `tie` tells how it hangs on its item: "pack" (a box of 100), "in" (four in it), "has" (it has four nibs), "verb"
    (it's 18 by 26), "beside" (the mat, 18 by 24), "behind" (10 grams each) or "price".
    """

    field: Field
    found: Found
    heard: str
    tie: str
    noun: str = ""

    @property
    def start(self) -> int:
        """Index of its first character in the sentence."""
        return self.found.start

    @property
    def values(self) -> tuple[Fraction, ...]:
        """The values said."""
        return self.found.exact


@cache
def pattern(table: str, name: str) -> re.Pattern[str]:
    """Return a pattern of `shared/claims.toml`, its container words filled in."""
    container = "|".join(rule_files.text("claims.toml", "words", "container").split())
    return rule_files.expression(rule_files.text("claims.toml", table, name).replace("{container}", container))


@cache
def _using() -> re.Pattern[str]:
    words = "|".join(rule_files.text("claims.toml", "words", "using").split())
    return rule_files.expression(rf"\b(?:{words})\b")


def clause_start(text: str, at: int) -> int:
    """Return where the clause of a place begins: after the last mark, or "and", "but", "so" before it."""
    marks = [m.end() for m in pattern("said", "clause").finditer(text[:at])]
    return marks[-1] if marks else 0


def claims(text: str, ends: tuple[int, ...] = (), inside: tuple[tuple[int, int], ...] = ()) -> list[Claim]:
    """Return the claims of a sentence.

    Args:
        text: the sentence, with straight apostrophes.
        ends: where the names of items in it end.
        inside: places of those names; a number that is part of a name is no claim.
    """
    made = []
    plain = _without(text, inside)
    for found in quantity.read(text):
        if any(start <= found.start < end for start, end in inside):
            continue
        if found.question and found.kind != "currency":
            continue
        claim = (
            _price(text, plain, found)
            or _page(text, found)
            or _count(text, plain, found)
            or _size(text, plain, found, ends)
        )
        if claim:
            made.append(claim)
    return made


def _price(text: str, plain: str, found: Found) -> Claim | None:
    pounds = "GBP" in found.ambiguous
    if (
        not (found.kind == "currency" or pounds or _is_bare_price(text, found))
        or found.unit in ("cent", "pence")
        or not found.exact
    ):
        return None
    start = clause_start(text, found.start)
    end = pattern("said", "price_end").search(text[found.end :])
    clause = text[start : found.end + (end.end() if end else 0)]
    if pattern("price", "other").search(clause) or pattern("price", "difference").match(text[found.end :]):
        return None
    each = pattern("price", "each").match(text[found.end :])
    noun = (each.group("noun") or each.group("noun2") or "") if each else ""
    if _using().search(plain[start : found.start]) or pattern("said", "of_it").match(text[found.end :]):
        return None
    share = pattern("price", "share").search(text[start : found.start]) is not None
    return Claim("price", found, text[found.start : found.end], "share" if share else "price", stated.stem(noun))


def _without(text: str, inside: tuple[tuple[int, int], ...]) -> str:
    """Return the text with the names of items blank, so that no word of a name is taken for what is done."""
    for start, end in inside:
        text = text[:start] + " " * (end - start) + text[end:]
    return text


def _is_bare_price(text: str, found: Found) -> bool:
    """Return whether a number with two decimals and no sign is money by the words around: "6.95 for the small"."""
    if found.kind != "number" or not re.fullmatch(r"\d{1,3}\.\d\d", text[found.start : found.end]):
        return False
    before, after = pattern("price", "bare_before"), pattern("price", "bare_after")
    return before.search(text[: found.start]) is not None or after.match(text[found.end :]) is not None


def _page(text: str, found: Found) -> Claim | None:
    if found.kind != "name_number" or not pattern("said", "page").match(text[found.start :]):
        return None
    if pattern("page", "other").search(text[found.end : found.end + 30]):
        return None
    return Claim("page", found, text[found.start : found.end], "page")


def _count(text: str, plain: str, found: Found) -> Claim | None:
    countable = found.kind in ("count", "number") or found.unit in stated.VESSELS
    if not countable or not found.exact or found.exact[0].denominator != 1 or found.form == "fraction":
        return None
    before, after = text[: found.start], text[found.end :]
    noun = stated.stem(found.unit.split()[-1]) if found.kind != "number" and found.unit else ""
    heard = text[found.start : found.end]
    if found.unit in stated.VESSELS:
        noun = stated.stem(heard.split()[-1])
    plural = None if noun else pattern("said", "plural").match(after)
    if plural:
        noun, heard = stated.stem(plural.group(1)), heard + plural.group()
    noun = "piece" if noun in rule_files.word_set("claims.toml", "words", "things") else noun
    start = clause_start(text, found.start)
    if _using().search(plain[start : found.start]):
        return None
    pack = pattern("count", "pack_of").search(before)
    if pack is None and pattern("said", "of_them").match(after):
        pack = pattern("count", "pack_then").search(before)
    if pack:
        return Claim("count", found, text[pack.start() : found.end], "pack", noun)
    if noun and pattern("count", "enough").match(after[len(heard) - (found.end - found.start) :]):
        return None
    inner = pattern("count", "in_pack").match(after)
    if pattern("count", "pack_holds").search(before):
        return Claim("count", found, heard, "in", noun)
    if inner:
        own = noun or _noun_between(inner.group())
        return Claim("count", found, text[found.start : found.end] + inner.group(), "in", own)
    if noun:
        tie = "has" if pattern("count", "has").search(before.rstrip()) else "beside"
        return Claim("count", found, heard, tie, noun)
    return None


def _noun_between(text: str) -> str:
    word = pattern("said", "noun_between").match(text)
    return stated.stem(word.group(1)) if word else ""


def _size(text: str, plain: str, found: Found, ends: tuple[int, ...]) -> Claim | None:
    size = stated.size_of(found, "")
    if size is None or size.dimension in ("temperature", "percent", "angle"):
        return None
    start, after = clause_start(text, found.start), text[found.end :]
    hesitant = pattern("size", "hesitant").search(text[: found.start])
    lead = f"{hesitant.group('pronoun')} " if hesitant else text[start : found.start]
    if _using().search(plain[max(0, start - 1) : found.start]) and not pattern("size", "holds").search(lead):
        return None
    if _is_dose(text[: found.start], after) or pattern("size", "made").search(lead):
        return None
    if pattern("said", "of_it").match(after) and not pattern("size", "holds").search(lead):
        return None
    tie = _tie(text, found, lead, ends)
    return Claim("size", found, text[found.start : found.end], tie) if tie else None


def _is_dose(before: str, after: str) -> bool:
    """Return whether an amount is worked out for a batch: "3 percent, so that's 18 grams", "18 grams for 300 grams"."""
    worked_out = pattern("said", "percent").search(before) or pattern("said", "dose").match(after)
    return worked_out is not None


def _tie(text: str, found: Found, lead: str, ends: tuple[int, ...]) -> str:
    if pattern("said", "comes_in").search(lead):
        return "verb"
    if pattern("said", "in_name").search(lead):
        return ""
    named = [end for end in ends if end <= found.start]
    if named:
        between = text[named[-1] : found.start]
        if pattern("size", "verb").match(between):
            return "verb"
        if len(found.exact) > 1 and pattern("size", "beside").match(between):
            return "beside"
    elif pattern("size", "listed").match(text[: found.start]):
        return "verb"
    if pattern("size", "behind").match(text[found.end :]) or found.per == "each":
        return "behind"
    return "verb" if pattern("size", "pronoun").search(lead) else ""
