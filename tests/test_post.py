"""The post in Markdown and HTML, its templates, and hostile text in every field."""

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path

import html5lib
import pytest
import small_document
import yaml
from length import whole_or
from markdown_it import MarkdownIt
from test_text import ATTACKS

from studio import description, feed, folio, letters, metadata, page_html, post, report, tables, templating
from studio.errors import SettingsError
from studio.model import Catalogue, Document
from studio.settings import PublishingChoices, Settings
from studio.writing import draft
from studio.writing.written import Draft

WRITERS = (post, description, letters, metadata, report, tables, feed)


def everything(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str]:
    """Return every written file."""
    files: dict[str, str] = {}
    edition = small_document.edition(document, catalogue, settings)
    for writer in WRITERS:
        files |= writer.files(edition)
    return files


@pytest.fixture(scope="module")
def made() -> dict[str, str]:
    """Return the files of the small document."""
    return everything(small_document.document(), small_document.catalogue(), small_document.settings())


def test_the_post_has_its_parts_in_order(made: dict[str, str]) -> None:
    """Title, disclosure, picture, opening, offer, supplies, cuts, steps, cautions, shop, price date, in this order."""
    parts = [
        "# How to make a folded card",
        "*Ad.",
        "![A folded card](stills/hero.jpg)",
        "Today we're making",
        "## Offers",
        "## What I used",
        "## Cutting list",
        "## The card",
        "1. ",
        "## Take care",
        "## Where to buy",
        "Published 5 March 2026",
    ]
    body = made["post.md"].split("---\n\n", 1)[1]
    places = [body.find(part) for part in parts]
    assert -1 not in places, parts[places.index(-1)]
    assert places == sorted(places)


def test_a_talk_without_steps_gets_another_shape() -> None:
    """A show-and-tell post tells first and lists what was shown after it; nothing in it is numbered."""
    said = (
        "Today I'm showing you new paper.",
        *[
            f"This one is colour {word}, and it is soft and thick."
            for word in ("amber", "brick", "cobalt", "dove", "ebony", "fern", "gold", "honey", "iris", "jade", "khaki")
        ],
    )
    shown = small_document.document(said).but(measures=(), cuts=(), mentions=())
    text = post.files(small_document.edition(shown))["post.md"]
    assert str(text).index("## The card") < str(text).index("## What I used")
    assert not re.search(r"^\d+\. ", str(text), re.MULTILINE)


def test_front_matter_is_yaml_with_what_a_site_builder_needs(made: dict[str, str]) -> None:
    """Title, date, slug, tags, draft, market and price date are there (YAML 1.2 between --- lines, common practice)."""
    fields = yaml.safe_load(made["post.md"].split("---\n")[1])
    assert fields["title"] == "How to make a folded card"
    assert fields["slug"] == "how-to-make-a-folded-card"
    assert fields["draft"] is True
    assert {"date", "tags", "market", "price_date", "description", "other_titles"} <= set(fields)


def test_a_retired_item_is_told_honestly() -> None:
    """A retired item that is sure keeps its row with a note and the catalogue's substitute, without price and link."""
    base = small_document.document()
    sure = base.but(supplies=tuple(row.but(state="confirmed") for row in base.supplies))
    made = everything(sure, small_document.catalogue(), small_document.settings())
    row = next(line for line in made["post.md"].splitlines() if line.startswith("| Old Glue"))
    assert "No longer sold; the catalogue names Heavy Card in its place." in row
    assert "old-2" not in row
    assert "£" not in row


def test_an_offer_that_is_over_is_not_printed() -> None:
    """On the day after its last day an offer is out of every text; on the last day it is still there."""
    base = small_document.settings()
    for day, there in (("2026-03-31", True), ("2026-04-01", False)):
        publishing = PublishingChoices.model_validate({"publish_on": day})
        files = everything(
            small_document.document(), small_document.catalogue(), base.model_copy(update={"publishing": publishing})
        )
        for name in ("post.md", "post.html", "description.txt", "newsletter.txt", "social.txt"):
            assert ("Gift Set" in files[name]) == there, name


def test_a_shop_code_that_is_over_is_not_printed() -> None:
    """The code is left out of every text on the day after its last day, and the report says so."""
    publishing = PublishingChoices.model_validate({"publish_on": "2027-01-01"})
    settings = small_document.settings().model_copy(update={"publishing": publishing})
    files = everything(small_document.document(), small_document.catalogue(), settings)
    assert not [name for name in files if "FOLD10" in files[name] and name != "report.html"]
    assert "The code FOLD10 ended on 31 December 2026" in files["report.html"]


def test_pictures_have_text_in_their_place(made: dict[str, str]) -> None:
    """Every picture has an alternative text of at most 125 signs without "image of" (common guides, no standard)."""
    tree = html5lib.parse(made["post.html"], namespaceHTMLElements=False)
    pictures = tree.findall(".//img")
    assert len(pictures) == 3
    for picture in pictures:
        assert 3 < len(picture.get("alt")) <= 125
        assert "image of" not in picture.get("alt").lower()


def test_how_to_cut_it_is_drawn_and_told(made: dict[str, str]) -> None:
    """A line with a known sheet has its drawing as a file, yield, cuts in order and cost; others have no such section.

    Y10, C1 and C2 of the check values: six a sheet, 4 sheets for 20, 3.06 used, one pack of 12 for 11.00.
    """
    assert "How to cut it" not in made["post.md"] + made["post.html"]
    assert not [name for name in made if name.startswith("layouts/")]
    files = everything(*small_document.on_a_sheet(), small_document.settings())
    page = html5lib.parse(files["post.html"], namespaceHTMLElements=False)
    drawn = [one for one in page.findall(".//img") if one.get("src").startswith("layouts/")]
    assert [one.get("src") for one in drawn] == [name for name in files if name.startswith("layouts/")]
    assert [one.get("alt").replace("\xa0", " ") for one in drawn] == [
        "6 of 4 x 6 in on Heavy Card, 12 x 12 in, cuts numbered in order"
    ]
    for text in (files["post.md"], files["post.html"].replace("\xa0", " ")):
        assert "A sheet of 12 x 12 in gives 6; nothing is left over. Cutting 20 takes 4 sheets." in text
        assert "Cut across at 6 in from the top" in text
        assert "Material used: £0.15 for one, £3.06 for all 20. To buy: 1 pack of 12 for £11.00." in text


@pytest.mark.parametrize("attack", ATTACKS)
def test_a_hostile_material_stays_text_beside_its_drawing(attack: str) -> None:
    """The name of what is cut is no mark-up in title, alternative text and drawing, and no path."""
    files = everything(*small_document.on_a_sheet(attack), small_document.settings())
    _check_page(files["post.html"])
    _check_markdown(files["post.md"], attack)
    (drawing,) = (name for name in files if name.startswith("layouts/"))
    assert re.fullmatch(r"layouts/1-[a-z0-9-]+\.svg", drawing)
    tags = {element.tag.split("}")[1] for element in ET.fromstring(files[drawing]).iter()}
    assert tags == {"svg", "title", "desc", "rect", "line", "text"}


def test_the_page_fetches_nothing(made: dict[str, str]) -> None:
    """Neither page names a script, a style sheet, a font or a picture from elsewhere."""
    for name in ("post.html", "report.html"):
        assert not re.search(r"<script|<link rel=.stylesheet|@import|@font-face|url\(|src=.(?:https?:|//)", made[name])


SHARE = whole_or(1, 4)
HOSTILE = [
    *ATTACKS,
    "\x1b[31mred\x1b[0m",
    "a\u202eb\u200bc",
    "line\u2028two",
    '" onmouseover="x',
    "=1+1",
    "@SUM(A1)",
    "{{ 7*7 }}",
    "{% raw %}",
    "</style><script>x</script>",
    "--><script>x</script>",
    "]]>",
    "<!-- supplies -->",
]
Change = Callable[[Document, Catalogue, str], tuple[Document, Catalogue]]


def _in_catalogue(**names: str) -> Change:
    def change(document: Document, catalogue: Catalogue, text: str) -> tuple[Document, Catalogue]:
        fields = dict.fromkeys(names, text)
        products = (catalogue.products[0].but(**fields), *catalogue.products[1:])
        row = document.supplies[0].but(
            **{name: text for name in names if name in type(document.supplies[0]).model_fields}
        )
        return document.but(supplies=(row, *document.supplies[1:])), catalogue.but(products=products)

    return change


def _in_document(part: str, field: str) -> Change:
    def change(document: Document, catalogue: Catalogue, text: str) -> tuple[Document, Catalogue]:
        items = getattr(document, part)
        return document.but(**{part: tuple(item.but(**{field: text}) for item in items)}), catalogue

    return change


def _in_speech(document: Document, catalogue: Catalogue, text: str) -> tuple[Document, Catalogue]:
    said = tuple(
        f"{one.text.rstrip('.')} {text} and fold it." if at == 4 else one.text
        for at, one in enumerate(document.sentences)
    )
    return small_document.document(said), catalogue


FIELDS: dict[str, Change] = {
    "name": _in_catalogue(name=""),
    "colour": _in_catalogue(colour=""),
    "page and kind": _in_catalogue(page="", kind=""),
    "url": _in_catalogue(url=""),
    "chapter": _in_document("chapters", "title"),
    "speech": _in_speech,
    "message": _in_document("findings", "message"),
    "heard": _in_document("findings", "heard"),
    "caution": _in_document("cautions", "line"),
    "material": _in_document("cuts", "material"),
    "measure": _in_document("measures", "of"),
    "spelling": _in_document("spellings", "heard"),
    "alt": _in_document("stills", "alt"),
}


@pytest.mark.parametrize("field", FIELDS)
def test_hostile_text_stays_text_in_every_file(field: str, made: dict[str, str]) -> None:
    """Nothing in catalogue, chapters or talk becomes script, handler, link, heading, formula or control character.

    In short form each field gets its share of the attacks, and each attack is tried in some fields.
    """
    headings = {name: _headings(made[name]) for name in ("post.html", "report.html")}
    turn = list(FIELDS).index(field) % SHARE
    for attack in HOSTILE[turn::SHARE]:
        document, catalogue = FIELDS[field](small_document.document(), small_document.catalogue(), attack)
        files = everything(document, catalogue, small_document.settings())
        for name, text in files.items():
            assert not re.search(
                r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2066-\u2069]", text.replace("\r\n", "\n")
            ), name
        for name in ("post.html", "report.html"):
            _check_page(files[name])
            assert _headings(files[name]) == headings[name], (attack, name)
        _check_markdown(files["post.md"], attack)
        json.loads(files["metadata.jsonld"])
        assert "</" not in files["metadata.jsonld"]
        assert not re.search(r'(?:^|,)"?[=@]', files["supplies.csv"], re.MULTILINE)
        assert not re.search(r'(?:^|,)"?[=@]', files["cutting.csv"], re.MULTILINE)
        html5lib.parse(files["entry.atom.xml"])


def _headings(page: str) -> int:
    return len(re.findall(r"<h[1-6]", page))


def _check_page(page: str) -> None:
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    for element in tree.iter():
        if not isinstance(element.tag, str):
            continue
        assert element.tag not in {"script", "iframe", "object", "embed", "form", "base"}
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            if name in {"href", "src"}:
                own = r"https?://(?:shop|fold)\.example/|#[a-z]+$|stills/[\w.-]+$|layouts/[\w-]+\.svg$"
                assert re.match(own, value) or _own_url(value), value


def _own_url(value: str) -> bool:
    """Return whether the link is one that the catalogue itself names in its url column."""
    return value.rstrip("/") == "http://evil.example"


def _check_markdown(text: str, attack: str) -> None:
    body = text.split("---\n\n", 1)[1]
    tokens = MarkdownIt("commonmark").enable("table").parse(body)
    inline = [child for token in tokens for child in token.children or []]
    assert not [
        one for one in [*tokens, *inline] if one.type in {"html_block", "html_inline", "fence", "code_block"}
    ], attack
    for one in inline:
        target = str(one.attrGet("href") or one.attrGet("src") or "")
        own = r"$|https?://(?:shop|fold)\.example/|stills/|layouts/"
        assert re.match(own, target) or _own_url(target), attack


def test_a_hostile_url_is_no_link() -> None:
    """Only http and https addresses of the catalogue become links."""
    for attack in ("javascript:alert(1)", "data:text/html,x", "file:///etc/passwd", "https://u:p@evil.example/"):
        document, catalogue = FIELDS["url"](small_document.document(), small_document.catalogue(), attack)
        files = everything(document, catalogue, small_document.settings())
        assert not [name for name, text in files.items() if re.search(r"javascript:|data:text|file:///|u:p@", text)]


def test_a_template_of_the_persons_own_takes_the_place_of_the_programs(tmp_path: Path) -> None:
    """A file of the same name in the own folder is used; the others stay."""
    (tmp_path / "_top.md.j2").write_text("<!-- title -->\n# My way: {{ title | md }}\n", encoding="utf-8")
    settings = Settings(publishing=PublishingChoices(templates=str(tmp_path)))
    text = post.files(small_document.edition(settings_=settings))["post.md"]
    assert "# My way: How to make a folded card" in str(text)
    assert "## What I used" in str(text)


@pytest.mark.parametrize(
    "template",
    [
        "{{ ''.__class__.__mro__[1].__subclasses__() }}",
        "{{ titles.append('x') }}",
        "{{ nothing_of_this_name }}",
        "{% for a in range(99999) %}{% for b in range(99999) %}x{% endfor %}{% endfor %}",
        "{{ 'x' * 9999999999 }}",
        "{% include '/etc/passwd' %}",
        "{% broken",
    ],
)
def test_a_wrong_template_is_told_and_does_no_harm(
    template: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Python's insides, changed data, an unknown name, endless loops and memory end in two plain sentences."""
    monkeypatch.setattr(templating, "SECONDS", 1)
    (tmp_path / "_end.md.j2").write_text(template, encoding="utf-8")
    settings = Settings(publishing=PublishingChoices(templates=str(tmp_path)))
    with pytest.raises(SettingsError, match=r"Your own template .* cannot be used"):
        post.files(small_document.edition(settings_=settings))


def test_data_is_never_read_as_a_template() -> None:
    """Braces in a product's name are printed as braces."""
    document, catalogue = FIELDS["name"](small_document.document(), small_document.catalogue(), "{{ 7*7 }}")
    text = everything(document, catalogue, small_document.settings())["description.txt"]
    assert "{{ 7*7 }}" in text
    assert "49" not in text


def test_steps_are_numbered_on_through_the_sections() -> None:
    """The number of a step is not used twice, and each step has one to four sentences."""
    numbers = [
        block.first + at
        for section in small_document.edition().facts.sections
        for block in section.blocks
        if block.kind == "steps"
        for at, step in enumerate(block.steps)
        if 1 <= len(step) <= 4
    ]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) >= 5


def test_a_document_with_nothing_in_it_still_gives_every_file() -> None:
    """A silent recording without a catalogue gives a post with a title, and no file fails."""
    document = small_document.document()
    parts = "sentences mentions supplies measures cuts chapters offers findings corrections spellings cautions stills"
    empty: dict[str, tuple[()]] = dict.fromkeys(parts.split(), ())
    files = everything(document.but(catalogue=None, **empty), Catalogue(), Settings())
    assert "# Card" in files["post.md"]


def test_a_changed_template_changes_the_checksum(tmp_path: Path) -> None:
    """Own templates have a checksum that changes with them; without any there is none."""
    assert templating.templates_digest("") == ""
    (tmp_path / "_end.md.j2").write_text("a", encoding="utf-8")
    first = templating.templates_digest(str(tmp_path))
    (tmp_path / "_end.md.j2").write_text("b", encoding="utf-8")
    assert first != templating.templates_digest(str(tmp_path)) != ""


def test_the_draft_is_written_once_for_all_files(monkeypatch: pytest.MonkeyPatch) -> None:
    """Making every file of a folio writes the draft once; each writer is handed the same one."""
    written: list[Draft] = []
    write = draft.draft

    def counted(document: Document, catalogue: Catalogue, keep_names: tuple[str, ...] = ()) -> Draft:
        written.append(write(document, catalogue, keep_names))
        return written[-1]

    monkeypatch.setattr(draft, "draft", counted)
    folio.outputs(small_document.document(), small_document.catalogue(), small_document.settings())
    assert len(written) == 1


def test_only_the_steps_of_a_list_carry_its_numbers() -> None:
    """A list within a step has numbers of its own or none, and the step after it goes on counting."""
    tree = html5lib.parseFragment(
        page_html.html("3. Fold\n\n    - once\n    - twice\n\n4. Press\n"), namespaceHTMLElements=False
    )
    steps = [item.get("data-number") for item in tree.findall("ol/li")]
    assert steps == ["3", "4"]
    assert [item.get("data-number") for item in tree.findall("ol/li/ul/li")] == [None, None]
