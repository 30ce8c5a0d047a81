"""An entry for an Atom feed: a correction later changes when it was updated, never its id (RFC 4287)."""

import html
from datetime import datetime, time
from uuid import NAMESPACE_OID, uuid5
from zoneinfo import ZoneInfo

from studio import post, text
from studio.edition import Edition
from studio.model import Document
from studio.settings import Settings


def files(edition: Edition) -> dict[str, str | bytes]:
    """Return `entry.atom.xml`, a feed document with one entry."""
    return {"entry.atom.xml": feed(edition)}


def feed(edition: Edition) -> str:
    """Return the Atom document; times are RFC 3339 at noon of the day of publishing in the person's zone."""
    facts = edition.facts
    when = _noon(facts.date, edition.settings)
    author = facts.shop.author or facts.shop.name or "The author"
    content = html.escape(post.article(post.markdown(facts, edition.settings)), quote=False)
    address = facts.address
    link = f'  <link rel="alternate" type="text/html" href="{html.escape(address)}"/>\n' if address else ""
    entry_id = identity(edition.document)
    feed_id = uuid5(NAMESPACE_OID, text.one_line(facts.shop.url or facts.shop.name)).urn
    return (
        '<?xml version="1.0" encoding="utf-8"?>\n<feed xmlns="http://www.w3.org/2005/Atom">\n'
        f"<id>{feed_id}</id>\n<title>{_plain(facts.shop.name or facts.title)}</title>\n"
        f"<updated>{when}</updated>\n"
        f"<entry>\n  <id>{entry_id}</id>\n  <title>{_plain(facts.title)}</title>\n  <updated>{when}</updated>\n"
        f"  <published>{when}</published>\n  <author><name>{_plain(author)}</name></author>\n{link}"
        f"  <summary>{_plain(post.summary(facts))}</summary>\n"
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
