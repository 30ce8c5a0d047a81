"""Description, letters, tables, linked data, report and feed of a small document."""

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from datetime import date
from decimal import Decimal

import isodate
import jsonschema
import pytest
import small_document

from studio import description, feed, gate, letters, metadata, report, resources, tables
from studio.model import Document, Still
from studio.settings import PublishingChoices, Settings
from studio.writing import outline, printed
from studio.writing.draft import draft
from studio.writing.facts import SupplyRow


def text_of(writer: object, name: str, document: Document | None = None, settings: Settings | None = None) -> str:
    """Return one file that a writer makes of the small document."""
    edition = small_document.edition(document, settings_=settings)
    files = writer.files(edition)  # type: ignore[attr-defined]
    return str(files[name])


def limited(limit: int) -> Settings:
    """Return the settings with another length limit."""
    publishing = PublishingChoices(description_limit=limit, site_url="https://fold.example/blog")
    return small_document.settings().model_copy(update={"publishing": publishing})


# --- description -----------------------------------------------------------------------------------------------------


def test_the_description_opens_with_what_it_is_then_the_disclosure() -> None:
    """The first 150 characters say what it is, the second block discloses; shop, chapters, supplies follow."""
    text = text_of(description, "description.txt")
    blocks = text.split("\n\n")
    assert blocks[0].startswith("How to make a folded card.")
    assert len(blocks[0]) <= 150
    assert blocks[1].startswith("Ad.")
    order = [
        "https://fold.example/shop",
        "CHAPTERS\n0:00 Welcome",
        "WHAT I USED\nHeavy Card",
        "OFFERS\nSpend £30.00",
        "SIZES",
    ]
    places = [text.find(part) for part in order]
    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.parametrize("limit", [200, 300, 500, 700, 900, 1200, 5000])
def test_a_description_that_is_too_long_loses_whole_blocks_from_the_end(limit: int) -> None:
    """Never more than the limit, never without the disclosure, no block cut in two, and a note where one is missing."""
    whole = text_of(description, "description.txt", settings=limited(5000)).strip().split("\n\n")
    text = text_of(description, "description.txt", settings=limited(limit))
    assert len(text) <= limit
    blocks = text.strip().split("\n\n")
    assert blocks[1] == whole[1]
    missing = [block for block in whole if block not in blocks]
    assert all(block in [*whole, printed.added("shortened")] for block in blocks)
    assert bool(missing) == (printed.added("shortened") in blocks)


def test_no_line_of_the_description_can_pose_as_a_chapter() -> None:
    """A line break in a chapter's title or a product's name cannot start another line."""
    base = small_document.document()
    title = "x\n9:99 Fake"
    document = base.but(chapters=tuple(one.but(title=title) for one in base.chapters))
    assert not re.search(r"^9:99", text_of(description, "description.txt", document), re.MULTILINE)


# --- letters ---------------------------------------------------------------------------------------------------------


def test_short_posts_keep_to_their_length_and_all_disclose() -> None:
    """Each of the three lengths opens with the disclosure and holds no more characters than it says."""
    parts = re.split(r"(\d+) characters\n-+\n", text_of(letters, "social.txt"))[1:]
    for limit, body in zip(parts[::2], parts[1::2], strict=True):
        assert len(body.strip()) <= int(limit)
        assert body.startswith("Ad.")
    assert [int(limit) for limit in parts[::2]] == list(letters.LENGTHS)


def test_the_newsletter_has_an_address_and_a_way_out() -> None:
    """The sender's postal address and how to stop it stand at the end (CAN-SPAM, 15 USC 7704(a)(5), from memory)."""
    text = text_of(letters, "newsletter.txt")
    assert "1 Nowhere Road" in text
    assert "To stop it" in text
    assert text.index("Ad.") < text.index("Today")


# --- tables ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("+SUM(A1)", "'+SUM(A1)"),
        ("-cmd", "'-cmd"),
        ("@x", "'@x"),
        ("\t=1", "'=1"),
        ("|x", "'|x"),
        ("%x", "'%x"),
        ("-0.5", "-0.5"),
        ("+3", "+3"),
        ("-1/4", "-1/4"),
        ("12 in", "12 in"),
        ("a=b", "a=b"),
        ("", ""),
        ("line\nbreak", "line break"),
    ],
)
def test_a_cell_is_no_formula_and_a_number_stays_a_number(value: str, cell: str) -> None:
    """What a spreadsheet would run gets an apostrophe; typed numbers stay (OWASP, CSV injection, from memory)."""
    assert tables.cell(value) == cell


def test_the_supply_list_opens_as_a_table() -> None:
    """One row a sure item with code, price, currency, page, link and time; retired and unlisted rows say so."""
    base = small_document.document()
    asked = list(csv.DictReader(io.StringIO(text_of(tables, "supplies.csv"))))
    assert [row["code"] for row in asked] == ["HC-1", ""]
    sure = base.but(supplies=tuple(row.but(state="confirmed") for row in base.supplies))
    rows = list(csv.DictReader(io.StringIO(text_of(tables, "supplies.csv", sure))))
    assert [row["code"] for row in rows] == ["HC-1", "OLD-2", ""]
    assert rows[0]["price"] == "4.50"
    assert rows[0]["currency"] == "GBP"
    assert rows[1]["price"] == ""
    assert "No longer sold" in rows[1]["note"]
    assert rows[2]["note"] == "Not from the catalogue."


def test_no_size_in_the_cutting_list_can_be_taken_for_a_date() -> None:
    """Every size carries its unit in the same cell, so that "1/2" is never the first of February."""
    rows = list(csv.DictReader(io.StringIO(text_of(tables, "cutting.csv"))))
    assert rows[0]["size"] == "4 x 6 in"
    assert rows[0]["score_at"] == "2 in"
    assert rows[0]["pieces"] == "2"
    assert not [row for row in rows if re.fullmatch(r"\d+/\d+", row["size"])]


def test_the_cutting_list_tells_how_many_sheets_to_buy() -> None:
    """Y10: 4 x 6 in from 12 x 12 in is six a sheet; a row without a sheet leaves the three cells empty."""
    catalogue = small_document.catalogue()
    sized = catalogue.products[0].but(size="12 x 12 in")
    document = small_document.document()
    more = document.but(cuts=(document.cuts[0].but(quantity=20), document.cuts[0].but(material="tissue")))
    for products, sheets in (((sized,), ["12 x 12 in", "6", "4"]), (catalogue.products, ["", "", ""])):
        made = tables.cutting_list(small_document.edition(more, catalogue.but(products=products)))
        first, second = list(csv.DictReader(io.StringIO(made)))[:2]
        assert [first[name] for name in ("sheet", "per_sheet", "sheets_to_buy")] == sheets
        assert [second[name] for name in ("sheet", "per_sheet", "sheets_to_buy")] == ["", "", ""]


# --- linked data -----------------------------------------------------------------------------------------------------


def test_each_part_of_the_linked_data_fits_its_schema() -> None:
    """VideoObject, HowTo and ItemList hold known properties in the right form (own JSON Schemas after schema.org)."""
    data = json.loads(text_of(metadata, "metadata.jsonld"))
    assert [part["@type"] for part in data["@graph"]] == ["VideoObject", "HowTo", "ItemList"]
    for part in data["@graph"]:
        schema = json.loads(resources.shared(f"schema_org/{part['@type']}.json").read_text(encoding="utf-8"))
        jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(part)


def test_durations_are_those_of_the_standard() -> None:
    """The duration reads back as the recording's length (ISO 8601, read by isodate)."""
    video = json.loads(text_of(metadata, "metadata.jsonld"))["@graph"][0]
    assert isodate.parse_duration(video["duration"]).total_seconds() == 70
    assert video["hasPart"][0]["startOffset"] == 0
    assert video["hasPart"][-1]["endOffset"] == 70


def test_only_sure_catalogue_rows_are_products_with_their_price() -> None:
    """A row to be decided or not listed is no Product; the price is the catalogue's, as text with its currency."""
    products = json.loads(text_of(metadata, "metadata.jsonld"))["@graph"][2]["itemListElement"]
    assert [one["item"]["sku"] for one in products] == ["HC-1"]
    assert products[0]["item"]["offers"]["price"] == "4.50"


# --- report ----------------------------------------------------------------------------------------------------------


def rows(document: Document, settings: Settings | None = None) -> list[tuple[str, str]]:
    """Return weight and kind of what the report tells to look at, in its order."""
    found = gate.gate_rows(document, small_document.catalogue(), settings or small_document.settings())
    return [(row.weight, row.kind) for row in found]


def test_the_riskiest_comes_first_each_with_its_time() -> None:
    """Errors before what is to be decided, to be checked, to be known."""
    assert rows(small_document.document()) == [
        ("error", "contradiction"),
        ("ask", "ambiguous_item"),
        ("warning", "weak_still"),
        ("note", "self_correction"),
    ]
    page = text_of(report, "report.html")
    assert (
        page.index("The catalogue says otherwise.")
        < page.index("Which one is meant?")
        < page.index("You corrected yourself.")
    )
    assert "0:50" in page
    assert "Old Glue (OLD-2)" in page


def test_the_gate_is_shut_while_something_is_wrong_or_to_be_decided() -> None:
    """With an error or a question it says not ready; with none it says ready."""
    assert "Not ready to publish." in text_of(report, "report.html")
    calm = small_document.document().but(findings=(), stills=())
    assert "Ready to publish, once you have read it." in text_of(report, "report.html", calm)


def test_an_offer_without_an_end_or_past_its_end_is_held_up() -> None:
    """No closing date is a question (CAP Code 8.17.4.a); one that is over is an error."""
    base = small_document.document().but(findings=(), stills=())
    endless = base.but(offers=(base.offers[0].but(ends_on=None),))
    over = base.but(offers=(base.offers[0].but(ends_on=date(2026, 3, 1)),))
    assert rows(endless) == [("ask", "terms")]
    assert rows(over) == [("error", "offer_expired")]


def test_the_report_tells_what_an_upload_host_may_refuse() -> None:
    """Too few, too short and untitled chapters are told with their time; a list that fits is said to fit.

    Common practice of upload hosts, no standard; the figures are those of the settings.
    """
    base = small_document.document()
    assert "3 chapters; nothing in them that upload hosts commonly refuse." in text_of(
        report,
        "report.html",
        base.but(
            chapters=(
                *base.chapters[:1],
                *(base.chapters[1].but(start_ms=at * 1000, title=f"Part {at}") for at in (20, 40)),
            )
        ),
    )
    page = text_of(report, "report.html", base.but(chapters=base.chapters[:2]))
    assert "2 chapters; hosts ask for at least 3." in page
    assert re.search(r'<span class="time">0:00</span> “Welcome” is shorter than 10 s\.', page)
    assert "0 chapters; hosts ask for at least 3." in text_of(report, "report.html", base.but(chapters=()))


@pytest.mark.parametrize("place", ["UK", "US", "none"])
def test_each_reminder_has_text_source_and_date(place: str) -> None:
    """The disclosure and every reminder of a jurisdiction name their source and its date."""
    rules = resources.table("disclosure.toml")[place]
    assert rules["line"]
    assert rules["source"]
    for row in [rules, *rules["reminder"]]:
        assert date.fromisoformat(row["date"])
        assert row["source"]
    settings = Settings(publishing=PublishingChoices.model_validate({"jurisdiction": place}))
    assert rules["reminder"][0]["text"] in text_of(report, "report.html", settings=settings).replace("&#39;", "'")


def test_the_persons_own_disclosure_stands_in_place_of_the_customary_one() -> None:
    """A line in the settings is printed instead."""
    publishing = PublishingChoices(disclosure="Anzeige: ich verdiene daran.")
    settings = small_document.settings().model_copy(update={"publishing": publishing})
    assert text_of(description, "description.txt", settings=settings).split("\n\n")[1] == "Anzeige: ich verdiene daran."


# --- money, days, pictures -------------------------------------------------------------------------------------------


def test_the_cost_is_the_sum_of_the_catalogue_rows_that_are_sure() -> None:
    """One pack of each: exact decimal sum, and how many rows have no price."""
    rows_ = [
        SupplyRow("Card", amount="4.10", currency="GBP"),
        SupplyRow("Glue", amount="0.20", currency="GBP"),
        SupplyRow("Paper", amount="9.00", currency="GBP", unsure=True),
    ]
    assert "£4.30" in printed.total_cost(rows_, Settings())
    assert "not counted: 1" in printed.total_cost(rows_, Settings())
    assert printed.total_cost([*rows_, SupplyRow("Ink", amount="1.00", currency="EUR")], Settings()) == ""


def test_money_in_a_currency_that_nobody_knows_is_printed_plainly() -> None:
    """A wrong currency code in a catalogue stops nothing."""
    assert "2.50" in printed.money(Decimal("2.50"), "??", "en_GB")
    assert "2.50" in printed.money(Decimal("2.50"), "", "en_GB")


def test_a_step_is_described_by_what_is_said_there() -> None:
    """The text in place of a step's picture is the sentence of that moment, an item's is its name, colour and size."""
    document, catalogue = small_document.document(), small_document.catalogue()
    written = draft(document, catalogue)
    step = Still(file="stills/step-2.jpg", at_ms=24_500, subject="step-2", sharpness=1.0)
    assert outline.alt(step, document, catalogue, written) == "Fold it in half, and press it flat."
    item = Still(file="stills/hc-1.jpg", at_ms=9000, subject="HC-1", sharpness=1.0)
    assert outline.alt(item, document, catalogue, written) == "Heavy Card, white"


# --- feed ------------------------------------------------------------------------------------------------------------


def test_the_feed_entry_has_what_atom_asks_for() -> None:
    """Feed and entry have an id, a title and a time with its zone; the entry has an author (RFC 4287, section 4.1)."""
    atom = "{http://www.w3.org/2005/Atom}"
    root = ET.fromstring(text_of(feed, "entry.atom.xml"))
    entry = root.find(f"{atom}entry")
    assert entry is not None
    for part in (root, entry):
        for name in ("id", "title", "updated"):
            assert part.findtext(f"{atom}{name}"), name
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d", part.findtext(f"{atom}updated") or "")
        assert re.match(r"urn:uuid:[0-9a-f-]{36}$", part.findtext(f"{atom}id") or "")
    assert entry.findtext(f"{atom}author/{atom}name") == "Ada Fold"
    assert "<h1>How to make a folded card</h1>" in (entry.findtext(f"{atom}content") or "")


def test_the_entry_keeps_its_id_when_the_text_changes() -> None:
    """Another title and another day change the time, not the id (RFC 4287, section 4.2.6)."""
    base = small_document.document()
    later = limited(5000).publishing.model_copy(update={"publish_on": date(2026, 6, 1)})
    changed = text_of(feed, "entry.atom.xml", base.but(chapters=()), Settings(publishing=later))
    first = text_of(feed, "entry.atom.xml")
    ids = [re.findall(r"<entry>\s*<id>(.*?)</id>", text)[0] for text in (first, changed)]
    times = [re.findall(r"<entry>.*?<updated>(.*?)</updated>", text, re.DOTALL)[0] for text in (first, changed)]
    assert ids[0] == ids[1]
    assert times[0] != times[1]
