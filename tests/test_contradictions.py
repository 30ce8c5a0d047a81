"""What is said of an item against its catalogue row."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import named
import pytest
from counted import sees_no_end

from studio import stated
from studio.checks.claims import pattern
from studio.checks.contradictions import contradictions, dates_against_rows
from studio.model import Catalogue, Finding, Offer, Product

FIXTURE = Path(__file__).parent / "fixtures" / "claims.txt"


def cases() -> Iterator[tuple[Product, str, str]]:
    """Yield row, what was said, and the field that it contradicts or "right"."""
    row = None
    for line in FIXTURE.read_text(encoding="utf-8").splitlines():
        if line.startswith("row:"):
            name, contents, size, price, page = (part.strip() for part in line[4:].split(";"))
            row = Product(
                code="X1", name=name, contents=contents, size=size, price=Decimal(price), currency="GBP", page=page
            )
        elif "=>" in line and row:
            said, expected = line.split(" => ")
            yield row, said, expected


def found_in(text: str, *rows: Product) -> tuple[Finding, ...]:
    """Return the contradictions of sentences parted by slashes."""
    sentences, mentions = named.said(text, rows, r" / ")
    return contradictions(sentences, mentions, Catalogue(products=rows), ())


def expected_of(row: Product, field: str) -> set[str]:
    """Return what a finding may say that the catalogue says of a field."""
    figures = stated.stated(row)
    if field == "price":
        return {f"{row.price} GBP"}
    if field == "page":
        return {f"page {row.page}"}
    return {one.text for one in (figures.counts if field == "count" else figures.sizes)}


@pytest.mark.parametrize(
    ("row", "said", "expected"), list(cases()), ids=lambda part: part if isinstance(part, str) else ""
)
def test_a_wrong_figure_is_found_and_a_right_one_is_not(row: Product, said: str, expected: str) -> None:
    """Count, size, price and page are compared with the row; what is done with a thing is no claim about it."""
    findings = found_in(said, row)
    if expected == "right":
        assert findings == ()
        return
    (finding,) = findings
    assert (finding.kind, finding.code) == ("contradiction", "X1")
    assert finding.expected in expected_of(row, expected)


PADS = (
    Product(code="P1", name="Sketch Pad Small", price=Decimal("6.00"), currency="GBP", contents="20 sheets", page="4"),
    Product(code="P2", name="Sketch Pad Large", price=Decimal("9.00"), currency="GBP", contents="30 sheets", page="4"),
    Product(code="B1", name="Round Brush", price=Decimal("4.00"), currency="GBP", contents="1 brush", page="8"),
)


def test_a_finding_says_what_was_heard_what_is_right_and_when() -> None:
    """The finding can be played back: its time is that of the figure."""
    (finding,) = found_in("Hello there. / This is the *sketch pad small*, and it's on page five.", *PADS)
    assert (finding.heard, finding.expected, finding.code) == ("page five", "page 4", "P1")
    assert finding.start_ms == 1150 + 9 * 350


def test_what_was_heard_is_quoted_once() -> None:
    """The words of a count are quoted as they were said."""
    (finding,) = found_in("This is the *sketch pad small*. / That thing has thirty sheets in it.", *PADS[:1])
    assert finding.heard == "thirty sheets in it"


def test_two_items_in_a_sentence_each_keep_their_figure() -> None:
    """A figure belongs to the item named before it; one that fits the other item near by is no contradiction."""
    assert found_in("The *sketch pad small* is six pounds and the *sketch pad large* is nine pounds.", *PADS) == ()
    (finding,) = found_in("The *sketch pad small* is six pounds and the *round brush* is five pounds.", *PADS)
    assert finding.code == "B1"


def test_a_figure_without_an_item_is_left_alone() -> None:
    """Nothing is compared where it is not known what the talk is about."""
    assert found_in("It's seven pounds fifty for parking here.", *PADS) == ()
    later = (
        "This is the *round brush*. / I like it. / Rain again. / We had tea. / And cake. / It was nine pounds fifty."
    )
    assert found_in(later, *PADS) == ()


def test_the_money_of_an_offer_is_no_price() -> None:
    """In talk, "Spend thirty" in the sentence that names the gift is compared with nothing."""
    sentences, mentions = named.said("With forty pounds in the basket the *round brush* comes free.", PADS)
    offer = Offer(
        kind="gift_over_threshold", heard=sentences[0].text, start_ms=0, threshold=Decimal(40), state="confirmed"
    )
    assert contradictions(sentences, mentions, Catalogue(products=PADS), (offer,)) == ()


def test_pounds_are_no_price_in_a_catalogue_in_dollars() -> None:
    """A weight in pounds is not taken for money where nothing is sold in pounds."""
    clay = Product(code="C1", name="Stoneware Clay", price=Decimal(24), currency="USD", contents="1 bag", size="25 lb")
    assert found_in("This is the *stoneware clay*, and it's 25 pounds.", clay) == ()


def test_a_day_that_is_not_the_row_s_is_a_contradiction() -> None:
    """In talk, "Leaving on Friday" is compared with the last day on sale."""
    row = Product(code="K1", name="Kit", available_until=date(2026, 8, 31))
    offer = Offer(
        kind="last_chance", heard="it", start_ms=7, applies_to=("K1",), ends_on=date(2026, 8, 28), state="confirmed"
    )
    (finding,) = dates_against_rows((offer,), Catalogue(products=(row,)))
    assert (finding.code, finding.heard, finding.expected, finding.start_ms) == ("K1", "2026-08-28", "2026-08-31", 7)
    assert dates_against_rows((offer.but(ends_on=date(2026, 8, 31)),), Catalogue(products=(row,))) == ()


@pytest.mark.parametrize("piece", ["1", '"', "1/2/", "a", "it is a "])
def test_no_pattern_runs_away(piece: str) -> None:
    """However long a stretch of one thing is, every pattern of the claims finds in it what it finds in a short one."""
    from studio import resources

    for table, rows in resources.table("claims.toml").items():
        for name in rows if table != "words" else ():
            assert sees_no_end(pattern(table, name), piece), (table, name)


BENCH = (
    Product(code="J1", name="Ring Clamp", kind="tool", price=Decimal("8.00"), currency="GBP", size="15 cm", page="2"),
    Product(code="J2", name="Solder Paste 10 g", price=Decimal("9.00"), currency="GBP", contents="1 tube", size="10 g"),
    Product(
        code="J3", name="Solder Paste 25 g", price=Decimal("19.00"), currency="GBP", contents="1 tube", size="25 g"
    ),
    Product(code="J4", name="Polishing Cloths", price=Decimal("4.50"), currency="GBP", contents="6 cloths"),
    Product(code="J5", name="Saw Blades", kind="blade", price=Decimal("3.00"), currency="GBP", contents="12 blades"),
    Product(code="J6", name="Silver Sheet", price=Decimal("22.00"), currency="GBP", contents="8 sheets"),
    Product(code="J7", name="Findings Kit", price=Decimal("30.00"), currency="GBP", contents="15 pieces"),
)
SILENT = (
    "I've got the *ring clamp*, eight pounds, the vice is twelve pounds and far too heavy.",
    "This is the *ring clamp*. / There's a new bench block coming, eleven pounds.",
    "Here's the *ring clamp*. / Blades, I've got a few, that's eight centimetres.",
    "This is the *ring clamp*. / Left handed they make one too, two pounds more.",
    "This is the *silver sheet*. / Four sheets stack up into a nice thick block.",
    "I take the *solder paste 10 g* instead, twenty-five gram tube.",
    "Here is the *ring clamp*. / Tea first. / It rains. / Five pounds sixty each.",
    "The *ring clamp*. / My old one was five pounds from a market.",
    "The *ring clamp*. / The posh one is eleven pounds.",
    "Take the *ring clamp*. / It's going to be eighteen centimetres long.",
    "The *ring clamp*. / The bangle took half an hour, it's twenty centimetres round.",
    "The *silver sheet* is here. / It's fine stuff, two sheets make one bangle.",
    "This is the *ring clamp*. / Mine's the saw, five pounds sixty.",
)


@pytest.mark.parametrize("text", SILENT)
def test_a_figure_of_another_thing_is_not_laid_on_the_last_item(text: str) -> None:
    """A clause that brings in another thing, a difference and a use say nothing of the item before."""
    assert found_in(text, *BENCH) == ()


HELD = (
    ("The *saw blades* come in a tin of ten.", "J5", "12 blades"),
    ("The *silver sheet*. / In each packet come six sheets and one sheet is enough for two pairs.", "J6", "8 sheets"),
    ("This is the *ring clamp*. / I have had it for years. / It's, oh, twenty centimetres, I think.", "J1", "15 cm"),
    ("Use the *polishing cloths*. / Four pounds fifty a pack, and there's eight in it.", "J4", "6 cloths"),
    ("The *findings kit*, that's got twelve bits in it.", "J7", "15 pieces"),
    ("The *ring clamp* is here. / 9.50 for the one, so look after it.", "J1", "8.00 GBP"),
    ("Blades in the clamp, three pounds, you get ten in a pack.", "J5", "12 blades"),
)


@pytest.mark.parametrize(("text", "code", "expected"), HELD)
def test_a_wrong_figure_is_found_though_the_item_is_not_in_its_clause(text: str, code: str, expected: str) -> None:
    """The item is told by "it", by a list of figures, and by a heading whose price is right."""
    (finding,) = found_in(text, *BENCH)
    assert (finding.code, finding.expected) == (code, expected)


@pytest.mark.parametrize(
    "text", ["The *findings kit* costs twenty-six pounds.", "It's the *findings kit*, at 26 pounds."]
)
def test_a_refused_item_keeps_what_its_own_clause_says(text: str) -> None:
    """A price told of a thing that is turned down is still its price; one told after a break may be of another."""
    sentences, mentions = named.said(text, BENCH, r" / ")
    refused = tuple(mention.but(role="rejected") for mention in mentions)
    found = contradictions(sentences, refused, Catalogue(products=BENCH), ())
    assert [one.code for one in found] == (["J7"] if "costs" in text else [])


def test_only_a_sure_item_makes_an_error() -> None:
    """An item that a heading alone tells is asked about."""
    (finding,) = found_in("Blades in the clamp, three pounds, you get ten in a pack.", *BENCH)
    assert finding.severity == "ask"
    (finding,) = found_in("The *ring clamp* is nine pounds.", *BENCH)
    assert finding.severity == "error"
