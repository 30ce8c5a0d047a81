"""Where the data files that come with the program lie: rules, prompts and the sample, in a checkout or installed."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

_PACKAGE = Path(__file__).parent
_BUNDLED = _PACKAGE / "_data"


def _find(folder: str, name: str) -> Path:
    beside = _PACKAGE.parent / folder / name
    return beside if beside.exists() else _BUNDLED / folder / name


def shared(name: str) -> Path:
    """Return the path of a rule or reference file."""
    return _find("shared", name)


def prompt(name: str) -> Path:
    """Return the path of a text that steers a model."""
    return _find("prompts", name)


def sample(name: str) -> Path:
    """Return the path of a file of the sample."""
    return _find("sample_media", name)


@cache
def table(name: str) -> dict[str, Any]:
    """Return a rule file of `shared/` as read from TOML; read once, not to be changed."""
    return tomllib.loads(shared(name).read_text(encoding="utf-8"))
