"""The days of an offer: when items come on sale or leave it, and when a sale without terms runs."""

import re
from dataclasses import dataclass, field
from datetime import date
from functools import cache

from studio import dates
from studio.model import Mention, Offer, OfferKind, Product, Sentence
from studio.offers.terms import blanked, says

_LONG_WORD = re.compile(r"[a-z']{3,}")


@dataclass
class OfferReading:
    """What is needed to read the offers of one sentence after the other."""

    mentions: tuple[Mention, ...]
    products: dict[str, Product]
    on: date | None
    currency: str
    before_ms: int = 0
    """Where the sentence before begins."""
    told: list[tuple[int, Offer]] = field(default_factory=list)
    """Offers told so far, with the index of their sentence."""


def asked(offer: Offer, doubt: str) -> Offer:
    """Return the offer as one to be asked about; the first doubt stands."""
    unsure: Offer = offer.but(state="ask", doubt=offer.doubt or doubt)
    return unsure


def with_days(offer: Offer, period: dates.Period | None) -> Offer:
    """Give an offer the days of its sentence; a day alone is its last."""
    if period is None:
        return offer
    last = period.last or (period.day if period.first is None else None)
    told: Offer = offer.but(starts_on=period.first or offer.starts_on, ends_on=last or offer.ends_on)
    return asked(told, period.doubt) if period.doubt else told


def of_items(
    text: str, sentence: Sentence, talk: OfferReading, named: list[Mention], period: dates.Period | None
) -> Offer | None:
    """Read when items come on sale or leave it, or when a sale without terms runs."""
    codes = tuple(dict.fromkeys(m.code for m in named if m.code))
    if (period is None and not says("last_chance_strong", text)) or says("not_yet", text):
        return None
    text = blanked("done_by_people", text)
    kind = _by_rows(codes, period, talk) or _kind_of_dates(text, period, bool(codes), talk)
    if kind is None:
        return None
    last = kind == "last_chance"
    offer = Offer(kind=kind, heard=sentence.text, start_ms=sentence.start_ms, applies_to=codes, state="confirmed")
    if period:
        first, end = period.first, period.last
        if last and first and not end:
            first, end = None, first
        if period.day and not (first or end):
            first, end = (None, period.day) if last else (period.day, None)
        offer = offer.but(starts_on=first, ends_on=end)
    offer = _from_catalogue(offer, text, talk)
    if offer.applies_to and offer.ends_on and talk.on and offer.ends_on < talk.on:
        return None  # gone already: that is told of the item itself
    if not offer.applies_to and not says("sale", text) and not says("season", text):
        return None
    return asked(offer, period.doubt) if period and period.doubt else offer


def _by_rows(codes: tuple[str, ...], period: dates.Period | None, talk: OfferReading) -> OfferKind | None:
    """Know by the row what a date said of an item is: its first or its last day on sale."""
    rows = [talk.products[code] for code in codes if code in talk.products]
    said = {period.first, period.last, period.day} - {None} if period else set()
    if said & {row.available_until for row in rows} and not (period and period.first and period.last):
        return "last_chance"
    return "dates" if said & {row.available_from for row in rows} else None


def _kind_of_dates(text: str, period: dates.Period | None, named: bool, talk: OfferReading) -> OfferKind | None:
    if period is None:
        return "last_chance"
    before, rest = text[: period.start], text[: period.start] + text[period.end :]
    dated = period.first or period.last or (period.day if named else None)
    subject = named or bool(_classed(rest, talk))
    if not period.first and (period.last or period.while_stocks_last or says("last_chance_strong", rest)):
        leaves = says("last_chance", rest) or says("goes_then", before) or period.while_stocks_last
        if leaves and (subject or not says("season", rest)) and not (says("sale", rest) and not named):
            return "last_chance"
    if subject and dated and says("launch", rest) and not (period.last and not period.first and not says("sale", rest)):
        return "dates"
    runs = says("sale", rest) or (says("season", rest) and (says("launch", rest) or says("last_chance", rest)))
    return "dates" if runs and (period.first or period.last) else None


def _from_catalogue(offer: Offer, text: str, talk: OfferReading) -> Offer:
    """Complete the dates of items from their rows, and the items of a date from the rows that share it."""
    codes = [code for code in offer.applies_to if code in talk.products]
    if not codes:
        wanted = offer.ends_on if offer.kind == "last_chance" else offer.starts_on
        field_name = "available_until" if offer.kind == "last_chance" else "available_from"
        classed = _classed(text, talk)
        codes = [code for code in classed if wanted and getattr(talk.products[code], field_name) == wanted]
        words = () if codes or not classed else (_subject(text, talk),)
        of_class: Offer = offer.but(applies_to=tuple(codes) or words)
        return of_class
    rows = [talk.products[code] for code in codes]
    ends = {row.available_until for row in rows if row.available_until}
    starts = {row.available_from for row in rows if row.available_from}
    completed: Offer = offer.but(
        ends_on=offer.ends_on or (ends.pop() if len(ends) == 1 else None),
        starts_on=offer.starts_on or (starts.pop() if len(starts) == 1 and offer.kind == "dates" else None),
    )
    return completed


def _stem(word: str) -> str:
    return word.removesuffix("'s").removesuffix("s")


@cache
def _name_words(name: str, kind: str) -> frozenset[str]:
    return frozenset(_stem(word) for word in _LONG_WORD.findall(f"{name} {kind}".lower().replace("'", " ")))


def _classed(text: str, talk: OfferReading) -> list[str]:
    """Return the codes of rows whose name or kind shares a word with the text."""
    said = {_stem(word) for word in _LONG_WORD.findall(text.lower())}
    return [code for code, row in talk.products.items() if said & _name_words(row.name, row.kind)]


def _subject(text: str, talk: OfferReading) -> str:
    words = {word for row in talk.products.values() for word in _name_words(row.name, row.kind)}
    said: list[str] = _LONG_WORD.findall(text.lower())
    return next(word for word in said if _stem(word) in words)
