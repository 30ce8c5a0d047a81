"""What is told of the reader's files beside them, and the check that they are the ones that were trained together.

`about.json` also keeps what was set for these very weights: the `temperature` by which meanings are made less sure.
"""

import json
from datetime import date
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, TypedDict

from studio.errors import ReaderDamaged
from studio.reader.pieces import HEADS
from studio.reader.rows import EVIDENCE

NAME = "about.json"
"""The file that tells of the others."""
FILES = ("reader.onnx", "evidence.npz", "tokenizer.json")
"""The files of the reader."""
BASE = {"name": "sentence-transformers/all-MiniLM-L6-v2", "licence": "Apache-2.0"}
"""What the network was trained from."""
SET = {"temperature": 1.0}
"""What holds where nothing else was set for the weights."""


class About(TypedDict):
    """What `about.json` tells."""

    date: str
    base: dict[str, str]
    examples: str
    """The digest of what was learnt from."""
    heads: dict[str, list[str]]
    evidence: list[str]
    temperature: float
    """By which the logarithms of the meanings are divided."""
    files: dict[str, dict[str, int | str]]


def write(folder: Path, examples: str, day: date) -> None:
    """Write what is told of the files in a folder; what was set for them stays.

    Args:
        folder: holds `FILES`.
        examples: the digest of what was learnt from.
        day: when the files were made.
    """
    path = folder / NAME
    kept = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else {}
    told = {
        "date": day.isoformat(), "base": BASE, "examples": examples, "heads": HEADS, "evidence": EVIDENCE,
        **{name: kept.get(name, value) for name, value in SET.items()},
        "files": {name: _seal(folder / name) for name in FILES},
    }  # fmt: skip
    path.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def _seal(path: Path) -> dict[str, Any]:
    held = path.read_bytes()
    return {"size": len(held), "sha256": sha256(held).hexdigest()}


@cache
def checked(folder: Path) -> About:
    """Return what is told of the reader's files, once they are found to be the ones that it is told of.

    Raises:
        ReaderDamaged: a file is missing or another one, or its labels are not those of this program.
    """
    try:
        told = json.loads((folder / NAME).read_text(encoding="utf-8"))
        changed = [name for name in FILES if _differs(folder / name, told["files"][name])]
        heads = {name: tuple(labels) for name, labels in told["heads"].items()}
        evidence = tuple(told["evidence"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise ReaderDamaged(f"The reader's files in {folder} cannot be read ({type(error).__name__}).") from error
    if changed:
        raise ReaderDamaged(f"The reader's file {changed[0]} in {folder} is not the one that came with the program.")
    if list(heads.items()) != list(HEADS.items()) or evidence != EVIDENCE:
        raise ReaderDamaged(f"The reader in {folder} was trained for other labels than this program knows.")
    made: About = SET | told
    return made


def _differs(path: Path, seal: dict[str, Any]) -> bool:
    return path.stat().st_size != seal["size"] or _seal(path) != seal
