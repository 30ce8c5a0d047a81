"""All folios of a folder: search in what was said and shown, and what a new catalogue has retired.

The folios are the truth; the index is one SQLite file beside them, `.bonefolder-index`, free to be deleted. Where the
disk refuses it, it is made in memory and forgotten afterwards.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from studio import folio, supplies
from studio.errors import BonefolderError, FolioDamaged
from studio.model import Catalogue, Document

INDEX = ".bonefolder-index"
_TABLES = """
CREATE TABLE IF NOT EXISTS folio (id INTEGER PRIMARY KEY, path TEXT UNIQUE, stamp TEXT, source TEXT);
CREATE TABLE IF NOT EXISTS item (folio INTEGER, code TEXT, name TEXT, at_ms INTEGER);
CREATE INDEX IF NOT EXISTS item_code ON item (code);
CREATE VIRTUAL TABLE IF NOT EXISTS said USING fts5 (
    text, folio UNINDEXED, at_ms UNINDEXED, tokenize = 'porter unicode61'
);
"""


@dataclass(frozen=True)
class Hit:
    """A place in a recording: the folio's folder, the recording, the time, and the words around."""

    folder: Path
    source: str
    at_ms: int
    text: str


@dataclass(frozen=True)
class Stale:
    """An item of an older folio that the catalogue of today no longer sells as it did."""

    folder: Path
    source: str
    at_ms: int
    code: str
    name: str
    why: str
    substitute: str


def folios(root: Path) -> Iterator[Path]:
    """Yield the folders below a folder that hold a folio, in order."""
    for path in sorted(root.rglob("folio.json")):
        if ".work" not in path.parts:
            yield path.parent


def find(root: Path, words: str, most: int = 20) -> list[Hit]:
    """Return the places where all the words were said or the item of that name was shown, the best first.

    Raises:
        FolioDamaged: a folio below the folder cannot be read.
    """
    query = " ".join(f'"{word}"' for word in words.replace('"', " ").split())
    if not query:
        return []
    select = """SELECT path, source, at_ms, snippet(said, 0, '', '', ' … ', 16) FROM said
                JOIN folio ON folio.id = said.folio WHERE said MATCH ? ORDER BY bm25(said), path, at_ms LIMIT ?"""
    with closing(_index(root)) as index:
        return [Hit(root / path, *rest) for path, *rest in index.execute(select, (query, most))]


def retired(root: Path, catalogue: Catalogue, on: date) -> list[Stale]:
    """Return what older folios show that is not sold or not listed on a day, with the catalogue's substitute."""
    products = catalogue.by_code()
    found = []
    with closing(_index(root)) as index:
        rows = index.execute("SELECT path, source, at_ms, code, name FROM item JOIN folio ON folio.id = item.folio")
        for path, source, at_ms, code, name in rows:
            product = products.get(code)
            why = "not in the catalogue" if product is None else _why(supplies.availability(product, on))
            if why:
                substitute = product.substitute if product else ""
                found.append(Stale(root / path, source, at_ms, code, name, why, substitute))
    return sorted(found, key=lambda stale: (stale.code, stale.folder, stale.at_ms))


def _why(availability: supplies.Availability) -> str:
    return {"retired": "retired", "not_yet": "not on sale yet"}.get(availability, "")


def _index(root: Path) -> sqlite3.Connection:
    if not root.is_dir():
        raise BonefolderError(f"There is no folder {root}.", "Name the folder that your folios are in.")
    path = root / INDEX
    try:
        if path.is_symlink():
            path.unlink()
        return _refreshed(root, path)
    except (sqlite3.DatabaseError, OSError):
        return _anew(root, path)


def _anew(root: Path, path: Path) -> sqlite3.Connection:
    """Return the index made again, after the file could not be used."""
    try:
        path.unlink(missing_ok=True)
        return _refreshed(root, path)
    except (sqlite3.DatabaseError, OSError):
        return _refreshed(root, ":memory:")


def _refreshed(root: Path, place: Path | str) -> sqlite3.Connection:
    index = sqlite3.connect(place)
    try:
        _refresh(index, root)
    except BaseException:
        index.close()
        raise
    return index


def _refresh(index: sqlite3.Connection, root: Path) -> None:
    with index:
        index.executescript(_TABLES)
        known = {path: (key, stamp) for key, path, stamp in index.execute("SELECT id, path, stamp FROM folio")}
        there = {str(folder.relative_to(root)): folder for folder in folios(root)}
        stamps = {path: _stamp(folder) for path, folder in there.items()}
        _forget(index, (key for path, (key, stamp) in known.items() if stamps.get(path) != stamp))
        for path, stamp in stamps.items():
            if known.get(path, (0, ""))[1] != stamp:
                _add(index, path, stamp, folio.read(there[path]))


def _stamp(folder: Path) -> str:
    try:
        facts = (folder / "folio.json").stat()
    except OSError as error:
        raise FolioDamaged(f"{folder} cannot be read.", "Check that you may open it.") from error
    return f"{facts.st_size}-{facts.st_mtime_ns}"


def _forget(index: sqlite3.Connection, keys: Iterable[int]) -> None:
    for key in keys:
        for statement in ("DELETE FROM folio WHERE id = ?", "DELETE FROM item WHERE folio = ?"):
            index.execute(statement, (key,))
        index.execute("DELETE FROM said WHERE folio = ?", (key,))


def _add(index: sqlite3.Connection, path: str, stamp: str, document: Document) -> None:
    put = "INSERT INTO folio (path, stamp, source) VALUES (?, ?, ?)"
    key = index.execute(put, (path, stamp, document.recording.source)).lastrowid
    said = [(sentence.text, key, sentence.start_ms) for sentence in document.sentences]
    shown = [(f"{row.name} {row.code or ''}", key, row.first_shown_ms) for row in document.supplies]
    index.executemany("INSERT INTO said (text, folio, at_ms) VALUES (?, ?, ?)", said + shown)
    items = [(key, row.code, row.name, row.first_shown_ms) for row in document.supplies if row.code]
    index.executemany("INSERT INTO item (folio, code, name, at_ms) VALUES (?, ?, ?, ?)", items)
