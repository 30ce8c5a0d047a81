"""What a folio tells about itself, and what it is made of."""

from pathlib import Path

import pytest
import small_document

from studio import folio
from studio.errors import StorageError
from studio.folio import Folio
from studio.model import Finding, Severity, Still


def with_findings(*weights: Severity) -> Folio:
    """Return a folio whose document has findings of these weights alone."""
    found = tuple(Finding(kind="retired", severity=weight, message="x", start_ms=0) for weight in weights)
    return Folio(Path("demo"), small_document.document().but(findings=found))


@pytest.mark.parametrize(
    ("weights", "words"),
    [
        ((), []),
        (("note",), []),
        (("warning",), ["1 to check"]),
        (("ask", "note", "ask"), ["2 to decide"]),
        (("warning", "error", "ask", "error"), ["2 wrong", "1 to decide", "1 to check"]),
    ],
)
def test_it_tells_how_much_is_to_be_looked_at(weights: tuple[Severity, ...], words: list[str]) -> None:
    """Errors, questions and warnings are counted in words, the gravest first; notes and empty counts are not told."""
    made = with_findings(*weights)
    assert made.to_look_at() == words
    assert made.needs_a_look == bool(words)


def test_a_file_in_the_place_of_the_folder_is_told(tmp_path: Path) -> None:
    """Where a file has the folder's name, the person is asked for another one and the file stays."""
    (tmp_path / "demo").write_text("mine")
    with (
        pytest.raises(StorageError, match=r"demo is a file, not a folder\. Name another folder"),
        folio.locked(tmp_path / "demo"),
    ):
        pass
    assert (tmp_path / "demo").read_text() == "mine"


def test_a_folder_that_is_not_there_yet_is_begun_and_freed(tmp_path: Path) -> None:
    """A new folder is made for the run that holds it, and another run can hold it afterwards."""
    for _ in range(2):
        with folio.locked(tmp_path / "new" / "demo"):
            assert (tmp_path / "new" / "demo" / ".work").is_dir()


def test_every_picture_that_can_be_chosen_goes_along() -> None:
    """The pictures of a folio are the chosen ones and those that they can be swapped for."""
    stills = (
        Still(file="stills/a.jpg", at_ms=1, subject="A", sharpness=1.0, others=("stills/a-2.jpg", "stills/a-3.jpg")),
        Still(file="stills/b.jpg", at_ms=2, subject="B", sharpness=1.0),
    )
    document = small_document.document().but(stills=stills)
    assert folio._pictures(document) == {"stills/a.jpg", "stills/a-2.jpg", "stills/a-3.jpg", "stills/b.jpg"}
