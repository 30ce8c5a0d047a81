"""What was said of an item's price, page, count and size against its catalogue row."""

from bisect import bisect_left
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction

from studio import quantity, stated
from studio.checks import subjects
from studio.checks.claims import Claim, claims
from studio.checks.listed import Listed
from studio.model import Catalogue, Finding, Mention, Offer, Product, Sentence
from studio.quantity.money import DOLLARS

_ROUNDING = Fraction(1, 100)
"""Two lengths in different units agree within this share; "about" allows eight times as much."""


def contradictions(
    sentences: Sequence[Sentence], mentions: Sequence[Mention], catalogue: Catalogue, offers: Sequence[Offer]
) -> tuple[Finding, ...]:
    """Return one finding for each claim that the row of its item does not bear out.

    A claim is compared only where its item is known: named before it in the sentence, or what the talk is about. Where
    the row says nothing comparable, or another item near by bears the claim out, nothing is found. Money of an offer
    is no price.
    """
    products = Listed(catalogue.by_code())
    known = [m for m in mentions if m.code in products]
    by_time = sorted(known, key=_start_ms)
    found: list[Finding] = []
    for at, sentence in enumerate(sentences):
        text = sentence.text.replace("’", "'")
        first, last = (bisect_left(by_time, ms, key=_start_ms) for ms in (sentence.start_ms, sentence.end_ms))
        here = tuple(subjects.named_in(sentence, by_time[first:last]))
        said = claims(text, tuple(n.end for n in here), tuple((n.start, n.end) for n in here))
        place = subjects.ClaimSite(text, here, tuple(said), sentences[:at], known, products)
        sums = {offer.threshold for offer in offers if offer.heard == sentence.text}
        for claim in said:
            if claim.field in ("price", "count") and _money(claim) in sums:
                continue
            finding = _of_claim(sentence, claim, place, _near(sentences, at, known))
            if finding and not any(_same(finding, other) for other in found):
                found.append(finding)
    return tuple(found)


def _start_ms(mention: Mention) -> int:
    return mention.start_ms


def _of_claim(sentence: Sentence, claim: Claim, place: subjects.ClaimSite, near: Sequence[Mention]) -> Finding | None:
    subject = place.subject(claim)
    if subject:
        product = place.products[subject.code or ""]
        others = [m.code or "" for m in near] + [code for code in subject.runners_up if code in place.products]
        others += place.products.alike(product)
        severity = "error" if subject.state == "confirmed" else "ask"
        return _compared(sentence, claim, product, [place.products[code] for code in others], severity, place.text)
    headed = place.by_heading(claim)
    return _compared(sentence, claim, headed, [], "ask", place.text) if headed else None


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


def _near(sentences: Sequence[Sentence], place: int, mentions: Sequence[Mention]) -> list[Mention]:
    first, last = sentences[max(0, place - 1)], sentences[place]
    return [m for m in mentions if first.start_ms <= m.start_ms <= last.end_ms]


# --- comparing -------------------------------------------------------------------------------------------------------


def _compared(
    sentence: Sentence, claim: Claim, product: Product, others: Sequence[Product], severity: str, text: str
) -> Finding | None:
    expected = _against(claim, product, text)
    if not expected or any(row.code != product.code and _bears_out(claim, row, text) for row in others):
        return None
    return Finding.model_validate({
        "kind": "contradiction", "severity": severity, "heard": claim.heard.strip(), "expected": expected,
        "message": f'You said "{claim.heard.strip()}" of {product.name}; the catalogue says {expected}.',
        "start_ms": sentence.time_of(claim.start, claim.found.end)[0], "code": product.code,
    })  # fmt: skip


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
    known = unit in (product.currency, "", "lb") or dollars or claim.found.unit_implied or not product.currency
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
