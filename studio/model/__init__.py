"""The document: the one typed, frozen record that stages pass on and that `folio.json` holds.

Times are integer milliseconds from the start of the recording, dates are ISO 8601, money is decimal, lengths and
other quantities are exact fractions. In JSON, money and quantities are strings ("12.50", "17/4").
"""

from typing import Literal

from studio.model.base import Exact, FindingKind, Money, Ms, OfferKind, Part, Role, Severity, State
from studio.model.given import Catalogue, CatalogueSource, Complaint, Product, Recording
from studio.model.heard import (
    Correction,
    Segment,
    Sense,
    Sentence,
    SentenceKind,
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
    "Offer",
    "OfferKind",
    "Part",
    "Product",
    "Recording",
    "Role",
    "Segment",
    "Sense",
    "Sentence",
    "SentenceKind",
    "SentenceWord",
    "Severity",
    "Span",
    "Spelling",
    "State",
    "Still",
    "Supply",
    "Transcript",
    "Word",
]


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
