"""Stage results on disk, named by what they were made from, written all or nothing."""

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from studio.errors import StorageError

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
        """Keep a result, drop older ones of the same stage, and return the digest of its bytes."""
        data = to_bytes(value, kind)
        write(self.path(stage, name), data)
        for old in self.folder.glob(f"{stage}-*.json"):
            if old != self.path(stage, name):
                old.unlink(missing_ok=True)
        return digest(data)
