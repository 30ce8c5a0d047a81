"""The cutting list, and sizes that cannot be."""

from fractions import Fraction
from typing import Any

import named
import small_document
import spoken

from studio import corrections, cutting
from studio.checks import fits
from studio.measures import measures as measured
from studio.model import Catalogue, Cut, Finding, Measure, Product, Sentence
from studio.settings import PublishingChoices
from studio.writing.draft import draft

CARD = Product(code="K1", name="Kraft Card", contents="20 sheets", size="12 x 12 in")
CLOTH = Product(code="C1", name="Grey Linen", contents="by the yard", size="44 in wide")
TRIMMER = Product(code="T1", name="Table Trimmer", kind="tool", size="12 in")
CATALOGUE = Catalogue(products=(CARD, CLOTH, TRIMMER))


def measure(sentences: tuple[Sentence, ...], heard: str, *values: str, **more: Any) -> Measure:
    """Return a size heard in one of the sentences, in inches."""
    sentence = next(one for one in sentences if heard in one.text)
    start = sentence.text.index(heard)
    start_ms, end_ms = sentence.time_of(start, start + len(heard))
    base = {
        "id": f"m{start_ms}", "heard": heard, "start_ms": start_ms, "end_ms": end_ms, "unit": "in",
        "dimension": "size" if len(values) > 1 else "length", "state": "confirmed",
        "values": tuple(map(Fraction, values)),
    }  # fmt: skip
    return Measure(**{**base, **more})


def listed(text: str, *sizes: tuple[Any, ...], **more: Any) -> list[tuple[Any, ...]]:
    """Return material, size, quantity and scores of the cutting list; each size is (heard, values...)."""
    sentences, mentions = named.said(text, CATALOGUE.products)
    measures = tuple(measure(sentences, heard, *values, **more) for heard, *values in sizes)
    found = cutting.cuts(measures, sentences, mentions, CATALOGUE)
    return [(cut.material, cut.width, cut.height, cut.quantity, cut.scores) for cut in found]


def test_a_piece_that_is_cut_is_listed_with_its_material() -> None:
    """A size in a sentence that cuts is a piece of the item named in it."""
    text = "Take the *kraft card* and cut it to 8.5 by 5.5 for the base."
    assert listed(text, ("8.5 by 5.5", "8.5", "5.5")) == [("Kraft Card", Fraction("8.5"), Fraction("5.5"), 1, ())]


def test_scores_belong_to_the_last_piece() -> None:
    """In talk, "Score at 4 1/4" goes to the piece before it; a score beyond the piece is left out."""
    text = "Cut the *kraft card* to 8.5 by 5.5. Then score it at 4.25 and fold. Score it at 20 as well."
    sizes = (("8.5 by 5.5", "8.5", "5.5"), ("4.25", "4.25"), ("20", "20"))
    assert listed(text, *sizes)[0][4] == (Fraction("4.25"),)


def test_a_piece_lies_so_that_its_score_divides_its_width() -> None:
    """5 1/2 by 8 1/2 scored at 4 1/4 is a card of 4 1/4 by 5 1/2, however its sides were said (craft pages)."""
    text = "Cut the *kraft card* to 5.5 by 8.5. Then score it at 4.25 and fold."
    (row,) = listed(text, ("5.5 by 8.5", "5.5", "8.5"), ("4.25", "4.25"))
    assert row[1:] == (Fraction("8.5"), Fraction("5.5"), 1, (Fraction("4.25"),))


def test_the_size_of_the_sheet_itself_is_no_piece() -> None:
    """What the row states of its item is not cut."""
    text = "This is the *kraft card*, it's 12 by 12, cut it any way you like."
    assert listed(text, ("12 by 12", "12", "12"), code="K1") == []


def test_a_strip_takes_the_width_of_its_cloth() -> None:
    """In talk, "Cut two strips at 5 inches by the width of the fabric" has the row's width as its length."""
    text = "From the *grey linen* cut two strips at 5 inches by the width of fabric."
    (row,) = listed(text, ("5 inches", "5"), quantity=2, code="C1")
    assert row == ("Grey Linen", 5, 44, 2, ())


def test_a_piece_told_again_is_listed_once() -> None:
    """The larger count of two tellings stands."""
    text = "Cut the *kraft card* to 4 by 5.25. And again, cut the *kraft card* 5.25 by 4."
    assert len(listed(text, ("4 by 5.25", "4", "5.25"), ("5.25 by 4", "5.25", "4"))) == 1


def test_a_tool_is_no_material() -> None:
    """What cuts is not what is cut, even where it is all that was named."""
    text = "Now take the *table trimmer* and cut six pieces 4 by 2."
    assert listed(text, ("4 by 2", "4", "2"), quantity=6, code="T1") == [("", 4, 2, 6, ())]


def test_a_square_out_of_the_sheet_is_not_the_sheet() -> None:
    """12 by 12 is the card itself, 10 by 10 is cut from it."""
    text = "This is the *kraft card*. It's 12 by 12 and you cut that to 10 by 10."
    assert [row[1:3] for row in listed(text, ("12 by 12", "12", "12"), ("10 by 10", "10", "10"))] == [(10, 10)]


def test_a_weight_is_no_piece() -> None:
    """Only lengths are cut."""
    sentences = spoken.sentences("Cut off 200 grams of clay.")
    weighed = measure(sentences, "200 grams", "200", unit="g", dimension="mass")
    assert cutting.cuts((weighed,), sentences, (), CATALOGUE) == ()


# --- what cannot be --------------------------------------------------------------------------------------------------


def impossible(text: str, *sizes: tuple[Any, ...]) -> tuple[Finding, ...]:
    """Return the sizes that cannot be; each size is (heard, of, values...)."""
    sentences, mentions = named.said(text, CATALOGUE.products)
    measures = tuple(measure(sentences, heard, *values, of=of) for heard, of, *values in sizes)
    return fits.impossible_sizes(measures, sentences, mentions, CATALOGUE)


def test_a_mat_larger_than_its_base_cannot_be() -> None:
    """The layer must lie on the card base either way round."""
    text = "The base is 4.25 by 5.5. The mat is 4.5 by 5.25."
    (found,) = impossible(text, ("4.25 by 5.5", "base", "4.25", "5.5"), ("4.5 by 5.25", "mat", "4.5", "5.25"))
    assert (found.kind, found.heard, found.expected) == ("impossible_size", "4.5 by 5.25", "the base of 4.25 by 5.5")
    text = "The base is 4.25 by 5.5. The mat is 5.25 by 4."
    assert impossible(text, ("4.25 by 5.5", "base", "4.25", "5.5"), ("5.25 by 4", "mat", "5.25", "4")) == ()


def test_a_piece_larger_than_its_sheet_cannot_be() -> None:
    """You cannot cut 14 by 5 out of 12 by 12."""
    (found,) = impossible("Out of the *kraft card* cut a piece 14 by 5.", ("14 by 5", "piece", "14", "5"))
    assert (found.code, found.expected) == ("K1", "Kraft Card (12 x 12 in)")
    assert impossible("Out of the *kraft card* cut a piece 11 by 5.", ("11 by 5", "piece", "11", "5")) == ()


def test_a_card_larger_than_its_envelope_cannot_be() -> None:
    """An A6 envelope of either system does not take a 5 by 7 card; an A7 does."""
    text = "A card of 5 by 7 goes in an {} envelope."
    (found,) = impossible(text.format("A6"), ("5 by 7", "card", "5", "7"))
    assert found.expected == "an A6 envelope"
    assert impossible(text.format("A7"), ("5 by 7", "card", "5", "7")) == ()


def test_an_unsure_measure_accuses_nobody() -> None:
    """A size that must be asked is not compared."""
    sentences = spoken.sentences("The base is 4.25 by 5.5. The mat is 4.5 by 5.25.")
    base = measure(sentences, "4.25 by 5.5", "4.25", "5.5", of="base")
    unsure = measure(sentences, "4.5 by 5.25", "4.5", "5.25", of="mat", state="ask")
    assert fits.impossible_sizes((base, unsure), sentences, (), CATALOGUE) == ()


def test_a_cut_keeps_the_measures_it_was_made_from() -> None:
    """Each line of the list can be traced to what was heard."""
    sentences, mentions = named.said("Cut the *kraft card* to 8.5 by 5.5.", CATALOGUE.products)
    one = measure(sentences, "8.5 by 5.5", "8.5", "5.5", quantity=3)
    (cut,) = cutting.cuts((one,), sentences, mentions, CATALOGUE)
    assert isinstance(cut, Cut)
    assert (cut.measure_ids, cut.quantity, cut.unit) == ((one.id,), 3, "in")


def test_a_size_withdrawn_sentences_later_is_cut_as_it_was_put_right() -> None:
    """What was said first and withdrawn later is on no line of the cutting list and in no sentence of the post."""
    text = (
        "Hello and welcome. Cut the *kraft card* to four by five and a half inches for the base. Then fold it. "
        "I said four earlier, I meant four and a quarter."
    )
    sentences, mentions = named.said(text, CATALOGUE.products)
    measures = measured(sentences, mentions, CATALOGUE, PublishingChoices())
    (cut,) = cutting.cuts(measures, sentences, mentions, CATALOGUE)
    assert (cut.width, cut.height, cut.material) == (Fraction(17, 4), Fraction(11, 2), "Kraft Card")
    document = small_document.document().but(
        sentences=sentences, mentions=mentions, measures=measures, cuts=(cut,), chapters=(), findings=(), offers=(),
        corrections=corrections.corrections(sentences), spellings=(), cautions=(), stills=(),
    )  # fmt: skip
    body = " ".join(line.text for line in draft(document, CATALOGUE).lines)
    assert "4 1/4 x 5 1/2 in" in body
    assert "four" not in body


def test_strips_as_many_as_they_are_wide_are_counted() -> None:
    """Three strips of three inches are three pieces, with or without a comma between the two numbers."""
    for said in ("three, three inch strips", "three three inch strips"):
        sentences, mentions = named.said(f"From the *grey linen* cut {said}.", CATALOGUE.products)
        measures = measured(sentences, mentions, CATALOGUE, PublishingChoices())
        (cut,) = cutting.cuts(measures, sentences, mentions, CATALOGUE)
        assert (cut.width, cut.quantity) == (3, 3)
