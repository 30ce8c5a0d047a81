"""A dropped file written to disk as it comes in: bounded, with the free space looked at first, all or nothing."""

import shutil
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path

import anyio

from studio.desk.guard import Refused
from studio.desk.shelf import CATALOGUES, RECORDINGS
from studio.text import plain

LARGEST = {"recording": 64 << 30, "catalogue": 64 << 20}
"""Bytes."""
SPARE = 256 << 20
"""Free space that is left alone, in bytes."""


async def take(root: Path, kind: str, name: str, length: int | None, body: AsyncIterator[bytes]) -> Path:
    """Write a file into a folder, under its own name or, where that is taken, one with a number.

    Args:
        root: the folder.
        kind: `recording` or `catalogue`.
        name: the name the file had; only its last part counts.
        length: how long it will be, where that is told.
        body: its content.

    Raises:
        Refused: an unknown kind of file, too large, no room for it, or the end did not come.
    """
    target = _target(root, kind, name)
    largest = LARGEST[kind]
    if length is None:
        raise Refused(411, "It was not told how large the file is.")
    if length > largest:
        raise Refused(413, f"{target.name} is larger than this page takes. Put it into the folder by hand.")
    if shutil.disk_usage(root).free < length + SPARE:
        raise Refused(
            507, f"There is not enough room on the disk for {target.name}. Free some space and drop it again."
        )
    with tempfile.NamedTemporaryFile(prefix=".incoming-", dir=root, delete=False) as half:
        path = Path(half.name)
    try:
        if await _written(path, body, length) != length:
            raise Refused(400, f"{target.name} did not arrive whole. Drop it again.")
        path.chmod(0o644)
        path.replace(target)
    finally:
        path.unlink(missing_ok=True)
    return target


async def _written(path: Path, body: AsyncIterator[bytes], length: int) -> int:
    taken = 0
    async with await anyio.open_file(path, "wb") as stream:
        async for block in body:
            taken += len(block)
            if taken > length:
                break
            await stream.write(block)
    return taken


def _target(root: Path, kind: str, name: str) -> Path:
    if kind not in LARGEST:
        raise Refused(400, "Only recordings and catalogues can be dropped here.")
    bare = plain(name.replace("\\", "/")).split("/")[-1].replace("\n", " ").strip().lstrip(".-")[:150]
    suffix = Path(bare).suffix.lower()
    if suffix not in (RECORDINGS if kind == "recording" else CATALOGUES):
        wanted = "a recording, or captions as .vtt or .srt" if kind == "recording" else "a CSV, .xlsx or .ods file"
        raise Refused(415, f"{bare or 'This file'} is not {wanted}.")
    free = (root / f"{Path(bare).stem}{f' {n}' if n else ''}{suffix}" for n in range(10_000))
    return next(path for path in free if not path.exists())
