"""Whether things fit: a piece in its sheet, a mat on its base, a card in its envelope."""

from collections.abc import Sequence

from studio.model import Catalogue, Finding, Measure, Mention, Sentence


def impossible_sizes(
    measures: Sequence[Measure], sentences: Sequence[Sentence], mentions: Sequence[Mention], catalogue: Catalogue
) -> tuple[Finding, ...]:
    """Return a finding for each size that cannot be."""
    return ()
