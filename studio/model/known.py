"""What is known: mentions, supplies, measures, cuts, chapters, offers, findings, cautions, stills."""

from datetime import date
from typing import Literal

from studio.model.base import Exact, FindingKind, Money, Ms, OfferKind, Part, Role, Severity, State
from studio.model.heard import Span


class Mention(Span):
    """One time that a product was named."""

    id: str
    """Its name in this document, as in "m3"."""
    code: str | None
    """Catalogue code of the row, or null where no row fits."""
    heard: str
    """The words that name it, as heard."""
    role: Role
    """Whether the thing was shown, only talked of, turned down, a gift, or not in the catalogue."""
    state: State
    """Whether it is sure, must be asked, or is not so."""
    confidence: float
    """How well the row fits, from 0 to 1."""
    runners_up: tuple[str, ...] = ()
    """Codes of the next best rows, best first."""
    quantity: int | None = None
    """How many were said to be used."""
    colour: str | None = None
    """The colour said with it."""
    replaces: str | None = None
    """The name said first and withdrawn in the same breath."""


class Supply(Part):
    """One row of the supply list: an item that was shown."""

    code: str | None
    """None for a thing that the catalogue does not have."""
    name: str
    """Name by the catalogue, or as said where no row fits."""
    kind: str
    """What it is, by the catalogue."""
    quantity: int | None = None
    """How many are used."""
    colour: str | None = None
    """The colour that is used."""
    first_shown_ms: Ms
    """When it is first shown, in milliseconds from the start of the recording."""
    mention_ids: tuple[str, ...]
    """Ids of the mentions that it rests on."""
    price: Money | None = None
    """Price by the catalogue, in `currency`."""
    currency: str = ""
    """ISO 4217 code, or empty."""
    page: str = ""
    """Page of the printed catalogue."""
    url: str = ""
    """Address in the person's own shop."""
    availability: Literal["on_sale", "not_yet", "retired", "unknown"] = "unknown"
    """Whether it is sold on the day that the post is for."""
    state: State
    """As sure as its surest mention; only what is `confirmed` is published."""
    still: str | None = None
    """Path of the chosen picture inside the folio."""


class Measure(Span):
    """One quantity that was said: a size, a length, a weight, a temperature, a time, a count."""

    id: str
    """Its name in this document."""
    heard: str
    """The words that tell it, as heard."""
    values: tuple[Exact, ...]
    """One value; two or three for a size; two for a range. Exact fractions in `unit`."""
    unit: str
    """`in ft yd mm cm m g kg oz lb ml l fl oz tsp gsm s min h degF degC %`, or the noun of a counted thing."""
    dimension: str
    """length, size, mass, volume, paper_weight, time, temperature, percent, ratio, count, concentration, gauge, mesh,
    tpi, thread_count, or thickness (of leather in ounces, of board in points); a range ends in `_range`."""
    metric: str = ""
    """How it is printed in metric units, or empty."""
    imperial: str = ""
    """How it is printed in inches, pounds and the like, or empty."""
    approximate: bool = False
    """Whether "about" or the like was said."""
    unit_implied: bool = False
    """No unit was said: it was taken from the talk around or from the settings."""
    quantity: int | None = None
    """How many pieces of this size."""
    of: str | None = None
    """What it measures, as said."""
    code: str | None = None
    """Catalogue code of what it measures, or null."""
    replaces: str | None = None
    """The value said first and withdrawn; the same as `heard` where it was put right later in the talk."""
    state: State
    """Whether it is sure or must be asked."""


class Cut(Part):
    """One line of the cutting list."""

    material: str
    """What is cut: a name of the catalogue, or as said."""
    width: Exact
    """Width of the piece, in `unit`."""
    height: Exact
    """Height of the piece, in `unit`."""
    unit: str
    """Unit of all its lengths."""
    quantity: int = 1
    """How many such pieces."""
    scores: tuple[Exact, ...] = ()
    """Distances of the score lines from the left edge, in `unit`."""
    measure_ids: tuple[str, ...] = ()
    """Ids of the measures that it rests on."""
    state: State = "confirmed"
    """As sure as the least sure of its measures."""


class Chapter(Part):
    """Where a new subject begins, and what to call it."""

    start_ms: Ms
    """Where it begins, in milliseconds from the start of the recording."""
    title: str
    """What to call it."""


class Offer(Part):
    """A promotion as it was told."""

    kind: OfferKind
    """What is offered."""
    heard: str
    """The sentence that tells it, as heard; empty where it comes from the settings alone."""
    start_ms: Ms
    """When it was told, in milliseconds from the start of the recording."""
    threshold: Money | None = None
    """The sum from which it holds, in `currency`."""
    percent: Exact | None = None
    """The reduction, in percent."""
    currency: str = ""
    """ISO 4217 code, or empty."""
    promo_code: str | None = None
    """The code to type in the shop."""
    reward_code: str | None = None
    """Catalogue code of the gift."""
    applies_to: tuple[str, ...] = ()
    """Catalogue codes, or words where no row fits."""
    starts_on: date | None = None
    """First day."""
    ends_on: date | None = None
    """Last day, included."""
    replaces: str | None = None
    """The terms said first and withdrawn."""
    comparison: Literal["at_least", "over", ""] = ""
    """Whether the threshold itself is enough."""
    basis: Literal["goods", "goods_after_discount", "order_total", ""] = ""
    """What counts towards the threshold, where it was said."""
    doubt: str = ""
    """Why it must be asked."""
    state: State
    """Whether its terms are sure or must be asked."""


class Finding(Part):
    """Something that a person must look at, or should know."""

    kind: FindingKind
    """What sort of thing it is."""
    severity: Severity
    """How much it weighs: an error, a question, a warning, or a note."""
    message: str
    """What is to be looked at, in words."""
    heard: str = ""
    """The words that it is about, as heard."""
    expected: str = ""
    """What the catalogue or the settings say instead."""
    start_ms: Ms
    """When it is heard, in milliseconds from the start of the recording."""
    code: str | None = None
    """Catalogue code that it is about, or null."""
    choices: tuple[str, ...] = ()
    """Catalogue codes to choose from."""


class Caution(Part):
    """The customary line for a hazard, with the moments that call for it."""

    hazard: str
    """Name of the hazard."""
    line: str
    """The line as it is printed."""
    source: str
    """Where the line comes from."""
    triggers_ms: tuple[Ms, ...]
    """The moments that call for it, in milliseconds from the start of the recording."""
    codes: tuple[str, ...] = ()
    """Catalogue codes of the items that bring the hazard."""


class Still(Part):
    """A picture chosen from the recording."""

    file: str
    """Path inside the folio."""
    at_ms: Ms
    """When it is seen, in milliseconds from the start of the recording."""
    subject: str
    """Catalogue code, or `step-N`, or `hero`."""
    sharpness: float
    """How sharp it is; more is sharper, comparable within one recording."""
    alt: str = ""
    """What it shows, in words, for those who cannot see it."""
    state: State = "confirmed"
    """`ask` where every picture of the subject is weak."""
    others: tuple[str, ...] = ()
    """Paths of the next best candidates, best first."""
