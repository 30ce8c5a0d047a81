"""What is known: mentions, supplies, measures, cuts, chapters, offers, findings, cautions, stills."""

from datetime import date
from typing import Literal

from studio.model.base import Exact, FindingKind, Money, Ms, OfferKind, Part, Role, Severity, State
from studio.model.heard import Span


class Mention(Span):
    """One time that a product was named."""

    id: str
    code: str | None
    heard: str
    role: Role
    state: State
    confidence: float
    runners_up: tuple[str, ...] = ()
    """Codes of the next best rows, best first."""
    quantity: int | None = None
    colour: str | None = None
    replaces: str | None = None
    """The name said first and withdrawn in the same breath."""


class Supply(Part):
    """One row of the supply list: an item that was shown."""

    code: str | None
    """None for a thing that the catalogue does not have."""
    name: str
    kind: str
    quantity: int | None = None
    colour: str | None = None
    first_shown_ms: Ms
    mention_ids: tuple[str, ...]
    price: Money | None = None
    currency: str = ""
    page: str = ""
    url: str = ""
    availability: Literal["on_sale", "not_yet", "retired", "unknown"] = "unknown"
    state: State
    still: str | None = None
    """Path of the chosen picture inside the folio."""


class Measure(Span):
    """One quantity that was said: a size, a length, a weight, a temperature, a time, a count."""

    id: str
    heard: str
    values: tuple[Exact, ...]
    unit: str
    """`in ft yd mm cm m g kg oz lb ml l fl oz tsp gsm s min h degF degC %`, or the noun of a counted thing."""
    dimension: str
    """length, size, mass, volume, paper_weight, time, temperature, percent, ratio, count, concentration, gauge, mesh,
    tpi, thread_count, or thickness (of leather in ounces, of board in points); a range ends in `_range`."""
    metric: str = ""
    """How it is printed in metric units, or empty."""
    imperial: str = ""
    approximate: bool = False
    unit_implied: bool = False
    """No unit was said: it was taken from the talk around or from the settings."""
    quantity: int | None = None
    """How many pieces of this size."""
    of: str | None = None
    """What it measures, as said."""
    code: str | None = None
    replaces: str | None = None
    """The value said first and withdrawn; the same as `heard` where it was put right later in the talk."""
    state: State


class Cut(Part):
    """One line of the cutting list."""

    material: str
    width: Exact
    height: Exact
    unit: str
    quantity: int = 1
    scores: tuple[Exact, ...] = ()
    """Distances of the score lines from the left edge, in `unit`."""
    measure_ids: tuple[str, ...] = ()
    state: State = "confirmed"
    """As sure as the least sure of its measures."""


class Chapter(Part):
    """Where a new subject begins, and what to call it."""

    start_ms: Ms
    title: str


class Offer(Part):
    """A promotion as it was told."""

    kind: OfferKind
    heard: str
    start_ms: Ms
    threshold: Money | None = None
    percent: Exact | None = None
    currency: str = ""
    promo_code: str | None = None
    reward_code: str | None = None
    """Catalogue code of the gift."""
    applies_to: tuple[str, ...] = ()
    """Catalogue codes, or words where no row fits."""
    starts_on: date | None = None
    ends_on: date | None = None
    """Last day, included."""
    replaces: str | None = None
    comparison: Literal["at_least", "over", ""] = ""
    """Whether the threshold itself is enough."""
    basis: Literal["goods", "goods_after_discount", "order_total", ""] = ""
    """What counts towards the threshold, where it was said."""
    doubt: str = ""
    """Why it must be asked."""
    state: State


class Finding(Part):
    """Something that a person must look at, or should know."""

    kind: FindingKind
    severity: Severity
    message: str
    heard: str = ""
    expected: str = ""
    start_ms: Ms
    code: str | None = None
    choices: tuple[str, ...] = ()
    """Catalogue codes to choose from."""


class Caution(Part):
    """The customary line for a hazard, with the moments that call for it."""

    hazard: str
    line: str
    source: str
    triggers_ms: tuple[Ms, ...]
    codes: tuple[str, ...] = ()


class Still(Part):
    """A picture chosen from the recording."""

    file: str
    """Path inside the folio."""
    at_ms: Ms
    subject: str
    """Catalogue code, or `step-N`, or `hero`."""
    sharpness: float
    alt: str = ""
    state: State = "confirmed"
    others: tuple[str, ...] = ()
    """Paths of the next best candidates, best first."""
