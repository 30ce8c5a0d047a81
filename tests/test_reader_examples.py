"""What the reader learns from: candidates of a stretch of talk, and marked talks as examples."""

from base64 import b64decode
from dataclasses import asdict
from pathlib import Path
from random import Random

import pytest
from test_talks import GOOD, talk

from studio.model import Catalogue, Product
from studio.reader.examples import digest, example, examples, labelled, packed, read, spans, write
from studio.reader.folding import fold
from studio.reader.forms import FORMS, Form
from studio.reader.pieces import FLAGS, MEANINGS, TAGS
from studio.reader.rows import EVIDENCE, Candidate, Rows, Scene, met, row_text

ROWS = Catalogue(
    products=(
        Product(code="A1", name="Waxed Linen Thread", kind="thread", size="0.6 mm", colour="rust"),
        Product(code="A2", name="Waxed Linen Thread", kind="thread", size="0.8 mm", colour="rust"),
        Product(code="A3", name="Weaving Frame", kind="loom", size="30 x 40 cm"),
    )
)


def found(said: str, around: str = "", before: tuple[int, ...] = ()) -> list[Candidate]:
    """Return the rows that a stretch may mean, best first, with words behind it and rows meant before."""
    words = [*said.split(), *around.split()]
    return Scene(words, Rows(ROWS)).candidates(0, len(said.split()), met(before))


def codes(said: str, around: str = "", before: tuple[int, ...] = ()) -> list[str]:
    """Return the codes of the rows that a stretch may mean, best first."""
    return [ROWS.products[one.at].code for one in found(said, around, before)]


def told(one: Candidate) -> dict[str, float]:
    """Return the evidence of a candidate by name."""
    return dict(zip(EVIDENCE, one.evidence, strict=True))


def test_numbers_units_and_endings_are_one_word_in_any_form() -> None:
    """Two inches and 2 in, threads and thread fold alike."""
    assert fold("two Inches of threads") == fold("2 in of thread")
    assert fold("the linen's half a mil") == ["the", "linen", "0.5", "a", "mm"]


def test_the_row_whose_words_are_said_comes_first() -> None:
    """A name, a size or a colour brings its row; words around decide between rows that fit alike."""
    assert codes("the weaving frame")[0] == "A3"
    assert codes("the linen thread", "in nought point 0.8 mil")[0] == "A2"
    assert codes("the linen thread", "that is 0.6 mil")[0] == "A1"


def test_a_row_meant_just_before_is_always_a_candidate() -> None:
    """Words that share nothing with any name can still point at what was meant a moment ago."""
    assert codes("this one") == []
    assert codes("this one", before=(0, 2)) == ["A3", "A1"]


def test_what_was_met_is_told_with_how_long_ago_and_how_often() -> None:
    """The row meant last is one mention ago; an earlier one keeps how often it was meant."""
    assert {at: (one.ago, one.times) for at, one in met((0, 2, 0, 1)).items()} == {1: (1, 1), 0: (2, 2), 2: (3, 1)}
    first = told(found("this one", before=(0, 0, 2))[0])
    assert (first["met"], first["just_met"], first["times_met"]) == (1.0, 1.0, 1 / 8)


def test_the_evidence_is_of_the_length_that_its_names_tell() -> None:
    """Each candidate carries one number for each name of the evidence, none below 0 or above 2.55."""
    candidates = found("the frame", "the waxed linen thread in 0.8 mil rust", (1,))
    assert {len(one.evidence) for one in candidates} == {len(EVIDENCE)}
    assert all(0 <= number <= 2.55 for one in candidates for number in one.evidence)


def test_a_name_told_elsewhere_in_the_talk_is_evidence() -> None:
    """A whole name that is told later counts for a short word that stands before it."""
    words = ["the", "thread", *["so"] * 90, "waxed", "linen", "thread"]
    one = told(Scene(words, Rows(ROWS)).candidates(0, 2, {})[0])
    assert one["told_after"] == 1.0
    assert one["told_before"] == 0.0


def test_a_row_is_read_with_all_that_tells_it_apart() -> None:
    """Name, size, colour and kind stand in its text in this order, empty fields do not."""
    assert row_text(ROWS.products[0]) == "Waxed Linen Thread; 0.6 mm; rust; thread"


@pytest.mark.parametrize("form", FORMS)
def test_marks_become_labels_of_words_in_every_form(tmp_path: Path, form: Form) -> None:
    """The same stretch carries the same labels as spoken, as recognised and as captions."""
    marked = talk(tmp_path, GOOD)
    words, _ = labelled(marked, form)
    named = [(word.strip(".,").lower(), TAGS[tag]) for word, tag in zip(words.words, words.tag, strict=True) if tag]
    assert named[0] == ("the", "B")
    assert [tag for _, tag in named].count("B") == 3
    assert named[-1] == ("r3", "B")
    flagged = {name: [at for at, flags in enumerate(words.flags) if FLAGS.index(name) in flags] for name in FLAGS}
    assert flagged["withdrawn"] == [at for at, tag in enumerate(words.tag) if tag][: len(flagged["withdrawn"])]
    assert flagged["final"]
    assert flagged["offer"]
    assert not flagged["warn"]
    assert sum(words.stop) == len(marked.utterances)
    assert (words.start.count(1), words.start.count(-1)) == (1, 1)


def test_the_longest_marks_come_first(tmp_path: Path) -> None:
    """A mark inside another is told after it."""
    _, made = labelled(marked := talk(tmp_path, GOOD), "spoken")
    lengths = [last - first for first, last, _ in spans(marked, made)]
    assert lengths == sorted(lengths, reverse=True)


def test_what_is_not_marked_is_an_example_of_no_row(tmp_path: Path) -> None:
    """A word of a name in its ordinary sense means none of the rows; a marked one means its row in its role."""
    marked = talk(tmp_path, GOOD + "chat: She lost her frame of mind.\n")
    made = example(marked, "spoken", Rows(marked.catalogue), Random(1))
    by_words = {" ".join(made.words[one.first : one.last]).strip(".,"): one for one in made.stretches}
    assert by_words["frame"].target[-1] == 1.0
    assert by_words["frame"].meaning == -1
    four = by_words["the four"]
    meant = [marked.catalogue.products[at].code for at, p in zip(four.rows, four.target, strict=False) if p == 1.0]
    assert (meant, MEANINGS[four.meaning]) == (["R4"], "shown")
    assert MEANINGS[by_words["R3"].meaning] == "rejected"


def test_what_a_reader_proposed_wrongly_is_an_example_of_no_row(tmp_path: Path) -> None:
    """A proposed stretch without a mark means nothing, one that nearly is a mark means the same row."""
    marked = talk(tmp_path, GOOD)
    words, made = labelled(marked, "spoken")
    first, last = next((first, last) for first, last, mark in spans(marked, made) if mark.codes == ("R3",))
    proposed = [(0, 1), (first, last - 1)]
    stretches = example(marked, "spoken", Rows(marked.catalogue), Random(1), proposed).stretches
    by_span = {(one.first, one.last): one for one in stretches}
    assert words.tag[0] == 0
    assert by_span[0, 1].target[-1] == 1.0
    assert by_span[first, last - 1].meaning == by_span[first, last].meaning == MEANINGS.index("shown")


def test_evidence_is_packed_in_hundredths() -> None:
    """Numbers come back to the hundredth, what is above 2.55 as that."""
    assert list(b64decode(packed([[0.0, 0.504], [1.0, 9.0]]))) == [0, 50, 100, 255]


def test_examples_are_always_the_same_and_come_back_from_their_file(tmp_path: Path) -> None:
    """Two makings of the same talks are alike, written and read again too, and their digest tells them from others."""
    marked = talk(tmp_path, GOOD)
    first, second = examples([marked]), examples([marked])
    assert first == second
    write(first, tmp_path / "made.json.xz")
    assert digest(read(tmp_path / "made.json.xz")) == digest(first)
    second["talks"][0]["words"][0] = "Goodbye"
    assert digest(second) != digest(first)
    assert [one["form"] for one in first["talks"]] == list(FORMS)
    assert first["rows"]["x01"] == Rows(marked.catalogue).texts
    rows = Rows(marked.catalogue)
    assert first["talks"][0] == asdict(example(marked, "spoken", rows, Random(7)))
