"""What was seen of a recording is not looked at again, and never taken for another recording."""

import os
from pathlib import Path

import pytest

from studio import media, stills
from studio.model import Chapter, Supply
from studio.still_memory import StillMemory

PARTS = [Chapter(start_ms=0, title="Start"), Chapter(start_ms=10_000, title="Rest")]


def row(code: str, at: int) -> Supply:
    """A row of the supply list."""
    return Supply(code=code, name=code, kind="", first_shown_ms=at, mention_ids=(), state="confirmed")


def test_after_a_decision_only_what_is_new_is_looked_at(
    clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same stretches give the same stills without a decoder; a moved chapter has only its own stretches seen."""
    recording = media.probe(clip)
    first = stills.stills(clip, [row("A1", 3000)], PARTS, recording, tmp_path)
    looked: list[int] = []
    moments = media.moments

    def spy(path: Path, start_ms: int, end_ms: int, *, rate: float) -> tuple[media.Frame, ...]:
        looked.append(start_ms)
        return moments(path, start_ms, end_ms, rate=rate)

    monkeypatch.setattr(media, "moments", spy)
    assert stills.stills(clip, [row("A1", 3000)], PARTS, recording, tmp_path) == first
    assert looked == []
    again = stills.stills(clip, [row("A1", 3000), row("B1", 15_000)], PARTS, recording, tmp_path)
    assert 0 < len(looked) < len(again)
    for still in again:
        assert all((tmp_path / name).exists() for name in (still.file, *still.others))


def test_another_recording_of_the_same_name_is_looked_at_anew(clip: Path, tmp_path: Path) -> None:
    """Size, time and the version of the rules decide whether what is remembered is of this recording."""
    source = tmp_path / "a.mp4"
    source.write_bytes(clip.read_bytes())
    memory = StillMemory(source, tmp_path, 1)
    (tmp_path / "stills").mkdir()
    (tmp_path / "stills" / "a-5.jpg").write_bytes(b"x")
    (tmp_path / "stills" / "old-5.jpg").write_bytes(b"x")
    memory.looked(0, 1000, lambda: ([5], (media.Figures(1.5, 0.5, 0.0, b"\x00\xff"),)))
    memory.take("stills/a-5.jpg", 0)
    memory.close()
    assert not (tmp_path / "stills" / "old-5.jpg").exists()
    same = StillMemory(source, tmp_path, 1)
    kept = same.looked(0, 1000, lambda: pytest.fail("looked at again"))
    assert kept == ([5], (media.Figures(1.5, 0.5, 0.0, b"\x00\xff"),))
    assert (same.written("stills/a-5.jpg", 0), same.written("stills/a-5.jpg", 200)) == (True, False)
    os.utime(source, ns=(1, 1))
    for other in (StillMemory(source, tmp_path, 1), StillMemory(source, tmp_path, 2)):
        assert not other.written("stills/a-5.jpg", 0)
