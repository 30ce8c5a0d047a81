"""An entry for an Atom feed: a correction later changes when it was updated, never its id (RFC 4287)."""

import html
from datetime import datetime, time
from typing import Any
from uuid import NAMESPACE_OID, uuid5
from zoneinfo import ZoneInfo

from studio import post, text
from studio.model import Catalogue, Document
from studio.settings import Settings
from studio.writing import outline


def files(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str | bytes]:
    """Return `entry.atom.xml`, a feed document with one entry."""
    known = outline.facts(document, catalogue, settings)
    return {"entry.atom.xml": feed(known, document, settings)}


def feed(known: dict[str, Any], document: Document, settings: Settings) -> str:
    """Return the Atom document; times are RFC 3339 at noon of the day of publishing in the person's zone."""
    when = _noon(known["date"], settings)
    author = known["shop"]["author"] or known["shop"]["name"] or "The author"
    content = html.escape(post.article(post.markdown(known, settings)), quote=False)
    address = post.address(known)
    link = f'  <link rel="alternate" type="text/html" href="{html.escape(address)}"/>\n' if address else ""
    entry_id = identity(document)
    feed_id = uuid5(NAMESPACE_OID, text.one_line(known["shop"]["url"] or known["shop"]["name"])).urn
    return (
        '<?xml version="1.0" encoding="utf-8"?>\n<feed xmlns="http://www.w3.org/2005/Atom">\n'
        f"<id>{feed_id}</id>\n<title>{_plain(known['shop']['name'] or known['title'])}</title>\n"
        f"<updated>{when}</updated>\n"
        f"<entry>\n  <id>{entry_id}</id>\n  <title>{_plain(known['title'])}</title>\n  <updated>{when}</updated>\n"
        f"  <published>{when}</published>\n  <author><name>{_plain(author)}</name></author>\n{link}"
        f"  <summary>{_plain(post.summary(known))}</summary>\n"
        f'  <content type="html">{content}</content>\n</entry>\n</feed>\n'
    )


def identity(document: Document) -> str:
    """Return the entry's id: a UUID made from the recording's checksum, the same for ever (RFC 4122, section 4.3)."""
    return uuid5(NAMESPACE_OID, document.recording.sha256).urn


def _noon(day: str, settings: Settings) -> str:
    noon = datetime.combine(datetime.fromisoformat(day).date(), time(12), ZoneInfo(settings.publishing.timezone))
    return noon.isoformat(timespec="seconds")


def _plain(said: str) -> str:
    return html.escape(text.one_line(said), quote=False)
