"""Stage results on disk: all or nothing, named by what they were made from."""

from fractions import Fraction
from pathlib import Path

import pytest

from studio import cache
from studio.errors import RecordingError, StorageError
from studio.model import Chapter, Cut


def test_a_result_comes_back_as_it_was(tmp_path: Path) -> None:
    """Exact fractions survive the way to disk and back."""
    store = cache.Cache(tmp_path)
    cuts = (Cut(material="card", width=Fraction(17, 4), height=Fraction(11, 2), unit="in", scores=(Fraction(11, 4),)),)
    digest = store.save("cuts", "k" * 64, cuts, tuple[Cut, ...])
    assert store.load("cuts", "k" * 64, tuple[Cut, ...]) == (cuts, digest)


def test_a_damaged_result_counts_as_none(tmp_path: Path) -> None:
    """A result that cannot be read is made again, never believed."""
    store = cache.Cache(tmp_path)
    store.save("chapters", "k" * 64, (Chapter(start_ms=0, title="Welcome"),), tuple[Chapter, ...])
    path = store.path("chapters", "k" * 64)
    whole = path.read_bytes()
    changed = [whole[:-5], whole[:3], b"", whole.replace(b"Welcome", b"Welcone"), whole[:70] + whole[69:], b"x" * 300]
    for damaged in changed:
        path.write_bytes(damaged)
        assert store.load("chapters", "k" * 64, tuple[Chapter, ...]) is None
    path.write_bytes(whole[:-5])
    assert store.digest("chapters", "k" * 64) is None
    path.write_bytes(whole)
    assert store.digest("chapters", "k" * 64) == cache.digest(whole.partition(b"\n")[2])


def test_a_failed_write_leaves_what_stood_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk refuses, the old file is whole, no temporary file is left, and the message says what to do."""
    target = tmp_path / "post.md"
    cache.write(target, b"old")

    def refuse(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cache.os, "fsync", refuse)
    with pytest.raises(StorageError, match=r"post\.md could not be written: No space left on device\. Free some space"):
        cache.write(target, b"new")
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_the_key_tells_what_a_result_was_made_from() -> None:
    """Another stage, version, input, choice or rule file gives another key; the order of naming does not."""
    base = cache.key("mentions", 1, {"a": "1", "b": "2"}, {"units": "in"}, {"cues": "f"})
    assert base == cache.key("mentions", 1, {"b": "2", "a": "1"}, {"units": "in"}, {"cues": "f"})
    others = {
        cache.key("measures", 1, {"a": "1", "b": "2"}, {"units": "in"}, {"cues": "f"}),
        cache.key("mentions", 2, {"a": "1", "b": "2"}, {"units": "in"}, {"cues": "f"}),
        cache.key("mentions", 1, {"a": "1", "b": "3"}, {"units": "in"}, {"cues": "f"}),
        cache.key("mentions", 1, {"a": "1", "b": "2"}, {"units": "cm"}, {"cues": "f"}),
        cache.key("mentions", 1, {"a": "1", "b": "2"}, {"units": "in"}, {"cues": "g"}),
        cache.key("mentions", 1, {"a": "1", "b": "2"}, {"units": "in"}, {}),
    }
    assert len(others) == 6
    assert base not in others


def test_a_file_is_read_again_only_when_it_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The digest of a big recording is remembered by place, size and time."""
    source, memory = tmp_path / "a.mp4", tmp_path / "inputs.json"
    source.write_bytes(b"picture and sound")
    digests = cache.Digests(memory)
    assert digests.known(source) is None
    first = digests.of(source)
    digests.keep()
    monkeypatch.setattr(cache, "file_digest", lambda _: "read again")
    assert cache.Digests(memory).of(source) == first == cache.Digests(memory).known(source)
    source.write_bytes(b"something longer than before")
    assert cache.Digests(memory).known(source) is None
    assert cache.Digests(memory).of(source) == "read again"


def test_a_missing_recording_is_told_in_two_sentences(tmp_path: Path) -> None:
    """A file that is not there is a known problem."""
    with pytest.raises(RecordingError, match=r"gone\.mp4 cannot be opened: .* Check the name"):
        cache.Digests(tmp_path / "inputs.json").of(tmp_path / "gone.mp4")
