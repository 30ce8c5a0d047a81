"""The catalogue: good rows load, everything else is a complaint, nothing is dropped silently."""

import csv
import io
import zipfile
from datetime import date
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from studio import catalogue
from studio.errors import CatalogueError
from studio.model import Catalogue
from studio.settings import CatalogueChoices

CELL = st.text(st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\r\n"), max_size=30).map(str.strip)


def load(path: Path, content: str | bytes, **columns: str) -> Catalogue:
    """Write a catalogue and read it."""
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return catalogue.load(path, CatalogueChoices(columns=columns))


def told(found: Catalogue) -> list[tuple[int, str, str]]:
    """Return the complaints as row, column, problem."""
    return [(c.row, c.column, c.problem) for c in found.complaints]


def test_every_column_arrives_typed(tmp_path: Path) -> None:
    """Prices are decimal, dates are dates, counts are numbers, codes keep their zeros."""
    head = "code,name,price,currency,available_from,available_until,pack_quantity\n"
    text = head + "0012,Moss Ink,4.50,gbp,2026-03-01,31 May 2026,6\n"
    (row,) = load(tmp_path / "list.csv", text).products
    assert (row.code, row.price, row.currency, row.pack_quantity) == ("0012", Decimal("4.50"), "GBP", 6)
    assert (row.available_from, row.available_until, row.line) == (date(2026, 3, 1), date(2026, 5, 31), 2)


@pytest.mark.parametrize(
    "data",
    [
        "code,name\nA1,Café Rosé\n".encode(),
        "code,name\nA1,Café Rosé\n".encode("utf-8-sig"),
        "code,name\nA1,Café Rosé\n".encode("utf-16"),
        "code,name\nA1,Café Rosé\n".encode("cp1252"),
        "code;name\nA1;Café Rosé\n".encode(),
        "code\tname\nA1\tCafé Rosé\n".encode(),
        '"Item No.","Product Name"\n"A1","Café Rosé"\n'.encode(),
    ],
    ids=["utf-8", "byte order mark", "utf-16", "windows-1252", "semicolon", "tab", "other header words"],
)
def test_the_ways_a_spreadsheet_saves_csv_all_read_alike(tmp_path: Path, data: bytes) -> None:
    """Encoding, delimiter and header words are found."""
    found = load(tmp_path / "list.csv", data)
    assert ([(row.code, row.name) for row in found.products], found.complaints) == ([("A1", "Café Rosé")], ())


def test_inch_marks_survive(tmp_path: Path) -> None:
    """A size in inches keeps both marks, well quoted or not, and a bad quote is told with its row."""
    good = load(tmp_path / "good.csv", 'code,name,size\nA1,"12"" x 12"" Card","12"" x 12"""\nA2,5" Tape,5"\n')
    assert [(row.name, row.size) for row in good.products] == [('12" x 12" Card', '12" x 12"'), ('5" Tape', '5"')]
    assert good.complaints == ()
    bad = load(tmp_path / "bad.csv", 'code,name,size\nA1,"12" x 12" Card",big\nA2,Tape,small\n')
    assert [(row.name, row.size) for row in bad.products] == [('12" x 12" Card', "big"), ("Tape", "small")]
    assert [row for row, _, _ in told(bad)] == [2]


def test_an_unclosed_quote_swallows_no_rows(tmp_path: Path) -> None:
    """One quote that is never closed costs one complaint, not a thousand rows."""
    rows = "".join(f"A{i},Card {i}\n" for i in range(1000))
    found = load(tmp_path / "list.csv", 'code,name\nX1,"Half open\n' + rows)
    assert len(found.products) == 1001
    assert told(found)[0][0] == 2


def test_bad_cells_are_complaints_and_good_rows_load(tmp_path: Path) -> None:
    """Each complaint names row, column and the remedy; the row is used without the bad cell."""
    text = """code,name,price,available_from,gtin,pack_quantity
A1,Moss Ink,abc,,,
A2,Clay Ink,4.50,31/31/2026,,
A3,Rust Ink,4.50,03/04/2026,,
A4,Dove Ink,4.50,,6291041500214,many
A4,Dove Grey Ink,4.50,,,
,Nameless,4.50,,,
A6,,4.50,,,
"""
    found = load(tmp_path / "list.csv", text)
    assert [row.code for row in found.products] == ["A1", "A2", "A3", "A4"]
    assert [(row, column) for row, column, _ in told(found)] == [
        (2, "price"), (3, "available_from"), (4, "available_from"), (5, "gtin"), (5, "pack_quantity"), (6, "code"),
        (7, "code"), (8, "name"),
    ]  # fmt: skip
    assert "cannot be told apart" in told(found)[2][2]
    assert all(c.remedy and c.file == "list.csv" for c in found.complaints)


@pytest.mark.parametrize("digits", ["6291041500213", "7300011000017", "8904000210037", "036000241457"])
def test_check_digits_agree_with_the_standard(digits: str) -> None:
    """The worked examples hold, and one wrong digit never does (GS1 General Specifications 7.9; python-stdnum)."""
    assert catalogue.gtin_holds(digits)
    assert ean.is_valid(digits)
    for place, digit in enumerate(digits):
        wrong = digits[:place] + str((int(digit) + 1) % 10) + digits[place + 1 :]
        assert catalogue.gtin_holds(wrong) == ean.is_valid(wrong) == False  # noqa: E712


@given(st.from_regex(r"[0-9]{13}|[0-9]{8}|[0-9]{12}|[0-9]{14}", fullmatch=True))
def test_any_number_is_judged_as_python_stdnum_does(digits: str) -> None:
    """The check digit is computed as the independent library does."""
    assert catalogue.gtin_holds(digits) == ean.is_valid(digits)


def test_own_header_words_come_first(tmp_path: Path) -> None:
    """A word mapped in the settings is used, and one that nobody knows is told."""
    found = load(tmp_path / "list.csv", "Kennung,Artikel,Mystery\nA1,Moss Ink,x\n", Kennung="code", Artikel="name")
    assert [(row.code, row.name) for row in found.products] == [("A1", "Moss Ink")]
    assert told(found) == [(1, "Mystery", "The column 'Mystery' is not known and not used.")]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is empty"),
        (b"colour,size\nred,big\n", "no column for code and name"),
        (b"code,name\nA1,Moss\0Ink\n", "is no text file"),
    ],
)
def test_what_is_no_catalogue_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    """A file that cannot be a catalogue is one clear problem."""
    with pytest.raises(CatalogueError, match=message):
        load(tmp_path / "list.csv", content)


def test_a_missing_catalogue_is_told(tmp_path: Path) -> None:
    """A wrong name is a known problem."""
    with pytest.raises(CatalogueError, match=r"cannot be opened: No such file"):
        catalogue.load(tmp_path / "none.csv", CatalogueChoices())


def test_a_spreadsheet_reads_like_the_csv(tmp_path: Path) -> None:
    """Typed cells of an .xlsx arrive as in the CSV: codes keep their zeros, dates stay dates."""
    book = openpyxl.Workbook()
    for line in (
        ["code", "name", "price", "available_until"],
        ["0012", "Moss Ink", 4.5, date(2026, 5, 31)],
        ["13", "Clay", 5, None],
    ):
        book.active.append(line)
    book.save(tmp_path / "list.xlsx")
    book.close()
    found = catalogue.load(tmp_path / "list.xlsx", CatalogueChoices())
    rows = [(row.code, row.name, row.price, row.available_until) for row in found.products]
    assert rows == [("0012", "Moss Ink", Decimal("4.5"), date(2026, 5, 31)), ("13", "Clay", Decimal(5), None)]
    assert found.complaints == ()


def test_a_spreadsheet_that_unpacks_to_a_mountain_is_refused(tmp_path: Path) -> None:
    """A small file that grows without measure is never unpacked."""
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 210_000_000)
    with pytest.raises(CatalogueError, match="unpacks to more"):
        catalogue.load(tmp_path / "bomb.xlsx", CatalogueChoices())


def test_a_damaged_spreadsheet_is_refused(tmp_path: Path) -> None:
    """A file that only claims to be a spreadsheet is one clear problem."""
    (tmp_path / "list.xlsx").write_bytes(b"PK\x03\x04 no more")
    with pytest.raises(CatalogueError, match="no spreadsheet that can be read"):
        catalogue.load(tmp_path / "list.xlsx", CatalogueChoices())


@given(st.lists(st.tuples(CELL.filter(bool), CELL.filter(bool)), min_size=1, max_size=8, unique_by=lambda row: row[0]))
def test_what_the_csv_module_writes_reads_back(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, str]]
) -> None:
    """Names and codes of any characters survive when they are quoted as RFC 4180 asks."""
    text = io.StringIO()
    csv.writer(text, quoting=csv.QUOTE_ALL).writerows([("code", "name"), *rows])
    found = load(tmp_path_factory.mktemp("catalogue") / "list.csv", text.getvalue())
    assert [(row.code, row.name) for row in found.products] == rows
