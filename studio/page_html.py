"""Markdown as clean HTML for a page: only known elements, steps that carry their number, tables in named frames."""

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.renderer import RendererHTML
    from markdown_it.rules_core import StateCore
    from markdown_it.token import Token
    from markdown_it.utils import EnvType, OptionsDict

_PICTURE = re.compile(r"stills/[\w.-]+|layouts/[\w-]+\.svg")
"""The files of the folio that the post shows."""
_UNBROKEN = re.compile(r"(?<=\d) (?=\d+/\d+\b|(?:in|mm|cm|m|g|kg|ml|l|oz|lb|yd|ft|°C|°F)\b)")
"""Spaces inside a size, where no line may end."""
_NO_BREAK = "\u00a0"
_TAGS = frozenset("h1 h2 h3 p em strong a img ul ol li table thead tbody tr th td blockquote hr code br div".split())
_ATTRIBUTES = {
    "a": {"href"},
    "img": {"src", "alt"},
    "ol": {"start"},
    "li": {"value", "data-number"},
    "th": {"scope"},
    "div": {"class", "role", "aria-label", "tabindex"},
}
"""A `div` is only ever the frame of a table: raw HTML in the Markdown is shown as text."""
_LABEL = "label"
"""Where the environment of one rendering keeps how the frames of tables are called."""


def html(source: str, *, framed: bool = False) -> str:
    """Return Markdown as clean HTML: only known elements, raw HTML shown as text, http(s) links, own pictures.

    Args:
        source: CommonMark with pipe tables.
        framed: put each table into a frame named by the first heading, to be scrolled by keyboard on a narrow page.
    """
    import nh3

    parser, env = _parser(), dict[str, object]()
    tokens = parser.parse(source, env)
    if framed:
        env[_LABEL] = _first_heading(tokens) or "Table"
    cleaned = nh3.clean(
        parser.renderer.render(tokens, parser.options, env),
        tags=set(_TAGS),
        attributes=_ATTRIBUTES,
        attribute_filter=_kept,
        url_schemes={"http", "https"},
        link_rel="noopener",
    )
    return cleaned.replace("&nbsp;", _NO_BREAK)


def _kept(element: str, attribute: str, value: str) -> str | None:
    if element == "img" and attribute == "src":
        return value if _PICTURE.fullmatch(value) else None
    return value


@cache
def _parser() -> "MarkdownIt":
    from markdown_it import MarkdownIt

    made = MarkdownIt("commonmark", {"html": False}).enable("table")
    made.core.ruler.after("text_join", "sizes_unbroken", _sizes_unbroken)
    made.core.ruler.push("items_numbered", _items_numbered)
    for name, rule in (("th_open", _column_head), ("table_open", _table_open), ("table_close", _table_close)):
        made.add_render_rule(name, rule)
    return made


def _texts(tokens: "Sequence[Token]") -> "Iterator[Token]":
    for token in tokens:
        if token.type in {"text", "code_inline"}:
            yield token
        yield from _texts(token.children or ())


def _sizes_unbroken(state: "StateCore") -> None:
    for token in _texts(state.tokens):
        token.content = _UNBROKEN.sub(_NO_BREAK, token.content)


def _items_numbered(state: "StateCore") -> None:
    """Write the number of each step onto its list item, where the style takes it from."""
    counts: list[int | None] = []
    for token in state.tokens:
        if token.type in {"ordered_list_open", "bullet_list_open"}:
            counts.append(int(token.attrGet("start") or 1) if token.tag == "ol" else None)
        elif token.type in {"ordered_list_close", "bullet_list_close"}:
            counts.pop()
        elif token.type == "list_item_open" and (number := counts[-1]) is not None:
            token.attrs |= {"value": str(number), "data-number": str(number)}
            counts[-1] = number + 1


def _first_heading(tokens: "Sequence[Token]") -> str:
    """Return the words of the first heading of the second level."""
    at = next((at for at, token in enumerate(tokens) if token.type == "heading_open" and token.tag == "h2"), None)
    return "" if at is None else "".join(token.content for token in _texts(tokens[at + 1 : at + 2]))


def _column_head(
    self: "RendererHTML", tokens: "Sequence[Token]", at: int, options: "OptionsDict", env: "EnvType"
) -> str:
    tokens[at].attrSet("scope", "col")
    return self.renderToken(tokens, at, options, env)


def _table_open(
    self: "RendererHTML", tokens: "Sequence[Token]", at: int, options: "OptionsDict", env: "EnvType"
) -> str:
    from markdown_it.common.utils import escapeHtml

    table = self.renderToken(tokens, at, options, env)
    if _LABEL not in env:
        return table
    return f'<div class="table" role="region" aria-label="{escapeHtml(str(env[_LABEL]))}" tabindex="0">{table}'


def _table_close(
    self: "RendererHTML", tokens: "Sequence[Token]", at: int, options: "OptionsDict", env: "EnvType"
) -> str:
    table = self.renderToken(tokens, at, options, env)
    return table.replace("\n", "</div>\n") if _LABEL in env else table
