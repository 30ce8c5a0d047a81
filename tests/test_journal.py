"""The journal of finished pieces: whatever happens to its end, what was written whole is read again."""

import random
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from studio.errors import StorageError
from studio.hearing.journal import Journal

RECORDS = [[[n, n + 1, "wörd", 0.5]] for n in range(12)]


@pytest.fixture
def written(tmp_path: Path) -> Path:
    """A journal of twelve pieces."""
    path = tmp_path / "j"
    with Journal.begun(path, "work", {"speech": [[0, 1]]}) as journal:
        journal.append(RECORDS)
    return path


def found(path: Path, work: str = "work") -> list[object] | None:
    """Return the pieces that a new run finds, or None."""
    journal = Journal.resumed(path, work)
    if journal is None:
        return None
    with journal:
        return journal.records[1:]


def test_what_was_appended_is_found_again(written: Path) -> None:
    """A closed journal gives back its plan and every piece."""
    assert found(written) == RECORDS
    resumed = Journal.resumed(written, "work")
    assert resumed is not None
    with resumed:
        assert resumed.records[0]["plan"] == {"speech": [[0, 1]]}


def test_the_journal_of_other_work_is_not_taken(written: Path, tmp_path: Path) -> None:
    """Another recording, model or setting begins anew, as does a run with no journal."""
    assert found(written, "other work") is None
    assert found(tmp_path / "none") is None


def test_a_torn_journal_gives_a_true_beginning_at_every_length(written: Path) -> None:
    """Cut anywhere, the journal gives pieces from the first on, never a wrong one, and can be written on."""
    whole = written.read_bytes()
    for length in range(len(whole)):
        written.write_bytes(whole[:length])
        kept = found(written) or []
        assert kept == RECORDS[: len(kept)]
        assert len(kept) >= whole[:length].count(b"\n") - 1


def test_four_thousand_damaged_journals_never_give_a_wrong_piece(written: Path) -> None:
    """Bits turned over at random cost pieces, but none is read that was not written."""
    whole, chance = written.read_bytes(), random.Random(5)
    for _ in range(4000):
        data = bytearray(whole)
        for _ in range(chance.randrange(1, 4)):
            data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        written.write_bytes(data)
        kept = found(written) or []
        assert kept == RECORDS[: len(kept)]


def test_after_a_torn_end_new_pieces_follow_the_whole_ones(written: Path) -> None:
    """The torn line is dropped before the next is written."""
    written.write_bytes(written.read_bytes()[:-7])
    journal = Journal.resumed(written, "work")
    assert journal is not None
    with journal:
        journal.append(["new"])
    assert found(written) == [*RECORDS[:-1], "new"]


def test_pieces_can_be_given_up(written: Path) -> None:
    """Keeping the first few drops the others from the file."""
    journal = Journal.resumed(written, "work")
    assert journal is not None
    with journal:
        journal.keep(4)
        journal.append(["new"])
    assert found(written) == [*RECORDS[:3], "new"]


def test_a_full_disk_is_told_and_loses_nothing_finished(tmp_path: Path) -> None:
    """At the limit the person hears of it; without the limit the next run finds every piece that was told finished."""
    path = tmp_path / "j"
    code = (
        "import sys; from studio.hearing.journal import Journal; from pathlib import Path\n"
        f"with Journal.begun(Path({str(path)!r}), 'work', 0) as j:\n"
        "    for n in range(100):\n"
        "        j.append([n]); print(n, flush=True)"
    )
    limit = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (500, 500))  # noqa: E731
    done = subprocess.run([sys.executable, "-c", code], preexec_fn=limit, capture_output=True, text=True, check=False)
    assert StorageError.__name__ in done.stderr
    told = [int(line) for line in done.stdout.split()]
    assert 5 < len(told) < 100
    assert found(path) == told
