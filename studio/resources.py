"""Where the data files that come with the program lie: rules, prompts and the sample, in a checkout or installed."""

import hashlib
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

_PACKAGE = Path(__file__).parent
_BUNDLED = _PACKAGE / "_data"
_BLOCK = 1 << 20


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
    return tomllib.loads(_content(name).decode())


@cache
def digest(name: str) -> str:
    """Return the sha256 of a file of `shared/`, or of all files of a folder there, as this process reads them.

    Args:
        name: a rule file without its ending, as `cues`; or a folder, as that of a model. It is computed once.
    """
    if shared(f"{name}.toml").is_file():
        return hashlib.sha256(_content(f"{name}.toml")).hexdigest()
    folder, total = shared(name), hashlib.sha256()
    for path in sorted(folder.rglob("*") if folder.is_dir() else [folder]):
        if path.is_file():
            total.update(f"{path.relative_to(folder.parent)} {_file_digest(path)}\n".encode())
    return total.hexdigest()


@cache
def _content(name: str) -> bytes:
    """Return a rule file; what is read from it and its digest are of the same bytes, whatever happens to the file."""
    return shared(name).read_bytes()


def _file_digest(path: Path) -> str:
    total = hashlib.sha256()
    with path.open("rb") as stream:
        while block := stream.read(_BLOCK):
            total.update(block)
    return total.hexdigest()
