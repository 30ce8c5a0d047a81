"""The catalogue: good rows load, everything else is a complaint, nothing is dropped silently."""

import contextlib
import csv
import io
import zipfile
from datetime import date
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from counted import EVENLY, FAR, growth
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from studio import catalogue, resources, sheets
from studio.errors import CatalogueError
from studio.model import Catalogue, Product
from studio.settings import CatalogueChoices

CELL = st.text(st.characters(exclude_categories=["C", "Z"], include_characters=" "), max_size=30).map(str.strip)


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
    """Names and codes of any characters that can be seen survive when they are quoted as RFC 4180 asks."""
    text = io.StringIO()
    csv.writer(text, quoting=csv.QUOTE_ALL).writerows([("code", "name"), *rows])
    found = load(tmp_path_factory.mktemp("catalogue") / "list.csv", text.getvalue())
    assert [(row.code, row.name) for row in found.products] == rows


def test_a_cell_may_hold_line_breaks(tmp_path: Path) -> None:
    """Line breaks inside a quoted cell are spaces, also where another row of the file is badly quoted."""
    text = 'code,name,contents\nA1,Moss Ink,"one tin\none brush"\n'
    good = load(tmp_path / "good.csv", text)
    assert ([row.contents for row in good.products], good.complaints) == (["one tin one brush"], ())
    bad = load(tmp_path / "bad.csv", text + 'A2,"6" Rule",steel\nA3,Tape,"red\nblue"\n')
    assert [row.contents for row in bad.products] == ["one tin one brush", "steel", "red blue"]
    assert [(row, "inch mark" in problem) for row, _, problem in told(bad)] == [(4, True)]


def test_a_first_line_that_names_the_delimiter_is_obeyed(tmp_path: Path) -> None:
    """The line "sep=;" that spreadsheets write is no heading, and rows keep their numbers."""
    found = load(tmp_path / "list.csv", "sep=;\ncode;name\nA1;Ink, moss\n")
    assert [(row.code, row.name, row.line) for row in found.products] == [("A1", "Ink, moss", 3)]


def test_a_title_above_the_headings_is_told(tmp_path: Path) -> None:
    """Headings are found below a title; the rows above are complaints."""
    found = load(tmp_path / "list.csv", "Spring list,,\n\ncode,name,price\nA1,Moss Ink,4.50\n")
    assert [row.code for row in found.products] == ["A1"]
    assert [(row, problem) for row, _, problem in told(found)] == [
        (1, "This row stands above the headings and is not used.")
    ]


@pytest.mark.parametrize(
    ("cell", "amount", "currency"),
    [
        ("4.50", "4.50", ""), ("4,50", "4.50", ""), ("£4.50", "4.50", "GBP"), ("4,50 €", "4.50", "EUR"),
        ("1,250.00", "1250.00", ""), ("1.250,00", "1250.00", ""), ("GBP 12", "12", "GBP"), ("$3.20", "3.20", ""),
        ("1,250", None, ""), ("4.5.0", None, ""), ("-4.50", None, ""), ("from 4.50", None, ""), ("4.50.", None, ""),
    ],
)  # fmt: skip
def test_prices_as_they_are_written(tmp_path: Path, cell: str, amount: str | None, currency: str) -> None:
    """Common ways to write a price are read; what could be two prices, or none, is a complaint (common practice)."""
    found = load(tmp_path / "list.csv", f"code\tname\tprice\nA1\tMoss Ink\t{cell}\n")
    assert [(row.price, row.currency) for row in found.products] == [(Decimal(amount) if amount else None, currency)]
    complained = [column for _, column, _ in told(found)]
    assert complained == (["price"] if amount is None else ["currency"] if "$" in cell else [])


def test_a_sign_against_the_currency_column_is_told(tmp_path: Path) -> None:
    """The currency column stands, and the contradiction is a complaint; a dollar sign agrees with any dollar."""
    found = load(tmp_path / "list.csv", "code,name,currency,price\nA1,Ink,NZD,$4.50\nA2,Tape,EUR,£4.50\n")
    assert [row.currency for row in found.products] == ["NZD", "EUR"]
    assert [(row, column) for row, column, _ in told(found)] == [(3, "currency")]


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("2026-03-31", date(2026, 3, 31)), ("31/03/2026", date(2026, 3, 31)), ("03/31/2026", date(2026, 3, 31)),
        ("31.3.2026", date(2026, 3, 31)), ("31 March 2026", date(2026, 3, 31)), ("31st Mar 2026", date(2026, 3, 31)),
        ("Sept 1, 2026", date(2026, 9, 1)), ("05/05/2026", date(2026, 5, 5)),
        ("2026-03-31 00:00:00", date(2026, 3, 31)),
        ("31 Marchpane 2026", None), ("2026-04-31", None), ("04/05/2026", None), ("spring", None), ("31/03/26", None),
    ],
)  # fmt: skip
def test_dates_as_they_are_written(tmp_path: Path, cell: str, day: date | None) -> None:
    """Common ways to write a date are read; a day that is none, or could be two, is a complaint (ISO 8601; usage)."""
    found = load(tmp_path / "list.csv", f"code;name;available_until\nA1;Ink;{cell}\n")
    assert [row.available_until for row in found.products] == [day]
    assert [column for _, column, _ in told(found)] == ([] if day else ["available_until"])


def test_links_and_substitutes_lead_somewhere(tmp_path: Path) -> None:
    """An address of another kind than http is not used, and a substitute must be a row of the catalogue."""
    text = "code,name,url,substitute\nA1,Ink,javascript:alert(1),A2\nA2,Tape,https://x.example/a,A9\n"
    found = load(tmp_path / "list.csv", text)
    assert [row.url for row in found.products] == ["", "https://x.example/a"]
    assert [(row, column) for row, column, _ in told(found)] == [(2, "url"), (3, "substitute")]


def test_control_characters_are_left_out_and_told(tmp_path: Path) -> None:
    """An escape sequence or a mark that turns the writing direction cannot pass through a name."""
    found = load(tmp_path / "list.csv", "code,name\nA1,Moss\x1b[31m Ink\u202e\n")
    assert [row.name for row in found.products] == ["Moss[31m Ink"]
    assert [row for row, _, _ in told(found)] == [2]


def test_own_words_must_fit(tmp_path: Path) -> None:
    """A map to a column that there is none of is refused; one from a heading that is not there is told."""
    with pytest.raises(CatalogueError, match="'nme', which is no column"):
        load(tmp_path / "list.csv", "Kennung,name\nA1,Ink\n", Kennung="nme")
    found = load(tmp_path / "list.csv", "code,name\nA1,Ink\n", Kennung="page")
    assert told(found) == [(1, "Kennung", "There is no column 'Kennung', which [catalogue.columns] names.")]


def test_further_sheets_are_told(tmp_path: Path) -> None:
    """Products on a second sheet are not used, and that is said."""
    book = openpyxl.Workbook()
    for sheet, code in ((book.active, "A1"), (book.create_sheet("Autumn"), "B1")):
        sheet.append(["code", "name"])
        sheet.append([code, "Ink"])
    book.save(tmp_path / "list.xlsx")
    book.close()
    found = catalogue.load(tmp_path / "list.xlsx", CatalogueChoices())
    assert [row.code for row in found.products] == ["A1"]
    assert "'Autumn'" in told(found)[0][2]


def test_an_open_document_sheet_reads_like_the_csv(tmp_path: Path) -> None:
    """An .ods file gives the same rows (OpenDocument 1.3, part 3)."""
    names = {"office": "office", "table": "table", "text": "text"}
    spaces = " ".join(f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in names)
    lines = [("code", "name", "price"), ("0012", "Moss Ink", "4.50")]
    cell = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
    rows = "".join(f"<table:table-row>{''.join(map(cell.format, line))}</table:table-row>" for line in lines)
    table = f'<table:table table:name="A">{rows}</table:table>'
    body = f"<office:body><office:spreadsheet>{table}</office:spreadsheet></office:body>"
    media_type = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(tmp_path / "list.ods", "w") as archive:
        archive.writestr("mimetype", media_type)
        archive.writestr("content.xml", f"<office:document-content {spaces}>{body}</office:document-content>")
        kind = f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{media_type}"/>'
        manifest = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
        archive.writestr(
            "META-INF/manifest.xml", f'<manifest:manifest xmlns:manifest="{manifest}">{kind}</manifest:manifest>'
        )
    found = catalogue.load(tmp_path / "list.ods", CatalogueChoices())
    assert [(row.code, row.name, row.price) for row in found.products] == [("0012", "Moss Ink", Decimal("4.50"))]


def test_a_spreadsheet_cannot_name_another_file(tmp_path: Path) -> None:
    """An external entity in a sheet is never fetched: its text is in no product (CWE-611)."""
    (tmp_path / "secret.txt").write_text("SECRET")
    book = openpyxl.Workbook()
    book.active.append(["code", "name"])
    book.active.append(["A1", "MARK"])
    book.save(tmp_path / "plain.xlsx")
    book.close()
    evil = f'<!DOCTYPE x [<!ENTITY e SYSTEM "{(tmp_path / "secret.txt").as_uri()}">]>'
    with zipfile.ZipFile(tmp_path / "plain.xlsx") as old, zipfile.ZipFile(tmp_path / "evil.xlsx", "w") as new:
        for member in old.namelist():
            data = old.read(member)
            if member == "xl/sharedStrings.xml":
                data = evil.encode() + data.replace(b"MARK", b"&e;")
            new.writestr(member, data)
    try:
        found = catalogue.load(tmp_path / "evil.xlsx", CatalogueChoices()).model_dump_json()
    except CatalogueError as error:
        found = str(error)
    assert "SECRET" not in found


def test_each_row_costs_the_same_however_many_there_are(tmp_path: Path) -> None:
    """Four times the rows are four times the work, and all of 4,000 rows are there without a complaint."""
    line = 'C{0},Item {0},paper,4.50,GBP,3,24 sheets,"12"" x 12""",https://x.example/{0},2026-02-01,31 Aug 2026,24\n'
    head = "code,name,kind,price,currency,page,contents,size,url,available_from,available_until,pack_quantity\n"

    def read(rows: int) -> Catalogue:
        (tmp_path / "list.csv").write_text(head + "".join(map(line.format, range(rows))))
        return catalogue.load(tmp_path / "list.csv", CatalogueChoices())

    assert growth(read, 4000) < EVENLY
    assert (len(read(4000).products), read(4000).complaints) == (4000, ())


@pytest.mark.parametrize("sign", ["a", "1", '"', ",", '",', "1,", "£", "\t"])
def test_long_lines_of_one_sign_cost_no_more_than_their_length(tmp_path: Path, sign: str) -> None:
    """A hundred thousand of any sign in one row cost no more than four times a quarter of them."""

    def read(size: int) -> None:
        with contextlib.suppress(CatalogueError):
            load(tmp_path / "list.csv", f"code,name,price,available_until,url\nA1,Ink,{sign * size}\n")

    assert growth(read, FAR) < EVENLY


@pytest.mark.parametrize("above", [9, 10])
def test_the_headings_are_looked_for_in_ten_rows(tmp_path: Path, above: int) -> None:
    """Headings in the tenth row are found; in the eleventh they are not, and that is told."""
    text = "My list,\n" * above + "code,name\nA1,Ink\n"
    if above == 10:
        with pytest.raises(CatalogueError, match="has no column for code and name"):
            load(tmp_path / "list.csv", text)
    else:
        assert [row.code for row in load(tmp_path / "list.csv", text).products] == ["A1"]


@pytest.mark.parametrize(
    ("column", "cell", "problem"),
    [
        ("available_until", "2026-03-01", ""),
        ("available_until", "2026-02-28", "The last day on sale is before the first."),
        ("pack_quantity", "0", "'0' is no number of pieces."),
        ("pack_quantity", "1", ""),
        ("pack_quantity", "1000000", ""),
        ("pack_quantity", "1000001", "'1000001' is no number of pieces."),
        ("available_until", "12/05/2026", "In '12/05/2026' the day and the month cannot be told apart."),
        ("available_until", "05/12/2026", "In '05/12/2026' the day and the month cannot be told apart."),
        ("available_until", "12/12/2026", ""),
        ("available_until", "13/05/2026", ""),
    ],
)
def test_at_the_edge_of_what_can_be_read(tmp_path: Path, column: str, cell: str, problem: str) -> None:
    """The last value that can be is taken without a word, the next one is a complaint."""
    found = load(tmp_path / "list.csv", f"code,name,available_from,{column}\nA1,Ink,2026-03-01,{cell}\n")
    assert [one.problem for one in found.complaints] == [problem][: bool(problem)]


def test_a_long_cell_is_told_from_the_first_character_too_many(tmp_path: Path) -> None:
    """500 characters are a long text, 501 may be a quote sign that is missing."""
    for length, told in ((500, 0), (501, 1)):
        found = load(tmp_path / "list.csv", f"code,name,contents\nA1,Ink,{'x' * length}\n")
        assert [one.problem.startswith("A cell holds 501") for one in found.complaints] == [True] * told


def test_too_many_rows_or_columns_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Either alone is enough, and one less is read."""
    monkeypatch.setattr(sheets, "MOST_ROWS", 3)
    monkeypatch.setattr(sheets, "MOST_COLUMNS", 4)
    assert len(load(tmp_path / "list.csv", "code,name,kind,page\nA1,Ink,,\nA2,Pen,,\n").products) == 2
    with pytest.raises(CatalogueError, match="has 4 rows and 2 columns"):
        load(tmp_path / "list.csv", "code,name\nA1,Ink\nA2,Pen\nA3,Nib\n")
    with pytest.raises(CatalogueError, match="has 1 rows and 5 columns"):
        load(tmp_path / "list.csv", "code,name,kind,page,size\n")


def test_a_row_over_two_lines_has_the_number_of_its_first(tmp_path: Path) -> None:
    """A cell with a line break in it does not shift what is told of its row, nor of the next."""
    found = load(tmp_path / "list.csv", 'code,name,price\nA1,"Ink\nblue",4.50\nA2,Pen,dear\n')
    assert [(row.code, row.line) for row in found.products] == [("A1", 2), ("A2", 4)]
    assert [one.row for one in found.complaints] == [4]


def test_a_row_inside_a_cell_comes_out_again(tmp_path: Path) -> None:
    """Two quote signs of different rows that enclose a whole row do not hide it."""
    found = load(tmp_path / "list.csv", 'code,price,name\nA1,4.00,"Ink\nA2,5.00,Pen"\n')
    assert [row.code for row in found.products] == ["A1", "A2"]


def test_the_sample_catalogue_has_nothing_to_complain_of() -> None:
    """The catalogue that comes with the program is clean, has 60 rows or more, and uses every column."""
    found = catalogue.load(resources.sample("catalogue.csv"), CatalogueChoices())
    assert found.complaints == ()
    assert len(found.products) >= 60
    unused = {name for name in Product.model_fields if not any(getattr(row, name) for row in found.products)}
    assert unused == set()
