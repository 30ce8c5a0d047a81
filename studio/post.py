"""The post: Markdown with front matter, a page of HTML, and the trace of every sentence in it."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from studio import page_html, templating, text
from studio.edition import Edition
from studio.model import Document
from studio.settings import Settings
from studio.writing import piece_drawing, sheet_plans
from studio.writing.facts import Facts
from studio.writing.written import Draft, LeftOut, Line

_MARK_OPENS, _MARK_CLOSES = "<!-- ", " -->\n"
"""Around the name of a section, on a line of its own before it."""


def files(edition: Edition) -> dict[str, str | bytes]:
    """Return `post.md`, `post.html`, `post.trace.json`, and the drawings in `layouts/` that the post shows.

    Raises:
        SettingsError: a template of the person's own is wrong.
    """
    facts, settings = edition.facts, edition.settings
    marked = markdown(facts, settings)
    return {
        **sheet_plans.sheet_drawings(edition.document, edition.catalogue, settings),
        "post.md": front_matter(facts) + _unmarked(marked),
        "post.html": post_page(marked, facts, settings, piece_drawing.piece_drawings(edition.settled.cuts)),
        "post.trace.json": trace(edition.draft, edition.document),
    }


def markdown(facts: Facts, settings: Settings) -> str:
    """Return the post in Markdown (CommonMark with pipe tables); a comment line opens each section."""
    name = "post_how_to.md.j2" if facts.shape == "how-to" else "post_show.md.j2"
    return text.single_spaced(text.plain(templating.render(name, facts, folder=settings.publishing.templates))) + "\n"


def front_matter(facts: Facts) -> str:
    """Return the YAML block that site builders read: title, date, slug, tags, that it is a draft, price date."""
    import yaml

    fields = {
        "title": facts.title,
        "date": facts.date,
        "slug": facts.slug,
        "tags": facts.kinds,
        "draft": True,
        "description": summary(facts),
        "catalogue": facts.catalogue,
        "market": facts.market,
        "price_date": facts.date,
        "other_titles": list(facts.titles[1:]),
    }
    block = yaml.safe_dump(fields, allow_unicode=True, sort_keys=False, width=1000)
    return f"---\n{block}---\n\n"


def summary(facts: Facts) -> str:
    """Return one or two sentences on what the post is, at most 155 characters."""
    said = " ".join(sentence.text for sentence in facts.intro)
    return text.shortened(said or facts.title, 155)


# --- HTML ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _PageSection:
    name: str
    html: str


@dataclass(frozen=True)
class _Page:
    body: tuple[_PageSection, ...]
    summary: str
    address: str


def post_page(marked: str, facts: Facts, settings: Settings, pieces: str = "") -> str:
    """Return the page: each section of the Markdown in its own element, styled, readable without script or network.

    Args:
        marked: the Markdown with a comment line before each section.
        facts: the facts of the post.
        settings: for the person's own templates.
        pieces: drawings that stand after the cutting list.
    """
    sections = (
        _PageSection(name, page_html.html(body, framed=True) + (pieces if name == "cutting" else ""))
        for name, body in _marked_sections(marked)
        if name
    )
    body = tuple(section for section in sections if section.html.strip())
    told = _Page(body, summary(facts), facts.address)
    return text.plain(templating.render("page.html.j2", facts, told, folder=settings.publishing.templates))


def article(marked: str) -> str:
    """Return the whole post as clean HTML without a page around it, to be sent or put into a feed."""
    return page_html.html(_unmarked(marked))


def _marked_sections(marked: str) -> Iterator[tuple[str, str]]:
    """Yield the name and the Markdown of each section; what stands before the first has no name."""
    name, lines = "", list[str]()
    for line in marked.splitlines(keepends=True):
        called = line.removeprefix(_MARK_OPENS).removesuffix(_MARK_CLOSES)
        if line == f"{_MARK_OPENS}{called}{_MARK_CLOSES}" and called.isascii() and called.isalpha():
            yield name, "".join(lines)
            name, lines = called, []
        else:
            lines.append(line)
    yield name, "".join(lines)


def _unmarked(marked: str) -> str:
    return "".join(body for _, body in _marked_sections(marked))


# --- the trace -------------------------------------------------------------------------------------------------------


def trace(written: Draft, document: Document) -> str:
    """Return where every written sentence was said and what was changed in it, and what was left out and why."""
    record = {
        "sentences": [_traced(line, document) for line in written.lines],
        "left_out": [_left_out(one) for one in written.left_out],
    }
    return text.json_safe(json.dumps(record, ensure_ascii=False, indent=1)) + "\n"


def _traced(line: Line, document: Document) -> Mapping[str, object]:
    return {
        "text": line.text,
        **({"rules_text": line.polished_from} if line.polished_from else {}),
        "kind": line.kind,
        "start_ms": line.start_ms,
        "end_ms": line.end_ms,
        "from": [
            {
                "sentence": part.sentence,
                "start": part.start,
                "end": part.end,
                "said": document.sentences[part.sentence].text[part.start : part.end],
                "joined_by": part.joint,
                "edits": [
                    {"start": edit.start, "end": edit.end, "shown": edit.shown, "rule": edit.rule}
                    for edit in part.edits
                ],
            }
            for part in line.parts
        ],
        "products": [link.code for link in line.links],
    }


def _left_out(one: LeftOut) -> Mapping[str, object]:
    return {"text": one.text, "reason": one.reason, "start_ms": one.start_ms, "end_ms": one.end_ms}
