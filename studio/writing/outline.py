"""The shape of the post: title, opening, sections of steps, lists and paragraphs, pictures and their descriptions."""

import re
from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import PurePath
from typing import Any

from studio import quantity, text, timecode
from studio.model import Catalogue, Document, Still
from studio.settings import Settings
from studio.settled import settled
from studio.writing import choosing, printed, sheet_plans, worth
from studio.writing.draft import draft
from studio.writing.written import Draft, Line, Section

ALT_LENGTH = 125
TITLE_LENGTH = 65
PARAGRAPH_SENTENCES = 4
HOW_TO_STEPS, LINES_A_STEP = 6, 6
"""A post tells how to do something from so many steps on, if there are no more lines for each of them."""


def facts(document: Document, catalogue: Catalogue, settings: Settings, worded: Draft | None = None) -> dict[str, Any]:
    """Return everything settled that a template may print, as plain text, numbers, lists and dictionaries.

    Args:
        document: everything known.
        catalogue: where names, prices and links come from.
        settings: the person's choices.
        worded: a draft with other wording, in place of the rules' own.
    """
    written = worded or draft(document, catalogue, settings.publishing.keep_names)
    sure = settled(document)
    names = titles(sure, written)
    on = printed.publishing_day(document, settings)
    rows = printed.supply_rows(sure, catalogue, settings)
    shape = shape_of(written)
    stills = pictures(sure, catalogue, written)
    return {
        "title": names[0],
        "titles": names,
        "slug": text.slug(names[0], document.recording.sha256[:12]),
        "shape": shape,
        "language": document.transcript.language,
        "date": on.isoformat(),
        "day": printed.day(on),
        "minutes": max(1, round(document.recording.duration_ms / 60_000)),
        "disclosure": printed.disclosure(settings),
        "shop": {
            "name": text.one_line(settings.shop.name),
            "url": text.link(settings.shop.url),
            "contact": text.one_line(settings.shop.contact),
            "author": text.one_line(settings.shop.author),
        },
        "promo": printed.promo_code(document, settings),
        "hero": next((still for still in stills if still["subject"] == "hero"), stills[0] if stills else None),
        "intro": opening(names[0], written, document),
        "offers": printed.offers(sure, catalogue, settings),
        "supplies": rows,
        "groups": grouped(rows),
        "cuts": printed.cuts(sure),
        "layouts": sheet_plans.shown(document, catalogue, settings),
        "measures": printed.measures(sure),
        "sections": sections(written, sure, catalogue, stills, shape),
        "cost": printed.cost(rows, settings),
        "cautions": printed.cautions(document),
        "deferral": printed.added("deferral"),
        "chapters": [
            {"clock": timecode.clock(one.start_ms), "title": text.one_line(one.title)} for one in document.chapters
        ],
        "price_note": _price_note(sure, settings) if any(row["price"] for row in rows) else "",
        "market": settings.publishing.market,
        "catalogue": text.one_line(document.catalogue.source) if document.catalogue else "",
        "site_url": text.link(settings.publishing.site_url),
    }


def _price_note(document: Document, settings: Settings) -> str:
    currencies = sorted({row.currency for row in document.supplies if row.price is not None and row.currency})
    return printed.added(
        "price_note",
        catalogue=text.one_line(document.catalogue.source if document.catalogue else ""),
        date=printed.day(printed.publishing_day(document, settings)),
        currency=" and ".join(currencies) or "no currency named",
        market=settings.publishing.market,
    )


# --- title and opening -----------------------------------------------------------------------------------------------


def titles(document: Document, written: Draft) -> list[str]:
    """Return title candidates, the best first: the thing made in the person's words, the items, the file's name."""
    thing = _thing_made(document, written)
    names = [text.one_line(row.name) for row in document.supplies if row.code]
    said = []
    if thing:
        said.append(printed.added("how_to", "title", thing=thing))
    if len(names) > 2:
        said.append(printed.added("show", "title", first=names[0], second=names[1]))
    if len(names) == 2:
        said.append(printed.added("show_two", "title", first=names[0], second=names[1]))
    if names:
        said.append(printed.added("show_one", "title", first=names[0]))
    stem = re.sub(r"[\W_]+", " ", PurePath(document.recording.source).stem).strip()
    said.append(printed.added("plain", "title", name=(stem[:1].upper() + stem[1:]) or "A demonstration"))
    return list(dict.fromkeys(text.shortened(title, TITLE_LENGTH) for title in said))


def _thing_made(document: Document, written: Draft) -> str:
    """Return what is made, as it was said in the first minutes ("a little loaf"), or nothing."""
    early = [line.text for line in written.intro] + [
        sentence.text for sentence in document.sentences[: max(8, len(document.sentences) // 8)]
    ]
    for name in ("made", "it_is"):
        for said in early:
            if thing := choosing.thing(said, name):
                return text.one_line(thing).rstrip(" .,")
    return ""


def opening(title: str, written: Draft, document: Document) -> list[dict[str, Any]]:
    """Return the sentences of the opening; a plain one from the title and the day where none was said."""
    said = [_sentence(line, {}) for line in written.intro[:3]]
    if said:
        return said
    when = printed.day(document.recording.recorded_on)
    if not when and document.sentences:
        return []
    line = printed.added("intro", title=title, date=when) if document.sentences else printed.added("no_speech")
    return [{"text": line, "runs": [{"text": line, "url": ""}], "start_ms": 0, "codes": [], "stills": []}]


def grouped(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the supply rows by kind, in the order in which the kinds first appear; what is not listed comes last."""
    kinds = dict.fromkeys(row["kind"] for row in rows if row["code"])
    groups = [{"kind": kind, "rows": [row for row in rows if row["code"] and row["kind"] == kind]} for kind in kinds]
    others = [row for row in rows if not row["code"]]
    return [*groups, *([{"kind": "", "rows": others}] if others else [])]


# --- sections --------------------------------------------------------------------------------------------------------


def shape_of(written: Draft) -> str:
    """Return "how-to" where enough of the sentences are instructions, else "show-and-tell"."""
    steps = sum(line.kind == "step" for line in written.lines)
    enough = steps >= HOW_TO_STEPS and steps * LINES_A_STEP >= len(written.lines)
    return "how-to" if enough else "show-and-tell"


def sections(
    written: Draft, document: Document, catalogue: Catalogue, stills: list[dict[str, Any]], shape: str
) -> list[dict[str, Any]]:
    """Return the sections in order: each a title, a time, and blocks of paragraphs, numbered steps and lists."""
    urls = {
        row.code: text.link(row.url)
        for row in document.supplies
        if row.code and row.availability not in {"retired", "not_yet"}
    }
    linked: set[str] = set()
    number = 1
    made = []
    for at, section in enumerate(written.sections):
        end = (
            written.sections[at + 1].start_ms if at + 1 < len(written.sections) else document.recording.duration_ms + 1
        )
        blocks = list(_blocks(section, urls, linked, steps=shape == "how-to"))
        for block in blocks:
            if block["kind"] == "steps":
                block["first"] = number
                number += len(block["steps"])
        own = [still for still in stills if section.start_ms <= still["at_ms"] < end and still["subject"] != "hero"]
        own = _placed(own, blocks)
        made.append(
            {
                "title": text.one_line(section.title),
                "clock": timecode.clock(section.start_ms),
                "start_ms": section.start_ms,
                "end_ms": min(end, document.recording.duration_ms),
                "blocks": blocks,
                "stills": own,
                "is_steps": any(block["kind"] == "steps" for block in blocks),
            }
        )
    return made


def _placed(own: list[dict[str, Any]], blocks: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Put the picture of each item where it is first linked; return what stands at the head of the section.

    A section whose first block has no picture of an item opens with the picture of the chapter.
    """
    waiting = {still["subject"]: still for still in own}
    for block in blocks:
        for group in block["steps"] if block["kind"] == "steps" else [block.get("sentences", block.get("items", []))]:
            shown = [waiting.pop(code) for one in group for code in one["codes"] if code in waiting]
            if group:
                group[-1]["stills"] = shown
    first = blocks[0] if blocks else {}
    pictured = any(one["stills"] for one in first.get("sentences", []))
    return [] if pictured else [still for still in own if still["subject"].startswith("step-")][:1]


def _blocks(section: Section, urls: dict[str, str], linked: set[str], *, steps: bool) -> Iterator[dict[str, Any]]:
    """Yield the blocks of a section: runs of items become a list, the rest steps or paragraphs."""
    run: list[Line] = []
    for line, after in zip(section.lines, [*section.lines[1:], None], strict=True):
        run.append(line)
        if after is not None and (after.kind == "item") == (line.kind == "item"):
            continue
        if line.kind == "item":
            yield {"kind": "list", "items": [_sentence(one, urls, linked) for one in run]}
        elif steps:
            yield from _steps(run, urls, linked)
        else:
            yield from _paragraphs(run, urls, linked)
        run = []


def _steps(lines: Sequence[Line], urls: dict[str, str], linked: set[str]) -> Iterator[dict[str, Any]]:
    """Yield numbered steps, a warning with the step that it follows, and all else between them in paragraphs."""
    for numbered, run in groupby(_with_steps(lines), key=lambda one: one[0] > 0):
        if not numbered:
            yield from _paragraphs([line for _, line in run], urls, linked)
            continue
        steps = [[line for _, line in group] for _, group in groupby(run, key=lambda one: one[0])]
        yield {
            "kind": "steps",
            "first": 1,
            "steps": [[_sentence(line, urls, linked) for line in step] for step in steps],
        }


def _with_steps(lines: Sequence[Line]) -> Iterator[tuple[int, Line]]:
    """Yield each line with the number of the step that it belongs to; 0 where it belongs to none.

    What was said in one breath is one step, a few words without a verb belong to the step before them, and a warning
    to the step before it, or to the one that follows where none is.
    """
    number, before, waits = 0, None, False
    for at, line in enumerate(lines):
        ahead = next((one.kind for one in lines[at:] if one.kind != "warning"), "")
        if line.kind != "step" and not (line.kind == "warning" and (before is not None or ahead == "step")):
            before = None
            yield 0, line
            continue
        number += before is None or not (waits or _goes_on(before, line))
        waits = line.kind == "warning" and (before is None or waits)
        before = line
        yield number, line


def _goes_on(before: Line, line: Line) -> bool:
    """Return whether a line belongs to the step of the line before it."""
    in_one_breath = before.parts[-1].sentence == line.parts[0].sentence
    return line.kind == "warning" or in_one_breath or not worth.has_finite_verb(line.text)


def _paragraphs(lines: Sequence[Line], urls: dict[str, str], linked: set[str]) -> Iterator[dict[str, Any]]:
    """Yield paragraphs of up to four sentences; a new item begins a new one."""
    group: list[Line] = []
    for line in lines:
        new_item = any(one.links for one in group) and any(link.code not in linked for link in line.links)
        if len(group) >= PARAGRAPH_SENTENCES or new_item:
            yield {"kind": "paragraph", "sentences": [_sentence(one, urls, linked) for one in group]}
            group = []
        group.append(line)
    if group:
        yield {"kind": "paragraph", "sentences": [_sentence(one, urls, linked) for one in group]}


def _sentence(line: Line, urls: dict[str, str], linked: set[str] | None = None) -> dict[str, Any]:
    """Return a line as runs of text, a product linked where it is named for the first time."""
    runs, at = [], 0
    codes = [] if linked is None else [link.code for link in line.links if link.code not in linked]
    for link in line.links:
        url = urls.get(link.code, "")
        if linked is None or link.code in linked or not url or link.start < at:
            continue
        linked.add(link.code)
        runs += [
            {"text": line.text[at : link.start], "url": ""},
            {"text": line.text[link.start : link.end], "url": url},
        ]
        at = link.end
    runs.append({"text": line.text[at:], "url": ""})
    return {
        "text": text.one_line(line.text),
        "runs": [run for run in runs if run["text"]],
        "start_ms": line.start_ms,
        "codes": codes,
        "stills": [],
    }


# --- pictures --------------------------------------------------------------------------------------------------------


def pictures(document: Document, catalogue: Catalogue, written: Draft) -> list[dict[str, Any]]:
    """Return the chosen stills in order of time with their alternative text; no two have the same file."""
    seen = {still.file: still for still in sorted(document.stills, key=lambda one: one.at_ms)}
    return [
        {
            "file": still.file,
            "alt": alt(still, document, catalogue, written),
            "at_ms": still.at_ms,
            "subject": still.subject,
            "clock": timecode.clock(still.at_ms),
            "unsure": still.state == "ask",
        }
        for still in seen.values()
    ]


def alt(still: Still, document: Document, catalogue: Catalogue, written: Draft) -> str:
    """Return the alternative text of a still: the item, colour and size, or what the step says; at most 125 signs."""
    if still.subject == "hero":
        thing = _thing_made(document, written) or _first_name(document) or still.alt
        return text.shortened(thing[:1].upper() + thing[1:], ALT_LENGTH)
    if still.alt and not still.subject.startswith("step-"):
        return text.shortened(still.alt, ALT_LENGTH)
    product = catalogue.by_code().get(still.subject)
    if product is not None:
        row = next((row for row in document.supplies if row.code == product.code), None)
        colour = (row.colour if row else None) or product.colour
        size = next(
            (
                quantity.show(one.values, one.unit, one.dimension)
                for one in document.measures
                if one.code == product.code and one.dimension == "size" and one.state == "confirmed"
            ),
            "",
        )
        name = text.one_line(product.name)
        return text.shortened(
            ", ".join(filter(None, [name, "" if colour.lower() in name.lower() else colour, size])), ALT_LENGTH
        )
    near = [line for line in written.lines if line.start_ms <= still.at_ms + 1000]
    said = near[-1].text if near else still.alt or text.one_line(document.recording.source)
    return text.shortened(said, ALT_LENGTH)


def _first_name(document: Document) -> str:
    return next((text.one_line(row.name) for row in document.supplies), "")
