"""A journal of finished pieces of long work: one line each, safe against a kill at any moment."""

import json
import os
import zlib
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from studio import cache
from studio.errors import StorageError


class Journal:
    """An append-only file: a line is the CRC-32 of its JSON in eight hexadecimal digits, a space, and the JSON.

    The first line says what the work is. What follows is kept up to the first line that was not written whole.

    Attributes:
        records: the records that were found, and those appended since; the first is the opening one.
    """

    def __init__(self, path: Path, records: list[Any], length: int) -> None:
        self.records = records
        self._path = path
        self._stream = path.open("r+b")
        self._stream.truncate(length)
        self._stream.seek(length)

    @classmethod
    def resumed(cls, path: Path, work: str) -> "Journal | None":
        """Open the journal of this work, without its torn end; None where there is none, or one of other work."""
        records, length = _whole(path)
        ours = records and isinstance(records[0], dict) and records[0].get("work") == work
        return cls(path, records, length) if ours else None

    @classmethod
    def begun(cls, path: Path, work: str, plan: Any) -> "Journal":  # noqa: ANN401  (any JSON)
        """Write a new journal, whose first line holds the name of the work and its plan.

        Raises:
            StorageError: the disk refused.
        """
        opening = {"work": work, "plan": plan}
        line = _line(opening)
        cache.write(path, line)
        return cls(path, [opening], len(line))

    def keep(self, count: int) -> None:
        """Drop every record after the first `count`."""
        length = sum(len(_line(record)) for record in self.records[:count])
        del self.records[count:]
        self._stream.truncate(length)
        self._stream.seek(length)

    def append(self, records: Iterable[Any]) -> None:
        """Add records; when this returns they will survive a power cut.

        Raises:
            StorageError: the disk refused.
        """
        new = list(records)
        try:
            self._stream.write(b"".join(map(_line, new)))
            self._stream.flush()
            _to_disk(self._stream.fileno())
        except OSError as error:
            raise StorageError(
                f"{self._path.name} could not be written: {error.strerror or error}.",
                "Free some space, then run the same command again; it goes on where it stopped.",
            ) from error
        self.records += new

    def __enter__(self) -> Self:
        """Give the journal; it is closed at the end of the block."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None:
        """Close the file; a full disk has been told of already."""
        try:
            self._stream.close()
        except OSError:
            if error is None:
                raise


def _to_disk(handle: int) -> None:
    getattr(os, "fdatasync", os.fsync)(handle)


def _line(record: Any) -> bytes:  # noqa: ANN401
    body = json.dumps(record, separators=(",", ":"), ensure_ascii=True).encode()
    return b"%08x %s\n" % (zlib.crc32(body), body)


def _whole(path: Path) -> tuple[list[Any], int]:
    """Return the records before the first damaged line, and how many bytes they take."""
    try:
        data = path.read_bytes()
    except OSError:
        return [], 0
    records: list[Any] = []
    length = 0
    for line in data.splitlines(keepends=True):
        record = _read(line)
        if record is None:
            break
        records.append(record)
        length += len(line)
    return records, length


def _read(line: bytes) -> Any:  # noqa: ANN401
    if not line.endswith(b"\n") or line[8:9] != b" ":
        return None
    body = line[9:-1]
    return json.loads(body) if b"%08x" % zlib.crc32(body) == line[:8] else None
