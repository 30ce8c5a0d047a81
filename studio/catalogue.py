"""CSV or spreadsheet to Catalogue, with a complaint for everything that is wrong, by row and column."""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from studio import cache, resources, sheets
from studio.errors import CatalogueError
from studio.model import Catalogue, Complaint, Product
from studio.settings import CatalogueChoices

VERSION = 1
NEEDED = ("code", "name")
SIGNS = {"£": "GBP", "$": "USD", "€": "EUR"}
_MONTHS = {name: number for number, name in enumerate("jan feb mar apr may jun jul aug sep oct nov dec".split(), 1)}
_PRICE = re.compile(r"([£$€]|[A-Z]{3})?\s*(\d{1,9}(?:[.,]\d{1,4})?)\s*([£$€]|[A-Z]{3})?")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ][\d:.]+)?")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})")
_MONTH_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ -]([A-Za-z]{3,9})\.?,?[ -](\d{4})")


class Unreadable(ValueError):
    """A cell that does not hold what its column asks for; carries the remedy."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(problem)
        self.remedy = remedy


def load(path: Path, choices: CatalogueChoices) -> Catalogue:
    """Read a catalogue; good rows load, and everything else is a complaint.

    Args:
        path: a CSV file (UTF-8, UTF-16 or Windows-1252; comma, semicolon, tab or bar) or an .xlsx or .ods file.
        choices: own header words.

    Raises:
        CatalogueError: there is no such file, it is no table, or it has no column for code and name.
    """
    rows, troubles = sheets.read(path)
    if not rows:
        raise CatalogueError(f"The catalogue {path.name} is empty.", "Give a table with at least code and name.")
    columns = _columns(rows[0].cells, choices.columns)
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        raise CatalogueError(
            f"The catalogue {path.name} has no column for {' and '.join(missing)}.",
            "Name the columns code and name in the first row, or map your own words under [catalogue.columns].",
        )
    complaints = [Complaint(file=path.name, row=t.row, column="", problem=t.problem, remedy=t.remedy) for t in troubles]
    complaints += _unused(path.name, rows[0], columns)
    products = _products(path.name, rows[1:], columns, complaints)
    ordered = tuple(sorted(complaints, key=lambda complaint: complaint.row))
    return Catalogue(source=path.name, sha256=cache.file_digest(path), products=products, complaints=ordered)


# --- the header ------------------------------------------------------------------------------------------------------


def _columns(header: Sequence[str], own: Mapping[str, str]) -> dict[str, int]:
    """Return where each of our columns stands; the person's own words come before the synonyms."""
    words = {_bare(word): column for column, synonyms in reversed(resources.table("catalogue_columns.toml").items())
             for word in (*synonyms, column)}  # fmt: skip
    words |= {_bare(column): column for column in resources.table("catalogue_columns.toml")}
    mine = {_bare(word): column for word, column in own.items()}
    found: dict[str, int] = {}
    for known in (mine, words):
        for place, cell in enumerate(header):
            column = known.get(_bare(cell))
            if column and column not in found and place not in found.values():
                found[column] = place
    return found


def _bare(word: str) -> str:
    return re.sub(r"[^a-z0-9]", "", word.casefold())


def _unused(file: str, header: sheets.Row, columns: Mapping[str, int]) -> list[Complaint]:
    spare = [cell for place, cell in enumerate(header.cells) if cell and place not in columns.values()]
    return [
        Complaint(file=file, row=header.number, column=cell, problem=f"The column {cell!r} is not known and not used.",
                  remedy="Leave it, or say under [catalogue.columns] which of our columns it is.")
        for cell in spare
    ]  # fmt: skip


# --- the rows --------------------------------------------------------------------------------------------------------


def _products(
    file: str, rows: Sequence[sheets.Row], columns: Mapping[str, int], complaints: list[Complaint]
) -> tuple[Product, ...]:
    found: dict[str, Product] = {}
    for row in rows:
        cells = {name: row.cells[place] if place < len(row.cells) else "" for name, place in columns.items()}

        def complain(column: str, problem: str, remedy: str, number: int = row.number) -> None:
            complaints.append(Complaint(file=file, row=number, column=column, problem=problem, remedy=remedy))

        product = _product(cells, row.number, complain)
        if product is None:
            continue
        if product.code in found:
            first = found[product.code].line
            complain(
                "code",
                f"The code {product.code} stands in row {first} already.",
                "Give each row its own code; this row is not used.",
            )
            continue
        found[product.code] = product
    return tuple(found.values())


def _product(cells: Mapping[str, str], number: int, complain: Callable[[str, str, str], None]) -> Product | None:
    absent = [name for name in NEEDED if not cells[name]]
    for name in absent:
        complain(name, f"The {name} is missing.", "Fill it in; this row is not used.")
    if absent:
        return None
    read: dict[str, Any] = {"line": number}
    for column, cell in cells.items():
        try:
            read |= _READERS.get(column, _text)(column, cell)
        except Unreadable as error:
            complain(column, str(error), error.remedy)
    first, last = read.get("available_from"), read.get("available_until")
    if first and last and first > last:
        complain("available_until", "The last day on sale is before the first.", "Change one of the two dates.")
    return Product(**read)


def _text(column: str, cell: str) -> dict[str, Any]:
    return {column: cell}


def _price(column: str, cell: str) -> dict[str, Any]:
    if not cell:
        return {}
    match = _PRICE.fullmatch(cell)
    if match is None:
        raise Unreadable(
            f"{cell!r} is no price.", "Write digits with a point, as in 12.50; the row is used without a price."
        )
    sign = match[1] or match[3]
    try:
        amount = Decimal(match[2].replace(",", "."))
    except InvalidOperation as error:  # pragma: no cover
        raise Unreadable(f"{cell!r} is no price.", "Write digits with a point, as in 12.50.") from error
    return {column: amount} | ({"currency": SIGNS.get(sign, sign)} if sign else {})


def _currency(column: str, cell: str) -> dict[str, Any]:
    if not cell:
        return {}
    code = SIGNS.get(cell, cell.upper())
    if not re.fullmatch(r"[A-Z]{3}", code):
        raise Unreadable(f"{cell!r} is no currency.", "Write the three letters of ISO 4217, as in GBP.")
    return {column: code}


def _day(column: str, cell: str) -> dict[str, Any]:
    if not cell:
        return {}
    remedy = "Write the date as 2026-04-30; the row is used without it."
    year, month, day = _parts(cell, remedy)
    try:
        return {column: date(year, month, day)}
    except ValueError as error:
        raise Unreadable(f"{cell!r} is no date.", remedy) from error


def _parts(cell: str, remedy: str) -> tuple[int, int, int]:
    if match := _YEAR_FIRST.fullmatch(cell):
        return int(match[1]), int(match[2]), int(match[3])
    if match := _MONTH_NAMED.fullmatch(cell):
        return int(match[3]), _MONTHS.get(match[2][:3].casefold(), 0), int(match[1])
    if match := _YEAR_LAST.fullmatch(cell):
        first, second, year = int(match[1]), int(match[2]), int(match[3])
        if first <= 12 and second <= 12 and first != second:
            raise Unreadable(f"In {cell!r} the day and the month cannot be told apart.", remedy)
        return (year, second, first) if first > 12 or first == second else (year, first, second)
    raise Unreadable(f"{cell!r} is no date.", remedy)


def _count(column: str, cell: str) -> dict[str, Any]:
    if not cell:
        return {}
    if not cell.isdecimal() or not 0 < int(cell) <= 1_000_000:
        raise Unreadable(f"{cell!r} is no number of pieces.", "Write a whole number, as in 12.")
    return {column: int(cell)}


def _gtin(column: str, cell: str) -> dict[str, Any]:
    digits = cell.replace(" ", "").replace("-", "")
    if not digits:
        return {}
    if not digits.isdecimal() or len(digits) not in (8, 12, 13, 14) or not gtin_holds(digits):
        raise Unreadable(f"{cell!r} is no valid GTIN: its check digit does not fit.", "Copy it again from the label.")
    return {column: digits}


def gtin_holds(digits: str) -> bool:
    """Return whether the last digit is the check digit of those before it.

    Source: GS1 General Specifications, section 7.9: weights 3 and 1 from the right, modulo 10.
    """
    return sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(reversed(digits))) % 10 == 0


_READERS: dict[str, Callable[[str, str], dict[str, Any]]] = {
    "price": _price,
    "currency": _currency,
    "available_from": _day,
    "available_until": _day,
    "pack_quantity": _count,
    "gtin": _gtin,
}
