"""The terms of a promotion in one sentence: the sum to reach, the percent, the count, the code, what counts."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from studio import quantity, rule_files
from studio.quantity import Found

_SHARE = {
    "third": Fraction(100, 3), "quarter": Fraction(25), "half": Fraction(50), "fifth": Fraction(20),
    "tenth": Fraction(10),
}  # fmt: skip

_AS_WRITTEN = frozenset({"code", "given_first", "turn", "choose", "no_sum", "with_code"})
"""Patterns in which capitals count."""
_BASES = ("goods", "goods_after_discount", "order_total")
"""What may count towards a threshold, in the order in which it is looked for."""


@dataclass(frozen=True)
class Sum:
    """Money that an order must reach, and the words of its place."""

    amount: Decimal
    unit: str
    start: int
    end: int
    replaces: str | None = None


def pattern(name: str) -> re.Pattern[str]:
    """Return a pattern of `shared/offers.toml`."""
    return _filled(rule_files.text("offers.toml", "patterns", name), exact=name in _AS_WRITTEN)


def _filled(said: str, *, exact: bool = False) -> re.Pattern[str]:
    """Return a pattern with its word lists put in."""
    for name in ("delivery", "free"):
        said = said.replace(f"{{{name}}}", rule_files.text("offers.toml", "words", name))
    return rule_files.expression(said, exact=exact)


def place_of(name: str, text: str) -> int | None:
    """Return where a pattern is found in a text."""
    hit = pattern(name).search(text)
    return hit.start() if hit else None


@lru_cache(maxsize=65536)
def says(name: str, text: str) -> bool:
    """Return whether a pattern is found in a text."""
    return pattern(name).search(text) is not None


def blanked(name: str, text: str) -> str:
    """Return a text of the same length in which what a pattern finds is blank."""
    return pattern(name).sub(lambda hit: " " * len(hit.group()), text)


def money_said(found: Found) -> Decimal | None:
    """Return an amount of money as a decimal, or None where it is none; of an offer, "pounds" are money."""
    is_money = found.kind in ("currency", "number") or found.unit == "lb"
    if not is_money or not found.exact or found.form == "fraction":
        return None
    value = found.exact[0]
    return Decimal(value.numerator) / Decimal(value.denominator)


def thresholds(text: str, taken: tuple[int, int] | None = None, *, delivery: bool = False) -> list[Sum]:
    """Return the sums to reach, what was corrected away left out; `taken` are characters that tell a date.

    Of free delivery "from sixty" is enough, without a word for spending.

    A sum is one that stands behind "spend", "order over" and the like, or before "or more". After the words of a
    correction the last stands and keeps the first in `replaces`.
    """
    return list(_thresholds(text, taken, delivery=delivery))


@lru_cache(maxsize=8192)
def _thresholds(text: str, taken: tuple[int, int] | None, *, delivery: bool) -> tuple[Sum, ...]:
    sums: list[Sum] = []
    for found in quantity.read(text):
        amount = money_said(found)
        if amount is None or amount <= 0 or (taken and taken[0] <= found.start < taken[1]):
            continue
        if says("money_off", text[found.end :]):
            continue
        if found.kind == "number" and says("no_sum", text[found.end :]):
            continue
        corrected = bool(sums) and says("corrects", text[sums[-1].end : found.start])
        if not corrected and not _is_threshold(text, found, delivery=delivery):
            continue
        unit = found.unit if found.unit.isupper() and len(found.unit) == 3 else ""
        between = text[sums[-1].end : found.start] if sums else ""
        alone = corrected or not (says("reward", between) or says("another", between))
        again = sums.pop() if sums and alone else None
        replaces = text[slice(*found.replaced_at)] if found.replaced_at else None
        if again and again.amount != amount:
            replaces = again.replaces or text[again.start : again.end]
        sums.append(Sum(amount, unit or (again.unit if again else ""), found.start, found.end, replaces))
    return tuple(sums)


def _is_threshold(text: str, found: Found, *, delivery: bool) -> bool:
    if found.bound == ">" or says("threshold_after", text[found.end : found.end + 40]):
        return True
    starts = [found.start, *(found.replaced_at or ())[:1]]
    leads = [text[max(0, at - 60) : at] for at in starts]
    if delivery and any(says("delivery_before", lead) for lead in leads):
        return True
    return (delivery or says("spends", text)) and any(says("threshold_before", lead) for lead in leads)


def percents(text: str, near: str = "") -> list[Fraction]:
    """Return the percents taken off a price; "half price" is 50. `near` is the sentence before, for its subject."""
    return list(_percents(text, near))


@lru_cache(maxsize=8192)
def _percents(text: str, near: str) -> tuple[Fraction, ...]:
    found = []
    for one in quantity.read(text):
        if one.kind.startswith("percent") and one.exact:
            before, after = text[: one.start], text[one.end :]
            told = says("percent_off", after[:24]) or says("percent_before", before[-40:])
            lowered = one.exact[-1] < 0 and says("fraction_context", f"{text} {near}")
            if told or lowered or _off_about(before, after):
                found.append(abs(one.exact[-1]))
    share = pattern("fraction_off").search(text)
    if share and not found:
        clear = "price" in share.group().lower() or not says("one_of", share.group())
        if clear or says("fraction_context", text.replace(share.group(), "") + " " + near):
            found.append(_SHARE[next(filter(None, share.groups())).lower()])
    if not found and promo_code(text):
        found = [one.exact[-1] for one in quantity.read(text) if one.kind == "percent" and one.exact]
    return tuple(found)


def is_money_off(text: str) -> bool:
    """Return whether an amount of money is taken off ("five pounds off")."""
    return says("money_off_said", text) or any(
        one.kind == "currency" and says("money_off", text[one.end :]) for one in quantity.read(text)
    )


def _off_about(before: str, after: str) -> bool:
    return says("sale", before[-30:]) or says("with_code", after)


@lru_cache(maxsize=8192)
def promo_code(text: str) -> str | None:
    """Return the code word of a promotion, written in capitals."""
    found = pattern("code").search(text)
    return found.group("code").replace(" ", "").replace("-", "") if found else None


@lru_cache(maxsize=8192)
def is_free_delivery(text: str) -> bool:
    """Return whether the post is free; "before postage" only tells what counts."""
    for counted in _BASES:
        text = _basis(counted).sub(" ", text)
    return says("delivery_free", text)


def basis(text: str) -> str:
    """Return what counts towards the threshold where it was said: goods, goods_after_discount or order_total."""
    return next((counted for counted in _BASES if _basis(counted).search(text)), "")


def _basis(counted: str) -> re.Pattern[str]:
    return _filled(rule_files.text("offers.toml", "basis", counted))
