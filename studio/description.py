"""The description that goes beside a recording: what it is, disclosure, chapters, supplies, offers, as plain text."""

import re
from typing import Any

from studio import templating, text
from studio.model import Catalogue, Document
from studio.settings import Settings
from studio.writing import outline, printed

_BLOCK = re.compile(r"^===$", re.MULTILINE)
LEAD_LENGTH = 150
"""About as many characters are shown before the reader unfolds the rest (from memory; check your host)."""
ESSENTIAL = 2
"""The first blocks, what it is and the disclosure, are never taken out."""


def files(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str | bytes]:
    """Return `description.txt`."""
    known = outline.facts(document, catalogue, settings)
    return {"description.txt": describe(known, settings)}


def describe(known: dict[str, Any], settings: Settings) -> str:
    """Return the description, no longer than the limit; whole blocks are left out from the end, with a note."""
    made = templating.render("description.txt.j2", {**known, "lead": lead(known)}, settings.publishing.templates)
    blocks = [re.sub(r"\n{2,}", "\n", text.plain(block)).strip() for block in _BLOCK.split(made)]
    return fitted([block for block in blocks if block], settings.publishing.description_limit)


def lead(known: dict[str, Any]) -> str:
    """Return the first line: the title and, where there is room, what was said it is; at most 150 characters."""
    title = known["title"].rstrip(".")
    room = LEAD_LENGTH - len(title) - 2
    sentence = known["intro"][0]["text"] if known["intro"] else ""
    ends = [found.start() for found in re.finditer(r"[,.!?](?=\s|$)", sentence)]
    fits = [sentence[:end] for end in ends if end < room]
    first = fits[-1] + "." if fits and title not in sentence else ""
    return f"{title}. {first}".strip()


def fitted(blocks: list[str], limit: int) -> str:
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
