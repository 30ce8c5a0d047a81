"""What lies in the folder of the desk: recordings, catalogues and folios, each called by an id and never by a path."""

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Literal

from studio import cache
from studio.errors import BonefolderError

Kind = Literal["recording", "catalogue", "folio"]
RECORDINGS = frozenset(
    ".mp4 .mov .m4v .mkv .webm .avi .mts .m2ts .mpg .mpeg .ogv .wmv .3gp .wav .mp3 .m4a .flac .ogg .vtt .srt".split()
)
CATALOGUES = frozenset(".csv .tsv .txt .xlsx .ods .xls".split())
DEEPEST = 3
"""Folders below the desk's folder are looked through this deep."""
_KEPT = ".bonefolder-desk.json"


class NotHere(BonefolderError):
    """An id that names nothing here."""


@dataclass(frozen=True)
class Shelved:
    """A recording, a catalogue or a folio in the folder of the desk."""

    id: str
    kind: Kind
    path: Path
    name: str


@dataclass(frozen=True)
class Remembered:
    """What is remembered from one time to the next: the id of the catalogue chosen, the nicknames with their codes."""

    catalogue: str = ""
    names: Mapping[str, str] = field(default_factory=dict)


class Shelf:
    """The things in a folder."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()

    def things(self) -> list[Shelved]:
        """Return everything that lies here, in order of name."""
        found = [self._thing(kind, path) for kind, path in _walk(self.root, 0) if self._inside(path)]
        return sorted(found, key=lambda thing: (thing.kind, thing.name.casefold()))

    def path(self, kind: Kind, name: str) -> Path:
        """Return where the thing with an id lies.

        Raises:
            NotHere: there is no such thing here, or no longer.
        """
        for thing in self.things():
            if thing.kind == kind and thing.id == name:
                return thing.path
        raise NotHere(f"There is no such {kind} here any more.", "Load the page again.")

    def remembered(self) -> Remembered:
        """Return what is remembered from one time to the next; what is not understood of it is passed over."""
        try:
            found = json.loads((self.root / _KEPT).read_bytes())
            names = {str(name): str(code) for name, code in found.get("names", {}).items()}
            return Remembered(str(found.get("catalogue", "")), names)
        except (OSError, ValueError, AttributeError, RecursionError):
            return Remembered()

    def remember(self, *, catalogue: str | None = None, names: Mapping[str, str] | None = None) -> None:
        """Remember the catalogue chosen, or more nicknames, for the next time."""
        known = self.remembered()
        chosen = known.catalogue if catalogue is None else catalogue
        kept = Remembered(chosen, {**known.names, **(names or {})})
        cache.write(self.root / _KEPT, json.dumps(asdict(kept), indent=1).encode())

    def id_of(self, path: Path) -> str:
        """Return the id of a path below the folder."""
        return hashlib.sha256(os.path.relpath(path, self.root).encode()).hexdigest()[:16]

    def _thing(self, kind: Kind, path: Path) -> Shelved:
        name = path.name if path != self.root else self.root.name
        return Shelved(self.id_of(path), kind, path, name)

    def _inside(self, path: Path) -> bool:
        return path.resolve().is_relative_to(self.root)


def _walk(folder: Path, depth: int) -> Iterator[tuple[Kind, Path]]:
    if (folder / "folio.json").is_file():
        yield "folio", folder
        if depth:
            return
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError:
        return
    is_folio = (folder / "folio.json").is_file()
    for entry in entries:
        path, suffix = folder / entry.name, Path(entry.name).suffix.lower()
        if entry.name.startswith(".") or entry.name in {"node_modules", "__pycache__"}:
            continue
        if entry.is_dir(follow_symlinks=False):
            if depth < DEEPEST:
                yield from _walk(path, depth + 1)
        elif entry.is_file() and not is_folio:
            if suffix in RECORDINGS:
                yield "recording", path
            elif suffix in CATALOGUES:
                yield "catalogue", path
