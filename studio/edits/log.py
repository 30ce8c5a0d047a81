"""`edits.jsonl`: decisions appended one a line, each behind its checksum, read up to the first damaged line."""

import os
import zlib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from filelock import FileLock
from pydantic import ValidationError

from studio import cache
from studio.edits.kinds import EDIT, Edit, Undo
from studio.errors import StorageError


@dataclass(frozen=True)
class Edits:
    """All decisions about one recording, in the order in which they were made."""

    made: tuple[Edit, ...] = ()
    damage: str = ""
    """What could not be read, in a sentence; empty where all is well."""

    @cached_property
    def in_force(self) -> tuple[Edit, ...]:
        """The decisions that stand: without those taken back and those set aside."""
        undone: set[str] = set()
        for edit in reversed(self.made):
            if isinstance(edit, Undo) and edit.id not in undone:
                undone.add(edit.target)
        return tuple(e for e in self.made if e.id not in undone and e.kind not in {"undo", "set_aside"})

    @property
    def version(self) -> str:
        """A name for this state of the decisions."""
        return f"{len(self.made)}-{self.made[-1].id}" if self.made else "0"

    def since(self, version: str) -> tuple[Edit, ...] | None:
        """Return the decisions that were made after a version, or None where there never was such a version."""
        if version == "0":
            return self.made
        count, _, last = version.partition("-")
        place = int(count) if count.isdigit() else 0
        known = 0 < place <= len(self.made) and self.made[place - 1].id == last
        return self.made[place:] if known else None


def load(path: Path) -> Edits:
    """Read the decisions; a missing file holds none, and what follows a damaged line is not trusted."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return Edits()
    edits, length, unknown = _whole(data)
    damage = ""
    if length < len(data):
        damage = f"{path.name} is damaged after {len(edits) + unknown} decisions; those before it stand."
    elif unknown:
        damage = f"{unknown} decisions in {path.name} were made by another version of the program; they are kept."
    return Edits(tuple(edits), damage)


def append(path: Path, edit: Edit) -> Edits:
    """Add a decision; when this returns it will survive a power cut.

    A damaged end is first put aside as `edits.damaged.jsonl`, so that nothing is written behind it.

    Returns:
        All decisions, the new one last.

    Raises:
        StorageError: the disk refused.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with FileLock(path.with_name(f".{path.name}.lock")):
            data = path.read_bytes() if path.exists() else b""
            edits, length, _ = _whole(data)
            _put_aside(path, data, length)
            with path.open("ab") as stream:
                stream.write(line(edit))
                stream.flush()
                os.fsync(stream.fileno())
            return Edits((*edits, edit))
    except OSError as error:
        raise StorageError(
            f"Your decision could not be written: {error.strerror or error}.", "Free some space, then decide again."
        ) from error


def line(edit: Edit) -> bytes:
    """Return a decision as its line: the CRC-32 of its JSON in eight hexadecimal digits, a space, the JSON."""
    text = EDIT.dump_json(edit)
    return b"%08x %s\n" % (zlib.crc32(text), text)


def _whole(data: bytes) -> tuple[list[Edit], int, int]:
    """Return the decisions up to the first damaged line, its place in bytes, and how many of them are not known."""
    edits: list[Edit] = []
    length = unknown = 0
    for raw in data.splitlines(keepends=True):
        if not _sound(raw):
            break
        length += len(raw)
        try:
            edits.append(EDIT.validate_json(raw[9:]))
        except ValidationError:
            unknown += 1
    return edits, length, unknown


def _sound(raw: bytes) -> bool:
    try:
        return raw.endswith(b"\n") and raw[8:9] == b" " and int(raw[:8], 16) == zlib.crc32(raw[9:-1])
    except ValueError:
        return False


def _put_aside(path: Path, data: bytes, length: int) -> None:
    if length == len(data):
        return
    aside = path.with_name(f"{path.stem}.damaged{path.suffix}")
    cache.write(aside, (aside.read_bytes() if aside.exists() else b"") + data[length:])
    cache.write(path, data[:length])
