"""What the reader learns from: candidates of a stretch of talk, and marked talks as examples."""

from pathlib import Path
from random import Random

from test_talks import GOOD, talk

from studio.model import Catalogue, Product
from studio.reader.examples import FLAGS, TAGS, stretches, words_of
from studio.reader.rows import EVIDENCE, Rows, ago, fold, row_text

ROWS = Catalogue(
    products=(
        Product(code="A1", name="Waxed Linen Thread", kind="thread", size="0.6 mm", colour="rust"),
        Product(code="A2", name="Waxed Linen Thread", kind="thread", size="0.8 mm", colour="rust"),
        Product(code="A3", name="Weaving Frame", kind="loom", size="30 x 40 cm"),
    )
)


def codes(said: str, sentence: str = "", met: tuple[int, ...] = ()) -> list[str]:
    """Return the codes of the rows that a stretch may mean, best first."""
    return [ROWS.products[one.at].code for one in Rows(ROWS).candidates(said, sentence, "", ago(met))]


def test_numbers_units_and_endings_are_one_word_in_any_form() -> None:
    """Two inches and 2 in, threads and thread fold alike."""
    assert fold("two Inches of threads") == fold("2 in of thread")
    assert fold("the linen's half a mil") == ["the", "linen", "1/2", "a", "mm"]


def test_the_row_whose_words_are_said_comes_first() -> None:
    """A name, a size or a colour brings its row; words of the sentence decide between rows that fit alike."""
    assert codes("the weaving frame")[0] == "A3"
    assert codes("the linen thread", "in nought point 0.8 mil")[0] == "A2"
    assert codes("the linen thread", "that is 0.6 mil")[0] == "A1"


def test_a_row_meant_just_before_is_always_a_candidate() -> None:
    """Words that share nothing with any name can still point at what was meant a moment ago."""
    assert codes("this one") == []
    assert codes("this one", met=(0, 2)) == ["A3", "A1"]


def test_the_evidence_is_of_the_length_that_its_names_tell() -> None:
    """Each candidate carries one number for each name of the evidence."""
    found = Rows(ROWS).candidates("the frame", "", "", {})
    assert {len(one.evidence) for one in found} == {len(EVIDENCE)}


def test_a_row_is_read_with_all_that_tells_it_apart() -> None:
    """Name, kind, size and colour stand in its text, empty fields do not."""
    assert row_text(ROWS.products[0]) == "Waxed Linen Thread; thread; 0.6 mm; rust"


def test_marks_become_labels_of_words_in_every_form(tmp_path: Path) -> None:
    """The same stretch carries the same labels as spoken and as captions."""
    read = talk(tmp_path, GOOD)
    for form in ("spoken", "captions"):
        words, _ = words_of(read, form)
        named = [(word.strip(".,").lower(), TAGS[tag]) for word, tag in zip(words.words, words.tag, strict=True) if tag]
        assert named[0] == ("the", "B-shown")
        assert named[-1] == ("r3", "B-rejected")
        withdrawn = [at for at, flags in enumerate(words.flags) if flags[FLAGS.index("withdrawn")]]
        assert len(withdrawn) == named.index(("the", "B-shown"), 1)
        assert sum(words.stop) == len(read.utterances)
        assert words.start.count(-1) == 1


def test_what_is_not_marked_is_an_example_of_no_row(tmp_path: Path) -> None:
    """A word of a name in its ordinary sense means none of the rows."""
    read = talk(tmp_path, GOOD + "chat: She lost her frame of mind.\n")
    found = {one.said.strip(".,"): one for one in stretches(read, "spoken", Random(1))}
    assert found["frame"].target[-1] == 1.0
    assert found["the four"].target[:-1].count(1.0) == 1
