"""A breaker list from a spreadsheet: read, compared, written into a catalogue, exported again."""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
import zipfile
from pathlib import Path

import pytest
import xlsxwriter
from click.testing import CliRunner, Result
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sitegen.catalogue.list_columns import match_columns
from sitegen.catalogue.list_meanings import MEANINGS
from sitegen.catalogue.model import Checked, Protector
from sitegen.catalogue.read import read
from sitegen.catalogue.spreadsheet import csv_text, read_table, xlsx_bytes
from sitegen.catalogue.yaml_edit import yaml_text
from sitegen.cli import commands
from sitegen.resources import demo_catalogue

FINE, NO, WRONG_USAGE, NOT_READ = 0, 1, 2, 3

LIST = """\
Breakers of the Heron,,,,,,,
,,,,,,,
C/B,Rating (A),Power bus,Panel,Pos.,ATA,AWG,Draw (A)
COM 1,"7,5",Avionics bus,Overhead,B1,23-12,20 AWG,5
LDG LT,10A,Main bus,Overhead,A1,3341,18,8
PITOT,5,Main bus,Overhead,A2,30-31,20,3
"""


def run(*arguments: object, input: str | None = None) -> Result:
    return CliRunner().invoke(commands, [str(a) for a in arguments], input=input)


def written(folder: Path, text: str | bytes, name: str = "list.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def book(folder: Path, rows: list[list[object]], name: str = "list.xlsx") -> Path:
    with xlsxwriter.Workbook(folder / name) as made:
        page = made.add_worksheet("Breakers")
        for r, row in enumerate(rows):
            page.write_row(r, 0, row)
    return folder / name


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_catalogue(), tmp_path / "demo"))


@pytest.fixture
def heron(tmp_path: Path) -> Path:
    folder, path = tmp_path / "heron", written(tmp_path, LIST)
    result = run("start", folder, "--name", "Heron", "--sources", 2, "--from", path)
    assert result.exit_code == FINE, result.output
    return folder


def cells(text: str, row: str, **values: str) -> str:
    """A CSV text with other cells, by heading, in the one row that has a text."""
    rows = list(csv.reader(io.StringIO(text.lstrip("\ufeff"))))
    (cells,) = [cells for cells in rows if row in cells]
    for heading, value in values.items():
        cells[rows[0].index(heading.replace("_", " "))] = value
    return csv_text(rows)


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_exported_and_imported_again_nothing_changes(demo: Path, ending: str) -> None:
    before, target = files(demo), demo.parent / f"list.{ending}"
    assert run("export", demo, "--to", target).exit_code == FINE
    result = run("import", demo, target, "--write")
    assert result.exit_code == FINE
    assert "Nothing changes" in result.output
    assert files(demo) == before


def test_what_the_list_says_otherwise_is_shown_then_written_and_nothing_else(demo: Path) -> None:
    target = demo.parent / "list.csv"
    run("export", demo, "--to", target)
    text = target.read_text("utf-8")
    changed = cells(text, "FWD BLOWER", Amps="15", ATA="21-21", Amps_drawn="8", Checked="")
    changed = cells(changed, "AFT BLOWER", Checked="")
    changed += ",Spare fan,21-20,,2,,,cabin,breaker,,SPARE FAN,3,cabin-panel,A8,22,\n"
    changed += "blower-aft,,,,,,,wall-left,breaker,,AFT 2,10,left-wall,E16,18,\n"
    target.write_text(changed, "utf-8")
    before = files(demo)
    shown = run("import", demo, target)
    assert shown.exit_code == FINE
    assert "blower-forward: amps 10 -> 15" in shown.output
    assert (
        "No longer checked, for the line changes\n  blower-forward: was checked by" in shown.output
    )
    assert "Nothing was written" in shown.output
    assert files(demo) == before
    old = read(demo).catalogue
    assert run("import", demo, target, "--write").exit_code == FINE
    new = read(demo).catalogue
    assert old is not None
    assert new is not None
    by_id = {e.id: e for e in new.equipment}
    blower = by_id["blower-forward"]
    assert (blower.ata, blower.amps, blower.supplies[0].breaker.amps) == ("21-21", 8, 15)  # type: ignore[union-attr]
    assert by_id["spare-fan"].supplies[0].bus == "cabin"
    assert [s.bus for s in by_id["blower-aft"].supplies] == ["cabin", "wall-left"]
    touched = {"blower-forward", "spare-fan", "blower-aft"}
    assert [e for e in old.equipment if e.id not in touched] == [
        e for e in new.equipment if e.id not in touched
    ]
    after = files(demo)
    assert {n for n in after if after[n] != before.get(n)} == {
        "equipment-21-air.yaml",
        "equipment-from-list.yaml",
    }
    assert "Nothing changes" in run("import", demo, target, "--write").output


def test_a_shared_breaker_is_changed_once_and_may_not_have_two_ratings(demo: Path) -> None:
    target = demo.parent / "list.csv"
    run("export", demo, "--to", target)
    text = target.read_text("utf-8")
    signed = '"L. Stroud, 2026-10-05, panels of serial 12"'
    assert text.count(f",STROBE,10,right-wall,B1,18,,{signed}") == 3
    other = text.replace("STROBE,10", "STROBE,15")
    target.write_text(other, "utf-8")
    # Who checked 10 A has not checked 15 A, whatever the list repeats.
    said = "3 rows (129, 130 and 131): the line changes, and breaker checked is still"
    assert said in run("import", demo, target).output
    other = other.replace(f"STROBE,15,right-wall,B1,18,,{signed}", "STROBE,15,right-wall,B1,18,,")
    target.write_text(other, "utf-8")
    result = run("import", demo, target)
    assert "1 change:" in result.output
    assert "strobe-left, its breaker STROBE: was checked by L. Stroud" in result.output
    target.write_text(text.replace("STROBE,10", "STROBE,15", 1), "utf-8")
    result = run("import", demo, target, "--write")
    assert result.exit_code == NO
    assert "amps" in result.output
    assert "Correct one of the two" in result.output


def test_the_catalogue_of_a_list_passes_and_publishes_what_the_list_says(heron: Path) -> None:
    reading = read(heron)
    assert reading.catalogue is not None
    assert run("inspect", heron).exit_code == FINE
    com = next(e for e in reading.catalogue.equipment if e.id == "com-1")
    supply = com.supplies[0]
    assert (com.ata, com.amps, supply.bus, supply.wire) == ("23-12", 5, "avionics-bus", 20)
    assert supply.breaker.amps == 7.5  # type: ignore[union-attr]
    assert "COM 1" in run("drop", heron, "avionics-bus").output


@pytest.mark.parametrize("sources", [1, 2, 5])
@pytest.mark.parametrize("buses", [1, 4])
def test_a_catalogue_without_a_list_has_no_errors_and_no_advice(
    tmp_path: Path, sources: int, buses: int
) -> None:
    folder = tmp_path / "new"
    result = run("start", folder, "--name", "On: #1", "--sources", sources, "--buses", buses)
    assert result.exit_code == FINE, result.output
    assert run("inspect", folder).output.startswith("no errors, no pieces of advice.\n")
    catalogue = read(folder).catalogue
    assert catalogue is not None
    assert (len(catalogue.sources), len(catalogue.buses)) == (sources, buses)
    assert catalogue.aircraft.name == "On: #1"


def test_start_asks_for_what_is_left_out(tmp_path: Path) -> None:
    assert run("start", tmp_path / "new", input="Heron\n3\n2\n").exit_code == FINE
    catalogue = read(tmp_path / "new").catalogue
    assert catalogue is not None
    assert (catalogue.aircraft.name, len(catalogue.sources)) == ("Heron", 3)


OF_SERIALS = """\
Bus;Breaker;Equipment;Amps;Amps drawn;Serials
Main;COM;Com;5;;all
Main;DME;Dme;5;;101-110, 114
Main;ADF;Adf;5;;101-118
Main;TAWS;Taws;5;;121 & up
Main;LDG L;Landing light;8;5;
Side;LDG R;Landing light;8;%s;
"""


def test_serials_of_a_list_become_airframes_that_do_not_overlap(tmp_path: Path) -> None:
    folder, path = tmp_path / "k", written(tmp_path, OF_SERIALS % "")
    result = run("start", folder, "--name", "K", "--sources", 2, "--from", path)
    assert result.exit_code == FINE, result.output
    catalogue = read(folder).catalogue
    assert catalogue is not None
    assert [(a.name, a.serials) for a in catalogue.airframes] == [
        ("Serials 101-110, 114", "101-110, 114"),
        ("Serials 111-113, 115-118", "111-113, 115-118"),
        ("Serials 121 and up", "121-"),
        # 119 and 120 are in no range.
        ("Other serials", ""),
    ]
    fitted = {e.id: e.fitted_to for e in catalogue.equipment}
    first, second, last, _ = (a.id for a in catalogue.airframes)
    assert fitted["adf"] == [first, second]
    assert (fitted["dme"], fitted["taws"], fitted["com"]) == ([first], [last], None)
    # Two rows of one name are one item: said, so that nobody takes two lamps for one.
    assert "1 name in several rows, Landing light (6 and 7): one item each" in result.output


def test_two_rows_of_one_item_may_not_say_different_amps(tmp_path: Path) -> None:
    path = written(tmp_path, OF_SERIALS % "9")
    result = run("start", tmp_path / "k", "--name", "K", "--sources", 2, "--from", path)
    assert result.exit_code == NO
    assert "row 7: amps drawn is `9` here and `5` in sheet `list.csv`, row 6" in result.output
    assert not (tmp_path / "k").exists()


def test_start_and_export_overwrite_nothing(heron: Path) -> None:
    before = files(heron)
    assert run("start", heron, "--name", "X", "--sources", 1).exit_code == WRONG_USAGE
    target = written(heron.parent, "mine", "out.csv")
    assert run("export", heron, "--to", target).exit_code == WRONG_USAGE
    assert target.read_text() == "mine"
    assert files(heron) == before


def test_headings_are_understood_however_they_are_written(tmp_path: Path) -> None:
    columns = match_columns(read_table(written(tmp_path, LIST)))
    assert columns.heading_row == 2
    assert set(columns.of) == {"placard", "rating", "bus", "panel", "at", "ata", "wire", "drawn"}
    for meaning, m in MEANINGS.items():
        heads = ["Bus", "Amps", "Breaker"]
        for text in (m.heading, *m.written):
            if meaning in ("bus", "rating", "placard"):
                heads[("bus", "rating", "placard").index(meaning)] = text.upper()
            row = heads if text.upper() in heads else [*heads, text.upper()]
            assert match_columns(read_table(written(tmp_path, csv_text([row])))).of[meaning] == (
                row.index(text.upper())
            )


def test_the_report_says_what_was_guessed_and_what_is_missing(heron: Path) -> None:
    text = "Bus;Description;Label;Size;Colour\nMain bus;Fan;FAN;7,5;red\n"
    result = run("import", heron, written(heron.parent, text))
    assert "Guessed\n  B Description: Equipment\n  D Size: Amps\n" in result.output
    assert "Not used (--column FIELD=HEADING says what one is)\n  E Colour" in result.output
    assert "No column for: ATA, Serials" in result.output
    assert "Fan: FAN on main-bus" in result.output


HEAD = "Bus,Breaker,Amps,Panel,Position,Wire,ATA\n"


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        (
            "Mian bus,FAN,5,,,,\n",
            "row 2, column A: the bus `Mian bus` is not in the catalogue. Did you",
        ),
        (
            "Main bus,FAN,5,,,,33.4\n",
            "`33.4` is not an ATA chapter. Write 23, 23-12 or 23-12-01. Make the cell text.",
        ),
        (
            "Main bus,FAN,five,,,,\n",
            "row 2, column C: `five` is not a figure in amps. Write only the figure, as in 7.5.",
        ),
        ('Main bus,FAN,"1,000",,,,\n', "column C: `1,000` is not a figure"),
        ("Main bus,FAN,0,,,,\n", "column C: `0`: amps are above 0"),
        ("Main bus,FAN,,,,,\n", "row 2: amps is empty. Fill it in."),
        ("Main bus,=A1,5,,,,\n", "column B: `=A1` is a formula; write its value."),
        ("Main bus,FAN,5,,,99,\n", "column F: `99` is not a wire gauge"),
        ("Main bus,FAN,5,,,,x\n", "column G: `x` is not an ATA chapter"),
        ("Main bus,FAN,5,,,,\nMain bus,FAN,5,,,,\n", "row 3: this repeats sheet `list.csv`, row 2"),
        (
            "Main bus,FAN,5,Overhead,B2,,\nMain bus,HEAT,5,Overhead,B2,,\n",
            "row 3: sheet `list.csv`, row 2 has a breaker at overhead B2 too, with another breaker",
        ),
        ("Main bus,,5,,,,\n", "row 2: no equipment and no breaker"),
        ("Main bus,FAN,5,Overhead,Z9,,\n", "row 2: `overhead` has no position `Z9`"),
        (f"Main bus,{'F' * 201},5,,,,\n", "column B: the text is longer than 200"),
    ],
)
def test_a_wrong_row_is_one_message_with_its_place(heron: Path, rows: str, message: str) -> None:
    before = files(heron)
    result = run("import", heron, written(heron.parent, HEAD + rows), "--write")
    assert result.exit_code == NO
    assert message in result.output
    assert files(heron) == before


def zipped(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in parts.items():
            file.writestr(name, content)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "code", "message"),
    [
        ("list.pdf", b"%PDF", NOT_READ, "save it as CSV (UTF-8), XLSX or ODS"),
        ("list.csv", b"", NOT_READ, "is empty"),
        ("list.csv", b"PK\3\4", NOT_READ, "not CSV"),
        ("list.csv", b"Bus,Amps\nM\xfcller,5\n", NOT_READ, "row 2: this is not UTF-8"),
        ("list.csv", b'Bus,Amps\n"open,5\n', NOT_READ, "quotation mark"),
        ("list.csv", b"Bus,Amps\n" + b"a,1\n" * 50_000, NOT_READ, "20,000 are read"),
        ("list.csv", b"Bus,Breaker,Amps\nx," + b"y" * 5000 + b",1\n", NOT_READ, "row 2, column B"),
        ("list.csv", b"1,2,3\n4,5,6\n", NO, "no row has headings"),
        ("list.csv", b"Bus,CB,Placard,Amps\n", NO, "B `CB` and C `Placard` both mean `Breaker`"),
        ("list.csv", b"Breaker,Amps\n", NO, "no column is headed `Bus`"),
        ("list.xlsx", b"not a book", NOT_READ, "broken or of another type"),
        ("list.xlsx", zipped({"a.txt": b"a"}), NOT_READ, "broken or of another type"),
        ("list.ods", zipped({"content.xml": b"<a"}), NOT_READ, "broken or of another type"),
        ("list.xlsx", zipped({"a": bytes(150_000_000)}), NOT_READ, "unpacks to more than is read"),
        *(
            ("list.xlsx", zipped({"xl/worksheets/sheet1.xml": cell}), NOT_READ, message)
            for cell, message in (
                (b'<c r="XFD1048576"><v>1</v></c>', "1,048,576 rows"),
                (b"<x:c s='1' r = 'xfd7'><v>1</v></x:c>", "16,384 columns"),
                (b'<row r="1048576"><c><v>1</v></c></row>', "1,048,576 rows"),
                (b"<row/>" * 30_000, "30,000 rows"),
            )
        ),
    ],
)
def test_a_file_that_is_no_list_is_one_message(
    heron: Path, name: str, content: bytes, code: int, message: str
) -> None:
    result = run("import", heron, written(heron.parent, content, name))
    assert message in result.output
    assert result.exit_code == code
    assert result.output.count("sitegen: ") == 1


def test_a_list_that_is_not_there_and_a_sheet_that_is_not(heron: Path) -> None:
    assert run("import", heron, heron.parent / "none.csv").exit_code == NOT_READ
    path = book(heron.parent, [["Bus", "Breaker", "Amps"]])
    result = run("import", heron, path, "--sheet", "Fuses")
    assert (result.exit_code, "it has `Breakers`" in result.output) == (NOT_READ, True)


def test_a_broken_book_cut_anywhere_never_ends_in_a_traceback(heron: Path) -> None:
    whole = book(heron.parent, [["Bus", "Breaker", "Amps"], ["Main bus", "FAN", 5]]).read_bytes()
    for cut in range(0, len(whole) - 1, 211):
        result = run("import", heron, written(heron.parent, whole[:cut], "cut.xlsx"))
        assert (result.exit_code, cut) == (NOT_READ, cut)


def test_a_value_merged_over_rows_counts_in_each_and_a_date_is_refused(heron: Path) -> None:
    path = heron.parent / "merged.xlsx"
    with xlsxwriter.Workbook(path) as made:
        page = made.add_worksheet("Breakers")
        page.write_row(0, 0, ["Bus", "Breaker", "Amps", "Position"])
        page.merge_range(1, 0, 2, 0, "Main bus")
        page.write_row(1, 1, ["FAN", 5])
        page.write_row(2, 1, ["HEAT", 10])
    result = run("import", heron, path)
    assert "FAN: FAN on main-bus" in result.output
    assert "HEAT: HEAT on main-bus" in result.output
    assert "the value of 1 range counts in each row" in result.output
    with xlsxwriter.Workbook(path) as made:
        page = made.add_worksheet("Breakers")
        page.write_row(0, 0, ["Bus", "Breaker", "Amps", "Position"])
        page.write_row(1, 0, ["Main bus", "FAN", 5])
        page.write(1, 3, 45_000, made.add_format({"num_format": "yyyy-mm-dd"}))
    result = run("import", heron, path)
    assert "sheet `Breakers`, row 2, column D" in result.output
    assert "is a date" in result.output


CELLS = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=12) | st.sampled_from(
    ["=1+1", "'=1", "''x", "-5", "@a", "+", "a;b", 'q"q', "7,5", "'quoted'"]
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=6))
def test_any_cells_come_back_from_csv_and_xlsx_as_they_were(rows: list[list[str]]) -> None:
    rows = [["Bus", "Breaker", "Amps"], *rows]
    with tempfile.TemporaryDirectory() as place:
        for name, content in (
            ("a.csv", csv_text(rows).encode()),
            ("a.xlsx", xlsx_bytes(rows, "Breakers")),
        ):
            table = read_table(written(Path(place), content, name))
            back = [list(r) + [""] * (3 - len(r)) for r in table.rows]
            while len(back) > 1 and back[-1] == [""] * 3:
                back.pop()
            expected = list(rows)
            while len(expected) > 1 and expected[-1] == [""] * 3:
                expected.pop()
            assert back == expected
    assert not any(
        cell.startswith(("=", "+", "-", "@"))
        for row in csv.reader(io.StringIO(csv_text(rows), newline=""))
        for cell in row
    )


ONE_FILE = """\
format: 1
aircraft: {name: Heron, revision: "1", revised: 2026-11-20, statement: Invented.}
sources: [{id: gen, name: Generator, kind: generator, volts: 28, amps: 100}]
buses: [{id: main, name: Main bus}]
feeders: [{from: gen, to: main}]
equipment:
  - id: com   # the radio
    name: VHF radio
    ata: 23-12
    supplies:
      - bus: main
        breaker:
          name: COM  # placard
          amps: 7.5
    note: |
      A note
      of two lines.

  # the lamp
  - {id: lamp, name: 'Lamp', ata: 33-40, supplies: [{bus: main, breaker: {name: LAMP, amps: 5}}]}

conditions: [{id: flight, name: Flight, sources: [gen]}]
"""

EDITED = """\
equipment:
  - id: com   # the radio
    reference: "Chart: 23 #1"
    amps: 5
    name: VHF radio
    ata: 23-12
    supplies:
      - bus: main
        wire: 18
        breaker:
          name: COM  # placard
          amps: 10
      - {bus: main, breaker: {name: COM 2nd, amps: 10}, wire: 18}
    note: |
      A note
      of two lines.

  # the lamp
  - {id: lamp, amps: 0.5, name: 'Lamp', ata: 33-40, supplies: [LAMP]}
  - {id: fan, name: Fan, ata: "21", supplies: [FAN], amps: 1}

conditions:""".replace("[LAMP]", "[{bus: main, breaker: {name: LAMP, amps: 5}}]").replace(
    "[FAN]", '[{bus: main, breaker: {name: "ON", amps: 3}, wire: 22}]'
)


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_a_file_keeps_its_comments_its_style_and_its_line_ends(
    tmp_path: Path, newline: str
) -> None:
    path = written(tmp_path, ONE_FILE.replace("\n", newline), "heron.yaml")
    rows = """\
Bus;Breaker;Amps;Equipment;ATA;Wire;Amps drawn;Reference
Main bus;COM;10;VHF radio;23-12;18;5;Chart: 23 #1
Main bus;COM 2nd;10;VHF radio;23-12;18;5;Chart: 23 #1
Main bus;LAMP;5;Lamp;33-40;;0,5;
main;ON;3;Fan;21;22;1;
"""
    result = run("import", path, written(tmp_path, rows), "--write")
    assert result.exit_code == FINE, result.output
    assert EDITED.replace("\n", newline) in path.read_bytes().decode()
    assert "Nothing changes" in run("import", path, written(tmp_path, rows)).output


def test_an_ods_list_is_read(heron: Path) -> None:
    rows = [["Bus", "CB", "Amps"], ["Main bus", "FAN", "5"]]
    cells = "".join(
        "<table:table-row>"
        + "".join(
            f'<table:table-cell office:value-type="string"><text:p>{c}</text:p></table:table-cell>'
            for c in row
        )
        + "</table:table-row>"
        for row in rows
    )
    names = "".join(
        f' xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"'
        for n in ("office", "table", "text")
    )
    content = (
        f"<office:document-content{names}><office:body><office:spreadsheet>"
        f'<table:table table:name="CBs">{cells}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    kind = b"application/vnd.oasis.opendocument.spreadsheet"
    manifest = b'<m:manifest xmlns:m="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
    data = zipped(
        {"mimetype": kind, "META-INF/manifest.xml": manifest, "content.xml": content.encode()}
    )
    result = run("import", heron, written(heron.parent, data, "list.ods"))
    assert "FAN: FAN on main-bus" in result.output, result.output


def test_one_breaker_of_two_items_is_shared_in_the_catalogue(tmp_path: Path) -> None:
    rows = """\
Bus,Breaker,Amps,Panel,Position,Equipment,ATA,Serials
Main,STROBE,10,Wall,B1,Left strobe,33-45,
Main,STROBE,10,Wall,b-1,Right strobe,33-45,
Main,FAN,5,Wall,A1,Old fan,21-20,1-24
Main,FAN,3,Wall,A1,New fan,21-20,25 and up
AC bus,HSI,1,Wall,3,Compass,34-20,
"""
    folder = tmp_path / "new"
    path = written(tmp_path, rows)
    result = run("start", folder, "--name", "N", "--sources", 2, "--from", path)
    assert result.exit_code == FINE, result.output
    assert "row 6: the position is left out (it is no row and column like B7)" in result.output
    catalogue = read(folder).catalogue
    assert catalogue is not None
    by_id = {e.id: e for e in catalogue.equipment}
    assert by_id["left-strobe"].supplies[0].breaker == by_id["right-strobe"].supplies[0].breaker
    assert [d.amps for d in catalogue.devices if d.id == "cb-strobe"] == [10]
    assert len(catalogue.airframes) == 2
    assert by_id["old-fan"].fitted_to != by_id["new-fan"].fitted_to
    assert [b.current for b in catalogue.buses] == ["dc", "ac"]
    assert "Nothing changes" in run("import", folder, path).output


def test_two_rows_of_one_item_may_not_say_two_things(demo: Path) -> None:
    target = demo.parent / "list.csv"
    run("export", demo, "--to", target)
    rows = target.read_text("utf-8").splitlines()
    first = next(i for i, row in enumerate(rows) if row.startswith("survey-guidance,"))
    rows[first + 1] = rows[first + 1].replace("46-14", "46-15", 1)
    target.write_text("\n".join(rows), "utf-8")
    result = run("import", demo, target)
    assert result.exit_code == NO
    assert f"row {first + 2}: ata is `46-15` here and `46-14` in" in result.output
    assert "1 problem; nothing was changed" in result.output


def test_who_checked_a_line_is_written_by_a_list(heron: Path) -> None:
    rows = written(
        heron.parent,
        "Bus,Breaker,Amps,Equipment,Checked,Breaker checked,Reference\n"
        'Main bus,LAMP,2,Lamp,"M. Kerr, 2026-11-20, Chart 33-10, revision 2",'
        '"T. Ode, 2026-11-21",Chart 33-10\n',
        "list.csv",
    )
    result = run("import", heron, rows, "--write")
    assert result.exit_code == FINE, result.output
    catalogue = read(heron).catalogue
    assert catalogue is not None
    lamp = next(e for e in catalogue.equipment if e.name == "Lamp")
    breaker = lamp.supplies[0].breaker
    assert lamp.checked == Checked.model_validate(
        {"by": "M. Kerr", "on": "2026-11-20", "against": "Chart 33-10, revision 2"}
    )
    assert isinstance(breaker, Protector)
    assert breaker.checked == Checked.model_validate({"by": "T. Ode", "on": "2026-11-21"})


def test_a_line_that_the_list_has_checked_again_is_not_named(heron: Path) -> None:
    head = "Bus,Breaker,Amps,Equipment,Checked\n"
    signed = written(heron.parent, f'{head}Main bus,LAMP,2,Lamp,"M. Kerr, 2026-11-20"\n')
    assert run("import", heron, signed, "--write").exit_code == FINE
    changed = written(heron.parent, f"{head}Main bus,LAMP,3,Lamp,\n")
    said = "No longer checked, for the line changes\n  lamp: was checked by M. Kerr, 2026-11-20"
    assert said in run("import", heron, changed).output
    again = written(heron.parent, f'{head}Main bus,LAMP,3,Lamp,"M. Kerr, 2026-11-21"\n')
    assert "No longer checked" not in run("import", heron, again, "--write").output
    reading = read(heron).catalogue
    assert reading is not None
    lamp = next(e for e in reading.equipment if e.id == "lamp")
    assert lamp.checked is not None
    assert lamp.checked.on.isoformat() == "2026-11-21"


def test_a_check_that_other_lines_repeat_is_changed_by_hand(demo: Path) -> None:
    target = demo.parent / "list.csv"
    run("export", demo, "--to", target)
    text = target.read_text("utf-8").replace("L. Stroud, 2026-10-06", "L. Stroud, 2026-12-01", 1)
    target.write_text(text, "utf-8")
    before = files(demo)
    result = run("import", demo, target, "--write")
    assert result.exit_code == NO
    assert "change `checked` to `L. Stroud, 2026-12-01` by hand at equipment-21" in result.output
    assert files(demo) == before


def test_an_item_is_added_after_a_text_of_several_lines(tmp_path: Path) -> None:
    head, lamp, conditions = ONE_FILE.split("  # the lamp\n")[0], "", ONE_FILE.splitlines()[-1]
    path = written(tmp_path, f"{head.rstrip()}\n{conditions}\n{lamp}", "heron.yaml")
    rows = written(tmp_path, "Bus,Breaker,Amps\nmain,FAN,3\n")
    result = run("import", path, rows, "--write")
    assert result.exit_code == FINE, result.output
    catalogue = read(path).catalogue
    assert catalogue is not None
    assert [(e.id, e.note) for e in catalogue.equipment] == [
        ("com", "A note\nof two lines.\n"),
        ("fan", ""),
    ]


TEXTS = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp", "Cn", "Co")), min_size=1, max_size=15
).map(lambda text: f"x{text}".strip())
FIGURES = st.integers(1, 400_000).map(lambda n: n / 1000)


@settings(max_examples=40, deadline=None)
@example([("x\N{ZERO WIDTH JOINER}y", "A\N{NO-BREAK SPACE} B", 7.5, 0.125, "x'=\"; \\")])
@given(st.lists(st.tuples(TEXTS, TEXTS, FIGURES, FIGURES, TEXTS), min_size=1, max_size=4))
def test_whatever_names_and_figures_a_catalogue_has_its_list_changes_nothing(
    items: list[tuple[str, str, float, float, str]],
) -> None:
    records = [
        {
            "id": f"item-{n}",
            "name": name,
            "ata": "24-50",
            "supplies": [
                {
                    "bus": "main",
                    "breaker": {"name": f"{placard} {n}", "amps": amps, "reference": name},
                    "checked": {"by": reference, "on": "2026-11-20", "against": placard},
                }
            ],
            "amps": drawn,
            "reference": reference,
            "checked": {"by": placard, "on": "2026-02-28"},
        }
        for n, (name, placard, amps, drawn, reference) in enumerate(items)
    ]
    head, conditions = ONE_FILE.split("equipment:")[0], ONE_FILE.splitlines()[-1]
    text = f"{head}equipment: {yaml_text(records)}\n{conditions}\n"
    with tempfile.TemporaryDirectory() as place:
        path = written(Path(place), text, "heron.yaml")
        if read(path).errors:
            return  # a name that no catalogue may have
        for ending in ("csv", "xlsx"):
            target = Path(place) / f"list.{ending}"
            assert run("export", path, "--to", target).exit_code == FINE
            assert "Supply checked" in read_table(target, None).rows[0]
            result = run("import", path, target)
            assert "Nothing changes" in result.output, result.output
