"""Everything a person must look at: what was said against the catalogue, and what should not be published unseen."""

from studio.contradictions import contradictions
from studio.model import (
    Catalogue,
    Correction,
    Finding,
    Measure,
    Mention,
    Offer,
    Recording,
    Sentence,
    Supply,
    Transcript,
)
from studio.settings import PublishingChoices

VERSION = 1


def findings(
    recording: Recording,
    transcript: Transcript,
    sentences: tuple[Sentence, ...],
    mentions: tuple[Mention, ...],
    measures: tuple[Measure, ...],
    corrections: tuple[Correction, ...],
    offers: tuple[Offer, ...],
    supplies: tuple[Supply, ...],
    catalogue: Catalogue,
    publishing: PublishingChoices,
) -> tuple[Finding, ...]:
    """Return all findings."""
    return contradictions(sentences, mentions, catalogue, offers)
