"""Search over all folios, and what a new catalogue has retired."""

import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from studio import archive, language
from studio.errors import BonefolderError, FolioDamaged
from studio.model import Catalogue, Document, Product, Recording, Supply, Transcript, Word


def folio_in(root: Path, name: str, said: str, **shown: str) -> Path:
    """Write a small folio: one sentence, and the items shown by code."""
    words = [Word(text=text, start_ms=i * 500, end_ms=i * 500 + 400) for i, text in enumerate(said.split())]
    rows = tuple(
        Supply(code=code, name=title, kind="", first_shown_ms=9000, mention_ids=(), state="confirmed")
        for code, title in shown.items()
    )
    document = Document(
        recording=Recording(source=f"{name}.mp4", sha256="0" * 64, duration_ms=10_000),
        transcript=Transcript(language="en", recogniser="none"),
        sentences=(language.sentence(0, words),),
        supplies=rows,
    )
    folder = root / name
    folder.mkdir(exist_ok=True)
    (folder / "folio.json").write_text(document.model_dump_json())
    return folder


def test_words_are_found_with_their_time(tmp_path: Path) -> None:
    """All words must be there; endings do not matter (Porter stemming of SQLite FTS5)."""
    folder = folio_in(tmp_path, "cards", "we are scoring the blue card", K1="Kraft Card")
    folio_in(tmp_path, "bags", "a bag in red")
    (hit,) = archive.find(tmp_path, "score blue cards")
    assert (hit.folder, hit.source, hit.at_ms, hit.text) == (folder, "cards.mp4", 0, "we are scoring the blue card")


def test_items_shown_are_found_by_name_and_code(tmp_path: Path) -> None:
    """An item of the supply list is found at the time when it was first shown."""
    folio_in(tmp_path, "cards", "this one here", K1="Kraft Card")
    assert [hit.at_ms for hit in archive.find(tmp_path, "kraft")] == [9000]
    assert [hit.at_ms for hit in archive.find(tmp_path, "K1")] == [9000]


@pytest.mark.parametrize("words", ["", '"', "blue*", "a OR b", "NEAR(", "text:blue"])
def test_any_words_may_be_asked(tmp_path: Path, words: str) -> None:
    """What the person types is looked for as words, never read as a query language."""
    folio_in(tmp_path, "cards", "green card")
    assert archive.find(tmp_path, words) == []


def test_a_changed_folio_is_found_by_its_new_words(tmp_path: Path) -> None:
    """The index follows the files: new words are found, old ones no longer, a deleted folio is gone."""
    folder = folio_in(tmp_path, "cards", "blue card")
    assert len(archive.find(tmp_path, "blue")) == 1
    folio_in(tmp_path, "cards", "a much longer green card")
    assert archive.find(tmp_path, "blue") == []
    assert len(archive.find(tmp_path, "green")) == 1
    (folder / "folio.json").unlink()
    assert archive.find(tmp_path, "green") == []


def test_a_broken_index_is_made_anew(tmp_path: Path) -> None:
    """The index is no truth: whatever lies in its place, the folios are read again."""
    folio_in(tmp_path, "cards", "blue card")
    (tmp_path / archive.INDEX).write_bytes(b"no database at all" * 100)
    assert len(archive.find(tmp_path, "blue")) == 1


def test_a_broken_folio_is_told(tmp_path: Path) -> None:
    """A folio that cannot be read is a known problem, not an empty answer."""
    (folio_in(tmp_path, "cards", "blue card") / "folio.json").write_text("{")
    with pytest.raises(FolioDamaged, match="no folio that can be read"):
        archive.find(tmp_path, "blue")


def test_retired_items_are_listed_with_their_posts(tmp_path: Path) -> None:
    """Each old folio that shows an item no longer sold is named, with the substitute that the catalogue names."""
    cards = folio_in(tmp_path, "cards", "hello", K1="Kraft Card", K2="Laid Card", K3="Gone Card")
    catalogue = Catalogue(
        products=(
            Product(code="K1", name="Kraft Card", available_until=date(2026, 5, 31), substitute="K9"),
            Product(code="K2", name="Laid Card"),
        )
    )
    found = archive.retired(tmp_path, catalogue, date(2026, 6, 1))
    assert [(s.folder, s.code, s.why, s.substitute) for s in found] == [
        (cards, "K1", "retired", "K9"),
        (cards, "K3", "not in the catalogue", ""),
    ]


def test_an_index_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    """Whatever the index is made to lead to stays as it was, and the search answers."""
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as base:
        base.executescript("CREATE TABLE folio (id, path, stamp, source); INSERT INTO folio VALUES (1, 'x', 'y', 'z')")
    before = other.read_bytes()
    root = tmp_path / "root"
    root.mkdir()
    folio_in(root, "cards", "blue card")
    (root / archive.INDEX).symlink_to(other)
    assert len(archive.find(root, "blue")) == 1
    assert other.read_bytes() == before


@pytest.mark.parametrize("name", ["nowhere", "a file"])
def test_a_folder_that_is_not_there_is_told(tmp_path: Path, name: str) -> None:
    """Searching where there is no folder is a known problem, and makes nothing."""
    (tmp_path / "a file").write_text("x")
    with pytest.raises(BonefolderError, match="There is no folder"):
        archive.find(tmp_path / name, "blue")
    assert [path.name for path in tmp_path.iterdir()] == ["a file"]


def test_an_index_that_cannot_be_written_is_made_in_memory(tmp_path: Path) -> None:
    """Where the index cannot be kept, the search answers all the same."""
    folio_in(tmp_path, "cards", "blue card")
    (tmp_path / archive.INDEX).mkdir()
    assert len(archive.find(tmp_path, "blue")) == 1
