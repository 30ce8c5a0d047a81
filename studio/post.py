"""The post: Markdown with front matter, a page of HTML, and the trace of every sentence in it."""

import json
import re
from functools import cache
from typing import TYPE_CHECKING, Any

from studio import templating, text
from studio.model import Catalogue, Document
from studio.settings import Settings
from studio.settled import settled
from studio.writing import outline, piece_drawing, sheet_plans
from studio.writing.draft import draft
from studio.writing.written import Draft, LeftOut, Line

if TYPE_CHECKING:
    from markdown_it import MarkdownIt

_SECTION = re.compile(r"^<!-- ([a-z]+) -->\n", re.MULTILINE)
_PICTURE = re.compile(r"stills/[\w.-]+|layouts/[\w-]+\.svg")
"""The files of the folio that the post shows."""
_UNBROKEN = re.compile(r"(?<=\d) (?=\d+/\d+\b|(?:in|mm|cm|m|g|kg|ml|l|oz|lb|yd|ft|°C|°F)\b)")
"""Spaces inside a size, where no line may end."""
_TAGS = frozenset("h1 h2 h3 p em strong a img ul ol li table thead tbody tr th td blockquote hr code br".split())


def files(
    document: Document, catalogue: Catalogue, settings: Settings, worded: Draft | None = None
) -> dict[str, str | bytes]:
    """Return `post.md`, `post.html`, `post.trace.json`, and the drawings in `layouts/` that the post shows.

    Args:
        document: everything known.
        catalogue: where names, prices and links come from.
        settings: the person's choices.
        worded: a polished draft, in place of the rules' own.

    Raises:
        SettingsError: a template of the person's own is wrong.
    """
    known = outline.facts(document, catalogue, settings, worded)
    marked = markdown(known, settings)
    return {
        **sheet_plans.drawings(document, catalogue, settings),
        "post.md": front_matter(known) + _SECTION.sub("", marked),
        "post.html": page(marked, known, settings, piece_drawing.drawings(settled(document).cuts)),
        "post.trace.json": trace(worded or draft(document, catalogue, settings.publishing.keep_names), document),
    }


def markdown(known: dict[str, Any], settings: Settings) -> str:
    """Return the post in Markdown (CommonMark with pipe tables); a comment line opens each section."""
    name = "post_how_to.md.j2" if known["shape"] == "how-to" else "post_show.md.j2"
    made = templating.render(name, known, settings.publishing.templates)
    return re.sub(r"\n{3,}", "\n\n", text.plain(made)).strip() + "\n"


def front_matter(known: dict[str, Any]) -> str:
    """Return the YAML block that site builders read: title, date, slug, tags, that it is a draft, price date."""
    import yaml

    fields = {
        "title": known["title"],
        "date": known["date"],
        "slug": known["slug"],
        "tags": sorted({row["kind"] for row in known["supplies"] if row["kind"]}),
        "draft": True,
        "description": summary(known),
        "catalogue": known["catalogue"],
        "market": known["market"],
        "price_date": known["date"],
        "other_titles": known["titles"][1:],
    }
    block = yaml.safe_dump(fields, allow_unicode=True, sort_keys=False, width=1000)
    return f"---\n{block}---\n\n"


def summary(known: dict[str, Any]) -> str:
    """Return one or two sentences on what the post is, at most 155 characters."""
    said = " ".join(sentence["text"] for sentence in known["intro"])
    return text.shortened(said or known["title"], 155)


# --- HTML ------------------------------------------------------------------------------------------------------------


@cache
def _parser() -> "MarkdownIt":
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark", {"html": False}).enable("table")


def html(source: str) -> str:
    """Return Markdown as clean HTML: only known elements, raw HTML shown as text, http(s) links, own pictures."""
    import nh3

    made = _parser().render(source)
    cleaned = nh3.clean(
        made,
        tags=set(_TAGS),
        attributes={"a": {"href"}, "img": {"src", "alt"}, "ol": {"start"}, "th": {"style"}},
        attribute_filter=_kept,
        url_schemes={"http", "https"},
        link_rel="noopener",
    )
    return _numbered(_UNBROKEN.sub("\u00a0", cleaned.replace("<th>", '<th scope="col">')))


def _numbered(made: str) -> str:
    """Write the number of each step onto its list item, where the style takes it from."""
    number = 0

    def opened(found: re.Match[str]) -> str:
        nonlocal number
        if found[0].startswith("<ol"):
            number = int(found[1] or 1)
            return found[0]
        number += 1
        return f'<li value="{number - 1}" data-number="{number - 1}">'

    lists = re.split(r"(<ol.*?</ol>)", made, flags=re.DOTALL)
    return "".join(
        re.sub(r'<ol(?: start="(\d+)")?>|<li>', opened, part) if part.startswith("<ol") else part for part in lists
    )


def _kept(element: str, attribute: str, value: str) -> str | None:
    if element == "img" and attribute == "src":
        return value if _PICTURE.fullmatch(value) else None
    return None if attribute == "style" else value


def page(marked: str, known: dict[str, Any], settings: Settings, pieces: str = "") -> str:
    """Return the page: each section of the Markdown in its own element, styled, readable without script or network.

    Args:
        marked: the Markdown with a comment line before each section.
        known: the facts of the post.
        settings: for the person's own templates.
        pieces: drawings that stand after the cutting list.
    """
    parts = _SECTION.split(marked)
    sections = [
        {"name": name, "html": _with_table_frames(html(body)) + (pieces if name == "cutting" else "")}
        for name, body in zip(parts[1::2], parts[2::2], strict=True)
    ]
    body = [section for section in sections if section["html"].strip()]
    data = {**known, "body": body, "summary": summary(known), "address": address(known)}
    return text.plain(templating.render("page.html.j2", data, settings.publishing.templates))


def article(marked: str) -> str:
    """Return the whole post as clean HTML without a page around it, to be sent or put into a feed."""
    return html(_SECTION.sub("", marked))


def _with_table_frames(made: str) -> str:
    """Put the tables of a section into frames named by its heading, to be scrolled by keyboard on a narrow page."""
    heading = re.search(r"<h2>(.*?)</h2>", made)
    frame = f'<div class="table" role="region" aria-label="{_label(heading[1] if heading else "")}" tabindex="0">'
    return made.replace("<table>", f"{frame}<table>").replace("</table>", "</table></div>")


def _label(heading: str) -> str:
    """Return a heading as an attribute: without elements and quotes."""
    return re.sub(r"<[^>]*>", "", heading).replace('"', "&quot;") or "Table"


def address(known: dict[str, Any]) -> str:
    """Return the address that the post will have on the person's own site, or nothing where no site is set."""
    return f"{known['site_url'].rstrip('/')}/{known['slug']}/" if known["site_url"] else ""


# --- the trace -------------------------------------------------------------------------------------------------------


def trace(written: Draft, document: Document) -> str:
    """Return where every written sentence was said and what was changed in it, and what was left out and why."""
    record = {
        "sentences": [_line(line, document) for line in written.lines],
        "left_out": [_left_out(one) for one in written.left_out],
    }
    return text.json_safe(json.dumps(record, ensure_ascii=False, indent=1)) + "\n"


def _line(line: Line, document: Document) -> dict[str, Any]:
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


def _left_out(one: LeftOut) -> dict[str, Any]:
    return {"text": one.text, "reason": one.reason, "start_ms": one.start_ms, "end_ms": one.end_ms}
