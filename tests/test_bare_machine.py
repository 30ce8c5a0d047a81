"""The tests on a machine with nothing but Python: a judge that is not there is a skip with its reason, no failure."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
JUDGED = ["test_captions.py", "test_chapter_files.py", "browser/test_written_pages.py"]
SKIPPED = "import pytest\ndef test_it():\n    pytest.skip('no judge')\n"
MODULE = "import pytest\npytest.skip('no judge', allow_module_level=True)\n"


def outcome(*given: str | Path, on_build_machine: bool = False) -> tuple[int, str]:
    """Run tests in a process of their own that finds no program; return how it ended, and what it said."""
    own = {key: value for key, value in os.environ.items() if key not in {"CI", "PATH"}}
    own |= {"PATH": str(TESTS / "fixtures"), **({"CI": "true"} if on_build_machine else {})}
    command = [sys.executable, "-m", "pytest", "-q", "-rs", "-p", "no:cacheprovider", *map(str, given)]
    run = subprocess.run(command, cwd=TESTS.parent, env=own, capture_output=True, text=True, check=False)
    return run.returncode, run.stdout


def test_a_judge_that_is_not_there_is_a_skip_with_its_reason() -> None:
    """Without node, Java and a browser the tests that ask them are skipped, and each says what to install."""
    ended, said = outcome("-m", "node or browser", *(TESTS / name for name in JUDGED))
    assert ended == 0, said
    assert "failed" not in said
    assert "there is no node (Debian: apt-get install nodejs npm)" in said
    assert "there is no Java" in said or "there is no Chromium" in said


@pytest.mark.parametrize("text", [SKIPPED, MODULE], ids=["a test", "a whole file"])
def test_a_skip_on_the_build_machine_is_a_failure(tmp_path: Path, text: str) -> None:
    """Where everything is set up nothing is skipped: neither a test nor a whole file passes unseen."""
    (tmp_path / "conftest.py").write_text((TESTS / "conftest.py").read_text())
    (tmp_path / "no_network").symlink_to(TESTS / "no_network")
    (tmp_path / "test_it.py").write_text(text)
    assert outcome(tmp_path)[0] in {0, 5}
    ended, said = outcome(tmp_path, on_build_machine=True)
    assert ended in {1, 2}, said
    assert "no judge" in said
