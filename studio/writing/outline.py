"""The shape of the post: title, opening, supplies by kind, pictures and their descriptions."""

from collections.abc import Sequence
from pathlib import PurePath

from studio import quantity, rule_files, text, timecode
from studio.model import Catalogue, Document, Still
from studio.settings import Settings
from studio.settled import settled
from studio.writing import printed, sectioning, sheet_plans, worth
from studio.writing.facts import (
    ChapterRow,
    Facts,
    Group,
    Picture,
    PostSentence,
    ShopFacts,
    SupplyGroup,
    SupplyRow,
    TextRun,
)
from studio.writing.written import Draft

ALT_LENGTH = 125
TITLE_LENGTH = 65


def facts(document: Document, catalogue: Catalogue, settings: Settings, written: Draft) -> Facts:
    """Return everything settled that a template may print.

    Args:
        document: everything known.
        catalogue: where names, prices and links come from.
        settings: the person's choices.
        written: the draft.
    """
    sure = settled(document)
    names = title_candidates(sure, written)
    on = printed.publishing_day(document, settings)
    rows = printed.supply_rows(sure, catalogue, settings)
    shape = sectioning.shape_of(written)
    stills = pictures(sure, catalogue, written)
    return Facts(
        title=names[0],
        titles=names,
        slug=text.slug(names[0], document.recording.sha256[:12]),
        shape=shape,
        language=document.transcript.language,
        date=on.isoformat(),
        day=printed.day(on),
        minutes=max(1, round(document.recording.duration_ms / 60_000)),
        disclosure=printed.disclosure(settings),
        shop=_shop(settings),
        promo=printed.promo(document, settings),
        hero=next((still for still in stills if still.subject == "hero"), stills[0] if stills else None),
        intro=opening_sentences(names[0], written, document),
        offers=printed.offer_rows(sure, catalogue, settings),
        supplies=rows,
        groups=grouped(rows),
        cuts=printed.cut_rows(sure),
        layouts=sheet_plans.sheet_rows(document, catalogue, settings),
        measures=printed.measure_rows(sure),
        sections=sectioning.sections(written, sure, stills, shape),
        cost=printed.total_cost(rows, settings),
        cautions=printed.caution_rows(document),
        deferral=printed.added("deferral"),
        chapters=tuple(ChapterRow(timecode.clock(one.start_ms), text.one_line(one.title)) for one in document.chapters),
        price_note=_price_note(sure, settings) if any(row.price for row in rows) else "",
        market=settings.publishing.market,
        catalogue=text.one_line(document.catalogue.source) if document.catalogue else "",
        site_url=text.link(settings.publishing.site_url),
    )


def _shop(settings: Settings) -> ShopFacts:
    shop = settings.shop
    return ShopFacts(
        text.one_line(shop.name), text.link(shop.url), text.one_line(shop.contact), text.one_line(shop.author)
    )


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


def title_candidates(document: Document, written: Draft) -> tuple[str, ...]:
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
    stem = text.spaced_words(PurePath(document.recording.source).stem)
    said.append(printed.added("plain", "title", name=(stem[:1].upper() + stem[1:]) or "A demonstration"))
    return tuple(dict.fromkeys(text.shortened(title, TITLE_LENGTH) for title in said))


def _thing_made(document: Document, written: Draft) -> str:
    """Return what is made, as it was said in the first minutes ("a little loaf"), or nothing."""
    early = [line.text for line in written.intro] + [
        sentence.text for sentence in document.sentences[: max(8, len(document.sentences) // 8)]
    ]
    for name in ("made", "it_is"):
        for said in early:
            found = rule_files.pattern(worth.FILE, "intro", name).search(said)
            if found and not worth.reason_to_leave_out(said, holds_fact=True) and not _vague(found["thing"]):
                return text.one_line(found["thing"]).rstrip(" .,")
    return ""


def _vague(thing: str) -> bool:
    said = worth.said_words(thing)
    counted = worth.listed("protected", "numbers") & set(said) or any(char.isdigit() for char in thing)
    return bool(counted) or len(said) < 2 or not worth.listed("intro", "vague").isdisjoint(said) or len(said) > 7


def opening_sentences(title: str, written: Draft, document: Document) -> Group:
    """Return the sentences of the opening; a plain one from the title and the day where none was said."""
    if written.intro:
        return tuple(sectioning.unlinked(line) for line in written.intro[:3])
    when = printed.day(document.recording.recorded_on)
    if not when and document.sentences:
        return ()
    line = printed.added("intro", title=title, date=when) if document.sentences else printed.added("no_speech")
    return (PostSentence(line, (TextRun(line, ""),), 0),)


def grouped(rows: Sequence[SupplyRow]) -> tuple[SupplyGroup, ...]:
    """Return the supply rows by kind, in the order in which the kinds first appear; what is not listed comes last."""
    kinds = dict.fromkeys(row.kind for row in rows if row.code)
    groups = [SupplyGroup(kind, tuple(row for row in rows if row.code and row.kind == kind)) for kind in kinds]
    others = tuple(row for row in rows if not row.code)
    return (*groups, *([SupplyGroup("", others)] if others else []))


# --- pictures --------------------------------------------------------------------------------------------------------


def pictures(document: Document, catalogue: Catalogue, written: Draft) -> tuple[Picture, ...]:
    """Return the chosen stills in order of time with their alternative text; no two have the same file."""
    seen = {still.file: still for still in sorted(document.stills, key=lambda one: one.at_ms)}
    return tuple(
        Picture(
            file=still.file,
            alt=alt(still, document, catalogue, written),
            at_ms=still.at_ms,
            subject=still.subject,
            clock=timecode.clock(still.at_ms),
            unsure=still.state == "ask",
        )
        for still in seen.values()
    )


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
