"""Stage results on disk, named by what they were made from, written all or nothing."""

import hashlib
import json
import os
import tempfile
import zlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter

from studio.errors import RecordingError, StorageError

T = TypeVar("T")
_BLOCK = 1 << 20
_HEAD = 100
"""The first line of a result is shorter than this."""


def write(path: Path, data: bytes) -> None:
    """Write a file all or nothing: a temporary file beside it, fsync, rename, fsync of the folder.

    Raises:
        StorageError: the disk refused; what stood there before still stands.
    """
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".tmp-", dir=path.parent)
        temporary = Path(name)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.chmod(0o644)
        temporary.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise StorageError(
            f"{path.name} could not be written: {error.strerror or error}.",
            "Free some space or choose another folder, then run the same command again; nothing that was done is lost.",
        ) from error


def sync_folder(folder: Path) -> None:
    """Make a rename inside the folder last through a power cut, where the system can."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def digest(data: bytes) -> str:
    """Return the sha256 of some bytes in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def file_digest(path: Path) -> str:
    """Return the sha256 of a file, read in blocks."""
    total = hashlib.sha256()
    with path.open("rb") as stream:
        while block := stream.read(_BLOCK):
            total.update(block)
    return total.hexdigest()


class Digests:
    """The sha256 of files, remembered by place, size and time in a file, so that a big one is not read again."""

    def __init__(self, memory: Path) -> None:
        self._memory = memory
        self._known = _read_memory(memory)
        self._changed = False

    def of(self, path: Path) -> str:
        """Return the sha256 of a file, read where it is not known.

        Raises:
            RecordingError: the file cannot be read.
        """
        try:
            known = self.known(path)
            if known is None:
                facts = path.stat()
                known = file_digest(path)
                self._known[str(path.resolve())] = [facts.st_size, facts.st_mtime_ns, known]
                self._changed = True
            return known
        except OSError as error:
            raise RecordingError(
                f"{path.name} cannot be opened: {error.strerror or error}.", "Check the name and the folder."
            ) from error

    def known(self, path: Path) -> str | None:
        """Return the sha256 of a file where it is known; the file is not read.

        Raises:
            OSError: there is no such file.
        """
        facts = path.stat()
        kept = self._known.get(str(path.resolve()), [])
        return str(kept[2]) if len(kept) == 3 and kept[:2] == [facts.st_size, facts.st_mtime_ns] else None

    def keep(self) -> None:
        """Write down what was learnt.

        Raises:
            StorageError: the disk refused.
        """
        if self._changed:
            write(self._memory, json.dumps(self._known).encode())
            self._changed = False


def _read_memory(memory: Path) -> dict[str, list[Any]]:
    try:
        known = json.loads(memory.read_bytes())
    except (OSError, ValueError):
        return {}
    return {place: row for place, row in known.items() if isinstance(row, list)} if isinstance(known, dict) else {}


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:  # noqa: ANN401  (any type that pydantic can describe)
    return TypeAdapter(kind)


def to_bytes(value: object, kind: Any) -> bytes:  # noqa: ANN401  (any type that pydantic can describe)
    """Return a stage result as canonical JSON: the same value gives the same bytes."""
    return _adapter(kind).dump_json(value)


def from_bytes(data: bytes, kind: Any) -> Any:  # noqa: ANN401
    """Return a stage result from its JSON.

    Raises:
        ValidationError: it is none.
    """
    return _adapter(kind).validate_json(data)


def key(
    stage: str, version: int, inputs: Mapping[str, str], choices: Mapping[str, str], read: Mapping[str, str]
) -> str:
    """Return the name of a result: a digest of all that it was made from.

    Args:
        stage: name of the function.
        version: raised whenever the function changes.
        inputs: what it is given -> digest.
        choices: the settings that it reads, as text.
        read: the data files of the program that it reads -> digest.
    """
    made_from = [stage, version, *(sorted(told.items()) for told in (inputs, choices, read))]
    return digest(json.dumps(made_from, separators=(",", ":")).encode())


class Cache:
    """Stage results in one folder; one file a result, `<stage>-<key>.result`.

    The first line holds the sha256 and the length of what follows, which is JSON, and its own checksum.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, stage: str, name: str) -> Path:
        """Return where the result of a stage lies."""
        return self.folder / f"{stage}-{name[:32]}.result"

    def digest(self, stage: str, name: str) -> str | None:
        """Return the digest of a result that is there in its full length, without reading it; else None."""
        path = self.path(stage, name)
        try:
            with path.open("rb") as stream:
                head = stream.readline(_HEAD)
            told, length = _told(head)
            return told if path.stat().st_size == len(head) + length else None
        except (OSError, ValueError):
            return None

    def load(self, stage: str, name: str, kind: Any) -> tuple[Any, str] | None:  # noqa: ANN401
        """Return a result and its digest, or None where there is none, or it is not what was written."""
        try:
            head, _, data = self.path(stage, name).read_bytes().partition(b"\n")
            told, _ = _told(head)
            return (from_bytes(data, kind), told) if digest(data) == told else None
        except (OSError, ValueError):
            return None

    def save(self, stage: str, name: str, value: object, kind: Any) -> str:  # noqa: ANN401
        """Keep a result, and return its digest."""
        data = to_bytes(value, kind)
        told = digest(data)
        write(self.path(stage, name), _head(told, len(data)) + data)
        return told

    def keep_only(self, used: set[Path]) -> None:
        """Drop everything that the last run did not use."""
        for old in set(self.folder.glob("*")) - used:
            old.unlink(missing_ok=True)


def _head(digest: str, length: int) -> bytes:
    told = b"%s %d" % (digest.encode(), length)
    return b"%s %08x\n" % (told, zlib.crc32(told))


def _told(head: bytes) -> tuple[str, int]:
    """Return the digest and the length that a first line tells.

    Raises:
        ValueError: it is no such line, or it is damaged.
    """
    told, _, check = head.rstrip(b"\n").rpartition(b" ")
    digest, length = told.decode().split()
    if check != b"%08x" % zlib.crc32(told):
        raise ValueError("a damaged first line")
    return digest, int(length)
