"""The document as linked data for search engines: schema.org VideoObject, HowTo and ItemList in JSON-LD."""

import json
from typing import Any

from studio import description, post, text, timecode
from studio.model import Catalogue, Document
from studio.settings import Settings
from studio.writing import outline

CONTEXT = "https://schema.org"
_AVAILABILITY = {
    "on_sale": "https://schema.org/InStock",
    "not_yet": "https://schema.org/PreOrder",
    "retired": "https://schema.org/Discontinued",
}
_TOOLS = frozenset(
    "tool tools cutter cutters knife blade brush brushes machine equipment needle needles press scissors".split()
)


def files(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str | bytes]:
    """Return `metadata.jsonld`."""
    made = json.dumps(linked_data(document, catalogue, settings), ensure_ascii=False, indent=1)
    return {"metadata.jsonld": made.replace("</", "<\\/") + "\n"}


def linked_data(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, Any]:
    """Return the JSON-LD: the recording with its chapters, the steps where it is a how-to, the products shown."""
    known = outline.facts(document, catalogue, settings)
    graph = [video(known, document)]
    if known["shape"] == "how-to":
        graph.append(how_to(known, document))
    if any(row["code"] for row in known["supplies"]):
        graph.append(item_list(known, settings))
    return {"@context": CONTEXT, "@graph": graph}


def _some(**values: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return the properties that have a value."""
    return {name: value for name, value in values.items() if value not in ("", None, [], {})}


def _type(kind: str, /, **values: Any) -> dict[str, Any]:  # noqa: ANN401
    return {"@type": kind, **_some(**values)}


def video(known: dict[str, Any], document: Document) -> dict[str, Any]:
    """Return the VideoObject (AudioObject where there is no picture) with a Clip for every chapter."""
    address = post.address(known)
    end = document.recording.duration_ms
    starts = [chapter.start_ms for chapter in document.chapters]
    clips = [
        _type(
            "Clip",
            name=text.one_line(chapter.title),
            startOffset=chapter.start_ms / 1000,
            endOffset=stop / 1000,
            url=f"{address}#t={chapter.start_ms // 1000}" if address else "",
        )
        for chapter, stop in zip(document.chapters, [*starts[1:], end], strict=False)
    ]
    recorded = document.recording.recorded_on
    return _type(
        "VideoObject" if document.recording.has_picture else "AudioObject",
        name=known["title"],
        description=description.lead(known),
        inLanguage=document.transcript.language,
        duration=timecode.iso_duration(end),
        uploadDate=known["date"],
        dateCreated=recorded.isoformat() if recorded else "",
        url=address,
        thumbnailUrl=address + known["hero"]["file"] if known["hero"] else "",
        hasPart=clips,
        author=_type("Person", name=known["shop"]["author"]) if known["shop"]["author"] else {},
    )


def how_to(known: dict[str, Any], document: Document) -> dict[str, Any]:
    """Return the HowTo: supplies, tools, and a section of steps for each chapter that has steps."""
    supplies = [row for row in known["supplies"] if not _is_tool(row)]
    tools = [row for row in known["supplies"] if _is_tool(row)]
    sections = [
        _type(
            "HowToSection",
            name=section["title"],
            position=at,
            itemListElement=[
                _type(
                    "HowToStep",
                    position=block["first"] + number,
                    text=" ".join(one["text"] for one in step),
                    url=_moment(known, step[0]["start_ms"]),
                )
                for block in section["blocks"]
                if block["kind"] == "steps"
                for number, step in enumerate(block["steps"])
            ],
        )
        for at, section in enumerate((one for one in known["sections"] if one["is_steps"]), start=1)
    ]
    return _type(
        "HowTo",
        name=known["title"],
        inLanguage=document.transcript.language,
        supply=[_type("HowToSupply", name=row["name"], requiredQuantity=row["quantity"]) for row in supplies],
        tool=[_type("HowToTool", name=row["name"]) for row in tools],
        step=[section for section in sections if section.get("itemListElement")],
        image=[known["hero"]["file"]] if known["hero"] else [],
    )


def _is_tool(row: dict[str, Any]) -> bool:
    return bool(set(row["kind"].lower().split()) & _TOOLS)


def _moment(known: dict[str, Any], ms: int) -> str:
    address = post.address(known)
    return f"{address}#t={ms // 1000}" if address else ""


def item_list(known: dict[str, Any], settings: Settings) -> dict[str, Any]:
    """Return the ItemList of the products shown, each with an Offer where the catalogue has a price."""
    rows = [row for row in known["supplies"] if row["code"]]
    elements = [
        _type(
            "ListItem",
            position=at,
            item=_type(
                "Product",
                name=row["name"],
                sku=row["code"],
                category=row["kind"],
                url=row["url"],
                color=row["colour"],
                gtin=row["gtin"],
                image=[row["still"]] if row["still"] else [],
                offers=_offer(row, settings),
            ),
        )
        for at, row in enumerate(rows, start=1)
    ]
    return _type("ItemList", name=known["title"], numberOfItems=len(elements), itemListElement=elements)


def _offer(row: dict[str, Any], settings: Settings) -> dict[str, Any]:
    if not row["amount"] or not row["currency"]:
        return {}
    seller = _type("Organization", name=settings.shop.name) if settings.shop.name else {}
    return _type(
        "Offer",
        price=row["amount"],
        priceCurrency=row["currency"],
        url=row["url"],
        seller=seller,
        availability=_AVAILABILITY.get(row["availability"], ""),
        eligibleRegion=settings.publishing.market,
    )
