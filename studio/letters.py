"""The same facts for a newsletter and for short posts in three lengths."""

from dataclasses import dataclass

from studio import templating, text
from studio.edition import Edition
from studio.writing.facts import Facts

LENGTHS = (280, 500, 1000)
"""Characters; common practice of short-message services, no source."""


@dataclass(frozen=True)
class _Place:
    address: str


def files(edition: Edition) -> dict[str, str | bytes]:
    """Return `newsletter.txt` and `social.txt`."""
    facts, own = edition.facts, edition.settings.publishing.templates
    letter = templating.render("newsletter.txt.j2", facts, _Place(facts.address), folder=own)
    return {
        "newsletter.txt": text.single_spaced(text.plain(letter)) + "\n",
        "social.txt": "\n\n".join(f"{limit} characters\n{'-' * 14}\n{short(facts, limit)}" for limit in LENGTHS) + "\n",
    }


def short(facts: Facts, limit: int) -> str:
    """Return a short post: disclosure first, then as many facts in order of weight as fit into `limit` characters."""
    items = ", ".join(row.name for row in facts.supplies)
    pieces = [
        facts.disclosure,
        facts.title + ".",
        facts.address or facts.shop.url,
        *(offer.text for offer in facts.offers),
        _code(facts),
        *(sentence.text for sentence in facts.intro),
        f"With {items}." if items else "",
    ]
    kept: list[str] = []
    for piece in filter(None, pieces):
        if len("\n".join([*kept, piece])) <= limit:
            kept.append(piece)
    return "\n".join(kept) or text.shortened(facts.disclosure, limit)


def _code(facts: Facts) -> str:
    if facts.promo is None:
        return ""
    until = f" until the end of {facts.promo.until}" if facts.promo.until else ""
    return f"Code {facts.promo.code}{until}."
