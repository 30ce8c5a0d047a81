"""A real browser and a real desk for the tests of the page."""

import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import desk_folio
import pytest
from playwright.sync_api import Page

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
WHY = "there is no Chromium here (Debian: apt-get install chromium)"


@pytest.fixture(scope="session", autouse=True)
def chromium() -> str:
    """The browser; without one these tests are skipped."""
    if CHROMIUM is None:
        pytest.skip(WHY)
    return CHROMIUM


@pytest.fixture(scope="session")
def base_url() -> str:
    """No address in common: each test has a desk of its own."""
    return ""


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any], chromium: str) -> dict[str, Any]:
    """Start Debian's Chromium, which asks nobody for anything."""
    quiet = ["--no-sandbox", "--disable-background-networking", "--autoplay-policy=no-user-gesture-required"]
    return {**browser_type_launch_args, "executable_path": chromium, "args": quiet}


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with captions, catalogue and folio. Do not change it."""
    root = tmp_path_factory.mktemp("browser")
    desk_folio.make(root)
    return root


@pytest.fixture
def root(made: Path, tmp_path: Path) -> Path:
    """A copy of it that may be changed."""
    return desk_folio.copied(made, tmp_path / "root")


Start = Callable[[Path], str]


@pytest.fixture
def start() -> Iterator[Start]:
    """Return what starts the desk for a folder, as the command does, and gives its address."""
    running = []

    def begin(folder: Path) -> str:
        code = "from studio.cli import main; main()"
        command = [sys.executable, "-c", code, "desk", str(folder), "--no-browser"]
        child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        running.append(child)
        assert child.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:\d+/", child.stdout.readline())
        assert found is not None
        return found[0]

    yield begin
    for child in running:
        child.terminate()
        child.communicate(timeout=20)


@pytest.fixture
def desk(root: Path, start: Start) -> str:
    """The address of a desk for the small folio."""
    return start(root)


@pytest.fixture(autouse=True)
def no_complaints(page: Page) -> Iterator[None]:
    """Fail a test in which the page wrote an error to the console, or threw one."""
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text) if message.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: told.append(str(error)))
    yield
    expected = "409 (Conflict)"
    assert [line for line in told if expected not in line] == []
