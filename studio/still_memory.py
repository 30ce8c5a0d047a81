"""What was seen of a recording when stills were chosen, so that after a decision little is looked at again."""

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from studio import cache, media

_NAME = "stills/seen.json"
Shots = tuple[list[int], tuple[media.Figures, ...]]
"""The times of the frames of a stretch, and how good each is."""


Row = tuple[int, float, float, float, str]
"""Time, sharpness, exposure, motion and look of a frame, as they stand in the file."""


@dataclass(frozen=True)
class _Seen:
    looked: dict[str, list[Row]]
    written: dict[str, int]


class StillMemory:
    """The figures of stretches that were looked at, and the pictures that were written; of one recording only."""

    def __init__(self, source: Path, folder: Path, version: int) -> None:
        facts = source.stat()
        self._of = [version, facts.st_size, facts.st_mtime_ns]
        self._folder = folder
        self._before = _read(folder / _NAME, self._of)
        self._now = _Seen({}, {})

    def looked(self, start_ms: int, end_ms: int, look: Callable[[], Shots]) -> Shots:
        """Return the figures of a stretch, from memory where it was looked at before."""
        key = f"{start_ms}-{end_ms}"
        kept = self._before.looked.get(key)
        shots = _shots(kept) if kept is not None else look()
        self._now.looked[key] = _rows(shots)
        return shots

    def written(self, name: str, start_ms: int) -> bool:
        """Return whether a picture was written from the same stretch of the same recording."""
        return self._before.written.get(name) == start_ms and (self._folder / name).exists()

    def take(self, name: str, start_ms: int) -> None:
        """Take note that a picture is there."""
        self._now.written[name] = start_ms

    def close(self) -> None:
        """Keep what was used this time, and drop the pictures that were not.

        Raises:
            StorageError: the disk refused.
        """
        for path in (self._folder / "stills").glob("*.jpg"):
            if f"stills/{path.name}" not in self._now.written:
                path.unlink(missing_ok=True)
        cache.write(self._folder / _NAME, json.dumps({"of": self._of, **asdict(self._now)}).encode())


def _read(path: Path, of: Sequence[int]) -> _Seen:
    try:
        found = json.loads(path.read_bytes())
        return _Seen(found["looked"], found["written"]) if found["of"] == of else _Seen({}, {})
    except (OSError, ValueError, KeyError, TypeError):
        return _Seen({}, {})


def _rows(shots: Shots) -> list[Row]:
    return [(at, one.sharpness, one.exposure, one.motion, one.look.hex()) for at, one in zip(*shots, strict=True)]


def _shots(rows: Sequence[Row]) -> Shots:
    figures = tuple(
        media.Figures(sharp, exposure, motion, bytes.fromhex(look)) for _, sharp, exposure, motion, look in rows
    )
    return [row[0] for row in rows], figures
