"""Independent judges of the files that the program writes; they are no Python, so a test that lacks one is skipped."""

import shutil
import subprocess
from pathlib import Path

import pytest

MODULES = Path(__file__).parent / "judges" / "node_modules"
_CHECKER = MODULES / "vnu-jar" / "build" / "dist" / "vnu.jar"
_INSTALL = "is not installed: npm install --prefix tests/judges"


def by_node(package: str, code: str, path: Path) -> str:
    """Return what some JavaScript that needs an npm package prints about a file."""
    _wanted(shutil.which("node") is not None, "there is no node (Debian: apt-get install nodejs npm)")
    _wanted((MODULES / package).is_dir(), f"the npm package {package} {_INSTALL}")
    command = ["node", "-e", code, str(path)]
    return subprocess.run(command, cwd=MODULES.parent, capture_output=True, text=True, check=True).stdout


def faults_in_html(*paths: Path) -> str:
    """Return what the Nu Html Checker, written from the WHATWG text, says about pages; nothing where all is well."""
    _wanted(shutil.which("java") is not None, "there is no Java (Debian: apt-get install default-jre-headless)")
    _wanted(_CHECKER.exists(), f"the Nu Html Checker {_INSTALL}")
    run = subprocess.run(["java", "-jar", str(_CHECKER), *map(str, paths)], capture_output=True, text=True, check=False)
    assert run.returncode == (1 if run.stderr else 0), run.stderr
    return run.stderr


def _wanted(there: bool, reason: str) -> None:
    if not there:
        pytest.skip(reason)
