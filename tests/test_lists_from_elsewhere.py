"""Breaker lists that were not made for this program: other headings, spellings, cells, gaps."""

from __future__ import annotations

import csv
import shutil
from collections import Counter
from pathlib import Path

import pytest

from sitegen.catalogue.list_columns import match_columns
from sitegen.catalogue.list_meanings import MEANINGS, RARE, field_name
from sitegen.catalogue.model import Catalogue, Device, Protector
from sitegen.catalogue.read import read
from sitegen.catalogue.spreadsheet import csv_text, read_table
from sitegen.resources import demo_catalogue
from tests.test_lists import FINE, NO, WRONG_USAGE, files, run, written

PLOVER = """\
format: 1
aircraft: {name: Plover, revision: "1", revised: 2026-11-20, statement: Invented.}
airframes:
  - {id: early, name: Early, serials: "1-24"}
  - {id: late, name: Late, serials: "25-58"}
  - {id: last, name: Last, serials: "59-"}
panels: [{id: wall, name: Wall panel, where: left, rows: [A, B], columns: 9}]
sources: [{id: gen, name: Generator, kind: generator, volts: 28, amps: 100}]
buses: [{id: main, name: Main bus}, {id: radio, name: Radio bus}]
devices:
  - {id: cb-radio, name: RADIO BUS, kind: breaker, amps: 30, panel: wall, at: A1}
  - {id: cb-strobe, name: STROBE, kind: breaker, amps: 10, panel: wall, at: A2}
feeders: [{from: gen, to: main}, {from: main, to: radio, through: [cb-radio]}]
equipment:
  - {id: com-1, name: VHF radio 1, ata: 23-12, supplies: [{bus: radio, breaker: {name: COM 1, amps: 5, panel: wall, at: B1}}]}
  - {id: strobe-left, name: Left strobe, ata: 33-45, supplies: [{bus: main, breaker: cb-strobe}]}
  - {id: lamp, name: Landing light, ata: 33-40, supplies: [{bus: main, breaker: {name: LDG LT, amps: 10}}]}
  - {id: heat, name: Pitot heat, ata: 30-31, fitted-to: [early], supplies: [{bus: main, breaker: {name: HEAT, amps: 10}}]}
conditions: [{id: flight, name: Flight, sources: [gen]}]
"""  # noqa: E501


@pytest.fixture
def plover(tmp_path: Path) -> Path:
    return kept_in(tmp_path, PLOVER)


def kept_in(tmp_path: Path, text: str) -> Path:
    """A folder with a catalogue of one file."""
    folder = tmp_path / "plover"
    folder.mkdir()
    written(folder, text, "plover.yaml")
    return folder


def imported(folder: Path, rows: str, *options: str) -> str:
    """What an import says that ends well and has written the catalogue."""
    path = written(folder.parent, rows)
    result = run("import", folder, path, "--write", *options)
    assert result.exit_code == FINE, result.output
    again = run("import", folder, path, "--write", *options)
    assert "Nothing changes" in again.output, again.output
    return result.output


def refused(folder: Path, rows: str, *options: str) -> str:
    """What an import says that ends with nothing written."""
    before = files(folder)
    result = run("import", folder, written(folder.parent, rows), "--write", *options)
    assert result.exit_code == NO
    assert files(folder) == before
    return result.output


def started(folder: Path, rows: str, *options: str) -> tuple[str, Catalogue]:
    """What `start` says, and the catalogue it makes; the same list then changes nothing."""
    path = written(folder, rows)
    result = run("start", folder / "new", "--name", "N", "--sources", 2, "--from", path, *options)
    assert result.exit_code == FINE, result.output
    again = run("import", folder / "new", path, *options)
    assert "Nothing changes" in again.output, again.output
    return result.output, catalogue(folder / "new")


def catalogue(folder: Path) -> Catalogue:
    reading = read(folder)
    assert reading.catalogue is not None
    return reading.catalogue


def breakers(made: Catalogue) -> dict[str, float | None]:
    """The rating of every breaker, by placard."""
    own = [
        s.breaker for e in made.equipment for s in e.supplies if isinstance(s.breaker, Protector)
    ]
    every: list[Protector | Device] = [*made.devices, *own]
    assert len({b.name for b in every}) == len(every), "a breaker is there twice"
    return {b.name: b.amps for b in every}


# A list without equipment names the breakers that the catalogue has.


@pytest.mark.parametrize(
    ("row", "placard"),
    [
        ("Radio bus,COM 1,7.5,,", "COM 1"),
        ("radio,com-1.breaker,7.5,,", "COM 1"),
        ("Radio bus,COM 1,7.5,wall,B2", "COM 1"),
        ("Radio bus,COM 1,7.5,wall,b-1", "COM 1"),
        ("Radio bus,VHF 1,7.5,wall,B1", "VHF 1"),
        ("Main bus,STROBE,7.5,,", "STROBE"),
        ("Main bus,cb-strobe,7.5,wall,A2", "STROBE"),
        ("Main bus,RADIO BUS,7.5,,", "RADIO BUS"),
        ("Radio bus,Radio bus,7.5,wall,A1", "RADIO BUS"),
    ],
)
def test_a_breaker_that_the_catalogue_has_is_updated_not_doubled(
    plover: Path, row: str, placard: str
) -> None:
    before = breakers(catalogue(plover))
    imported(plover, f"Bus,Breaker,Amps,Panel,Position\n{row}\n")
    after = breakers(catalogue(plover))
    assert len(after) == len(before)
    assert after[placard] == 7.5
    assert {n: a for n, a in after.items() if a != 7.5} == {
        n: a for n, a in before.items() if n in after and n != placard
    }
    assert [e.name for e in catalogue(plover).equipment] == [
        "VHF radio 1",
        "Left strobe",
        "Landing light",
        "Pitot heat",
    ]


def test_the_same_placard_on_another_bus_or_position_is_another_breaker(plover: Path) -> None:
    head = "Bus,Breaker,Amps,Panel,Position\n"
    imported(
        plover, f"{head}Main bus,COM 1,5,,\nRadio bus,COM 1,5,wall,B1\nRadio bus,COM 1,3,wall,B3\n"
    )
    supplies = [(s.bus, s.breaker) for e in catalogue(plover).equipment for s in e.supplies]
    placed = [(bus, b.name, b.amps, b.at) for bus, b in supplies if isinstance(b, Protector)]
    assert {p for p in placed if p[1] == "COM 1"} == {
        ("main", "COM 1", 5, None),
        ("radio", "COM 1", 5, "B1"),
        ("radio", "COM 1", 3, "B3"),
    }


def test_breakers_that_change_places_stay_those_of_their_equipment(plover: Path) -> None:
    nav = "  - {id: nav-1, name: VOR, ata: 34-51, supplies: [{bus: radio, breaker: {name: NAV 1, amps: 5, panel: wall, at: B2}}]}\n"  # noqa: E501
    written(plover, PLOVER.replace("conditions:", f"{nav}conditions:"), "plover.yaml")
    rows = "Radio bus,NAV 1,5,wall,B1\nRadio bus,COM 1,5,wall,B2\n"
    imported(plover, f"Bus,Breaker,Amps,Panel,Position\n{rows}")
    own = {e.id: e.supplies[0].breaker for e in catalogue(plover).equipment}
    placed = {i: (b.name, b.at) for i, b in own.items() if isinstance(b, Protector) and b.at}
    assert placed == {"com-1": ("COM 1", "B2"), "nav-1": ("NAV 1", "B1")}


def test_other_equipment_with_another_placard_takes_no_place(plover: Path) -> None:
    rows = "Bus,Breaker,Amps,Panel,Position,Equipment\nRadio bus,NAV 1,5,wall,B1,VOR\n"
    assert "the place `B1` on panel `wall` is taken by breaker" in refused(plover, rows)


def test_another_item_on_a_breaker_that_is_shared_is_fed_through_it(plover: Path) -> None:
    imported(
        plover,
        "Bus,Breaker,Amps,Equipment\n"
        "Main bus,STROBE,7.5,Left strobe\nMain bus,STROBE,7.5,Right strobe\n",
    )
    made = catalogue(plover)
    assert {e.id: e.supplies[0].breaker for e in made.equipment if "strobe" in e.id} == {
        "strobe-left": "cb-strobe",
        "right-strobe": "cb-strobe",
    }
    assert breakers(made)["STROBE"] == 7.5


def test_other_equipment_elsewhere_on_the_panel_has_a_breaker_of_its_own(plover: Path) -> None:
    imported(
        plover,
        "Bus,Breaker,Amps,Equipment,Panel,Position\nRadio bus,COM 1,3,Second radio,wall,B2\n",
    )
    names = {e.id: e.name for e in catalogue(plover).equipment}
    assert (names["com-1"], names["second-radio"], len(names)) == (
        "VHF radio 1",
        "Second radio",
        5,
    )


def test_a_new_item_or_supply_may_name_a_shared_breaker_by_id(plover: Path) -> None:
    rows = (
        "Bus,Breaker id,Equipment\nMain bus,cb-strobe,Tail strobe\nMain bus,cb-strobe,Pitot heat\n"
    )
    imported(plover, rows.replace("id,", "id,Amps,").replace("strobe,", "strobe,10,"))
    made = {e.id: [s.breaker for s in e.supplies] for e in catalogue(plover).equipment}
    assert made["tail-strobe"] == ["cb-strobe"]
    assert made["strobe-left"] == ["cb-strobe"]
    assert made["heat"][1:] == ["cb-strobe"]


def test_the_own_breaker_of_another_item_feeds_no_second_one(plover: Path) -> None:
    said = refused(plover, "Bus,Breaker id,Amps,Equipment\nMain bus,com-1.breaker,5,Left strobe\n")
    assert "the breaker `COM 1` is written in the supply of `com-1`" in said


def test_a_row_without_a_bus_takes_no_breaker_from_one_that_has_it(plover: Path) -> None:
    said = refused(plover, "Bus,Breaker,Amps\n,LDG LT,15\nMain bus,LDG LT,15\n")
    assert "row 2: bus is empty. Fill it in." in said


def test_another_item_on_the_own_breaker_of_one_is_asked_about(plover: Path) -> None:
    rows = "Main bus,LDG LT,10,Landing light\nMain bus,LDG LT,10,Taxi light\n"
    said = refused(plover, f"Bus,Breaker,Amps,Equipment\n{rows}")
    assert "row 3: the breaker `LDG LT` is written in the supply of `lamp`" in said


def test_a_renamed_item_keeps_its_record(plover: Path) -> None:
    said = imported(plover, "Bus,Breaker,Amps,Equipment\nRadio bus,COM 1,5,COM transceiver 1\n")
    assert "com-1: equipment VHF radio 1 -> COM transceiver 1" in said
    assert len(catalogue(plover).equipment) == 4


def with_heat_2(fitted: str) -> str:
    heat = f"  - {{id: heat-2, name: Heat 2, ata: 30-31, {fitted}supplies: [{{bus: main, breaker: {{name: HEAT, amps: 15}}}}]}}\n"  # noqa: E501
    return PLOVER.replace("conditions:", f"{heat}conditions:")


def heats(made: Catalogue) -> list[float | None]:
    own = [s.breaker for e in made.equipment for s in e.supplies]
    return [b.amps for b in own if isinstance(b, Protector) and b.name == "HEAT"]


@pytest.mark.parametrize(
    ("fitted", "serials", "ratings"),
    [
        ("fitted-to: [last], ", "1-58", [5, 15]),
        ("", "1-24", [5, 15]),
        ("", "", [10, 5]),
        ("fitted-to: [late], ", "25 to 58", [10, 5]),
        # A row of all airframes is about the breaker of each.
        ("fitted-to: [late], ", "", [5, 5]),
    ],
)
def test_the_breaker_of_the_rows_own_airframes_is_meant(
    plover: Path, fitted: str, serials: str, ratings: list[float]
) -> None:
    written(plover, with_heat_2(fitted), "plover.yaml")
    imported(plover, f"Bus,Breaker,Amps,Serials\nMain bus,HEAT,5,{serials}\n")
    assert heats(catalogue(plover)) == ratings


def test_which_of_two_breakers_with_one_placard_is_meant_is_asked(plover: Path) -> None:
    written(plover, with_heat_2("fitted-to: [early], "), "plover.yaml")
    rows = "Bus,Breaker,Amps,Serials\nMain bus,HEAT,5,1-24\n"
    assert "`HEAT` is the breaker of `heat` and `heat-2` in the catalogue." in refused(plover, rows)


def test_a_list_of_the_demo_without_equipment_changes_nothing(tmp_path: Path) -> None:
    folder, target = tmp_path / "demo", tmp_path / "demo.csv"
    shutil.copytree(demo_catalogue(), folder)
    run("export", folder, "--to", target)
    columns = ("Bus", "Breaker", "Amps", "Panel", "Position")
    every = list(csv.DictReader(target.read_text("utf-8-sig").splitlines()))
    rows = dict.fromkeys(tuple(row[c] for c in columns) for row in every if row["Breaker"])
    # Of three lights the rating is of the airframe, and such a list contradicts itself.
    places = Counter((panel, at) for *_, panel, at in rows)
    rows = {row: None for row in rows if not row[4] or places[row[3], row[4]] == 1}
    assert len(rows) > 200
    said = imported(folder, csv_text([columns, *rows]))
    assert "Nothing changes" in said
    assert files(folder) == files(demo_catalogue())


def test_a_row_that_adds_a_supply_may_change_the_item_too(signed: Path) -> None:
    head = "Bus,Breaker,Amps,Equipment,ATA,Checked\n"
    rows = "main,FAN,5,Fan,21-21,\naft,FAN 2,5,Fan,21-21,"
    imported(signed, f"{head}{rows}\n")
    fan = catalogue(signed).equipment[0]
    assert (fan.ata, [s.bus for s in fan.supplies], fan.checked) == ("21-21", ["main", "aft"], None)
    said = refused(signed, f'{head}aft,HEAT 2,5,Heat,30-31,"M. Kerr, 2026-11-20"\n')
    assert "row 2: the line changes, and checked is still" in said


def test_a_breaker_in_a_feeder_is_checked_by_itself(plover: Path) -> None:
    head = "Bus,Breaker,Amps,Breaker checked\n"
    imported(plover, f'{head}Main bus,RADIO BUS,30,"M. Kerr, 2026-11-20"\n')
    said = imported(plover, f"{head}Main bus,RADIO BUS,25,\n")
    assert "cb-radio: was checked by M. Kerr, 2026-11-20" in said
    (radio,) = [d for d in catalogue(plover).devices if d.id == "cb-radio"]
    assert (radio.amps, radio.checked) == (25, None)


def test_rows_without_a_panel_on_one_breaker_are_no_contradiction_of_places(plover: Path) -> None:
    rows = "Main bus,FAN,5,A1,Fan\nMain bus,FAN,3,A2,Blower\n"
    imported(plover, f"Bus,Breaker,Amps,Position,Equipment\n{rows}")


def test_rows_that_contradict_each_other_are_named(plover: Path) -> None:
    rows = "Main bus,HEAT,5,Fan\nRadio bus,RADIO BUS,30,Fan\n"
    said = refused(plover, f"Bus,Breaker,Amps,Equipment\n{rows}")
    assert (
        "Once written, the list would still change the catalogue:\n  supply   heat: RADIO BUS"
        in said
    )
    assert "rows of the list contradict each other; nothing was changed" in said


def test_a_row_with_the_id_of_equipment_is_no_breaker_in_a_feeder(plover: Path) -> None:
    rows = "Main bus,RADIO BUS,5,fan\nMain bus,FAN,5,fan\n"
    imported(plover, f"Bus,Breaker,Amps,Equipment id\n{rows}")
    (fan,) = [e for e in catalogue(plover).equipment if e.id == "fan"]
    assert len(fan.supplies) == 2


# Spellings of a bus.

SPELLINGS = """\
Bus,Breaker,Amps
Main bus,FAN,5
MAIN BUS,HEAT,5
 Main  bus ,COM,5
Main-Bus,NAV,5
main.bus,ADF,5
Mian bus,DME,5
Main bus 1-1,TAS,1
Main bus 11,TAT,1
Main,OAT,1
L bus,LMP,5
R bus,RMP,5
"""


def test_spellings_of_one_bus_are_one_and_near_misses_are_questions(tmp_path: Path) -> None:
    said, made = started(tmp_path, SPELLINGS)
    assert [b.name for b in made.buses] == [
        "Main bus",
        "Mian bus",
        "Main bus 1-1",
        "Main bus 11",
        "Main",
        "L bus",
        "R bus",
    ]
    assumed = said.partition("Check what was assumed\n")[2].partition("Questions\n")[0]
    assert (
        "`MAIN BUS` (row 3), `Main-Bus` (row 5) and `main.bus` (row 6) are taken for the bus"
        " `Main bus`." in assumed
    )
    questions = said.partition("Questions\n")[2]
    assert questions.count("one bus?") == 2
    assert "`Main bus` (rows 2, 3, 4 and 2 more) and `Main` (row 10): one bus?" in questions
    assert "`Main bus` (rows 2, 3, 4 and 2 more) and `Mian bus` (row 7): one bus?" in questions


def test_a_bus_of_the_catalogue_is_known_in_other_spellings(plover: Path) -> None:
    said = imported(plover, "Bus,Breaker,Amps\nMAIN-BUS,LDG LT,15\nRadio_bus,COM 1,5\n")
    assert "`MAIN-BUS` (row 2) is taken for the bus `main`." in said
    assert breakers(catalogue(plover))["LDG LT"] == 15
    assert len(catalogue(plover).buses) == 2


# Panel and position in one cell.


@pytest.mark.parametrize(
    ("heading", "cells", "panels"),
    [
        ("Panel", ["P1 A3", "P1 A4", "P2 B12"], ["P1", "P1", "P2"]),
        (
            "Panel",
            ["Overhead/B12", "Overhead/C1", "Side wall/A-1"],
            ["Overhead", "Overhead", "Side wall"],
        ),
        ("Position", ["P1-A3", "P1-A4", "P2-A3"], ["P1", "P1", "P2"]),
        ("Location", ["A3 Overhead", "B4 Overhead", "A1 Side"], ["Overhead", "Overhead", "Side"]),
        (
            "Pos.",
            ["Overhead (B12)", "Overhead (C1)", "Side (A1)"],
            ["Overhead", "Overhead", "Side"],
        ),
        ("CB Panel", ["P1A3", "P1A4", "P1B1"], ["P1", "P1", "P1"]),
        ("Panel", ["A1 P1", "A2 P1", "A3 P1", "A1 P2"], ["P1", "P1", "P1", "P2"]),
    ],
)
def test_panel_and_position_in_one_cell_are_divided(
    tmp_path: Path, heading: str, cells: list[str], panels: list[str]
) -> None:
    rows = "".join(f"Main,CB {n},5,{cell}\n" for n, cell in enumerate(cells))
    said, made = started(tmp_path, f"Bus,Breaker,Amps,{heading}\n{rows}")
    names = {p.id: p.name for p in made.panels}
    own = [s.breaker for e in made.equipment for s in e.supplies]
    assert [names[b.panel] for b in own if isinstance(b, Protector) and b.panel] == panels
    assert all(isinstance(b, Protector) and b.at for b in own)
    guessed = said.partition("Guessed\n")[2]
    assert guessed.startswith(f"  D {heading}: Panel `{panels[0]}` and Position `")


def test_a_cell_in_ten_may_have_the_panel_only(tmp_path: Path) -> None:
    rows = "".join(f"Main,CB {n},5,Wall A{n}\n" for n in range(1, 12))
    _, made = started(tmp_path, f"Bus,Breaker,Amps,Panel\n{rows}Main,CB 0,5,Tail cone\n")
    assert [(p.name, p.columns) for p in made.panels] == [("Wall", 11), ("Tail cone", 1)]


@pytest.mark.parametrize(
    "columns",
    [
        "Panel\nMain,A,5,Panel P1\nMain,B,5,Panel P1\nMain,C,5,Panel P2\nMain,D,5,Panel P2\n",
        "Panel\nMain,A,5,P1 A3\nMain,B,5,Overhead\n",
        "Panel,Position\nMain,A,5,CB P1,A1\nMain,B,5,CB P1,A2\nMain,C,5,CB P2,A1\n",
    ],
)
def test_a_column_of_panels_stays_one(tmp_path: Path, columns: str) -> None:
    made = match_columns(read_table(written(tmp_path, f"Bus,Breaker,Amps,{columns}")))
    assert made.joined is None


# Commas in names and figures.


@pytest.mark.parametrize("separator", [";", "\t", ","])
def test_commas_in_names_and_figures_divide_no_cells(tmp_path: Path, separator: str) -> None:
    rows = [["Bus", "Breaker", "Amps", "Equipment"]]
    rows += [["Main", f"LT {n}", "7,5", f"Light, wing, left, no. {n}, white"] for n in range(5)]
    if separator == ",":
        rows = [[f'"{cell}"' for cell in row] for row in rows]
    text = "Lights, heaters, pumps, 28 V\n" + "".join(f"{separator.join(r)}\n" for r in rows)
    _, made = started(tmp_path, text)
    assert {n: a for n, a in breakers(made).items() if a == 7.5} == {
        f"LT {n}": 7.5 for n in range(5)
    }


# Headings that nobody knows.

GERMAN = """\
Schiene;Sicherung;Strom;Strom
Main bus;LDG LT;15;8
Main bus;HEAT;10;7
Radio bus;COM 1;5;4
"""


def test_headings_that_are_not_known_are_said_by_the_author(plover: Path) -> None:
    said = refused(plover, GERMAN)
    assert (
        "Row 1 has A `Schiene`, B `Sicherung`, C `Strom` and D `Strom`. If these are the headings,"
        " say what they mean with --column bus=Schiene --column breaker=Sicherung --column amps=C"
        " (fields: equipment-id, equipment, ata," in said
    )
    options = said.partition("mean with ")[2].partition(" (fields")[0].split()
    imported(plover, GERMAN, *options, "--column", "amps-drawn=D")
    made = catalogue(plover)
    assert breakers(made)["LDG LT"] == 15
    assert {e.id: e.amps for e in made.equipment}["lamp"] == 8


def test_a_missing_column_is_named_with_the_headings_and_the_option_to_type(plover: Path) -> None:
    rows = "x,Main bus,LDG LT,15\n,Main bus,HEAT,10\n,Main bus,STROBE,10\n"
    said = refused(plover, f"Note,Distribution point,Breaker,Amps\n{rows}")
    assert "no column is headed `Bus`, and the list needs it." in said
    assert "The headings are A `Note`, B `Distribution point`, C `Breaker` and D `Amps`." in said
    assert "with --column 'bus=Distribution point', or add it (fields: equipment-id" in said
    said = refused(plover, "Bus,CB,Placard,Amps\nMain bus,1,LDG LT,15\n")
    assert "or choose one with --column breaker=CB" in said
    imported(plover, "Bus,CB,Placard,Amps\nMain bus,1,LDG LT,15\n", "--column", "breaker=placard")


def test_a_heading_with_one_telling_word_is_guessed(tmp_path: Path) -> None:
    rows = "#;Fuse/CB;Feeding bus;Protection rating;CB location;Demand\n"
    rows += "".join(f"{n};CB {n};Main;7,5 A;Wall A{n};2\n" for n in range(1, 5))
    said, made = started(tmp_path, rows, "--column", "amps-drawn=Demand")
    assert breakers(made)["CB 4"] == 7.5
    guessed = said.partition("Guessed\n")[2].partition("Not used")[0]
    assert "  B Fuse/CB: Breaker\n" in guessed
    assert "  C Feeding bus: Bus\n" in guessed
    assert "  D Protection rating: Amps\n" in guessed
    # Two headings with the word: which one is meant is asked.
    said = refused(tmp_path / "new", "Left bus,Right bus,Breaker,Amps\nMain,Main,CB 1,5\n")
    assert "no column is headed `Bus`" in said


def test_a_column_that_counts_the_rows_or_has_what_is_drawn_is_not_offered_as_amps(
    tmp_path: Path,
) -> None:
    rows = "Nr;Schiene;Sicherung;Wert;Last\n"
    rows += "".join(f"{n};Main;CB {n};7,5;2\n" for n in range(1, 5))
    path = written(tmp_path, rows)
    result = run("start", tmp_path / "new", "--name", "N", "--sources", 1, "--from", path)
    assert "--column bus=Schiene --column breaker=Sicherung --column amps=Wert (" in result.output


def test_the_author_goes_before_what_a_heading_means(tmp_path: Path) -> None:
    rows = "Title of the list,,,\nBus,Amps,Rated,Breaker\nMain,3,10,LAMP\n"
    _, made = started(tmp_path, rows, "--column", "Amps=Rated", "--column", "draw=AMPS")
    assert breakers(made)["LAMP"] == 10
    assert made.equipment[0].amps == 3


@pytest.mark.parametrize(
    ("option", "code", "said"),
    [
        ("bus", WRONG_USAGE, "--column `bus`: write FIELD=HEADING. Fields: equipment-id"),
        ("buss=X", WRONG_USAGE, "Did you mean `bus`?"),
        ("bus=", WRONG_USAGE, "write FIELD=HEADING"),
        ("bus=Rail", NO, "no column has this heading. The headings are A `Bus`, B `Breaker`"),
        ("wire=Note", NO, "columns D and E have this heading. Write the letter in place of it"),
    ],
)
def test_an_option_that_names_no_column_is_said_to(
    plover: Path, option: str, code: int, said: str
) -> None:
    path = written(plover.parent, "Bus,Breaker,Amps,Note,Note\nMain bus,LDG LT,15,,\n")
    result = run("import", plover, path, "--column", option)
    assert said in result.output
    assert result.exit_code == code


def test_of_two_headings_that_differ_in_case_the_exact_one_is_meant(plover: Path) -> None:
    imported(plover, "Bus,Breaker,AMPS,Amps\nMain bus,LDG LT,3,15\n", "--column", "amps=Amps")
    assert breakers(catalogue(plover))["LDG LT"] == 15


def test_the_help_names_every_field() -> None:
    for command in ("start", "import"):
        text = " ".join(run(command, "--help").output.split())
        fields = text.partition("Fields: ")[2].partition(".")[0].split(", ")
        assert {*fields} | {field_name(m) for m in RARE} == {field_name(m) for m in MEANINGS}


def test_a_field_is_set_once_and_only_for_a_list(plover: Path) -> None:
    path = written(plover.parent, "Bus,Breaker,Amps\nMain bus,LDG LT,15\n")
    result = run("import", plover, path, "--column", "bus=A", "--column", "BUS=B")
    assert (result.exit_code, "is set twice" in result.output) == (WRONG_USAGE, True)
    result = run("start", plover.parent / "new", "--name", "N", "--column", "bus=A")
    assert (result.exit_code, "is for a list" in result.output) == (WRONG_USAGE, True)


def test_a_list_of_equipment_without_placards_names_new_breakers_by_it(tmp_path: Path) -> None:
    rows = "Bus,Item,Amps,Load\nMain,VHF radio,5,2.5\nMain,Fan,3,1\n"
    said, made = started(tmp_path, rows)
    assert "2 rows (2 and 3): no breaker; a new one is named as the equipment." in said
    assert breakers(made)["VHF radio"] == 5
    assert {e.name: e.amps for e in made.equipment} == {"VHF radio": 2.5, "Fan": 1}


def test_an_item_in_other_letters_is_one_and_an_id_has_one_name(tmp_path: Path) -> None:
    rows = "Main,LT L,5,Wing light,{}\nSide,LT R,5,{},{}\n"
    head = "Bus,Breaker,Amps,Equipment,Equipment id\n"
    _, made = started(tmp_path, head + rows.format("", "WING LIGHT", ""))
    assert [(e.name, len(e.supplies)) for e in made.equipment] == [("Wing light", 2)]
    path = written(tmp_path, head + rows.format("wing", "Tail light", "wing"))
    result = run("start", tmp_path / "two", "--name", "N", "--sources", 1, "--from", path)
    assert "row 3: equipment is `Tail light` here and `Wing light` in" in result.output


# One line for what is said of many rows.


def test_what_is_said_of_many_rows_is_one_line(tmp_path: Path) -> None:
    rows = "".join(f"Main,CB {n},5,Wall,{n},,\n" for n in range(2, 42))
    rows += "".join(f"Main,LT {n},5,Wall,,Lamp {n},CB{n:03}\n" for n in range(10))
    said, _ = started(
        tmp_path, f"Bus,Breaker,Amps,Panel,Position,Equipment,CB id\n{rows}Main,SPARE,5,Wall,99,,\n"
    )
    lines = said.splitlines()
    assert sum("position is left out" in line for line in lines) == 1
    assert "40 rows (2, 3, 4 and 37 more): the position is left out" in said
    assert "10 rows (42, 43, 44 and 7 more): the breaker id is left out" in said
    assert "row 52: a spare breaker, which feeds nothing." in said
    assert "40 rows (2, 3, 4 and 37 more): no equipment; it is named as the breaker." in said
    assert len(lines) < 25


def test_one_mistake_in_many_rows_is_one_problem(plover: Path) -> None:
    said = refused(plover, "Bus,Breaker,Amps\n" + "".join(f"Bat,CB {n},5\n" for n in range(60)))
    assert "60 rows (2, 3, 4 and 57 more), column A: the bus `Bat` is not in the catalogue" in said
    assert "1 problem; nothing was done" in said


def test_a_position_without_a_panel_is_on_the_panel_of_its_breaker_or_left_out(
    plover: Path, tmp_path: Path
) -> None:
    rows = "Bus,Breaker,Amps,Position\nRadio bus,COM 1,5,b-2\nMain bus,LDG LT,10,A3\n"
    said = imported(plover, f"{rows}Main bus,FAN,3,A4\n")
    assert "2 rows (3 and 4): the position is left out (the row has no panel)." in said
    own = [s.breaker for e in catalogue(plover).equipment for s in e.supplies]
    assert {b.name: b.at for b in own if isinstance(b, Protector)} == {
        "COM 1": "B2",
        "LDG LT": None,
        "HEAT": None,
        "FAN": None,
    }
    started(tmp_path, rows)


# What the list no longer has.


def test_what_the_list_does_not_have_is_said_and_stays(plover: Path) -> None:
    before = breakers(catalogue(plover))
    said = imported(plover, "Bus,Breaker,Amps\nMain bus,LDG LT,15\n")
    assert (
        "In the catalogue, not in this list (it stays)\n"
        "  strobe-left: STROBE on main\n"
        "  heat: HEAT on main (early)\n"
        "  cb-radio: RADIO BUS in a feeder\n" in said
    )
    assert "com-1" not in said
    assert set(breakers(catalogue(plover))) == set(before)


def test_all_that_the_list_does_not_have_is_named(tmp_path: Path) -> None:
    rows = "".join(f"Main,CB {n},5\n" for n in range(80))
    started(tmp_path, f"Bus,Breaker,Amps\n{rows}")
    said = imported(tmp_path / "new", "Bus,Breaker,Amps\nMain,CB 0,3\n")
    assert all(f"  cb-{n}: CB {n} on main\n" in said for n in range(1, 80))


def test_what_no_airframe_of_the_list_has_is_not_missed(plover: Path) -> None:
    said = imported(plover, "Bus,Breaker,Amps,Serials\nMain bus,FAN,15,25-58\n")
    assert "heat: HEAT" not in said
    assert "lamp: LDG LT on main" in said


def test_a_breaker_of_several_items_is_in_the_list_once(plover: Path) -> None:
    second = "  - {id: strobe-tail, name: Tail strobe, ata: 33-45, supplies: [{bus: main, breaker: cb-strobe}]}\n"  # noqa: E501
    written(plover, PLOVER.replace("conditions:", f"{second}conditions:"), "plover.yaml")
    said = imported(plover, "Bus,Breaker,Amps,Draw,ATA\nMain bus,STROBE,5,3,33-45\n")
    assert "STROBE on main" not in said
    # What the two draw together is no figure of one of them.
    assert "row 2: amps drawn is left out (the breaker feeds several items)." in said
    assert all(e.amps is None for e in catalogue(plover).equipment)


def test_a_link_in_a_feeder_is_missed_by_no_list_of_breakers(plover: Path) -> None:
    text = PLOVER.replace("RADIO BUS, kind: breaker", "RADIO LINK, kind: fuse-link")
    written(plover, text.replace(", panel: wall, at: A1}", "}"), "plover.yaml")
    assert "RADIO LINK" not in imported(plover, "Bus,Breaker,Amps\nMain bus,LDG LT,15\n")


def test_a_row_that_is_none_of_the_list_is_left_out(plover: Path) -> None:
    said = imported(plover, "Bus,Breaker,Amps,Draw\nMain bus,LDG LT,15,5\n,,,\n,,,5\n")
    assert "row 4: no equipment, breaker or bus; the row is left out." in said


def test_a_list_of_all_that_there_is_misses_nothing(plover: Path) -> None:
    rows = "Main bus,RADIO BUS,30\nMain bus,STROBE,10\nMain bus,LDG LT,10\n"
    rows += "Main bus,HEAT,10\nRadio bus,COM 1,5\n"
    assert "not in this list" not in imported(plover, f"Bus,Breaker,Amps\n{rows}")


# Serials.


@pytest.mark.parametrize(
    ("cell", "airframes"),
    [
        ("1-24", ["early"]),
        ("1 to 24", ["early"]),
        ("1 through 24", ["early"]),
        ("1 \N{EN DASH} 24", ["early"]),
        ("S/N 1 thru 24", ["early"]),
        ("up to 24", ["early"]),
        ("25 and on", ["late", "last"]),
        ("59 & subs", ["last"]),
        ("59+", ["last"]),
        ("from 59", ["last"]),
        ("1-24; 59 and up", ["early", "last"]),
        ("1-10, 11, 12 and 13-24", ["early"]),
        ("Early", ["early"]),
        ("early; last", ["early", "last"]),
        ("Late and Last", ["late", "last"]),
        ("early, 25-58", ["early", "late"]),
        ("1-999", ["early", "late"]),
        ("all", None),
        ("1 and on", None),
        ("", None),
    ],
)
def test_a_cell_of_serials_names_airframes(
    plover: Path, cell: str, airframes: list[str] | None
) -> None:
    if cell == "1-999":
        # The last airframe has no last serial.
        text = PLOVER.replace('"59-"', '"2000-"')
        written(plover, text, "plover.yaml")
    said = imported(plover, f'Bus,Breaker,Amps,Serials\nMain bus,FAN,5,"{cell}"\n')
    (fan,) = [e for e in catalogue(plover).equipment if e.name == "FAN"]
    assert fan.fitted_to == airframes
    assert ("serials 59-999 are of no airframe" in said) == (cell == "1-999")


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("12-18", "`12-18` is only a part of the airframe `early` (1-24)"),
        ("18-12", "the range '18-12' ends before it begins"),
        ("12/18", "'12/18' is no serial number, range or airframe. Write 12, 12-18 or 12-."),
        ("0", "`0`: no airframe of the catalogue has these `serials`"),
        ("Erly", "`Erly` is not an airframe of the catalogue. Did you mean `early`?"),
        ("see note", "`see note` is not an airframe of the catalogue. Write airframes by id"),
    ],
)
def test_serials_that_cannot_be_read_are_said_with_row_and_column(
    plover: Path, cell: str, said: str
) -> None:
    output = refused(plover, f"Bus,Breaker,Amps,Serials\nMain bus,FAN,5,{cell}\n")
    assert f"row 2, column D: {said}" in output


def test_serials_and_names_of_a_new_list_become_airframes(tmp_path: Path) -> None:
    rows = """\
Bus,Breaker,Amps,Serials
Main,FAN,5,12 to 18
Main,COM,5,"12, 14; 16-20"
Main,NAV,5,Cargo fit
Main,DME,5,21 and on
Main,ADF,5,"Cargo fit; 21 and on"
"""
    said, made = started(tmp_path, rows)
    assert [(a.name, a.serials) for a in made.airframes] == [
        ("Cargo fit", ""),
        ("Serials 12, 14, 16-18", "12, 14, 16-18"),
        ("Serials 13, 15", "13, 15"),
        ("Serials 19-20", "19-20"),
        ("Serials 21 and up", "21-"),
    ]
    fitted = {e.id: e.fitted_to for e in made.equipment}
    assert fitted["fan"] == ["12-14-16-18", "13-15"]
    assert fitted["com"] == ["12-14-16-18", "19-20"]
    assert fitted["adf"] == ["cargo-fit", "21-and-up"]
    assert "Cargo fit: the name of an airframe, as Serials has it" in said


def test_serials_of_a_new_list_that_cannot_be_read_stop_it(tmp_path: Path) -> None:
    path = written(tmp_path, "Bus,Breaker,Amps,Serials\nMain,FAN,5,12--\nMain,COM,5,12 // 18\n")
    result = run("start", tmp_path / "new", "--name", "N", "--sources", 1, "--from", path)
    assert "row 3, column D: '12 // 18' is no serial number" in result.output
    assert result.exit_code == NO
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("second", ["1 to 58", ""])
def test_one_item_for_serials_that_overlap_is_refused_with_its_row(
    tmp_path: Path, plover: Path, second: str
) -> None:
    rows = f"Bus,Breaker,Amps,Serials\nMain bus,FAN,5,1-24\nRadio bus,FAN,5,{second}\n"
    said = "row 3: `FAN` is in sheet `list.csv`, row 2 too, for other serials of which some"
    assert said in refused(plover, rows)
    path = written(tmp_path, rows)
    result = run("start", tmp_path / "new", "--name", "N", "--sources", 1, "--from", path)
    assert said in result.output
    assert not (tmp_path / "new").exists()


def test_a_column_of_many_serials_is_none_of_airframes(tmp_path: Path) -> None:
    rows = "".join(f"Main,CB {n},5,{n}\n" for n in range(1, 5_000))
    path = written(tmp_path, f"Bus,Breaker,Amps,Serial number\n{rows}")
    result = run("start", tmp_path / "new", "--name", "N", "--sources", 1, "--from", path)
    assert "names 4999 groups of serials, and at most 100 can be airframes" in result.output


# What was checked, and changes.

CHECKED = """\
format: 1
aircraft: {name: Plover, revision: "1", revised: 2026-11-20, statement: Invented.}
sources: [{id: gen, name: Generator, kind: generator, volts: 28, amps: 100}]
buses: [{id: main, name: Main bus}, {id: aft, name: Aft bus}]
feeders: [{from: gen, to: main}, {from: gen, to: aft}]
equipment:
  - {id: fan, name: Fan, ata: 21-20, checked: &kerr {by: M. Kerr, on: 2026-11-20}, supplies: [{bus: main, breaker: {name: FAN, amps: 5}}]}
  - {id: heat, name: Heat, ata: 30-31, supplies: [{bus: main, breaker: {name: HEAT, amps: 5}}], checked: *kerr}  # sleeve 12
  - id: com
    name: Com
    checked: *kerr  # by telephone
    ata: 23-12
    supplies:
      - bus: main
        checked: *kerr
        breaker:
          name: COM
          amps: 5
          checked: {by: T. Ode, on: 2026-11-21}
  - {id: nav, name: Nav, ata: 34-12, checked: *kerr, supplies: [{bus: main, breaker: {name: NAV, amps: 5}}]}
conditions: [{id: flight, name: Flight, sources: [gen]}]
"""  # noqa: E501


@pytest.fixture
def signed(tmp_path: Path) -> Path:
    return kept_in(tmp_path, CHECKED)


def checks(made: Catalogue) -> dict[str, list[str]]:
    """By item: who has checked the record, its supply, its breaker."""
    of: dict[str, list[str]] = {}
    for item in made.equipment:
        (supply,) = item.supplies[:1]
        assert isinstance(supply.breaker, Protector)
        lines = (item, supply, supply.breaker)
        of[item.id] = [line.checked.by if line.checked else "" for line in lines]
    return of


KERR, ODE = "M. Kerr", "T. Ode"
AS_IT_WAS = {
    "fan": [KERR, "", ""],
    "heat": [KERR, "", ""],
    "com": [KERR, KERR, ODE],
    "nav": [KERR, "", ""],
}


@pytest.mark.parametrize(
    ("row", "lost"),
    [
        ("main,FAN,7.5,Fan,21-20", {"fan": ["", "", ""]}),
        ("main,HEAT,5,Heat,30-32", {"heat": ["", "", ""]}),
        ("main,COM,7.5,Com,23-12", {"com": [KERR, KERR, ""]}),
        ("aft,COM,5,Com,23-12", {"com": [KERR, "", ODE]}),
        ("main,COM,5,Com,23-13", {"com": ["", KERR, ODE]}),
        ("aft,NAV 2,5,Nav,34-12\nmain,NAV,5,Nav,34-12", {"nav": ["", "", ""]}),
        ("main,FAN,5,Fan,21-20", {}),
        (
            "main,FAN,7,Fan,21-20\nmain,HEAT,7,Heat,30-31",
            {"fan": ["", "", ""], "heat": ["", "", ""]},
        ),
    ],
)
def test_a_line_that_changes_is_no_longer_checked(
    signed: Path, row: str, lost: dict[str, list[str]]
) -> None:
    assert checks(catalogue(signed)) == AS_IT_WAS
    said = imported(signed, f"Bus,Breaker,Amps,Equipment,ATA\n{row}\n")
    assert checks(catalogue(signed)) == AS_IT_WAS | lost
    title = "No longer checked, for the line changes\n"
    assert (title in said) == bool(lost)
    for item in lost:
        assert f"  {item}" in said.partition(title)[2]
    text = (signed / "plover.yaml").read_text("utf-8")
    assert all(comment in text for comment in ("# sleeve 12\n", "# by telephone\n"))


def test_a_check_that_other_lines_repeat_moves_to_the_first_of_them(signed: Path) -> None:
    imported(signed, "Bus,Breaker,Amps\nmain,FAN,7.5\nmain,HEAT,7.5\n")
    text = (signed / "plover.yaml").read_text("utf-8")
    assert "  - {id: fan, name: Fan, ata: 21-20, supplies: [" in text
    assert "amps: 7.5}}]}  # sleeve 12\n" in text
    assert "    checked: &kerr {by: M. Kerr, on: 2026-11-20}  # by telephone\n" in text


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_a_comment_beside_a_check_stays_when_the_check_goes(signed: Path, newline: str) -> None:
    written(signed, CHECKED.replace("\n", newline), "plover.yaml")
    imported(signed, "Bus,Breaker,Amps,Equipment,ATA\naft,COM,5,Com,23-13\n")
    text = (signed / "plover.yaml").read_bytes().decode()
    block = """\
  - id: com
    name: Com
    # by telephone
    ata: 23-13
    supplies:
      - bus: aft
        breaker:
""".replace("\n", newline)
    assert block in text


def test_a_list_cannot_sign_a_line_for_who_checked_it_before(signed: Path) -> None:
    head = "Bus,Breaker,Amps,Equipment,Checked\n"
    said = refused(signed, f'{head}main,FAN,7.5,Fan,"M. Kerr, 2026-11-20"\n')
    assert "row 2: the line changes, and checked is still `M. Kerr, 2026-11-20`" in said
    imported(signed, f"{head}main,FAN,7.5,Fan,\n")
    assert checks(catalogue(signed))["fan"][0] == ""
    imported(signed, f'{head}main,FAN,7.5,Fan,"T. Ode, 2026-11-25"\n')
    assert checks(catalogue(signed))["fan"][0] == ODE


def test_titles_over_groups_of_rows_are_the_buses_of_a_list_without_a_column_of_them(
    tmp_path: Path,
) -> None:
    rows = (
        "Load list\nNo.,ATA Ch.,Consumer,Cont. load,CB,CB rating\n"
        "LEFT BUS\n1,23-12,Radio,500 mA,COM 1,5 A\n2,33-40,Lamp,8 A,LAMP,10 A\n"
        "HOT BUS\n3,31-20,Clock,0.1,CLOCK,1\n,,TOTAL,8.6\nIssue C\n"
    )
    path = written(tmp_path, rows)
    result = run("start", tmp_path / "new", "--name", "Curlew", "--sources", "2", "--from", path)
    assert result.exit_code == FINE, result.output
    assert "A titles in rows 3 and 6: Bus" in result.output
    assert "row 8: a total, and no breaker." in result.output
    catalogue = read(tmp_path / "new").catalogue
    assert catalogue is not None
    assert [b.name for b in catalogue.buses] == ["LEFT BUS", "HOT BUS"]
    fed_from = {e.name: e.supplies[0].bus for e in catalogue.equipment}
    assert fed_from == {"Radio": "left-bus", "Lamp": "left-bus", "Clock": "hot-bus"}
    assert catalogue.equipment[0].amps == 0.5
    # A hot bus has power with the battery relay open.
    assert [f.from_ for f in catalogue.feeders if f.to == "hot-bus"] == ["battery-1"]


def test_a_title_over_some_of_the_rows_only_is_no_bus(tmp_path: Path) -> None:
    path = written(tmp_path, "No.,Item,CB,Amps\n1,Radio,COM 1,5\nLEFT BUS\n2,Lamp,LAMP,10\n")
    result = run("start", tmp_path / "new", "--name", "Curlew", "--from", path)
    assert result.exit_code != FINE
    assert "no column is headed `Bus`" in result.output


def test_a_designation_beside_a_column_of_placards_names_the_item(plover: Path) -> None:
    said = imported(plover, "Bus;CB;A;Designation\nMain bus;TAXI LT;10;Taxi light\n")
    assert "Designation" in said.split("Guessed")[1]
    fitted = catalogue(plover)
    [light] = [e for e in fitted.equipment if e.name == "Taxi light"]
    assert light.supplies[0].breaker.name == "TAXI LT"  # type: ignore[union-attr]


def test_a_total_in_the_column_of_buses_is_no_row_of_the_list(plover: Path) -> None:
    said = imported(plover, "Bus,CB,A,Equipment\nMain bus,TAXI LT,10,Taxi light\nTotal,,10,\n")
    assert "a total, and no breaker" in said
    assert "row 3" in said


def test_remarks_are_no_reference(plover: Path) -> None:
    said = imported(plover, "Bus;CB;A;Equipment;Remarks\nMain bus;TAXI LT;10;Taxi light;see Bob\n")
    assert "Remarks" in said.split("Not used")[1]
    [light] = [e for e in catalogue(plover).equipment if e.name == "Taxi light"]
    assert light.reference is None


def test_a_column_without_a_heading_is_named_by_its_letter(plover: Path) -> None:
    said = imported(plover, "Bus,CB,A\nMain bus,TAXI LT,10,Taxi light\n", "--column", "equipment=D")
    assert "  D: Equipment" in said
    assert "Taxi light" in [e.name for e in catalogue(plover).equipment]


def test_the_help_and_the_messages_name_the_same_fields(plover: Path) -> None:
    in_help = " ".join(run("import", "--help").output.split()).split("Fields: ")[1].split(".")[0]
    refusal = " ".join(refused_option(plover, "nonsense").split())
    in_message = refusal.split("Fields: ")[1].split(".")[0].replace(" and ", ", ")
    assert set(in_help.replace("- ", "-").split(", ")) == set(in_message.split(", "))


def refused_option(folder: Path, option: str) -> str:
    """What an import says of a `--column` that it does not understand."""
    result = run("import", folder, written(folder.parent, "Bus,CB,A\n"), "--column", option)
    assert result.exit_code == WRONG_USAGE
    return result.output
