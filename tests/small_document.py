"""A small document made by hand, with one of everything, for the tests of what is written from it."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from studio.edition import Edition
from studio.language import sentence
from studio.model import (
    Catalogue,
    CatalogueSource,
    Caution,
    Chapter,
    Complaint,
    Correction,
    Cut,
    Document,
    Finding,
    Measure,
    Mention,
    Offer,
    Product,
    Recording,
    Segment,
    Spelling,
    Still,
    Supply,
    Transcript,
    Word,
)
from studio.settings import PublishingChoices, Settings, ShopChoices

SAID = (
    "Today we're making a folded card together.",
    "This is the Heavy Card, and it is very stiff.",
    "Cut it to four by six inches.",
    "Then you score it at two inches.",
    "Fold it in half, and press it flat.",
    "Don't use the thin one, because it cracks.",
    "Glue the front on with the brush.",
    "Leave it for about ten minutes until it is dry.",
    "Trim the edge, and wipe the glue off.",
    "Paint the border last.",
    "Wrap it in tissue before you post it.",
    "Fold the tissue twice.",
)
PRODUCTS = (
    Product(
        code="HC-1",
        name="Heavy Card",
        kind="card",
        price=Decimal("4.50"),
        currency="GBP",
        page="7",
        url="https://shop.example/hc-1",
        colour="white",
    ),
    Product(
        code="OLD-2",
        name="Old Glue",
        kind="adhesive",
        price=Decimal("2.00"),
        currency="GBP",
        page="9",
        url="https://shop.example/old-2",
        available_until=date(2025, 12, 31),
        substitute="HC-1",
    ),
    Product(
        code="GS-3", name="Gift Set", kind="set", price=Decimal("9.00"), currency="GBP", url="https://shop.example/gs-3"
    ),
)


def settings() -> Settings:
    """Return settings with a shop, a site and a code."""
    shop = ShopChoices(
        name="The Fold",
        url="https://fold.example/shop",
        promo_code="FOLD10",
        contact="1 Nowhere Road",
        author="Ada Fold",
        promo_code_until=date(2026, 12, 31),
    )
    return Settings(shop=shop, publishing=PublishingChoices(site_url="https://fold.example/blog"))


def catalogue() -> Catalogue:
    """Return the catalogue of three products."""
    complaint = Complaint(file="list.csv", row=9, column="price", problem="No price.", remedy="Put one in.")
    return Catalogue(source="list.csv", sha256="c" * 64, products=PRODUCTS, complaints=(complaint,))


def edition(
    document_: Document | None = None, catalogue_: Catalogue | None = None, settings_: Settings | None = None
) -> Edition:
    """Return what a writer is given; the small one's own parts where none are named."""
    return Edition.of(
        document() if document_ is None else document_,
        catalogue() if catalogue_ is None else catalogue_,
        settings() if settings_ is None else settings_,
    )


def on_a_sheet(name: str = "Heavy Card") -> tuple[Document, Catalogue]:
    """Return the document and the catalogue with a card of this name that has a sheet size, twenty pieces of it."""
    known, made = catalogue(), document()
    sized = {"name": name, "size": "12 x 12 in", "contents": "12 sheets", "price": Decimal("11.00")}
    products = (known.products[0].but(**sized), *known.products[1:])
    line = made.cuts[0].but(material=name, quantity=20)
    return made.but(cuts=(line,)), known.but(products=products)


def document(said: tuple[str, ...] = SAID) -> Document:
    """Return a document of two chapters with one of everything."""
    sentences = []
    for index, text in enumerate(said):
        start = 2000 + index * 5000
        step = 4000 // max(1, len(text.split()))
        words = [
            Word(text=word, start_ms=start + at * step, end_ms=start + at * step + step - 10)
            for at, word in enumerate(text.split())
        ]
        sentences.append(sentence(index, words))
    segments = tuple(
        Segment(
            start_ms=one.start_ms,
            end_ms=one.end_ms,
            text=one.text,
            words=tuple(Word(text=word.text, start_ms=word.start_ms, end_ms=word.end_ms) for word in one.words),
        )
        for one in sentences
    )
    spoken = {one.index: one for one in sentences}
    card = spoken[1].words[3:5]
    return Document(
        recording=Recording(
            source="card.mp4",
            sha256="a" * 64,
            duration_ms=70_000,
            recorded_on=date(2026, 3, 5),
            has_picture=True,
            has_sound=True,
            width=1280,
            height=720,
        ),
        catalogue=CatalogueSource(source="list.csv", sha256="c" * 64, products=3, complaints=1),
        transcript=Transcript(language="en", recogniser="test", segments=segments, heard_ms=70_000),
        sentences=tuple(sentences),
        mentions=(
            Mention(
                id="m1",
                code="HC-1",
                heard="Heavy Card,",
                start_ms=card[0].start_ms,
                end_ms=card[-1].end_ms,
                role="shown",
                state="confirmed",
                confidence=0.9,
            ),
        ),
        supplies=(
            Supply(
                code="HC-1",
                name="Heavy Card",
                kind="card",
                colour="white",
                first_shown_ms=card[0].start_ms,
                mention_ids=("m1",),
                price=Decimal("4.50"),
                currency="GBP",
                page="7",
                url="https://shop.example/hc-1",
                availability="on_sale",
                state="confirmed",
                still="stills/hc-1.jpg",
                quantity=2,
            ),
            Supply(
                code="OLD-2",
                name="Old Glue",
                kind="adhesive",
                first_shown_ms=32_000,
                mention_ids=("m2",),
                price=Decimal("2.00"),
                currency="GBP",
                page="9",
                url="https://shop.example/old-2",
                availability="retired",
                state="ask",
            ),
            Supply(
                code=None, name="kitchen sponge", kind="", first_shown_ms=40_000, mention_ids=("m3",), state="confirmed"
            ),
        ),
        measures=(
            Measure(
                id="s1",
                heard="four by six inches",
                start_ms=spoken[2].words[3].start_ms,
                end_ms=spoken[2].end_ms,
                values=(Fraction(4), Fraction(6)),
                unit="in",
                dimension="size",
                metric="about 10.2 x 15.2 cm",
                of="card",
                state="confirmed",
            ),
        ),
        cuts=(
            Cut(
                material="Heavy Card",
                width=Fraction(4),
                height=Fraction(6),
                unit="in",
                quantity=2,
                scores=(Fraction(2),),
                measure_ids=("s1",),
            ),
        ),
        chapters=(
            Chapter(start_ms=0, title="Welcome"),
            Chapter(start_ms=7000, title="The card"),
            Chapter(start_ms=22_000, title="Folding"),
        ),
        offers=(
            Offer(
                kind="gift_over_threshold",
                heard="spend thirty pounds",
                start_ms=60_000,
                threshold=Decimal(30),
                currency="GBP",
                reward_code="GS-3",
                starts_on=date(2026, 3, 1),
                ends_on=date(2026, 3, 31),
                state="confirmed",
            ),
        ),
        findings=(
            Finding(kind="self_correction", severity="note", message="You corrected yourself.", start_ms=12_000),
            Finding(
                kind="ambiguous_item",
                severity="ask",
                message="Which one is meant?",
                heard="the glue",
                start_ms=32_000,
                choices=("HC-1", "OLD-2"),
            ),
            Finding(
                kind="contradiction",
                severity="error",
                message="The catalogue says otherwise.",
                heard="nine sheets",
                expected="ten sheets",
                start_ms=50_000,
                code="HC-1",
            ),
        ),
        corrections=(Correction(start_ms=12_000, end_ms=14_000, wrong="five", right="four", cue="no"),),
        spellings=(Spelling(start_ms=7000, end_ms=8000, heard="heavy cart", shown="Heavy Card", source="catalogue"),),
        cautions=(
            Caution(hazard="blade", line="Cut away from yourself.", source="common practice", triggers_ms=(12_000,)),
        ),
        stills=(
            Still(file="stills/hero.jpg", at_ms=60_000, subject="hero", sharpness=50.0),
            Still(file="stills/hc-1.jpg", at_ms=8000, subject="HC-1", sharpness=40.0, others=("stills/hc-1-2.jpg",)),
            Still(file="stills/step-3.jpg", at_ms=25_000, subject="step-3", sharpness=9.0, state="ask"),
        ),
    )
