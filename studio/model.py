"""The document: the one typed, frozen record that stages pass on and that `folio.json` holds.

Times are integer milliseconds from the start of the recording, dates are ISO 8601, money is decimal, lengths and
other quantities are exact fractions. In JSON, money and quantities are strings ("12.50", "17/4").
"""

from bisect import bisect_right
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer, WithJsonSchema

SCHEMA_VERSION = 1

State = Literal["confirmed", "ask", "absent"]
Role = Literal["shown", "mentioned", "rejected", "gift", "unlisted"]
Severity = Literal["error", "ask", "warning", "note"]
OfferKind = Literal[
    "gift_over_threshold", "gift_with_purchase", "percent_off", "free_delivery", "buy_n_get_m", "dates", "last_chance"
]
FindingKind = Literal[
    "contradiction", "self_correction", "ambiguous_item", "unlisted_item", "unclear_measure", "impossible_size",
    "not_on_sale", "retired", "offer_unclear", "offer_expired", "private_detail", "earnings_claim", "sound_lost",
    "unheard_speech", "safety_claim", "weak_still",
]  # fmt: skip


def _exact(value: object) -> object:
    return Fraction(value) if isinstance(value, str | int) and not isinstance(value, bool) else value


def _money(value: object) -> object:
    return Decimal(value) if isinstance(value, str | int) and not isinstance(value, bool) else value


Exact = Annotated[
    Fraction,
    BeforeValidator(_exact),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^-?\d+(/\d+)?$", "examples": ["17/4"]}),
]
Money = Annotated[
    Decimal,
    BeforeValidator(_money),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^-?\d+(\.\d+)?$", "examples": ["12.50"]}),
]
Ms = Annotated[int, Field(ge=0)]


class Part(BaseModel):
    """A frozen part of the document that takes no field it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    def but(self, **changes: Any) -> "Any":  # noqa: ANN401  (the same part, whichever it is)
        """Return a copy with some fields changed."""
        return self.model_copy(update=changes)


# --- what went in ----------------------------------------------------------------------------------------------------


class Recording(Part):
    """The file that was given: a recording, or a caption file in its place."""

    source: str
    """File name, without its folder."""
    sha256: str
    duration_ms: Ms
    recorded_on: date | None = None
    width: int | None = None
    """Pixels as shown, after the rotation that the file asks for."""
    height: int | None = None
    fps: Exact | None = None
    """Average frame rate; never to be used to compute a time."""
    has_picture: bool = False
    has_sound: bool = False


class Product(Part):
    """One row of the maker's catalogue: the only source of names, codes, prices, pages, links and availability."""

    code: str
    name: str
    kind: str = ""
    price: Money | None = None
    currency: str = ""
    """ISO 4217 code, or empty."""
    page: str = ""
    contents: str = ""
    size: str = ""
    url: str = ""
    available_from: date | None = None
    available_until: date | None = None
    """Last day on sale."""
    colour: str = ""
    hazard: str = ""
    maker_statement: str = ""
    pack_quantity: int | None = None
    gtin: str = ""
    substitute: str = ""
    """Code of the row that the catalogue itself names as the replacement."""
    line: int = 0
    """Line or row number in the file, counted from 1."""


class Complaint(Part):
    """Something wrong in the catalogue file, with the place and the remedy."""

    file: str
    row: int
    column: str
    problem: str
    remedy: str


class Catalogue(Part):
    """The products read from one file, with what was wrong in it."""

    source: str = ""
    sha256: str = ""
    products: tuple[Product, ...] = ()
    complaints: tuple[Complaint, ...] = ()

    def by_code(self) -> dict[str, Product]:
        """Return the products by their codes."""
        return {product.code: product for product in self.products}


class CatalogueSource(Part):
    """Which catalogue the document was made with."""

    source: str
    sha256: str
    products: int
    complaints: int


# --- what was heard --------------------------------------------------------------------------------------------------


class Span(Part):
    """A stretch of time."""

    start_ms: Ms
    end_ms: Ms


class Word(Span):
    """One word as heard, with its punctuation."""

    text: str
    confidence: float | None = None
    """0 to 1 from the recogniser; None where the times were worked out from a caption file."""


class Segment(Span):
    """A block as the recogniser or the caption file cut it."""

    text: str
    words: tuple[Word, ...] = ()


class Transcript(Part):
    """What was heard, unchanged."""

    language: str
    recogniser: str
    """Name and checksum of the model, or the format of the caption file."""
    segments: tuple[Segment, ...] = ()
    speech: tuple[Span, ...] = ()
    """Where voice activity was found in the sound; empty when a caption file was given."""
    heard_ms: Ms = 0
    """Length of the sound that could be decoded."""


class Spelling(Span):
    """What is shown in place of what was heard: a catalogue name, or a person's correction."""

    heard: str
    shown: str
    source: Literal["catalogue", "person", "settings"]


class SentenceWord(Word):
    """A word and its place in the text of its sentence."""

    start: int
    """Index of its first character in the sentence."""
    end: int


class Sentence(Span):
    """A sentence rebuilt from word times, pauses and punctuation.

    `text` is the words joined by single spaces, so that each word's `start` and `end` index into it.
    """

    index: int
    text: str
    words: tuple[SentenceWord, ...]
    pause_before_ms: Ms = 0

    def time_of(self, start: int, end: int) -> tuple[int, int]:
        """Return the start and end in milliseconds of the characters `start` to `end` of the text."""
        if not self.words:
            return self.start_ms, self.end_ms
        starts = [word.start for word in self.words]
        first = max(0, bisect_right(starts, start) - 1)
        last = max(first, bisect_right(starts, max(start, end - 1)) - 1)
        return self.words[first].start_ms, self.words[last].end_ms


class Correction(Span):
    """A self-correction heard: the last value stands."""

    wrong: str
    right: str
    cue: str
    """The words that mark it ("no", "sorry", "I mean")."""


# --- what is known ---------------------------------------------------------------------------------------------------


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
    """length, size, mass, volume, paper_weight, time, temperature, percent, ratio, count; a range ends in `_range`."""
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
    """The value said first and withdrawn."""
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


class Document(Part):
    """Everything that is known about one recording."""

    schema_version: Literal[1] = 1
    recording: Recording
    catalogue: CatalogueSource | None = None
    transcript: Transcript
    spellings: tuple[Spelling, ...] = ()
    sentences: tuple[Sentence, ...] = ()
    corrections: tuple[Correction, ...] = ()
    mentions: tuple[Mention, ...] = ()
    supplies: tuple[Supply, ...] = ()
    measures: tuple[Measure, ...] = ()
    cuts: tuple[Cut, ...] = ()
    chapters: tuple[Chapter, ...] = ()
    offers: tuple[Offer, ...] = ()
    findings: tuple[Finding, ...] = ()
    cautions: tuple[Caution, ...] = ()
    stills: tuple[Still, ...] = ()
    put_back: tuple[Span, ...] = ()
    """Stretches of speech that the person wants in the post, though the rules of writing leave them out."""
    struck: tuple[Span, ...] = ()
    """Stretches of speech that the person wants out of the post."""
