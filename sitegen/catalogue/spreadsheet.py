"""A spreadsheet file -> rows of text; rows of text -> CSV and XLSX.

What a file holds is data, never a program: formulas are not computed. Size is checked before
anything is unpacked, for a small file may unpack to a very large one.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from sitegen.words import counted, join_words, quoted

LARGEST_FILE = 20_000_000
LARGEST_UNPACKED = 100_000_000
"""Bytes, all parts of an XLSX or ODS file together."""
MOST_ROWS = 20_000
MOST_COLUMNS = 200
LONGEST_CELL = 2_000

ENDINGS = (".csv", ".xlsx", ".ods")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")
"""What a spreadsheet may take for a formula at the start of a cell of a CSV file, and the mark
that `csv_text` writes before it."""

_REFERENCE = re.compile(rb"""<(?:\w+:)?(?:c|row)\b[^>]*?\sr\s*=\s*["']([A-Za-z]*)([0-9]+)""")
_ROW = re.compile(rb"<(?:\w+:)?row\b")
_REPEATED = re.compile(rb'number-(?:rows|columns)-repeated="([0-9]+)"[^>]*(?:value|formula)=')


class SpreadsheetError(Exception):
    """A file that cannot be read as a list; the message says where and the likely fix."""


@dataclass(frozen=True)
class Table:
    """One sheet as text."""

    sheet: str
    """The sheet's name; of a CSV file, the file's."""
    rows: tuple[tuple[str, ...], ...]
    first_row: int = 1
    first_column: int = 1
    """Which row and column of the sheet the first cell is, counted from 1."""
    merged: int = 0
    """How many merged ranges had their value copied to each of their cells."""
    odd: tuple[tuple[int, int, str], ...] = ()
    """(row, column, why) of cells that hold no text or number, counted from 0 within `rows`."""

    def place(self, row: int, column: int | None = None) -> str:
        """Where a cell is, as a spreadsheet shows it; row and column count from 0 in `rows`."""
        number = self.first_row + row
        if column is None:
            return f"sheet {quoted(self.sheet)}, row {number}"
        return f"sheet {quoted(self.sheet)}, row {number}, column {self.letters(column)}"

    def letters(self, column: int) -> str:
        """The letters of a column that counts from 0 in `rows`."""
        return column_letters(self.first_column + column)

    @property
    def width(self) -> int:
        """How many columns the longest row has."""
        return max(map(len, self.rows), default=0)


def column_letters(number: int) -> str:
    """The letters of a column that is counted from 1.

    >>> column_letters(1), column_letters(28)
    ('A', 'AB')
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def read_table(path: Path, sheet: str | None = None) -> Table:
    """Read a CSV, XLSX or ODS file.

    Parameters
    ----------
    path : the file; its ending says what it is.
    sheet : the sheet's name; without it, the only sheet that is not empty.

    Raises
    ------
    SpreadsheetError : the content is not such a file, is too large, or the sheet is not clear.
    OSError : the file cannot be read.
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise SpreadsheetError(
            f"{path.name} is not a list that can be read: save it as CSV (UTF-8), XLSX or ODS."
        )
    with open(path, "rb") as file:
        data = file.read(LARGEST_FILE + 1)
    if len(data) > LARGEST_FILE:
        raise SpreadsheetError(
            f"{path.name} is larger than {LARGEST_FILE // 1_000_000} MB: keep only the list in it."
        )
    if not data.strip():
        raise SpreadsheetError(f"{path.name} is empty: save the list again.")
    table = _from_csv(path.name, data) if ending == ".csv" else _from_book(path.name, data, sheet)
    for r, row in enumerate(table.rows):
        for c, cell in enumerate(row):
            if len(cell) > LONGEST_CELL:
                raise SpreadsheetError(
                    f"{path.name}, {table.place(r, c)}: the cell holds {len(cell):,} characters,"
                    f" more than {LONGEST_CELL:,}. Shorten it."
                )
    return table


def _limits(name: str, rows: int, columns: int) -> None:
    if rows > MOST_ROWS:
        raise SpreadsheetError(
            f"{name} has {rows:,} rows, and {MOST_ROWS:,} are read: keep only the list in it, and"
            " delete formats and cells far below it."
        )
    if columns > MOST_COLUMNS:
        raise SpreadsheetError(
            f"{name} has {columns:,} columns, and {MOST_COLUMNS} are read: delete those that do not"
            " belong to the list."
        )


def _from_csv(name: str, data: bytes) -> Table:
    if data.startswith((b"PK", b"\xd0\xcf\x11\xe0")):
        raise SpreadsheetError(f"{name} is a spreadsheet file, not CSV: give it its own ending.")
    utf16 = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = data.decode("utf-16" if utf16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        raise SpreadsheetError(
            f"{name}, row {row}: this is not UTF-8 text. Save it as 'CSV UTF-8', or as XLSX."
        ) from None
    if "\0" in text:
        raise SpreadsheetError(f"{name} is no text: save the list as 'CSV UTF-8', or as XLSX.")
    separator = _separator(text)
    rows: list[tuple[str, ...]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for cells in reader:
            rows.append(tuple(_unmarked(cell) for cell in cells))
            _limits(name, len(rows), len(cells))
    except csv.Error as error:
        raise SpreadsheetError(
            f"{name}, line {reader.line_num}: this is not CSV ({error}). Look for a quotation mark"
            " that is not closed."
        ) from None
    odd = tuple(
        (r, c, "is a formula; write its value")
        for r, texts in enumerate(rows)
        for c, cell in enumerate(texts)
        if cell.startswith("=") and f"'{cell}" not in text
    )
    return Table(name, tuple(rows), odd=odd)


def _separator(text: str) -> str:
    """What separates cells: what divides the most of the first rows into the same number of them.

    A comma may be in figures and names, too.
    """
    head = "\n".join(text.splitlines()[:20])

    def regular(separator: str) -> tuple[int, int]:
        try:
            widths = [len(row) for row in csv.reader(io.StringIO(head), delimiter=separator)]
        except csv.Error:
            return 0, 0
        several = [width for width in widths if width > 1]
        usual = max(several, key=several.count, default=0)
        return several.count(usual), usual

    return max(",;\t", key=regular)


def _unmarked(cell: str) -> str:
    """A cell without the mark that `csv_text` writes before what may be taken for a formula."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] in FORMULA_STARTS and cell[1:] else cell


def _from_book(name: str, data: bytes, wanted: str | None) -> Table:
    from python_calamine import CalamineError, PasswordError, load_workbook

    broken = SpreadsheetError(
        f"{name} cannot be read as a spreadsheet: it is broken or of another type. Open it, save it"
        " again as XLSX, or save the list as CSV (UTF-8)."
    )
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise SpreadsheetError(
            f"{name} is protected by a password or of an old type: save it without a password, as"
            " XLSX."
        )
    _check_unpacked(name, data, broken)
    try:
        with load_workbook(io.BytesIO(data)) as book:
            sheets = {
                title: book.get_sheet_by_name(title)
                for title in book.sheet_names
                if wanted is None or title == wanted
            }
            filled = {t: s for t, s in sheets.items() if s.height}
            if wanted is not None and wanted not in sheets:
                known = join_words([quoted(t) for t in book.sheet_names])
                raise SpreadsheetError(f"{name} has no sheet {quoted(wanted)}; it has {known}.")
            if not filled:
                raise SpreadsheetError(f"{name} has no filled sheet: save the list again.")
            if len(filled) > 1:
                known = join_words([quoted(t) for t in filled])
                raise SpreadsheetError(
                    f"{name} has {counted(len(filled), 'sheet')}: say which is the list with"
                    f" --sheet NAME: {known}."
                )
            title, sheet = next(iter(filled.items()))
            _limits(f"{name}, sheet {quoted(title)},", sheet.height, sheet.width)
            values = [list(row) for row in sheet.to_python(skip_empty_area=True)]
            start = sheet.start or (0, 0)
            merged = sheet.merged_cell_ranges or []
    except PasswordError:
        raise SpreadsheetError(f"{name} is protected by a password: save it without one.") from None
    except (CalamineError, OSError, ValueError, KeyError):
        raise broken from None
    copied = 0
    for (top, left), (bottom, right) in merged:
        beside = range(max(top - start[0], 0), min(bottom - start[0] + 1, len(values)))
        column = left - start[1]
        # A title over several columns stays one cell; a value beside several rows is meant in each.
        if left == right and len(beside) > 1 and 0 <= column < len(values[beside[0]]):
            copied += 1
            for r in beside:
                values[r][column] = values[beside[0]][column]
    odd: list[tuple[int, int, str]] = []
    texts = []
    for r, row in enumerate(values):
        cells = []
        for c, value in enumerate(row):
            text, why = _text_of(value)
            cells.append(text)
            if why:
                odd.append((r, c, why))
        texts.append(tuple(cells))
    return Table(title, tuple(texts), start[0] + 1, start[1] + 1, copied, tuple(odd))


def _text_of(value: object) -> tuple[str, str]:
    """A cell's value as text, and what is wrong with it."""
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        return str(value), "is a date or time; format the cell as text and write it again"
    if isinstance(value, bool):
        return str(value).upper(), ""
    if isinstance(value, float):
        return (str(int(value)) if value.is_integer() else repr(value)), ""
    text = str(value)
    if re.fullmatch(r"#(REF|N/A|VALUE|NAME|DIV/0|NULL|NUM)[!?]?", text):
        return text, "is a formula that failed; write its value"
    return text, ""


def _check_unpacked(name: str, data: bytes, broken: SpreadsheetError) -> None:
    """Refuse what would unpack to more than can be held, whatever its list of parts says."""
    large = SpreadsheetError(
        f"{name} unpacks to more than is read: keep only the list in it, without pictures, and"
        " delete formats and cells far below it or beside it."
    )
    left = LARGEST_UNPACKED
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            for part in parts.infolist():
                with parts.open(part) as stream:
                    content = stream.read(left + 1)
                left -= len(content)
                if left < 0:
                    raise large
                if part.filename.startswith("xl/worksheets/"):
                    _check_references(name, content)
                elif part.filename == "content.xml" and any(
                    int(n) > MOST_ROWS for n in _REPEATED.findall(content)
                ):
                    raise large
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError):
        raise broken from None
    except Exception as error:
        if type(error).__name__ == "error":  # zlib.error
            raise broken from None
        raise


def _check_references(name: str, content: bytes) -> None:
    """One cell far away would make the reader hold every cell up to it."""
    row, column = len(_ROW.findall(content)), 0
    for letters, digits in _REFERENCE.findall(content):
        row = max(row, int(digits[:12]))
        number = 0
        for letter in letters[:8].upper():
            number = number * 26 + letter - 64
        column = max(column, number)
    # Empty rows above the list and columns to its left are no part of it, and few.
    _limits(name, row, column)


def csv_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows as CSV, safe to open in a spreadsheet: no cell begins as a formula does.

    Such a cell has an apostrophe before it, which `read_table` takes off again.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in rows:
        writer.writerow([f"'{c}" if c.startswith(FORMULA_STARTS) else c for c in row])
    return out.getvalue()


def xlsx_bytes(rows: Iterable[Sequence[str]], sheet: str) -> bytes:
    """Rows as an XLSX file with one sheet, every cell a text, the headings in view."""
    import xlsxwriter

    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        # The same catalogue gives the same file.
        book.set_properties({"created": datetime.datetime(2000, 1, 1)})
        page = book.add_worksheet(sheet)
        page.freeze_panes(1, 0)
        bold = book.add_format({"bold": True})
        for r, row in enumerate(rows):
            for c, cell in enumerate(row):
                page.write_string(r, c, cell, None if r else bold)
        page.autofit()
    return out.getvalue()
