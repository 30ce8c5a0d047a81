"""`edits.jsonl`: decisions appended one a line, each behind its checksum; a bad line costs that line and is told."""

import codecs
import os
import re
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from filelock import FileLock
from pydantic import ValidationError

from studio import cache
from studio.edits.kinds import EDIT, DamageSeen, Edit, Undo
from studio.errors import StorageError

_BREAK = re.compile(rb"\r\n?|\n|[^\r\n](?=[0-9a-f]{8} \{\")")
"""The end of a line as any editor writes it; or a byte that took its place, told by the checksum that follows it."""


@dataclass(frozen=True)
class Edits:
    """All decisions about one recording, in the order in which they were made."""

    made: tuple[Edit, ...] = ()
    damage: str = ""
    """What could not be read and was not looked at yet, in a sentence or two; empty where all is well."""
    lost: tuple[str, ...] = ()
    """The lines that `damage` tells of, by the CRC-32 of each; what a person has to have looked at."""

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
    """Read the decisions; a missing file holds none, and a line that is damaged is passed over and told."""
    try:
        return _read(path.read_bytes(), path.name)
    except FileNotFoundError:
        return Edits()


def append(path: Path, edit: Edit) -> Edits:
    """Add a decision; when this returns it will survive a power cut.

    Nothing that stands in the file is changed; behind a torn end a new line is begun.

    Returns:
        All decisions, the new one last.

    Raises:
        StorageError: the disk refused; the file is as it was.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with FileLock(path.with_name(f".{path.name}.lock")):
            data = path.read_bytes() if path.exists() else b""
            new = (b"\n" if data and not data.endswith(b"\n") else b"") + line(edit)
            _add(path, new, len(data))
            return _read(data + new, path.name)
    except OSError as error:
        raise StorageError(
            f"Your decision could not be written: {error.strerror or error}.", "Free some space, then decide again."
        ) from error


def line(edit: Edit) -> bytes:
    """Return a decision as its line: the CRC-32 of its JSON in eight hexadecimal digits, a space, the JSON."""
    text = EDIT.dump_json(edit)
    return b"%08x %s\n" % (zlib.crc32(text), text)


def _add(path: Path, new: bytes, length: int) -> None:
    """Write behind what is there, whole or not at all."""
    with path.open("ab") as stream:
        try:
            stream.write(new)
            stream.flush()
            os.fsync(stream.fileno())
        except OSError:
            with suppress(OSError):
                os.truncate(path, length)
            raise
    if not length:
        cache.sync_folder(path.parent)


def _read(data: bytes, name: str) -> Edits:
    made: list[Edit] = []
    bad: list[tuple[int, bytes]] = []
    unknown: list[bytes] = []
    for number, raw in _lines(data.removeprefix(codecs.BOM_UTF8)):
        if not _sound(raw):
            bad.append((number, raw))
            continue
        try:
            made.append(EDIT.validate_json(raw[9:]))
        except ValidationError:
            unknown.append(raw)
    read = Edits(tuple(made))
    seen = {one for edit in read.in_force if isinstance(edit, DamageSeen) for one in edit.lines}
    bad = [(number, raw) for number, raw in bad if _mark(raw) not in seen]
    unknown = [raw for raw in unknown if _mark(raw) not in seen]
    told = (_told(name, [number for number, _ in bad]), _foreign(name, len(unknown)))
    lost = (*(raw for _, raw in bad), *unknown)
    return Edits(read.made, " ".join(filter(None, told)), tuple(map(_mark, lost)))


def _lines(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield what may be a decision, with the number of its line; lines without anything are passed over."""
    start, number = 0, 1
    for end in [*_BREAK.finditer(data), None]:
        raw = data[start : end.start() if end else len(data)]
        if raw.strip():
            yield number, raw
        if end:
            start, number = end.end(), number + (end[0].strip() == b"")


def _sound(raw: bytes) -> bool:
    try:
        return raw[8:9] == b" " and int(raw[:8], 16) == zlib.crc32(raw[9:])
    except ValueError:
        return False


def _mark(raw: bytes) -> str:
    return f"{zlib.crc32(raw):08x}"


def _told(name: str, numbers: list[int]) -> str:
    if not numbers:
        return ""
    *first, last = map(str, numbers)
    told = f"Lines {', '.join(first)} and {last} of {name} are" if first else f"Line {last} of {name} is"
    return (
        f"{told} damaged and what was decided there is lost; all other decisions stand. "
        "Decide that anew, then say at the desk that you have looked at it."
    )


def _foreign(name: str, count: int) -> str:
    if not count:
        return ""
    return f"{count} decisions in {name} were made by another version of the program; they are kept."
