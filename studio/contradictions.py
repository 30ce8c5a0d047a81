"""What was said of an item's price, page, count and size against its catalogue row."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from studio import quantity, stated
from studio.claims import Claim, claims, clause_start, pattern
from studio.model import Catalogue, Finding, Mention, Offer, Product, Sentence
from studio.offer_terms import DOLLARS

_CARRY = 3
"""Sentences over which "it" still means the item named before."""
_ROUNDING = Fraction(1, 100)
"""Two lengths in different units agree within this share; "about" allows eight times as much."""


_SHORT = re.compile(
    r"(?:and |but |so |now |oh |then )*(?:the|that|this|my|your) "
    r"((?:[a-z-]+ ){0,2}?[a-z-]+)(?:'s| is| are| was| were|,)",
    re.IGNORECASE,
)
"""A sentence that begins with a short name: "the block was", "the mica trio is"."""


@dataclass(frozen=True)
class _Named:
    mention: Mention
    start: int
    end: int


def contradictions(
    sentences: Sequence[Sentence], mentions: Sequence[Mention], catalogue: Catalogue, offers: Sequence[Offer]
) -> tuple[Finding, ...]:
    """Return one finding for each claim that the row of its item does not bear out.

    A claim is compared only where its item is known: named before it in the sentence, or what the talk is about. Where
    the row says nothing comparable, or another item near by bears the claim out, nothing is found. Money of an offer
    is no price.
    """
    products = catalogue.by_code()
    known = [m for m in mentions if m.code in products]
    found: list[Finding] = []
    for place, sentence in enumerate(sentences):
        text = sentence.text.replace("’", "'")
        named = _named(sentence, known)
        sums = {offer.threshold for offer in offers if offer.heard == sentence.text}
        for claim in claims(text, tuple(n.end for n in named), tuple((n.start, n.end) for n in named)):
            subject = _subject(text, claim, named, sentences[:place], known, products)
            if subject is None or (claim.field == "price" and _money(claim) in sums):
                continue
            near = _near(sentences, place, known)
            finding = _compared(sentence, claim, subject, near, products, text)
            if finding and not any(_same(finding, other) for other in found):
                found.append(finding)
    return tuple(found)


def dates_against_rows(offers: Sequence[Offer], catalogue: Catalogue) -> tuple[Finding, ...]:
    """Return one finding for each item said to come or go on another day than its row says."""
    products = catalogue.by_code()
    found = []
    for offer in offers:
        if offer.kind not in ("dates", "last_chance"):
            continue
        for code in offer.applies_to:
            row = products.get(code)
            for said, listed in _days(offer, row) if row else ():
                message = (
                    f"You said {said:%-d %B %Y} of {row.name}; the catalogue says {listed:%-d %B %Y}." if row else ""
                )
                found.append(
                    Finding(
                        kind="contradiction",
                        severity="error",
                        message=message,
                        heard=said.isoformat(),
                        expected=listed.isoformat(),
                        start_ms=offer.start_ms,
                        code=code,
                    )
                )
    return tuple(found)


def _days(offer: Offer, row: Product) -> list[tuple[date, date]]:
    pairs = [(offer.starts_on, row.available_from), (offer.ends_on, row.available_until)]
    return [(said, listed) for said, listed in pairs if said and listed and said != listed]


def _money(claim: Claim) -> Decimal:
    return Decimal(claim.values[-1].numerator) / Decimal(claim.values[-1].denominator)


def _same(finding: Finding, other: Finding) -> bool:
    return (finding.code, finding.expected) == (
        other.code,
        other.expected,
    ) and finding.start_ms - other.start_ms < 60_000


def _named(sentence: Sentence, mentions: Iterable[Mention]) -> list[_Named]:
    named = []
    for mention in mentions:
        if sentence.start_ms <= mention.start_ms < sentence.end_ms:
            spans = [
                word
                for word in sentence.words
                if mention.start_ms <= word.start_ms < max(mention.end_ms, mention.start_ms + 1)
            ]
            if spans:
                named.append(_Named(mention, spans[0].start, spans[-1].end))
    return sorted(named, key=lambda one: one.start)


# --- which item a claim is about -------------------------------------------------------------------------------------


def _subject(
    text: str,
    claim: Claim,
    named: Sequence[_Named],
    before: Sequence[Sentence],
    mentions: Sequence[Mention],
    products: dict[str, Product],
) -> Mention | None:
    earlier = [one.mention for one in named if one.end <= claim.start]
    later = [one.mention for one in named if one.start >= claim.start]
    if earlier:
        return earlier[-1]
    if later and pattern("subject", "for_it").match(text[claim.found.end :]):
        return later[0]
    short = _short_name(text[: claim.start], before, mentions, products)
    if short:
        return short
    if claim.tie == "in" and later:
        return later[0]
    if not before or not _goes_on(text, claim):
        return None
    since = before[-_CARRY:][0].start_ms
    recent = [m for m in mentions if since <= m.start_ms <= before[-1].end_ms and m.role not in ("rejected", "gift")]
    able = [m for m in recent if _can_bear(claim, products[m.code or ""])]
    return (able or recent)[-1] if recent else None


def _can_bear(claim: Claim, product: Product) -> bool:
    """Return whether a row states something that the claim can be compared with."""
    row = stated.stated(product)
    if claim.field == "count":
        nouns = {count.noun for count in row.counts} | row.words
        return claim.noun in nouns if claim.noun else any(count.number > 1 for count in row.counts)
    if claim.field == "size":
        return any(stated.comparable(size, other) for size in stated.readings(claim.found) for other in row.sizes)
    return bool(row.pages) if claim.field == "page" else row.price is not None


def _goes_on(text: str, claim: Claim) -> bool:
    """Return whether the sentence, or the clause of the claim, speaks of what was named before."""
    clause = text[clause_start(text, claim.start) :]
    known = pattern("subject", "goes_on")
    return known.match(text) is not None or known.match(clause) is not None or len(text[: claim.start].split()) <= 4


def _short_name(
    lead: str, before: Sequence[Sentence], mentions: Sequence[Mention], products: dict[str, Product]
) -> Mention | None:
    """Return the item named before that alone shares the noun of "the block", "the mica trio", best match first."""
    phrase = _SHORT.match(lead)
    if phrase is None or not before:
        return None
    said = stated.words(phrase.group(1))
    head = stated.stem(phrase.group(1).split()[-1])
    until = before[-1].end_ms
    named = {m.code: m for m in mentions if m.start_ms <= until and m.role != "rejected"}
    shown = {m.code for m in mentions if m.role == "shown"}
    scores = {code: 2 * len(said & stated.stated(products[code or ""]).words) for code in named}
    scores = {code: score + (code in shown) if score else 0 for code, score in scores.items()}
    best = [code for code in named if scores[code] == max(scores.values()) and scores[code] > 0]
    if len(best) != 1 or head not in stated.stated(products[best[0] or ""]).words:
        return None
    return named[best[0]]


def _near(sentences: Sequence[Sentence], place: int, mentions: Sequence[Mention]) -> list[Mention]:
    first, last = sentences[max(0, place - 1)], sentences[place]
    return [m for m in mentions if first.start_ms <= m.start_ms <= last.end_ms]


# --- comparing -------------------------------------------------------------------------------------------------------


def _compared(
    sentence: Sentence,
    claim: Claim,
    subject: Mention,
    near: Sequence[Mention],
    products: dict[str, Product],
    text: str,
) -> Finding | None:
    product = products[subject.code or ""]
    expected = _against(claim, product, text)
    if not expected:
        return None
    others = [m.code or "" for m in near] + [code for code in subject.runners_up if code in products]
    if any(code != product.code and _bears_out(claim, products[code], text) for code in others):
        return None
    return Finding(
        kind="contradiction",
        severity="error",
        message=f'You said "{claim.heard.strip()}" of {product.name}; the catalogue says {expected}.',
        heard=claim.heard.strip(),
        expected=expected,
        start_ms=sentence.time_of(claim.start, claim.found.end)[0],
        code=product.code,
    )


def _bears_out(claim: Claim, product: Product, text: str) -> bool:
    row = stated.stated(product)
    if claim.field == "price":
        return row.price is not None and _price_fits(claim, row, text)
    if claim.field == "page":
        return any(value in row.pages for value in claim.values)
    if claim.field == "count":
        return claim.values[0] in row.numbers
    return any(_fits(claim, size) for size in row.sizes)


def _against(claim: Claim, product: Product, text: str) -> str:
    """Return what the row says where it says otherwise, or nothing."""
    row = stated.stated(product)
    if claim.found.ambiguous and product.currency != "GBP":
        return ""
    if claim.field == "price" and _is_price_of(claim, product) and not _price_fits(claim, row, text):
        return f"{row.price} {product.currency}".strip()
    if claim.field == "page" and row.pages and not any(value in row.pages for value in claim.values):
        return f"page {product.page}"
    if claim.field == "count":
        return _count_against(claim, row, product)
    if claim.field == "size":
        return _size_against(claim, row)
    return ""


def _is_price_of(claim: Claim, product: Product) -> bool:
    """Return whether money can be a price of an item: in its currency, and not far off."""
    if product.price is None:
        return False
    unit, said, price = claim.found.unit, claim.values[-1], Fraction(product.price)
    dollars = {unit, product.currency} <= DOLLARS
    known = unit == product.currency or dollars or claim.found.unit_implied or not product.currency or unit == "lb"
    parts = max((count.number for count in stated.stated(product).counts), default=1) if claim.tie == "share" else 1
    return known and said * stated.FAR * parts > price and price * stated.FAR > said


def _price_fits(claim: Claim, row: stated.Stated, text: str) -> bool:
    said, price = claim.values[-1], Fraction(row.price or Decimal(0))
    if said == price or (claim.found.bound == "<" and price <= said) or (claim.found.bound == ">" and price >= said):
        return True
    if claim.found.approximate and abs(said - price) <= price / 10:
        return True
    shares = {count.number for count in row.counts if count.number > 1}
    if any(abs(said - price / number) <= max(price / number / 20, Fraction(1, 100)) for number in shares):
        return True
    several = said / price if price else Fraction(0)
    return several.denominator == 1 and several > 1 and _says_number(text, claim, int(several))


def _says_number(text: str, claim: Claim, number: int) -> bool:
    return any(list(found.exact) == [number] and found.start != claim.start for found in quantity.read(text))


def _count_against(claim: Claim, row: stated.Stated, product: Product) -> str:
    said = claim.values[0]
    if said in row.numbers:
        return ""
    alike = [count for count in row.counts if count.noun and count.noun == claim.noun]
    packs = [count for count in row.counts if count.number > 1 or not count.noun]
    if alike:
        tied = claim.tie in ("pack", "in") or alike[0].number > 1
        return alike[0].text if tied else ""
    if (
        claim.tie in ("pack", "in")
        and len(packs) == 1
        and (not claim.noun or claim.noun in row.words or not packs[0].noun)
    ):
        return packs[0].text
    named = claim.noun in row.words and len(packs) == 1 and (not packs[0].noun or packs[0].noun in row.words)
    return packs[0].text if named and claim.tie == "has" else ""


def _size_against(claim: Claim, row: stated.Stated) -> str:
    sizes = stated.readings(claim.found)
    if not sizes or any(_fits(claim, other) for other in row.sizes):
        return ""
    alike = [other for size in sizes for other in row.sizes if stated.comparable(size, other)]
    if claim.found.of and not alike:  # "eight mil wide" of a thing of 6 mm by 1.8 m
        alike = [other for size in sizes for other in row.sizes if stated.is_side(size, other)]
    if not sizes[0].dimension and claim.tie != "verb":
        return ""
    return alike[0].text if alike else ""


def _fits(claim: Claim, other: stated.Size) -> bool:
    return any(_fits_as(claim, size, other) for size in stated.readings(claim.found))


def _fits_as(claim: Claim, size: stated.Size, other: stated.Size) -> bool:
    unsaid = claim.found.unit_implied or not size.dimension or not other.dimension
    if unsaid and stated.all_in(size.raw, other.raw, Fraction(0)):
        return True
    if size.dimension != other.dimension:
        return False
    allowed = _ROUNDING * (8 if claim.found.approximate else 1)
    return stated.all_in(size.values, other.values, allowed)
