"""The reader at work: what the network is shown, and what it answers, with the real files of the reader."""

import json
import re
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio import resources
from studio.errors import ReaderDamaged
from studio.model import Catalogue, Product, Sentence, SentenceWord
from studio.reader import about
from studio.reader.batches import NUMBERS, Asked, Asking, batch_of, beside, nearest_middle, windows_of
from studio.reader.marks import KINDS
from studio.reader.model import Reader, model
from studio.reader.pieces import (
    AFTER,
    BEFORE,
    BEGIN,
    END,
    FLAGS,
    HEADS,
    LONGEST,
    MEANINGS,
    MOST,
    PLACES,
    ROW,
    ROW_PIECES,
    SAID,
    WINDOW,
    Pieces,
    in_context,
    windows,
)  # fmt: skip
from studio.reader.reading import NAMES, Words, read_names, read_words, spans
from studio.reader.rows import EVIDENCE, Rows
from studio.reader.sense import senses

FOLDER = resources.shared("reader")
CATALOGUE = Catalogue(
    products=(
        Product(code="A1", name="Waxed Linen Thread", kind="thread", size="0.6 mm", colour="rust"),
        Product(code="A2", name="Waxed Linen Thread", kind="thread", size="0.8 mm", colour="rust"),
        Product(code="A3", name="Weaving Frame", kind="loom", size="30 x 40 cm"),
    )
)
TALK = (
    "Hello everybody. Today we use the weaving frame and some of the waxed linen thread, the one in 0.8 mil. "
    "Take the frame, put it flat on the table and tie the thread to the left nail. "
    "Mind your fingers, the nails are sharp."
).split()
NOISE = 1e-2
"""What whole-number weights may add to a probability."""
cuts = st.lists(st.lists(st.integers(1000, 30000), min_size=1, max_size=LONGEST), min_size=1, max_size=400)


@pytest.fixture(scope="module")
def reader() -> Reader:
    """Return the reader with the files that come with the program."""
    missing = [name for name in (about.NAME, *about.FILES) if not (FOLDER / name).is_file()]
    assert not missing, f"{FOLDER} lacks {', '.join(missing)}: put the files of the reader there"
    return model()


def asked(reader: Reader, rows: list[str]) -> Asked:
    """Return "the weaving frame" beside rows, with the same numbers beside each row."""
    cut = [reader.pieces(word) for word in TALK]
    at = TALK.index("weaving") - 1
    made = reader.asking(rows).asked(
        cut, (at, at + 3), range(len(rows)), np.zeros((len(rows), len(EVIDENCE)), np.float32)
    )
    return replace(made, numbers=np.full((len(rows) + 1, NUMBERS), 0.25, np.float32))


def fits(reader: Reader, one: Asked) -> np.ndarray:
    """Return how well each row fits, before it is weighed against the others, (rows + 1,)."""
    found = reader.answers([one])[0][0]
    return found - found[-1]


@given(cuts)
def test_windows_show_every_word_and_are_no_longer_than_they_may(cut: list[list[int]]) -> None:
    """Each word of a talk begins in a window with all its pieces, whatever the lengths of the words."""
    seen = list(windows(cut))
    assert all(len(one.ids) <= WINDOW and len(one.ids) == len(one.marks) for one in seen)
    shown = {}
    for one in seen:
        for at, word in enumerate(one.marks):
            if word >= 0:
                shown[word] = one.ids[at : at + len(cut[word])]
    assert shown == dict(enumerate(cut))


@given(cuts)
def test_each_word_is_read_where_it_stands_nearest_the_middle(cut: list[list[int]]) -> None:
    """Of the windows that show a word the one is taken that has most on both its sides."""
    seen = windows_of(cut)
    for word, (n, at) in enumerate(nearest_middle(seen, len(cut))):
        assert seen[n].words[at] == word
        off = [abs(2 * int(k) - len(one.ids)) for one in seen for k in np.flatnonzero(one.words == word)]
        assert abs(2 * at - len(seen[n].ids)) == min(off)


@given(cuts, st.data())
def test_a_stretch_stands_between_its_marks_in_its_context(cut: list[list[int]], data: st.DataObject) -> None:
    """What is between BEGIN and END is the stretch alone, and with sixteen of the longest rows all places suffice."""
    first = data.draw(st.integers(0, len(cut) - 1))
    last = data.draw(st.integers(first + 1, len(cut)))
    shown = in_context(cut, first, last)
    begin, end = shown.index(BEGIN), shown.index(END)
    said = [piece for word in cut[first:last] for piece in word]
    assert shown[begin + 1 : end] == said[: end - begin - 1]
    assert end - begin - 1 == min(len(said), SAID)
    before = [piece for word in cut[:first] for piece in word]
    assert shown[1:begin] == before[len(before) - (begin - 1) :]
    assert begin - 1 <= BEFORE
    assert len(shown) - end - 2 <= AFTER
    none = 1 + len("none of these".split())
    assert len(shown) + MOST * (1 + ROW_PIECES) + none <= PLACES


def test_a_batch_tells_where_each_row_begins(reader: Reader) -> None:
    """Blocks count the rows, places go on from the talk in each row anew, the numbers stand at its first piece."""
    one = asked(reader, ["Weaving Frame", "Waxed Linen Thread; 0.6 mm; rust; thread"])
    two = replace(one, rows=one.rows[1:], numbers=one.numbers[1:] * 2)
    made = batch_of([one, two])
    assert made.ids.shape == made.blocks.shape == made.places.shape == (2, max(one.pieces, two.pieces))
    assert made.numbers.shape == (*made.ids.shape, NUMBERS)
    for n, which in enumerate((one, two)):
        where = [int(at) for at in made.first[n] if at >= 0]
        assert len(where) == len(which.rows)
        assert made.first[n, MOST] == where[-1]
        assert (made.blocks[n, : len(which.talk)] == 0).all()
        assert made.ids[n, made.begin[n]] == BEGIN
        for number, (at, row) in enumerate(zip(where, which.rows, strict=True)):
            inside = slice(at, at + len(row))
            assert made.ids[n, at] == ROW
            assert made.ids[n, inside].tolist() == row.tolist()
            assert set(made.blocks[n, inside].tolist()) == {number + 1}
            assert made.places[n, inside].tolist() == list(range(len(which.talk), len(which.talk) + len(row)))
            assert (made.numbers[n, at] == which.numbers[number]).all()
        assert np.count_nonzero(made.numbers[n].any(-1)) == len(which.rows)


def test_the_numbers_beside_a_row_tell_how_far_it_is_below_the_best() -> None:
    """A row carries its evidence and the distance to the best; "none of these" carries the best and the mean."""
    evidence = np.zeros((2, len(EVIDENCE)), np.float32)
    evidence[1] = 1
    made = beside(evidence)
    many = len(EVIDENCE)
    assert made.shape == (3, NUMBERS)
    assert (made[0, many : 2 * many] == -1).all()
    assert (made[1, many : 2 * many] == 0).all()
    assert made[:, -1].tolist() == [0, 0, 1]
    assert (made[2, :many] == 1).all()
    assert (made[2, many : 2 * many] == 0.5).all()
    assert beside(np.zeros((0, 0), np.float32)).shape == (1, NUMBERS)


def test_a_row_fits_as_well_whatever_stands_beside_it(reader: Reader) -> None:
    """A row sees the talk and itself alone: other rows, and their order, do not change how well it fits."""
    alone = fits(reader, asked(reader, ["Weaving Frame"]))
    many = fits(reader, asked(reader, ["Waxed Linen Thread; 0.6 mm", "Weaving Frame", "Bone Folder; 15 cm"]))
    turned = fits(reader, asked(reader, ["Bone Folder; 15 cm", "Weaving Frame", "Waxed Linen Thread; 0.6 mm"]))
    p = [1 / (1 + np.exp(-odds)) for odds in (alone[0], many[1], turned[1])]
    assert max(p) - min(p) < NOISE
    assert many[:3] == pytest.approx(turned[2::-1], abs=0.05)


def test_the_probabilities_of_a_word_add_up(reader: Reader) -> None:
    """The kinds of a word add up to 1, naming is all that is not outside, and every other answer is from 0 to 1."""
    words = read_words(reader, TALK)
    assert words.said == tuple(TALK)
    assert words.kinds.shape == (len(TALK), len(KINDS))
    assert words.kinds.sum(1) == pytest.approx(np.ones(len(TALK)), abs=1e-5)
    assert (words.begins <= words.naming + 1e-6).all()
    for one in (words.naming, words.begins, words.starts, words.stops, words.flags):
        assert len(one) == len(TALK)
        assert ((one >= 0) & (one <= 1)).all()
    assert sum(words.kind(0, 5).values()) == pytest.approx(1, abs=1e-5)
    assert sum(words.kind(3, 3).values()) == pytest.approx(1)


def given_words(naming: list[float], begins: list[float]) -> Words:
    """Return words of which only the names matter."""
    n = len(naming)
    blank = np.zeros(n, np.float32)
    return Words(
        ("a",) * n, np.array(naming, np.float32), np.array(begins, np.float32),
        np.zeros((n, len(KINDS)), np.float32), blank, blank, np.zeros((n, len(FLAGS)), np.float32),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("naming", "begins", "want"),
    [
        ([0.9, 0.9, 0.9], [0.8, 0.1, 0.1], [(0, 3)]),
        ([0.9, 0.9, 0.9], [0.8, 0.1, 0.8], [(0, 2), (2, 3)]),
        ([0.9, 0.1, 0.9], [0.1, 0.0, 0.1], [(0, 1), (2, 3)]),
        ([0.1, 0.1], [0.0, 0.0], []),
        ([], [], []),
    ],
)
def test_a_new_name_begins_a_new_stretch(naming: list[float], begins: list[float], want: list[tuple[int, int]]) -> None:
    """Neighbouring words are one stretch until a word more likely begins a name than goes on with it."""
    assert spans(given_words(naming, begins)) == want
    assert NAMES < 0.9


def test_a_talk_is_always_read_alike(reader: Reader) -> None:
    """Two readings, the second by a reader loaded anew, give the same numbers to the last digit."""
    rows = Rows(CATALOGUE)
    first = read_words(reader, TALK)
    named = read_names(reader, first, rows, spans(first))
    anew = Reader()
    second = read_words(anew, TALK)
    assert all((one == two).all() for one, two in zip(vars(first).values(), vars(second).values(), strict=True)
               if isinstance(one, np.ndarray))  # fmt: skip
    assert read_names(anew, second, rows, spans(second)) == named
    assert named


def test_of_the_rows_the_one_named_in_full_is_the_likeliest(reader: Reader) -> None:
    """The frame is likelier than any thread; rows and "none of these" add up to 1, the likeliest row comes first."""
    words = read_words(reader, TALK)
    at = TALK.index("weaving") - 1
    (one,) = read_names(reader, words, Rows(CATALOGUE), [(at, at + 3)])
    assert CATALOGUE.products[one.rows[0][0]].code == "A3"
    assert one.rows[0][1] > 10 * one.rows[1][1]
    assert sum(p for _, p in one.rows) + one.none == pytest.approx(1, abs=1e-5)
    assert [p for _, p in one.rows] == sorted((p for _, p in one.rows), reverse=True)
    assert sum(one.meanings.values()) == pytest.approx(1, abs=1e-5)
    assert tuple(one.meanings) == MEANINGS


def test_nothing_said_is_nothing_read(reader: Reader) -> None:
    """An empty talk has no words, no names and no sentences."""
    words = read_words(reader, [])
    assert words.kinds.shape == (0, len(KINDS))
    assert spans(words) == []
    assert read_names(reader, words, Rows(CATALOGUE), []) == []
    assert senses(()) == ()


def test_an_empty_catalogue_has_no_row_to_mean(reader: Reader) -> None:
    """Whatever is named beside no rows means none of them."""
    (one,) = read_names(reader, read_words(reader, TALK), Rows(Catalogue(products=())), [(5, 7)])
    assert one.rows == ()
    assert one.none == 1.0


@pytest.mark.parametrize(
    "word",
    [
        "x" * 3000, "a,b." * 750, "🧶", "🧶" * 3000, "线" * 3000, "\u200b", "\x00", " ", "",
        "https://e.example/" + "a/" * 1500,
    ],
    ids="letters signs emoji emojis far_letters unseen control blank empty address".split(),
)  # fmt: skip
def test_a_strange_word_is_read_and_hides_nothing(reader: Reader, word: str) -> None:
    """A word of any length or signs is one word: all words around it are read where they stand."""
    said = [*TALK, word, *TALK]
    cut = [reader.pieces(one) for one in said]
    assert all(1 <= len(one) <= LONGEST for one in cut)
    seen = windows_of(cut)
    assert [int(seen[n].words[at]) for n, at in nearest_middle(seen, len(said))] == list(range(len(said)))
    words = read_words(reader, said)
    (one,) = read_names(reader, words, Rows(CATALOGUE), [(len(TALK), len(TALK) + 1)])
    assert np.isfinite([one.none, *(p for _, p in one.rows)]).all()


def sentence(index: int, text: str) -> Sentence:
    """Return a sentence that lasts a second."""
    span = {"start_ms": index * 1000, "end_ms": index * 1000 + 900}
    words = [SentenceWord(text=m[0], start=m.start(), end=m.end(), **span) for m in re.finditer(r"\S+", text)]
    return Sentence(index=index, text=text, words=tuple(words), **span)


def test_every_sentence_has_its_sense(reader: Reader) -> None:
    """There is one sense a sentence, of its number, with a number for each kind and each flag."""
    lines = ("Hello and welcome everybody.", "Cut the card at four inches.", "Mind the hot glue, it burns.")
    told = senses(tuple(sentence(n, line) for n, line in enumerate(lines)))
    assert [one.index for one in told] == [0, 1, 2]
    assert [max(one.kinds, key=one.kinds.__getitem__) for one in told] == ["greeting", "step", "warning"]
    assert all(tuple(one.flags) == FLAGS and set(one.kinds) == set(KINDS) for one in told)
    assert told[1].flags["amount"] > 0.5 > told[0].flags["amount"]


@pytest.fixture
def copied(reader: Reader, tmp_path: Path) -> Path:
    """Return a copy of the reader's files."""
    return Path(shutil.copytree(FOLDER, tmp_path / "reader"))


def mended(folder: Path, **changes: object) -> None:
    """Change what is told of the files."""
    path = folder / about.NAME
    path.write_text(json.dumps(json.loads(path.read_text(encoding="utf-8")) | changes), encoding="utf-8")


def test_a_changed_file_is_refused(copied: Path) -> None:
    """One changed byte of a file of the reader is told, with its name and what to do."""
    with (copied / "reader.onnx").open("r+b") as file:
        file.seek(5_000_000)
        byte = file.read(1)[0]
        file.seek(5_000_000)
        file.write(bytes([byte ^ 1]))
    with pytest.raises(ReaderDamaged) as error:
        Reader(copied)
    assert "reader.onnx" in error.value.problem
    assert "Install the program again" in error.value.remedy


@pytest.mark.parametrize("name", [about.NAME, *about.FILES])
@pytest.mark.parametrize("how", ["missing", "empty"])
def test_a_missing_or_empty_file_is_refused(copied: Path, name: str, how: str) -> None:
    """Without one of its files, or with an empty one, the reader does not start, and says so in two sentences."""
    (copied / name).unlink()
    if how == "empty":
        (copied / name).touch()
    with pytest.raises(ReaderDamaged, match=r"reader.*\. Install the program again"):
        Reader(copied)


@pytest.mark.parametrize(
    "changes",
    [
        {"heads": {name: list(labels) for name, labels in reversed(HEADS.items())}},
        {"heads": {**HEADS, "flag": ["other", *FLAGS[1:]]}},
        {"evidence": list(EVIDENCE[:-1])},
    ],
    ids=["order", "label", "evidence"],
)
def test_a_reader_for_other_labels_is_refused(copied: Path, changes: dict[str, object]) -> None:
    """Labels or evidence that are not those of the program, in their order, are told before anything is read."""
    mended(copied, **changes)
    with pytest.raises(ReaderDamaged, match="other labels"):
        Reader(copied)


@pytest.mark.parametrize("changes", [{"files": []}, {"files": {"reader.onnx": 3}}, {"heads": None}, {"evidence": 7}])
def test_what_is_told_of_the_files_is_not_trusted(copied: Path, changes: dict[str, object]) -> None:
    """What is told in another shape than the program writes is refused like a changed file."""
    mended(copied, **changes)
    with pytest.raises(ReaderDamaged):
        Reader(copied)


def test_what_was_set_for_the_weights_outlives_a_new_writing(copied: Path) -> None:
    """What was set for the weights is kept when the files are told of anew; what was not has a default."""
    told = json.loads((copied / about.NAME).read_text(encoding="utf-8"))
    for name in about.SET:
        told.pop(name, None)
    (copied / about.NAME).write_text(json.dumps(told), encoding="utf-8")
    assert {name: Reader(copied).about[name] for name in about.SET} == about.SET
    mended(copied, temperature=1.7)
    about.write(copied, "0" * 64, date(2026, 1, 2))
    about.checked.cache_clear()
    told = about.checked(copied)
    assert (told["temperature"], told["date"], told["examples"]) == (1.7, "2026-01-02", "0" * 64)
    assert told["base"]["licence"] == "Apache-2.0"


def test_the_base_model_is_named_with_its_licence() -> None:
    """Beside the weights stand a notice of what they were made from and the licence that it came under."""
    notice = (FOLDER / "NOTICE").read_text(encoding="utf-8")
    assert about.BASE["name"].split("/")[1] in notice
    assert "changed" in notice
    assert "Version 2.0, January 2004" in (FOLDER / "LICENSE-APACHE-2.0").read_text(encoding="utf-8")


def test_rows_of_a_catalogue_are_cut_once() -> None:
    """The pieces of a row are remembered, and are no more than a row may have."""
    asking = Asking(Pieces(FOLDER / "tokenizer.json"), ["Waxed Linen Thread " * 20])
    assert asking.row(0) is asking.row(0)
    assert len(asking.row(0)) == ROW_PIECES + 1
