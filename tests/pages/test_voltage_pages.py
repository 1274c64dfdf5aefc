"""Voltage drop and start sag on pages and in `loads`, for a net with a starter and a long wire."""

from __future__ import annotations

import csv
import io
import re
from functools import lru_cache
from typing import Any

from sitegen.answers.drop import drop
from sitegen.answers.loads.load_table import load_table
from sitegen.output.site import build_site
from sitegen.terminal.drop_text import loss_text
from sitegen.terminal.load_csv import load_csv
from sitegen.terminal.load_text import load_text
from tests.nets import expand, network
from tests.pages.pages_sample import reading, words

NET = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24, internal-ohms: 0.02}}
buses: [main, aft]
devices:
  k-start: {kind: contactor, closes-when: {live: [gen], dead: [gen]}}
  k-heat: {kind: relay, closes-when: {volts-above: {main: 18}}}
feeders: [gen > main, bat > main, {path: main > aft, wire: 4, length: {feet: 50}}]
equipment:
  starter: {amps: 200, peak-amps: 400, supplies: [{bus: main, through: [k-start]}]}
  heater: {amps: 10, supplies: [{bus: aft, through: [k-heat], wire: 10, length: {feet: 80}}]}
  flap: {amps: 0, peak-amps: 10, supplies: [{bus: aft, wire: 10, length: {feet: 20}}]}
  radio: {amps: 0, min-volts: 17, supplies: [{bus: main}]}
conditions: {flight: {sources: [gen, bat]}, ground: {sources: [bat]}}
"""


def text_of(page: Any) -> str:
    """The text of a page."""
    return re.sub(r" ([.,;:])", r"\1", words(str(page)).replace("\u00a0", " "))


@lru_cache(maxsize=2)
def pages(net: str = NET) -> dict[str, str]:
    """By name, the text of the pages of a net."""
    files = dict(build_site(reading(expand(net))).files)
    names = (
        "bus-main",
        "equipment-flap",
        "equipment-heater",
        "equipment-radio",
        "equipment-starter",
        "loads",
        "protection",
    )
    return {name: text_of(files[f"all/{name}.html"]) for name in names}


def test_a_bus_names_its_sources_in_the_order_of_the_catalogue() -> None:
    """By id the battery would be first; with fewer volts than the bus shows it feeds nothing."""
    assert "28 V from gen; bat in reserve" in pages()["bus-main"]
    assert "24 V, battery only from bat" in pages()["bus-main"]


def test_the_page_of_an_item_says_what_drops_on_its_supply_and_what_is_left() -> None:
    # 80 ft of gauge 10 drop 1.01 V at 10 A, the feeder 0.14 V.
    page = pages()["equipment-heater"]
    assert "Drops 1.01 V at 10.0 A, over the 1 V allowed; at most 26.9 V at the item." in page
    # On the ground the battery sags by 0.2 V too.
    assert "Drops 1.01 V at 10.0 A, over the 1 V allowed; at most 22.7 V at the item." in page
    assert "Copper at 20 °C (FAA AC 43.13-1B, Table 11-9)" in page


def test_what_lacks_for_a_drop_is_named() -> None:
    assert "not worked out: no length or gauge" in pages()["equipment-radio"]
    gauged = NET.replace(
        "min-volts: 17, supplies: [{bus: main}]", "supplies: [{bus: main, wire: 18}]"
    )
    assert "not worked out: no length in the catalogue" in pages(gauged)["equipment-radio"]


def test_the_volts_at_an_item_are_those_with_its_continuous_amps() -> None:
    # 20 ft drop 0.25 V at 10 A; what draws for a short time only has no volts with continuous amps.
    page = pages()["equipment-flap"]
    assert "Drops 0.25 V at 10.0 A short-time, 2 V allowed." in page
    assert "at the item" not in page


def test_the_page_of_an_item_without_a_length_says_that_no_drop_is_worked_out() -> None:
    assert "Voltage drop not worked out: no length" in pages()["equipment-radio"]
    assert "not worked out" not in pages()["equipment-flap"]
    assert "Drops" not in pages()["equipment-radio"]
    assert "Copper at 20" not in pages()["equipment-radio"]


def test_the_page_of_a_starter_says_what_its_start_takes_of_the_volts() -> None:
    # 410 A over 0.02 ohms.
    page = pages()["equipment-starter"]
    assert "Start sag" in page
    assert "ground: at 400.0 A bat sags to 15.8 V; at most 15.8 V at the item;" in page
    assert "; would open: k-heat; below its least volts: radio" in page
    assert "flight: at 400.0 A" not in page


def test_the_page_of_an_item_that_sags_nothing_has_no_start_sag() -> None:
    assert "Start sag" not in pages()["equipment-heater"]


def test_the_page_of_loads_has_the_drops_and_the_sag() -> None:
    page = pages()["loads"]
    assert "main to aft 0.14 V at 10.0 A" in page
    assert "sags to 23.8 V" in page


def test_the_page_of_loads_says_of_how_many_conductors_no_drop_is_worked_out() -> None:
    assert "Not worked out, without length or gauge: 2 feeders and 2 supplies." in pages()["loads"]
    bare = NET.replace(", wire: 4, length: {feet: 50}", "").replace(", wire: 10", "")
    net = network(bare)
    lines = list(load_text(net, load_table(net, "flight"), ""))
    at = lines.index("\nVoltage drop")
    said = "  Not worked out: no conductor has a length and a gauge in the catalogue."
    assert lines[at + 1] == said


def test_the_table_of_loads_has_the_drops() -> None:
    net = network(NET)
    rows = list(csv.DictReader(io.StringIO(load_csv(net, [load_table(net, "flight")]))))
    [feeder] = [row for row in rows if row["kind"] == "feeder"]
    assert (feeder["id"], feeder["amps"], feeder["drop volts"]) == ("main aft", "10.0", "0.14")
    supply = {row["id"]: row for row in rows if row["kind"] == "supply"}
    heater, flap = supply["heater aft"], supply["flap aft"]
    assert heater["drop volts"] == "1.008"
    assert (heater["short-time drop volts"], heater["volts at the item"]) == ("", "26.852")
    assert flap["short-time amps"] == "10.0"
    assert flap["short-time drop volts"] == "0.252"


def test_three_amps_of_one_battery_say_at_which_volts_they_are_and_what_they_leave_out() -> None:
    text = """
aircraft: {load-volts: 24}
sources:
  gen: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, volts-range: [20, 25], amp-hours: 20}
buses: [main, hot]
devices: {shunt: {kind: shunt}}
feeders: [gen > main, bat > shunt > main, bat > hot]
equipment:
  heater: {amps: 24, load: constant-power, supplies: [{bus: main}]}
  clock: {amps: 1, supplies: [{bus: hot}]}
indications: {bat-amps: {kind: ammeter, at: shunt}}
"""
    page = text_of(dict(build_site(reading(expand(text))).files)["all/failure-gen.html"])
    assert "bat-amps without hot" in page
    assert "bat 25.0 A at 24 V" in page
    assert "Nothing shed 20 min at 29.8 A" in page
    assert "Ah, with it at 20 V, where it lasts least; minutes are rounded down." in page
    lines = "\n".join(load_text(n := network(text), load_table(n, "flight", [("gen", "lost")]), ""))
    assert "  bat: 25.0 A at 24 V" in lines
    assert "minutes are rounded down; amps with it at 20 V" in lines


def test_the_protection_page_has_the_long_wire() -> None:
    assert "heater, on aft: 1.01 V at 10.0 A in flight; 1 V allowed." in pages()["protection"]


def test_loads_on_the_terminal_has_the_drops_and_the_sag_of_a_welded_contactor() -> None:
    net = network(NET)
    table = load_table(net, "ground", [("k-start", "stuck-closed")])
    lines = "\n".join(load_text(net, table, ""))
    assert "    sags to 19.8 V, sags to 15.8 V with 400.0 A drawn by starter" in lines
    assert "  main to aft: 0.14 V at 10.0 A" in lines
    assert (
        "  heater on aft: 1.01 V at 10.0 A, over the 1 V allowed; at most 18.7 V at the item"
        in lines
    )
    assert "  While starter starts: would open: k-heat; below its least volts: radio" in lines


def test_loads_as_json_has_the_drops_and_the_sags() -> None:
    net = network(NET)
    found = load_table(net, "ground").as_json(net)
    [feeder] = found["voltage_drops"]["feeders"]
    assert (feeder["from"], feeder["to"]) == ("main", "aft")
    assert feeder["drop"] == {"amps": 10, "volts": 0.14, "at_most": False, "at_least": False}
    supply, _ = found["voltage_drops"]["supplies"]
    assert (supply["equipment"], supply["drop"]["volts"], supply["volts"]) == (
        "heater",
        1.008,
        22.652,
    )
    [sag] = found["sags"]
    assert sag["sources"] == {
        "bat": {"amps": 10, "volts": 23.8} | dict.fromkeys(("at_most", "at_least"), False)
    }


def test_a_battery_that_sags_no_further_in_a_start_has_its_volts_once() -> None:
    two = NET.replace(
        "internal-ohms: 0.02}}",
        "internal-ohms: 0.02}, aux: {kind: battery, volts: 24, internal-ohms: 0.1}}",
    ).replace("buses: [main, aft]", "buses: [main, aft, standby]")
    two = (
        two.replace("feeders: [", "feeders: [aux > standby, ")
        .replace("equipment:", "equipment:\n  clock: {amps: 2, supplies: [{bus: standby}]}")
        .replace("[bat]}", "[bat, aux]}")
    )
    net = network(two)
    lines = list(load_text(net, load_table(net, "ground", [("k-start", "stuck-closed")]), ""))
    assert "    sags to 23.8 V" in lines


def test_what_is_lost_by_low_volts_says_which_bus_shows_what_and_what_is_needed() -> None:
    text = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24}, other: {volts: 28}}
buses: [ess, side]
feeders: [gen > ess, bat > ess, other > side]
equipment:
  radio: {min-volts: 25, supplies: [{bus: ess}]}
  lamp: {supplies: [{bus: ess}]}
  radar: {min-volts: 25, supplies: [{bus: ess}, {bus: side}]}
"""
    page = text_of(dict(build_site(reading(expand(text))).files)["all/failure-gen.html"])
    assert page.count("ess shows 24 V, needs 25 V.") == 2
    assert "Without." not in page
    net = network(text)
    loss, normal = drop(net, "flight", [("gen", "lost")]), drop(net, "flight", [])
    assert (loss.lost, loss.reduced) == (("radio",), ("radar",))
    lines = list(loss_text(net, loss, normal, None, False))
    assert lines.count("           ess shows 24 V, needs 25 V.") == 1
    dead = drop(net, "flight", [("ess", "dead")])
    assert not any("needs" in line for line in loss_text(net, dead, normal, None, False))


def test_an_item_s_figures_say_at_which_volts_they_hold_and_on_which_supply() -> None:
    catalogue = expand(NET.replace("sources:", "aircraft: {load-volts: 28}\nsources:", 1))
    by_id = {item["id"]: item for item in catalogue["equipment"]}
    by_id["flap"] |= {"load": "constant-power", "amps": 7}
    by_id["radio"] |= {"needs": "all", "supplies": [{"bus": "main", "amps": 3}, {"bus": "aft"}]}
    del by_id["radio"]["amps"]
    files = dict(build_site(reading(catalogue)).files)
    flap, radio, heater = (
        text_of(files[f"all/equipment-{item}.html"]) for item in ("flap", "radio", "heater")
    )
    assert "Draws 7 A, taken at 28 V (constant power)" in flap
    assert re.search("Draws 3 A on main and not known on aft", radio, re.IGNORECASE)
    assert "Draws 10 A " in heater
    assert "taken at" not in heater
