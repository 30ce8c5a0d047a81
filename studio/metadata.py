"""The document as linked data for search engines: schema.org VideoObject, HowTo and ItemList in JSON-LD."""

import json
from collections.abc import Mapping

from studio import description, text, timecode
from studio.edition import Edition
from studio.model import Document
from studio.settings import Settings
from studio.writing.facts import Facts, PostSection, SupplyRow

CONTEXT = "https://schema.org"
_AVAILABILITY = {
    "on_sale": "https://schema.org/InStock",
    "not_yet": "https://schema.org/PreOrder",
    "retired": "https://schema.org/Discontinued",
}
_TOOLS = frozenset(
    "tool tools cutter cutters knife blade brush brushes machine equipment needle needles press scissors".split()
)


Node = Mapping[str, object]
"""A piece of JSON-LD, made here and written here."""


def files(edition: Edition) -> dict[str, str | bytes]:
    """Return `metadata.jsonld`."""
    made = json.dumps(_linked_data(edition), ensure_ascii=False, indent=1)
    return {"metadata.jsonld": made.replace("</", "<\\/") + "\n"}


def _linked_data(edition: Edition) -> Node:
    """Return the JSON-LD: the recording with its chapters, the steps where it is a how-to, the products shown."""
    facts = edition.facts
    graph = [_video(facts, edition.document)]
    if facts.shape == "how-to":
        graph.append(_how_to(facts))
    if any(row.code for row in facts.supplies):
        graph.append(_item_list(facts, edition.settings))
    return {"@context": CONTEXT, "@graph": graph}


def _some(**values: object) -> Node:
    """Return the properties that have a value."""
    return {name: value for name, value in values.items() if value not in ("", None, [], {})}


def _type(kind: str, /, **values: object) -> Node:
    return {"@type": kind, **_some(**values)}


def _video(facts: Facts, document: Document) -> Node:
    """Return the VideoObject (AudioObject where there is no picture) with a Clip for every chapter."""
    end = document.recording.duration_ms
    starts = [chapter.start_ms for chapter in document.chapters]
    clips = [
        _type(
            "Clip",
            name=text.one_line(chapter.title),
            startOffset=chapter.start_ms / 1000,
            endOffset=stop / 1000,
            url=_moment(facts, chapter.start_ms),
        )
        for chapter, stop in zip(document.chapters, [*starts[1:], end], strict=False)
    ]
    recorded = document.recording.recorded_on
    return _type(
        "VideoObject" if document.recording.has_picture else "AudioObject",
        name=facts.title,
        description=description.lead(facts),
        inLanguage=facts.language,
        duration=timecode.iso_duration(end),
        uploadDate=facts.date,
        dateCreated=recorded.isoformat() if recorded else "",
        url=facts.address,
        thumbnailUrl=facts.address + facts.hero.file if facts.hero else "",
        hasPart=clips,
        author=_type("Person", name=facts.shop.author) if facts.shop.author else {},
    )


def _how_to(facts: Facts) -> Node:
    """Return the HowTo: supplies, tools, and a section of steps for each chapter that has steps."""
    supplies = [row for row in facts.supplies if not _is_tool_row(row)]
    tools = [row for row in facts.supplies if _is_tool_row(row)]
    made = [(section, _how_to_steps(section, facts)) for section in facts.sections if section.is_steps]
    return _type(
        "HowTo",
        name=facts.title,
        inLanguage=facts.language,
        supply=[_type("HowToSupply", name=row.name, requiredQuantity=row.quantity) for row in supplies],
        tool=[_type("HowToTool", name=row.name) for row in tools],
        step=[
            _type("HowToSection", name=section.title, position=at, itemListElement=steps)
            for at, (section, steps) in enumerate(made, start=1)
            if steps
        ],
        image=[facts.hero.file] if facts.hero else [],
    )


def _how_to_steps(section: PostSection, facts: Facts) -> list[Node]:
    return [
        _type(
            "HowToStep",
            position=block.first + number,
            text=" ".join(one.text for one in step),
            url=_moment(facts, step[0].start_ms),
        )
        for block in section.blocks
        if block.kind == "steps"
        for number, step in enumerate(block.steps)
    ]


def _is_tool_row(row: SupplyRow) -> bool:
    return bool(set(row.kind.lower().split()) & _TOOLS)


def _moment(facts: Facts, ms: int) -> str:
    return f"{facts.address}#t={ms // 1000}" if facts.address else ""


def _item_list(facts: Facts, settings: Settings) -> Node:
    """Return the ItemList of the products shown, each with an Offer where the catalogue has a price."""
    rows = [row for row in facts.supplies if row.code]
    elements = [
        _type(
            "ListItem",
            position=at,
            item=_type(
                "Product",
                name=row.name,
                sku=row.code,
                category=row.kind,
                url=row.url,
                color=row.colour,
                gtin=row.gtin,
                image=[row.still] if row.still else [],
                offers=_price_of(row, settings),
            ),
        )
        for at, row in enumerate(rows, start=1)
    ]
    return _type("ItemList", name=facts.title, numberOfItems=len(elements), itemListElement=elements)


def _price_of(row: SupplyRow, settings: Settings) -> Node:
    if not row.amount or not row.currency:
        return {}
    seller = _type("Organization", name=settings.shop.name) if settings.shop.name else {}
    return _type(
        "Offer",
        price=row.amount,
        priceCurrency=row.currency,
        url=row.url,
        seller=seller,
        availability=_AVAILABILITY.get(row.availability, ""),
        eligibleRegion=settings.publishing.market,
    )
