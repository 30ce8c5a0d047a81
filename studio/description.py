"""The description that goes beside a recording: what it is, disclosure, chapters, supplies, offers, as plain text."""

from collections.abc import Iterator
from dataclasses import dataclass

from studio import templating, text
from studio.edition import Edition
from studio.settings import Settings
from studio.writing import printed
from studio.writing.facts import Facts

_BETWEEN_BLOCKS = "==="
LEAD_LENGTH = 150
"""About as many characters are shown before the reader unfolds the rest (from memory; check your host)."""
ESSENTIAL = 2
"""The first blocks, what it is and the disclosure, are never taken out."""


@dataclass(frozen=True)
class _Opening:
    lead: str


def files(edition: Edition) -> dict[str, str | bytes]:
    """Return `description.txt`."""
    return {"description.txt": describe(edition.facts, edition.settings)}


def describe(facts: Facts, settings: Settings) -> str:
    """Return the description, no longer than the limit; whole blocks are left out from the end, with a note."""
    made = templating.render("description.txt.j2", facts, _Opening(lead(facts)), folder=settings.publishing.templates)
    return within_limit(list(_blocks(made)), settings.publishing.description_limit)


def _blocks(made: str) -> Iterator[str]:
    """Yield the blocks that hold something, without empty lines; a line of its own stands between two."""
    lines: list[str] = []
    for line in [*made.split("\n"), _BETWEEN_BLOCKS]:
        if line != _BETWEEN_BLOCKS:
            lines.append(line)
            continue
        kept = [one for one in text.plain("\n".join(lines)).split("\n") if one]
        if block := "\n".join(kept).strip():
            yield block
        lines = []


def lead(facts: Facts) -> str:
    """Return the first line: the title and, where there is room, what was said it is; at most 150 characters."""
    title = facts.title.rstrip(".")
    room = LEAD_LENGTH - len(title) - 2
    sentence = facts.intro[0].text if facts.intro else ""
    ends = [at for at, sign in enumerate(sentence) if sign in ",.!?" and not sentence[at + 1 : at + 2].strip()]
    fits = [sentence[:end] for end in ends if end < room]
    first = fits[-1] + "." if fits and title not in sentence else ""
    return f"{title}. {first}".strip()


def within_limit(blocks: list[str], limit: int) -> str:
    """Return the blocks joined, without as many of the last ones as do not fit into `limit` characters.

    Only where the first two alone are too long is text cut.
    """
    whole = "\n\n".join(blocks)
    if len(whole) + 1 <= limit:
        return whole + "\n"
    note = printed.added("shortened")
    kept = list(blocks)
    while len(kept) > ESSENTIAL and len("\n\n".join([*kept, note])) + 1 > limit:
        kept.pop()
    short = "\n\n".join([*kept, note])
    return (short if len(short) < limit else short[: limit - 1].rstrip()) + "\n"
