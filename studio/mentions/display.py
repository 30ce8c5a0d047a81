"""What the mentions are good for beside the list: names for a second hearing, and how the captions spell them."""

from collections import Counter

from studio.mentions.words import fold, tokens
from studio.model import Catalogue, Mention, Sentence, Span, Spelling

MOST_NAMES = 25
"""Names for the second hearing; the recogniser takes some 220 tokens of them."""
_SURE = 0.5


def names_about(mentions: tuple[Mention, ...], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the names that this recording seems to be about, at most `MOST_NAMES`, the likeliest first."""
    worth: Counter[str] = Counter()
    for mention in mentions:
        if mention.code:
            worth[mention.code] += 2 if mention.role == "shown" else 1
        for place, code in enumerate(mention.runners_up, 2):
            worth[code] += 1 / place  # type: ignore[assignment]
    products = catalogue.by_code()
    names = dict.fromkeys(products[code].name for code, _ in worth.most_common() if code in products)
    return tuple(names)[:MOST_NAMES]


def unsure_spans(mentions: tuple[Mention, ...]) -> tuple[Span, ...]:
    """Return the stretches whose name was not heard for sure."""
    return tuple(
        Span(start_ms=mention.start_ms, end_ms=mention.end_ms)
        for mention in mentions
        if mention.state == "ask" or mention.confidence < _SURE or mention.role == "unlisted"
    )


def spellings(
    sentences: tuple[Sentence, ...], mentions: tuple[Mention, ...], catalogue: Catalogue
) -> tuple[Spelling, ...]:
    """Return what to show in place of what was heard."""
    return ()
