"""CSV or spreadsheet to Catalogue, with a complaint for everything that is wrong, by row and column."""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

from studio import cache, resources, sheets
from studio.errors import CatalogueError
from studio.model import Catalogue, CatalogueSource, Complaint, Mention, Product
from studio.settings import CatalogueChoices

VERSION = 1
NEEDED = ("code", "name")
SIGNS = {"£": "GBP", "€": "EUR"}
_TELLS_NO_NAME = ("currency", "url", "hazard", "maker_statement", "pack_quantity", "gtin", "substitute", "line")
HEADER_WITHIN = 10
"""The headings are looked for in this many rows at the top."""
_MONTHS = "january february march april may june july august september october november december".split()
_PRICE = re.compile(r"([£$€]|[A-Z]{3})?\s*([\d.,]{1,20})\s*([£$€]|[A-Z]{3})?")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ][\d:.]+)?")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})")
_MONTH_SECOND = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ -]([A-Za-z]{3,9})\.?,?[ -](\d{4})")
_MONTH_FIRST = re.compile(r"([A-Za-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})")


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
    _refuse_unknown(choices.columns)
    top, columns = _header(rows, choices.columns)
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        raise CatalogueError(
            f"The catalogue {path.name} has no column for {' and '.join(missing)}.",
            "Name the columns code and name in the first row, or map your own words under [catalogue.columns].",
        )
    complaints = [Complaint(file=path.name, row=t.row, column="", problem=t.problem, remedy=t.remedy) for t in troubles]
    complaints += _above(path.name, rows[:top])
    complaints += _unused(path.name, rows[top], columns, choices.columns)
    products = _products(path.name, rows[top + 1 :], columns, complaints)
    complaints += _dangling(path.name, products)
    ordered = tuple(sorted(complaints, key=lambda complaint: complaint.row))
    return Catalogue(source=path.name, sha256=cache.file_digest(path), products=products, complaints=ordered)


def listed(products: Catalogue) -> CatalogueSource | None:
    """Return which catalogue it is, and how much it holds; None where none was given."""
    if not products.sha256:
        return None
    counts = {"products": len(products.products), "complaints": len(products.complaints)}
    return CatalogueSource(source=products.source, sha256=products.sha256, **counts)


def nameable(products: Catalogue) -> Catalogue:
    """Return the rows with only what a name is told by: a new link or trade number does not have the talk read again.

    The place of a row in the file is left out too, so that an empty line above it changes nothing.
    """
    left_out: dict[str, Any] = {name: Product.model_fields[name].default for name in _TELLS_NO_NAME}
    return Catalogue(products=tuple(row.but(**left_out) for row in products.products))


def named(mentions: tuple[Mention, ...], products: Catalogue) -> Catalogue:
    """Return only the rows that were named, or may have been: a change in another row does not reach what takes them.

    The place of a row in the file is left out, so that a row more or less above it changes nothing either.
    """
    wanted = {code for one in mentions for code in (one.code, *one.runners_up)}
    return Catalogue(products=tuple(row.but(line=0) for row in products.products if row.code in wanted))


# --- the header ------------------------------------------------------------------------------------------------------


def _refuse_unknown(own: Mapping[str, str]) -> None:
    strange = sorted(set(own.values()) - set(resources.table("catalogue_columns.toml")))
    if strange:
        raise CatalogueError(
            f"Under [catalogue.columns] there is {strange[0]!r}, which is no column of ours.",
            f"Choose from {', '.join(resources.table('catalogue_columns.toml'))}.",
        )


def _header(rows: Sequence[sheets.Row], own: Mapping[str, str]) -> tuple[int, dict[str, int]]:
    """Return which row names the columns, and where each stands: the first of the top rows with all that is needed."""
    for top, row in enumerate(rows[:HEADER_WITHIN]):
        columns = _columns(row.cells, own)
        if all(name in columns for name in NEEDED):
            return top, columns
    return 0, _columns(rows[0].cells, own)


def _above(file: str, rows: Sequence[sheets.Row]) -> list[Complaint]:
    return [
        Complaint(file=file, row=row.number, column="", problem="This row stands above the headings and is not used.",
                  remedy="Leave it, or move a product below the headings.")
        for row in rows
    ]  # fmt: skip


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


def _unused(file: str, header: sheets.Row, columns: Mapping[str, int], own: Mapping[str, str]) -> list[Complaint]:
    """Complain of headings that are not used, and of own words that are no heading."""
    spare = [cell for place, cell in enumerate(header.cells) if cell and place not in columns.values()]
    there = {_bare(cell) for cell in header.cells}
    told = [
        (cell, f"The column {cell!r} is not known and not used.",
         "Leave it, or say under [catalogue.columns] which of our columns it is.")
        for cell in spare
    ] + [
        (word, f"There is no column {word!r}, which [catalogue.columns] names.", "Write the heading as in the file.")
        for word in own if _bare(word) not in there
    ]  # fmt: skip
    return [
        Complaint(file=file, row=header.number, column=column, problem=problem, remedy=remedy)
        for column, problem, remedy in told
    ]


# --- the rows --------------------------------------------------------------------------------------------------------


def _products(
    file: str, rows: Sequence[sheets.Row], columns: Mapping[str, int], complaints: list[Complaint]
) -> tuple[Product, ...]:
    found: dict[str, Product] = {}
    readers = [(name, place, _READERS.get(name)) for name, place in columns.items()]

    def complain(number: int, column: str, problem: str, remedy: str) -> None:
        complaints.append(Complaint(file=file, row=number, column=column, problem=problem, remedy=remedy))

    for row in rows:
        product = _product(row, columns, readers, partial(complain, row.number))
        if product is None:
            continue
        if product.code in found:
            problem = f"The code {product.code} stands in row {found[product.code].line} already."
            complain(row.number, "code", problem, "Give each row its own code; this row is not used.")
            continue
        found[product.code] = product
    return tuple(found.values())


def _dangling(file: str, products: Sequence[Product]) -> list[Complaint]:
    """Complain of substitutes that are not in the catalogue."""
    codes = {product.code for product in products}
    return [
        Complaint(file=file, row=product.line, column="substitute", problem=f"There is no code {product.substitute}.",
                  remedy="Write the code of a row of this catalogue.")
        for product in products if product.substitute and product.substitute not in codes
    ]  # fmt: skip


Reader = Callable[[str, str], dict[str, Any]]


def _product(
    row: sheets.Row,
    columns: Mapping[str, int],
    readers: Sequence[tuple[str, int, Reader | None]],
    complain: Callable[[str, str, str], None],
) -> Product | None:
    cells = row.cells + [""] * (max(columns.values()) + 1 - len(row.cells))
    absent = [name for name in NEEDED if not cells[columns[name]]]
    for name in absent:
        complain(name, f"The {name} is missing.", "Fill it in; this row is not used.")
    if absent:
        return None
    read: dict[str, Any] = {"line": row.number}
    for column, place, reader in readers:
        if reader is None:
            read[column] = cells[place]
        elif cells[place]:
            try:
                read.update(reader(column, cells[place]))
            except Unreadable as error:
                complain(column, str(error), error.remedy)
    _settle_currency(read, complain)
    first, last = read.get("available_from"), read.get("available_until")
    if first and last and first > last:
        complain("available_until", "The last day on sale is before the first.", "Change one of the two dates.")
    return Product(**read)


def _price(column: str, cell: str) -> dict[str, Any]:
    match = _PRICE.fullmatch(cell)
    amount = _amount(match[2]) if match else None
    if match is None or amount is None:
        raise Unreadable(
            f"{cell!r} is no price.", "Write digits with a point, as in 12.50; the row is used without a price."
        )
    return {column: amount, "sign": match[1] or match[3] or ""}


def _amount(digits: str) -> Decimal | None:
    """Return the amount; the last of two kinds of marks is the decimal one, and "1,250" alone could be either."""
    if re.fullmatch(r"\d{1,3}(,\d{3})+\.\d{1,2}", digits):
        digits = digits.replace(",", "")
    elif re.fullmatch(r"\d{1,3}(\.\d{3})+,\d{1,2}", digits):
        digits = digits.replace(".", "")
    elif not re.fullmatch(r"\d{1,9}([.,](\d{1,2}|\d{4}))?", digits):
        return None
    return Decimal(digits.replace(",", "."))


def _settle_currency(read: dict[str, Any], complain: Callable[[str, str, str], None]) -> None:
    """Take the currency from the price's sign where its own column is empty; a dollar sign alone does not tell it."""
    sign, currency = read.pop("sign", ""), read.get("currency", "")
    meant = SIGNS.get(sign, sign)
    if sign == "$":
        if not currency:
            complain("currency", "The sign $ does not say which dollar it is.", "Add a column currency, as in USD.")
    elif meant and currency and meant != currency:
        complain("currency", f"The price is in {meant}, the currency column says {currency}.", "Change one of the two.")
    elif meant:
        read["currency"] = meant


def _currency(column: str, cell: str) -> dict[str, Any]:
    code = SIGNS.get(cell, cell.upper())
    if code == "$":
        raise Unreadable(
            "The sign $ does not say which dollar it is.", "Write the three letters of ISO 4217, as in USD."
        )
    if not re.fullmatch(r"[A-Z]{3}", code):
        raise Unreadable(f"{cell!r} is no currency.", "Write the three letters of ISO 4217, as in GBP.")
    return {column: code}


def _day(column: str, cell: str) -> dict[str, Any]:
    remedy = "Write the date as 2026-04-30; the row is used without it."
    year, month, day = _parts(cell, remedy)
    try:
        return {column: date(year, month, day)}
    except ValueError as error:
        raise Unreadable(f"{cell!r} is no date.", remedy) from error


def _parts(cell: str, remedy: str) -> tuple[int, int, int]:
    if match := _YEAR_FIRST.fullmatch(cell):
        return int(match[1]), int(match[2]), int(match[3])
    if match := _MONTH_SECOND.fullmatch(cell):
        return int(match[3]), _month(match[2]), int(match[1])
    if match := _MONTH_FIRST.fullmatch(cell):
        return int(match[3]), _month(match[1]), int(match[2])
    if match := _YEAR_LAST.fullmatch(cell):
        first, second, year = int(match[1]), int(match[2]), int(match[3])
        if first <= 12 and second <= 12 and first != second:
            raise Unreadable(f"In {cell!r} the day and the month cannot be told apart.", remedy)
        return (year, second, first) if first > 12 or first == second else (year, first, second)
    raise Unreadable(f"{cell!r} is no date.", remedy)


def _month(word: str) -> int:
    """Return the number of a month named in English, in full or by its first letters; 0 for any other word."""
    return next((number for number, name in enumerate(_MONTHS, 1) if name.startswith(word.casefold())), 0)


def _url(column: str, cell: str) -> dict[str, Any]:
    if not re.fullmatch(r"https?://[^\s/]+\S*", cell):
        raise Unreadable(f"{cell!r} is no web address.", "Begin it with https://; the row is used without a link.")
    return {column: cell}


def _count(column: str, cell: str) -> dict[str, Any]:
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


_READERS: dict[str, Reader] = {
    "price": lru_cache(maxsize=65536)(_price),
    "currency": lru_cache(maxsize=1024)(_currency),
    "available_from": lru_cache(maxsize=65536)(_day),
    "available_until": lru_cache(maxsize=65536)(_day),
    "pack_quantity": lru_cache(maxsize=65536)(_count),
    "gtin": _gtin,
    "url": _url,
}
"""How a cell that is not empty is read; what it gives is never changed, so that the same words are read once."""
