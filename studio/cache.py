"""Stage results on disk, named by what they were made from, written all or nothing."""

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from studio.errors import RecordingError, StorageError

T = TypeVar("T")
_BLOCK = 1 << 20


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


def remembered_digest(path: Path, memory: Path) -> str:
    """Return the sha256 of a file; one of the same place, size and time as in the memory file is not read again.

    Raises:
        RecordingError: the file cannot be read.
    """
    try:
        facts = path.stat()
        place, stamp = str(path.resolve()), [facts.st_size, facts.st_mtime_ns]
        known = _read_memory(memory)
        if known.get(place, [])[:2] != stamp:
            known[place] = [*stamp, file_digest(path)]
            write(memory, json.dumps(known).encode())
        return str(known[place][2])
    except OSError as error:
        raise RecordingError(
            f"{path.name} cannot be opened: {error.strerror or error}.", "Check the name and the folder."
        ) from error


def _read_memory(memory: Path) -> dict[str, list[Any]]:
    try:
        known = json.loads(memory.read_bytes())
    except (OSError, ValueError):
        return {}
    return known if isinstance(known, dict) else {}


def to_bytes(value: object, kind: Any) -> bytes:  # noqa: ANN401  (any type that pydantic can describe)
    """Return a stage result as canonical JSON: the same value gives the same bytes."""
    return TypeAdapter[Any](kind).dump_json(value)


def key(stage: str, version: int, inputs: Mapping[str, str], choices: Mapping[str, str]) -> str:
    """Return the name of a result: a digest of the stage, its version, its inputs' digests and the choices it reads."""
    made_from = [stage, version, sorted(inputs.items()), sorted(choices.items())]
    return digest(json.dumps(made_from, separators=(",", ":")).encode())


class Cache:
    """Stage results in one folder; one file a result, `<stage>-<key>.json`."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, stage: str, name: str) -> Path:
        """Return where the result of a stage lies."""
        return self.folder / f"{stage}-{name[:32]}.json"

    def load(self, stage: str, name: str, kind: Any) -> tuple[Any, str] | None:  # noqa: ANN401
        """Return a result and the digest of its bytes, or None where there is none that can be read."""
        try:
            data = self.path(stage, name).read_bytes()
            return TypeAdapter[Any](kind).validate_json(data), digest(data)
        except (OSError, ValidationError):
            return None

    def save(self, stage: str, name: str, value: object, kind: Any) -> str:  # noqa: ANN401
        """Keep a result, and return the digest of its bytes."""
        data = to_bytes(value, kind)
        write(self.path(stage, name), data)
        return digest(data)

    def keep_only(self, used: set[Path]) -> None:
        """Drop every result that the last run did not use."""
        for old in set(self.folder.glob("*.json")) - used:
            old.unlink(missing_ok=True)
