"""What is known, as it is printed: money, days, supply rows, offers, cautions; plain data for every written output."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from zoneinfo import ZoneInfo

from studio import quantity, rule_files, text, timecode
from studio.earned import earned
from studio.model import Catalogue, Document, Measure, Offer, Product, Supply
from studio.offers import basket, distinct
from studio.settings import KnownOffer, Settings
from studio.writing.facts import CautionRow, CutRow, MeasureRow, OfferRow, Promo, Reminder, Substitute, SupplyRow

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

_PRINTED = frozenset({"length", "size", "mass", "volume", "temperature", "thickness"})
NEAR_MS = 1500
"""A size said so close to a claim that the catalogue denies is not printed."""


def added(name: str, section: str = "added", /, **data: object) -> str:
    """Return a sentence that the program may add, with data in its braces; the list is in `shared/written.toml`."""
    return rule_files.text("written.toml", section, name).format(**data)


def day(when: date | None) -> str:
    """Return a day as it is written, `8 March 2026`, or nothing."""
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}" if when else ""


def money(amount: Decimal | None, currency: str, locale: str) -> str:
    """Return an amount with its currency, or nothing where there is none."""
    if amount is None:
        return ""
    try:
        return quantity.show_money(amount, currency, locale)
    except (LookupError, ValueError):
        return f"{amount} {currency}".strip()


def publishing_day(document: Document, settings: Settings) -> date:
    """Return the day that the written pieces are for: the choice, else the day of recording, else today."""
    return settings.publishing.publish_on or document.recording.recorded_on or settings.publishing.today()


def supply_rows(document: Document, catalogue: Catalogue, settings: Settings) -> tuple[SupplyRow, ...]:
    """Return the rows of the supply list in order, as text; unsure rows are told apart by `unsure`."""
    products = catalogue.by_code()
    return tuple(_supply_row(row, products, settings) for row in document.supplies)


def _supply_row(row: Supply, products: dict[str, Product], settings: Settings) -> SupplyRow:
    sold = row.availability not in {"retired", "not_yet"}
    product = products.get(row.code or "")
    retired = row.availability == "retired"
    return SupplyRow(
        code=row.code or "",
        name=text.one_line(row.name),
        kind=text.one_line(row.kind),
        quantity="" if row.quantity is None else str(row.quantity),
        colour=text.one_line(row.colour or ""),
        page=text.one_line(row.page),
        price="" if retired else money(row.price, row.currency, settings.publishing.locale),
        amount=str(row.price) if row.price is not None and not retired else "",
        currency=row.currency,
        url=text.link(row.url) if sold else "",
        shown=timecode.clock(row.first_shown_ms),
        shown_ms=row.first_shown_ms,
        availability=row.availability,
        note=_note(row, product, products),
        substitute=_substitute(product, products) if retired else None,
        still=row.still or "",
        unsure=row.state == "ask",
        gtin=product.gtin if product else "",
    )


def _note(row: Supply, product: Product | None, products: dict[str, Product]) -> str:
    if row.code is None:
        return added("not_listed")
    if row.availability == "retired":
        other = _substitute(product, products)
        return added("retired_with_substitute", substitute=other.name) if other else added("retired")
    if row.availability == "not_yet":
        return added("not_yet", date=day(product.available_from if product else None) or "a later day")
    return ""


def _substitute(product: Product | None, products: dict[str, Product]) -> Substitute | None:
    other = products.get(product.substitute) if product and product.substitute else None
    return Substitute(text.one_line(other.name), text.link(other.url), other.code) if other else None


def total_cost(rows: Sequence[SupplyRow], settings: Settings) -> str:
    """Return what one pack of each listed item costs, where all prices are in one currency; else nothing."""
    priced = [row for row in rows if row.amount and not row.unsure]
    currencies = {row.currency for row in priced}
    if len(priced) < 2 or len(currencies) != 1:
        return ""
    total = sum((Decimal(row.amount) for row in priced), Decimal(0))
    said = added("cost", total=money(total, currencies.pop(), settings.publishing.locale))
    missing = len(rows) - len(priced)
    return f"{said} {added('cost_missing', count=missing)}" if missing else said


# --- offers ----------------------------------------------------------------------------------------------------------


def offer_rows(document: Document, catalogue: Catalogue, settings: Settings) -> tuple[OfferRow, ...]:
    """Return the offers that may be printed: sure, not withdrawn, and still running on the day of publishing."""
    zone = settings.publishing.timezone
    morning = datetime.combine(publishing_day(document, settings), time.min, ZoneInfo(zone))
    products = catalogue.by_code()
    printed: dict[str, OfferRow] = {}
    for offer in distinct(document.offers):
        said = _offer_words(offer, products, settings)
        if offer.state == "confirmed" and said and basket.is_live(None, offer.ends_on, morning, zone):
            terms = next((known.terms for known in settings.offers if _is_known(known, offer) and known.terms), "")
            earned_words = _earned(offer, document, settings)
            printed.setdefault(said, OfferRow(said, text.one_line(terms), offer.start_ms, offer.kind, earned_words))
    return tuple(printed.values())


def _earned(offer: Offer, document: Document, settings: Settings) -> str:
    """Return in words what the supply list earns of an offer, or nothing."""
    currency = offer.currency or settings.publishing.currency
    found = earned(offer, document, currency)
    if found is None:
        return ""
    amounts = {
        "goods": found.goods,
        "threshold": offer.threshold,
        "missing": found.missing,
        "sum": sum((row.price for row in found.top_up if row.price), Decimal(0)),
    }
    data = {name: money(amount, currency, settings.publishing.locale) for name, amount in amounts.items()}
    items = text.one_line(_listed([row.name for row in found.top_up]))
    told = added({0: "none", 1: "one"}.get(found.picks, "more"), "earned", picks=found.picks, **data)
    return f"{told} {added('top_up' if found.top_up else 'next', 'earned', items=items, **data)}"


def _is_known(known: KnownOffer, offer: Offer) -> bool:
    return known.kind == offer.kind and known.threshold in {None, offer.threshold}


def _offer_words(offer: Offer, products: dict[str, Product], settings: Settings) -> str:
    """Return an offer in one of the listed sentences, or nothing where a part of it is missing."""
    reward = products.get(offer.reward_code or "")
    items = [products[item].name if item in products else item for item in offer.applies_to]
    data = {
        "threshold": money(offer.threshold, offer.currency or settings.publishing.currency, settings.publishing.locale),
        "reward": text.one_line(reward.name) if reward else "",
        "percent": "" if offer.percent is None else f"{float(offer.percent):g}",
        "items": text.one_line(_listed(items)),
        "heard": text.one_line(offer.heard).rstrip(".!? "),
        "dates": _dates(offer),
    }
    name = "free_delivery_plain" if offer.kind == "free_delivery" and not data["threshold"] else offer.kind
    sentence = rule_files.text("written.toml", "offer", name)
    if any(f"{{{key}}}" in sentence and not value for key, value in data.items() if key != "dates"):
        return ""
    said = sentence.format(**data)
    return said[:1].upper() + said[1:]


def _listed(items: list[str]) -> str:
    return " and ".join(filter(None, [", ".join(items[:-1]), *items[-1:]]))


def _dates(offer: Offer) -> str:
    start, end = day(offer.starts_on), day(offer.ends_on)
    name = "from_to" if start and end else "until" if end else "from" if start else ""
    return added(name, "offer", start=start, end=end) if name else ""


# --- disclosure, cautions, cuts -------------------------------------------------------------------------------


def disclosure(settings: Settings) -> str:
    """Return the line that says the person earns from this: their own words, else the customary ones."""
    line = rule_files.text("disclosure.toml", settings.publishing.jurisdiction, "line")
    return text.one_line(settings.publishing.disclosure or line)


@dataclass(frozen=True)
class _Reminder:
    when: str
    text: str
    source: str
    date: str


@dataclass(frozen=True)
class _Place:
    reminder: tuple[_Reminder, ...] = ()


def reminders(settings: Settings, occasions: set[str]) -> tuple[Reminder, ...]:
    """Return what to think of before publishing, with source and date, for what the recording holds."""
    place = settings.publishing.jurisdiction
    rows = rule_files.typed(dict[str, _Place], "disclosure.toml")[place].reminder
    fitting = (row for row in rows if row.when in occasions | {"always"})
    return tuple(Reminder(row.text, row.source, row.date) for row in fitting)


def caution_rows(document: Document) -> tuple[CautionRow, ...]:
    """Return the customary cautions with their sources and the times that call for them."""
    return tuple(
        CautionRow(
            hazard=text.one_line(caution.hazard.replace("_", " ")),
            line=text.one_line(caution.line),
            source=text.one_line(caution.source),
            times=tuple(timecode.clock(ms) for ms in caution.triggers_ms),
        )
        for caution in document.cautions
    )


def promo(document: Document, settings: Settings) -> Promo | None:
    """Return the shop's code with its last day, where one is set and not over on the day of publishing."""
    shop = settings.shop
    over = shop.promo_code_until is not None and shop.promo_code_until < publishing_day(document, settings)
    if not shop.promo_code or over:
        return None
    return Promo(text.one_line(shop.promo_code), day(shop.promo_code_until))


def cut_rows(document: Document) -> tuple[CutRow, ...]:
    """Return the lines of the cutting list as text; unsure lines are told apart by `unsure`."""
    return tuple(
        CutRow(
            material=text.one_line(cut.material),
            size=quantity.show((cut.width, cut.height), cut.unit, "size"),
            quantity=str(cut.quantity),
            scores=", ".join(quantity.show((score,), cut.unit, "length") for score in cut.scores),
            unsure=cut.state == "ask",
        )
        for cut in document.cuts
    )


def measure_rows(document: Document) -> tuple[MeasureRow, ...]:
    """Return the sizes that were told, in the unit said and in the other one, without unsure ones and counts."""
    rows: dict[tuple[str, str], MeasureRow] = {}
    wrong = [finding.start_ms for finding in document.findings if finding.kind == "contradiction"]
    for measure in document.measures:
        denied = any(measure.start_ms - NEAR_MS <= ms <= measure.end_ms + NEAR_MS for ms in wrong)
        if denied or measure.state != "confirmed" or not measure.of:
            continue
        if measure.dimension.removesuffix("_range") in _PRINTED:
            row = _measure_row(measure)
            rows.setdefault((row.what, row.size), row)
    return tuple(rows.values())


def _measure_row(measure: Measure) -> MeasureRow:
    own = quantity.show(measure.values, measure.unit, measure.dimension)
    pair = [value for value in quantity.both(measure.values, measure.unit, measure.dimension) if value]
    return MeasureRow(
        what=text.one_line(measure.of or ""),
        size=own,
        other=next((value for value in pair if value != own), ""),
        quantity=str(measure.quantity or ""),
        shown=timecode.clock(measure.start_ms),
    )
