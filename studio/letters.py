"""The same facts for a newsletter and for short posts in three lengths."""

import re
from typing import Any

from studio import post, templating, text
from studio.model import Catalogue, Document
from studio.settings import Settings
from studio.writing import outline

LENGTHS = (280, 500, 1000)
"""Characters; common practice of short-message services, no source."""


def files(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str | bytes]:
    """Return `newsletter.txt` and `social.txt`."""
    known = outline.facts(document, catalogue, settings)
    letter = templating.render(
        "newsletter.txt.j2", {**known, "address": post.address(known)}, settings.publishing.templates
    )
    return {
        "newsletter.txt": re.sub(r"\n{3,}", "\n\n", text.plain(letter)).strip() + "\n",
        "social.txt": "\n\n".join(f"{limit} characters\n{'-' * 14}\n{short(known, limit)}" for limit in LENGTHS) + "\n",
    }


def short(known: dict[str, Any], limit: int) -> str:
    """Return a short post: disclosure first, then as many facts in order of weight as fit into `limit` characters."""
    address = post.address(known) or known["shop"]["url"]
    code = (
        f"Code {known['promo']['code']}"
        + (f" until the end of {known['promo']['until']}" if known["promo"]["until"] else "")
        if known["promo"]
        else ""
    )
    items = ", ".join(row["name"] for row in known["supplies"])
    pieces = [
        known["disclosure"],
        known["title"] + ".",
        address,
        *(offer["text"] for offer in known["offers"]),
        f"{code}." if code else "",
        *(sentence["text"] for sentence in known["intro"]),
        f"With {items}." if items else "",
    ]
    kept: list[str] = []
    for piece in filter(None, pieces):
        if len("\n".join([*kept, piece])) <= limit:
            kept.append(piece)
    return "\n".join(kept) or text.shortened(known["disclosure"], limit)
