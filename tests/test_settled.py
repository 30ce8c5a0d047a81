"""What is not settled stands in the report and at the desk, and in nothing that is published."""

from decimal import Decimal
from pathlib import Path

import pytest
import small_document

from studio import captions, cutting, edits, folio, micropub, pipeline, sending, settled
from studio.desk import views
from studio.desk.held import NOWHERE, Held
from studio.edits import kinds
from studio.errors import BonefolderError
from studio.model import Cut, Document, Mention, Offer, Still
from studio.settings import PublishingChoices, Settings
from studio.writing import guard

PRIVATE = ("folio.json", "report.html")
"""The only files of a folio that tell of what is not settled."""


def unsettled() -> Document:
    """Return the small document with a row, a size, a piece, an offer and a picture that only a person can settle."""
    base = small_document.document()
    glue = Mention(
        id="m2", code="OLD-2", heard="thin one", start_ms=27_000, end_ms=29_000, role="shown", state="ask",
        confidence=0.4, runners_up=("GS-3",),
    )  # fmt: skip
    offer = Offer(
        kind="percent_off", heard="a third off all sets", start_ms=57_000, percent="100/3", applies_to=("GS-3",),
        state="ask", doubt="the percentage was not heard clearly",
    )  # fmt: skip
    still = Still(file="stills/old-2.jpg", at_ms=30_000, subject="OLD-2", sharpness=30.0)
    return base.but(  # type: ignore[no-any-return]
        mentions=(*base.mentions, glue),
        supplies=tuple(row.but(still=still.file) if row.code == "OLD-2" else row for row in base.supplies),
        measures=tuple(one.but(state="ask") for one in base.measures),
        cuts=tuple(one.but(state="ask") for one in base.cuts),
        offers=(*base.offers, offer),
        stills=(*base.stills, still),
    )


def published(document: Document) -> dict[str, str]:
    """Return every text of the folio that is meant for others."""
    made = folio.outputs(document, small_document.catalogue(), small_document.settings())
    return {name: text.decode() for name, text in made.items() if name not in PRIVATE}


@pytest.mark.parametrize(
    "words", ["Old Glue", "OLD-2", "old-2", "adhesive", "4 x 6 in", "10.2 x 15.2", "33.3", "third off"]
)
def test_what_is_not_settled_is_in_no_published_text(words: str) -> None:
    """A row, a size, a piece, an offer or a picture in state `ask` is in no file but the report and `folio.json`."""
    assert [name for name, text in published(unsettled()).items() if words in text] == []


def test_what_is_settled_stays_published() -> None:
    """Beside what waits, the sure row, its price and the sure offer stand where they stood."""
    made = published(unsettled())
    assert "Heavy Card" in made["supplies.csv"]
    for name in ("post.md", "description.txt", "newsletter.txt", "entry.atom.xml"):
        assert "Heavy Card" in made[name], name
        assert "£30.00" in made[name], name
    sure = published(small_document.document())
    assert "4 x 6 in" in sure["post.md"]
    assert "4 x 6 in" in sure["cutting.csv"]


def test_a_doubted_size_in_an_instruction_is_marked_and_the_instruction_stays() -> None:
    """In the post the sentence keeps its words, and the size that is asked about says that it must be checked."""
    made = published(unsettled())
    assert "Cut it to four by six inches (to be checked)." in made["post.md"]
    assert "to be checked" not in published(small_document.document())["post.md"]


def test_a_rewording_cannot_take_the_mark_of_doubt_away() -> None:
    """A polished sentence that no longer says that a size must be checked is refused."""
    said = "Cut it to four by six inches (to be checked)."
    assert guard.refuse(said, "Cut it to four by six inches.")
    assert not guard.refuse(said, said)


def test_captions_do_not_spell_a_name_that_is_asked_about() -> None:
    """The words of an unsure name stay as they were heard in the captions."""
    document = unsettled()
    text = captions.captions_vtt(captions.cues(document, small_document.settings()))
    assert "thin one" in text.replace("\n", " ")
    assert "Glue," not in text


def test_the_report_shows_what_waits_and_says_how_many() -> None:
    """The report lists the row, the piece and the offer as to be decided, and counts all that waits."""
    made = folio.outputs(unsettled(), small_document.catalogue(), small_document.settings())
    page = made["report.html"].decode()
    assert "1 row, 1 size and 1 offer wait" in page
    assert "OLD-2" in page
    assert "4 x 6 in" in page
    assert "a third off all sets" in page
    assert page.count("to decide") >= 3


def test_nothing_that_waits_is_not_counted() -> None:
    """A document in which everything is settled says nothing of waiting."""
    assert settled.waiting(Document.model_validate(small_document.document().model_dump() | {"supplies": ()})) == ""


def test_the_desk_counts_what_waits_and_keeps_it(tmp_path: Path) -> None:
    """At the desk the unsure row, size and offer are still on the table and among the questions, with their number."""
    asked = pipeline.Request(NOWHERE, tmp_path)
    held = Held(tmp_path, unsettled(), (), edits.Edits(), "", asked, products=small_document.catalogue())
    told = views.whole(held)
    assert told["gate"]["waiting"] == "1 row, 1 size and 1 offer wait"
    assert "OLD-2" in [row["code"] for row in told["supplies"]]
    assert {"item", "measure", "offer"} <= {one["about"] for one in told["questions"]}


def test_a_piece_is_as_sure_as_its_measures() -> None:
    """A piece whose size or score is asked about is asked about itself; one that a person set is settled."""
    document = unsettled()
    (piece,) = cutting.cuts(document.measures, document.sentences, document.mentions, small_document.catalogue())
    assert piece.state == "ask"
    sure = small_document.document()
    (piece,) = cutting.cuts(sure.measures, sure.sentences, sure.mentions, small_document.catalogue())
    assert piece.state == "confirmed"
    was = document.cuts[0]
    set_by_hand = kinds.CutSet(was=was, now=was.but(quantity=3))
    laid: tuple[Cut, ...] = edits.lay_over("cuts", document.cuts, edits.Edits((set_by_hand,)))
    assert [(one.quantity, one.state) for one in laid] == [(3, "confirmed")]


LIST = "code,name,price,currency\nH1,Heron Blue Ink,4.50,GBP\nR1,Robin Stamp,9.00,GBP\nD1,Dove Card,6.00,GBP\n"
CAPTIONS = """WEBVTT

00:00:01.000 --> 00:00:04.000
Hello everyone, welcome back to my table.

00:00:05.000 --> 00:00:09.000
First up, this is the Heron Blue Ink.

00:00:10.000 --> 00:00:15.000
Cut a panel three by five and fold it in half.
"""


def test_the_gate_says_how_many_wait_and_an_anyway_keeps_them_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Publishing is held back with the number of sizes that wait; sent anyway, the table of sizes is without them."""
    sent: list[micropub.Entry] = []
    monkeypatch.setattr("studio.micropub.send", lambda entry, *_: sent.append(entry) or "there")
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    (tmp_path / "list.csv").write_text(LIST)
    choices = Settings(publishing=PublishingChoices(micropub_endpoint="https://site.example/micropub"))
    request = pipeline.Request(tmp_path / "demo.vtt", tmp_path / "out", tmp_path / "list.csv", settings=choices)
    made = folio.make(request)
    assert [cut.state for cut in made.document.cuts] == ["ask"]
    with pytest.raises(BonefolderError, match="1 size wait"):
        sending.published(made.folder, lambda _: None)
    assert sending.published(made.folder, lambda _: None, anyway=True) == "there"
    body = sent[0].html
    assert "Cutting list" not in body
    assert "three by five (to be checked)" in body
    assert Decimal("4.50") in {row.price for row in made.document.supplies}
