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

SPREADSHEETS = {".xlsx", ".xlsm", ".xls", ".xlsb", ".ods"}
LARGEST_BYTES = 300_000_000
MOST_UNPACKED = 200_000_000
MOST_MEMBERS = 2000
MOST_ROWS = 250_000
MOST_COLUMNS = 200
LONGEST_FIELD = 500
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
    return [row for row in rows if any(cell for cell in row.cells)], troubles


# --- spreadsheets ----------------------------------------------------------------------------------------------------


def _spreadsheet(path: Path) -> tuple[list[Row], list[Trouble]]:
    from python_calamine import CalamineError, CalamineWorkbook

    _refuse_bombs(path)
    try:
        book = CalamineWorkbook.from_path(str(path))
        cells = book.get_sheet_by_index(0).to_python(skip_empty_area=False)
    except (CalamineError, OSError, IndexError, ValueError) as error:
        raise CatalogueError(f"{path.name} is no spreadsheet that can be read.", _SAVE_AS) from error
    _refuse_size(path.name, len(cells), max((len(row) for row in cells), default=0))
    return [Row(number, [_cell(cell) for cell in row]) for number, row in enumerate(cells, 1)], []


def _refuse_bombs(path: Path) -> None:
    if not zipfile.is_zipfile(path):
        return
    with zipfile.ZipFile(path) as archive:
        members = archive.infolist()
    if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > MOST_UNPACKED:
        raise CatalogueError(f"{path.name} unpacks to more than a catalogue can hold.", _SAVE_AS)


def _refuse_size(name: str, rows: int, columns: int) -> None:
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        raise CatalogueError(f"{name} has {rows} rows and {columns} columns.", "Give the list of products alone.")


def _cell(value: Any) -> str:  # noqa: ANN401  (whatever a spreadsheet holds)
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, datetime):
        return value.date().isoformat()
    return value.isoformat() if isinstance(value, date) else str(value).strip()


# --- CSV -------------------------------------------------------------------------------------------------------------


def _csv(data: bytes, name: str) -> tuple[list[Row], list[Trouble]]:
    text = _decoded(data, name)
    delimiter = _delimiter(text)
    try:
        rows = list(_records(text, delimiter, csv.QUOTE_MINIMAL))
        strict = not any(len(cell) > LONGEST_FIELD or "\n" in cell for row in rows for cell in row.cells)
    except csv.Error:
        strict = False
    if strict:
        return rows, []
    rows = list(_records(text, delimiter, csv.QUOTE_NONE))
    rows, troubles = _unquoted(rows, len(rows[0].cells) if rows else 0)
    _refuse_size(name, len(rows), max((len(row.cells) for row in rows), default=0))
    return rows, troubles


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


def _delimiter(text: str) -> str:
    head = next((line for line in text.splitlines() if line.strip()), "")
    counts = {sign: head.count(sign) for sign in ",;\t|"}
    return max(counts, key=lambda sign: counts[sign])


def _records(text: str, delimiter: str, quoting: Any) -> Iterator[Row]:  # noqa: ANN401  (a constant of csv)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, quoting=quoting, strict=True)
    last = 0
    for cells in reader:
        yield Row(last + 1, [cell.strip() for cell in cells])
        last = reader.line_num


def _unquoted(rows: list[Row], width: int) -> tuple[list[Row], list[Trouble]]:
    """Take the quote signs that enclose a cell away; those that are inch marks stay."""
    kept, troubles = [], []
    for row in rows:
        cells = _joined(row.cells, width) if len(row.cells) > width else row.cells
        freed = [_freed(cell) for cell in cells]
        kept.append(Row(row.number, freed))
        if any('"' in cell for cell in freed):
            what = 'A quote sign (") stands inside a cell; it was taken as an inch mark.'
            troubles.append(
                Trouble(row.number, what, 'Check that cell; inside a quoted cell write "" for one inch mark.')
            )
    return kept, troubles


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
