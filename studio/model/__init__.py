"""The document: the one typed, frozen record that stages pass on and that `folio.json` holds.

Times are integer milliseconds from the start of the recording, dates are ISO 8601, money is decimal, lengths and
other quantities are exact fractions. In JSON, money and quantities are strings ("12.50", "17/4").
"""

from typing import Literal

from studio import __version__
from studio.model.base import Exact, FindingKind, Money, Ms, OfferKind, Part, Role, Severity, State
from studio.model.given import Catalogue, CatalogueSource, Complaint, Product, Recording
from studio.model.heard import (
    Correction,
    Naming,
    Segment,
    Sense,
    Sentence,
    SentenceWord,
    Span,
    Spelling,
    Transcript,
    Word,
)
from studio.model.known import Caution, Chapter, Cut, Finding, Measure, Mention, Offer, Still, Supply

__all__ = [
    "Catalogue",
    "CatalogueSource",
    "Caution",
    "Chapter",
    "Complaint",
    "Correction",
    "Cut",
    "Document",
    "Exact",
    "Finding",
    "FindingKind",
    "Measure",
    "Mention",
    "Money",
    "Ms",
    "Naming",
    "Offer",
    "OfferKind",
    "Part",
    "Product",
    "Recording",
    "Role",
    "Segment",
    "Sense",
    "Sentence",
    "SentenceWord",
    "Severity",
    "Span",
    "Spelling",
    "State",
    "Still",
    "Supply",
    "Transcript",
    "Unknown",
    "Word",
]

SCHEMA_VERSION: Literal[2] = 2
"""Version of the form of `folio.json`; raised with a step in `studio.stored` whenever the form changes."""


class Unknown(Part):
    """Something in a `folio.json` that this version of the program does not know."""

    place: str
    """Where it stands in the file, as in "supplies.0.shelf"."""
    value: str
    """What stands there, as JSON."""


class Document(Part):
    """Everything that is known about one recording."""

    schema_version: Literal[2] = SCHEMA_VERSION
    """Version of the form of this file."""
    made_by: str = f"bonefolder {__version__}"
    """The program that wrote it, with its version; empty where the file does not tell."""
    recording: Recording
    """What was recorded, or the caption file in its place."""
    catalogue: CatalogueSource | None = None
    """Which catalogue it was made with, or null."""
    transcript: Transcript
    """What was heard, block by block, with its times."""
    spellings: tuple[Spelling, ...] = ()
    """Where something else is shown than was heard."""
    sentences: tuple[Sentence, ...] = ()
    """What was said, in sentences."""
    corrections: tuple[Correction, ...] = ()
    """Where the speaker put something right."""
    mentions: tuple[Mention, ...] = ()
    """Every time that a product was named."""
    supplies: tuple[Supply, ...] = ()
    """The supply list."""
    measures: tuple[Measure, ...] = ()
    """Sizes, weights, times and counts that were said."""
    cuts: tuple[Cut, ...] = ()
    """The cutting list."""
    chapters: tuple[Chapter, ...] = ()
    """The chapters, in their order."""
    offers: tuple[Offer, ...] = ()
    """The promotions that were told or are in the settings."""
    findings: tuple[Finding, ...] = ()
    """What must be looked at, or should be known."""
    cautions: tuple[Caution, ...] = ()
    """The lines for hazards."""
    stills: tuple[Still, ...] = ()
    """The pictures chosen."""
    put_back: tuple[Span, ...] = ()
    """Stretches of speech that the person wants in the post, though the rules of writing leave them out."""
    struck: tuple[Span, ...] = ()
    """Stretches of speech that the person wants out of the post."""
    unknown: tuple[Unknown, ...] = ()
    """What a newer version wrote that this one does not know, kept as it stood."""
