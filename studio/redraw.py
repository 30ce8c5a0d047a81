"""One decision laid over a document at once, so that the page answers while the whole folio is being made again."""

from datetime import date
from typing import Any

from studio import edits, supplies
from studio.edits import Edit, Edits, kinds
from studio.model import Catalogue, Document, Finding, Supply

_PARTS = ("recording", "sentences", "mentions", "measures", "chapters", "offers", "cuts", "cautions", "findings")


def with_decision(document: Document, products: Catalogue, edit: Edit, on: date | None) -> Document:
    """Return the document with one more decision; what only follows from it by a new run is not there yet."""
    one = Edits((edit,))
    changes: dict[str, Any] = {part: edits.lay_over(part, getattr(document, part), one) for part in _PARTS}
    changed: Document = document.but(**changes)
    if isinstance(edit, kinds.MentionDecided):
        changed = changed.but(supplies=_supplies(changed, products, on))
    if isinstance(edit, kinds.MentionDecided | kinds.MeasureSet | kinds.OfferSet):
        changed = changed.but(findings=_findings(changed, edit))
    pictures = edits.lay_over("stills", document.stills, one)
    if isinstance(edit, kinds.StillSwapped):
        weak = {still.at_ms for still in pictures if still.state == "ask"}
        left = (found for found in changed.findings if found.kind != "weak_still" or found.start_ms in weak)
        changed = changed.but(findings=tuple(left))
    stills = {still.subject: still.file for still in reversed(pictures)}
    rows = edits.lay_over("supplies", changed.supplies, one)
    rows = tuple(row.but(still=stills.get(row.code or "", row.still)) for row in rows)
    whole: Document = edits.lay_over("document", changed.but(stills=pictures, supplies=rows), one)
    return whole


def _supplies(document: Document, products: Catalogue, on: date | None) -> tuple[Supply, ...]:
    """Return the supply list made again; what was said or decided about the rows that stay is kept."""
    before = {row.code or row.name: row for row in document.supplies}
    order = {name: place for place, name in enumerate(before)}
    made = []
    for row in supplies.supplies(document.mentions, products, on):
        old = before.get(row.code or row.name)
        kept = {"quantity": old.quantity, "colour": old.colour} if old else {}
        made.append(row.but(**kept))
    return tuple(sorted(made, key=lambda row: order.get(row.code or row.name, len(order))))


_ANSWERED = {
    "mention_decided": {"ambiguous_item", "unlisted_item"},
    "measure_set": {"unclear_measure", "impossible_size"},
    "offer_set": {"offer_unclear"},
}
"""Decision -> the findings that only asked for it."""


def _findings(
    document: Document, edit: kinds.MentionDecided | kinds.MeasureSet | kinds.OfferSet
) -> tuple[Finding, ...]:
    """Return the findings without those that only asked what has now been answered."""
    start, end = edit.anchor.start_ms - 500, edit.anchor.end_ms + 500
    asked = _ANSWERED[edit.kind]
    return tuple(one for one in document.findings if one.kind not in asked or not start <= one.start_ms <= end)
