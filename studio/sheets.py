"""A table file, CSV or spreadsheet, to rows of text with their numbers and what was wrong in reading them."""

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any, NamedTuple

from studio.errors import CatalogueError
from studio.text import one_line, plain

SPREADSHEETS = {".xlsx", ".xlsm", ".xls", ".xlsb", ".ods"}
LARGEST_BYTES = 300_000_000
MOST_UNPACKED = 200_000_000
MOST_MEMBERS = 2000
MOST_ROWS = 250_000
MOST_COLUMNS = 200
LONGEST_FIELD = 500
MOST_LINES = 30
"""Line breaks that one cell may hold, in a file that is not well quoted throughout."""
_SAVE_AS = "Save it again as CSV (UTF-8) or .xlsx from your spreadsheet program."


class Row(NamedTuple):
    """A row of cells and its number in the file, counted from 1."""

    number: int
    cells: list[str]


class Trouble(NamedTuple):
    """Something wrong in reading: the row, what, and what to do."""

    row: int
    problem: str
    remedy: str


def read(path: Path) -> tuple[list[Row], list[Trouble]]:
    """Return the rows of the first sheet or of the CSV file; empty rows are left out.

    Raises:
        CatalogueError: the file is missing, too large, no table, or a damaged or hostile spreadsheet.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise CatalogueError(f"{path.name} is too large for a catalogue.", "Give the list of products alone.")
        rows, troubles = (
            _spreadsheet(path) if path.suffix.lower() in SPREADSHEETS else _csv(path.read_bytes(), path.name)
        )
    except OSError as error:
        raise CatalogueError(
            f"The catalogue {path} cannot be opened: {error.strerror or error}.", "Check its name and folder."
        ) from error
    rows = [row for row in rows if any(row.cells)]
    troubles += _noted(rows)
    for row in rows:
        if not "".join(row.cells).isprintable():
            row.cells[:] = [cell if cell.isprintable() else one_line(cell) for cell in row.cells]
    return rows, troubles


def _noted(rows: list[Row]) -> list[Trouble]:
    """Tell of cells that are used, but are strange."""
    found = []
    for row in rows:
        together = "".join(row.cells)
        if len(together) <= LONGEST_FIELD and together.isprintable():
            continue
        for cell in row.cells:
            if len(cell) > LONGEST_FIELD:
                what = f"A cell holds {len(cell)} characters, beginning {one_line(cell[:30])!r}."
                found.append(Trouble(row.number, what, "Check that no quote sign is missing in it."))
            if not cell.isprintable() and plain(cell) != cell:
                found.append(
                    Trouble(row.number, "A cell holds control characters; they were left out.", "Type it anew.")
                )
    return found


# --- spreadsheets ----------------------------------------------------------------------------------------------------


def _spreadsheet(path: Path) -> tuple[list[Row], list[Trouble]]:
    from python_calamine import CalamineError, CalamineWorkbook

    _refuse_bombs(path)
    try:
        book = CalamineWorkbook.from_path(str(path))
        cells = book.get_sheet_by_index(0).to_python(skip_empty_area=False)
        others = [name for name in book.sheet_names[1:] if book.get_sheet_by_name(name).height]
    except (CalamineError, OSError, IndexError, ValueError) as error:
        raise CatalogueError(f"{path.name} is no spreadsheet that can be read.", _SAVE_AS) from error
    _refuse_size(path.name, len(cells), max((len(row) for row in cells), default=0))
    what = f"Only the first sheet was read; the file also has {', '.join(map(repr, others))}."
    troubles = [Trouble(1, what, "Put all products on the first sheet, or leave it if they are.")] if others else []
    return [Row(number, [_cell(cell) for cell in row]) for number, row in enumerate(cells, 1)], troubles


def _refuse_bombs(path: Path) -> None:
    if not zipfile.is_zipfile(path):
        return
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
    except zipfile.BadZipFile as error:
        raise CatalogueError(f"{path.name} is no spreadsheet that can be read.", _SAVE_AS) from error
    if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > MOST_UNPACKED:
        raise CatalogueError(f"{path.name} unpacks to more than a catalogue can hold.", _SAVE_AS)


def _refuse_size(name: str, rows: int, columns: int) -> None:
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        raise CatalogueError(f"{name} has {rows} rows and {columns} columns.", "Give the list of products alone.")


def _cell(value: Any) -> str:  # noqa: ANN401  (whatever a spreadsheet holds)
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, float):
        return f"{value:.4f}".rstrip("0")
    if isinstance(value, datetime):
        return value.date().isoformat()
    return value.isoformat() if isinstance(value, date) else str(value).strip()


# --- CSV -------------------------------------------------------------------------------------------------------------


def _csv(data: bytes, name: str) -> tuple[list[Row], list[Trouble]]:
    text = _decoded(data, name)
    delimiter, skipped = _delimiter(text)
    troubles: list[Trouble] = []
    try:
        rows = list(_records(text, delimiter))
    except csv.Error:
        rows = []
    width = len(rows[skipped].cells) if len(rows) > skipped else 0
    if not rows or any(_swallowed(cell, delimiter, width) for row in _broken(rows) for cell in row.cells):
        rows, troubles = _line_by_line(text, delimiter)
    _refuse_size(name, len(rows), max((len(row.cells) for row in rows), default=0))
    return rows[skipped:], troubles


def _decoded(data: bytes, name: str) -> str:
    encodings = ["utf-16"] if data.startswith((b"\xff\xfe", b"\xfe\xff")) else ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise CatalogueError(f"{name} is no text file.", _SAVE_AS)


def _delimiter(text: str) -> tuple[str, int]:
    """Return the sign between cells, and how many rows at the top only name it ("sep=;", as spreadsheets write)."""
    head = next((line for line in text.splitlines() if line.strip()), "")
    if (named := head.strip().removeprefix("sep=")) in set(",;|") and "sep=" in head:
        return named, 1
    bare = head.split('"')[::2]
    return max(",;\t|", key="".join(bare).count), 0


def _records(text: str, delimiter: str) -> Iterator[Row]:
    """Read as RFC 4180 asks, and refuse anything else."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    last, same = 0, dict[str, str]()  # a cell that comes again and again is kept once
    for cells in reader:
        yield Row(last + 1, [same.setdefault(cell, cell) for cell in map(str.strip, cells)])
        last = reader.line_num


def _broken(rows: list[Row]) -> Iterator[Row]:
    """Yield the rows that take more than one line of the file, and the last, of which that cannot be told."""
    for row, after in zip(rows, [*rows[1:], None], strict=False):
        if after is None or after.number > row.number + 1:
            yield row


def _swallowed(cell: str, delimiter: str, width: int) -> bool:
    """Return whether a cell holds whole rows, because a quote sign was never closed."""
    return "\n" in cell and any(_looks_whole(line, delimiter, width) for line in cell.splitlines()[1:])


def _looks_whole(line: str, delimiter: str, width: int) -> bool:
    return line.count(delimiter) >= max(1, width - 1)


def _line_by_line(text: str, delimiter: str) -> tuple[list[Row], list[Trouble]]:
    """Read each line by itself; one that is not well quoted is taken with its quote signs as inch marks."""
    lines = io.StringIO(text, newline="").read().splitlines(keepends=True)
    width = len(
        next((_strict(line, delimiter) or _freed_cells(line, delimiter, 0) for line in lines if line.strip()), [])
    )
    rows, troubles, at = [], [], 0
    while at < len(lines):
        cells, used = _well_quoted(lines, at, delimiter, width)
        if cells is None:
            cells = _freed_cells(lines[at], delimiter, width)
            what = 'A quote sign (") stands where none belongs; it was taken as an inch mark.'
            remedy = 'Check that row; inside a quoted cell write "" for one inch mark.'
            troubles.append(Trouble(at + 1, what, remedy))
        rows.append(Row(at + 1, [cell.strip() for cell in cells]))
        at += used
    return rows, troubles


def _strict(text: str, delimiter: str) -> list[str] | None:
    try:
        return next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True), [])
    except csv.Error:
        return None


def _well_quoted(lines: list[str], at: int, delimiter: str, width: int) -> tuple[list[str] | None, int]:
    """Return the cells of the row that begins here, and its number of lines: a cell may hold line breaks."""
    for used in range(1, MOST_LINES + 1):
        cells = _strict("".join(lines[at : at + used]), delimiter)
        if cells is not None:
            return cells, used
        following = lines[at + used] if at + used < len(lines) else delimiter * width
        if _looks_whole(following, delimiter, width):
            break
    return None, 1


def _freed_cells(line: str, delimiter: str, width: int) -> list[str]:
    """Split at every delimiter, and take the quote signs that enclose a cell away; the others stay."""
    cells = [cell.strip() for cell in line.rstrip("\r\n").split(delimiter)]
    return [_freed(cell) for cell in (_joined(cells, width) if width and len(cells) > width else cells)]


def _joined(cells: list[str], width: int) -> list[str]:
    """Put a quoted cell that holds the delimiter together again, until the row has its width."""
    out: list[str] = []
    spare = len(cells) - width
    for cell in cells:
        if out and spare > 0 and out[-1].startswith('"') and not re.search(r'[^"]"$|^""$', out[-1]):
            out[-1] = f"{out[-1]}, {cell}"
            spare -= 1
        else:
            out.append(cell)
    return out


def _freed(cell: str) -> str:
    inner = cell[1:-1] if len(cell) > 1 and cell[0] == cell[-1] == '"' else cell
    return inner.replace('""', '"') if inner is not cell else cell
