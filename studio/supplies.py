"""Mentions to the supply list: one row for each item that was shown, in the order in which it first was."""

from collections.abc import Sequence
from datetime import date
from typing import Literal

from studio.model import Catalogue, Mention, Product, Supply

VERSION = 1
Availability = Literal["on_sale", "not_yet", "retired", "unknown"]


def supplies(mentions: tuple[Mention, ...], catalogue: Catalogue, on: date | None) -> tuple[Supply, ...]:
    """Return the supply list.

    Args:
        mentions: all mentions; only the shown ones, and products shown that the catalogue does not have, make a row.
        catalogue: where names, prices, pages and links come from.
        on: the day for which availability is told, or None where it is not known.
    """
    groups: dict[str, list[Mention]] = {}
    for mention in sorted(mentions, key=lambda found: found.start_ms):
        if mention.role == "shown" and mention.code is not None:
            groups.setdefault(mention.code, []).append(mention)
        elif mention.role == "unlisted":
            groups.setdefault(f"unlisted: {mention.heard.casefold()}", []).append(mention)
    products = catalogue.by_code()
    return tuple(_row(group, products.get(group[0].code or ""), on) for group in groups.values())


def availability(product: Product, on: date | None) -> Availability:
    """Return whether the catalogue has the product on sale on a day; a row without dates is on sale."""
    if product.available_from is None and product.available_until is None:
        return "on_sale"
    if on is None:
        return "unknown"
    if product.available_from and on < product.available_from:
        return "not_yet"
    if product.available_until and on > product.available_until:
        return "retired"
    return "on_sale"


def _row(group: Sequence[Mention], product: Product | None, on: date | None) -> Supply:
    first = group[0]
    said = Supply(
        code=product.code if product else None,
        name=product.name if product else first.heard,
        kind=product.kind if product else "",
        quantity=max((m.quantity for m in group if m.quantity), default=None),
        colour=next((m.colour for m in group if m.colour), None),
        first_shown_ms=first.start_ms,
        mention_ids=tuple(m.id for m in group),
        state="confirmed" if any(m.state == "confirmed" for m in group) else first.state,
    )
    if product is None:
        return said
    listed = {name: getattr(product, name) for name in ("price", "currency", "page", "url")}
    row: Supply = said.but(**listed, availability=availability(product, on))
    return row
