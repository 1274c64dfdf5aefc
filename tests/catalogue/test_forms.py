"""What a record may say: each wrong value gives one message, in its exact place."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import pytest

from tests.catalogue.catalogue_sample import (
    SAMPLE,
    findings_of,
    marked,
    only_finding,
    read_texts,
    spoilt,
)

WRONG = [
    # unknown fields
    ("kind: diode", "kind: diode, ¤colour: red", "device d-ess: `colour` is no field of a device.", "Its fields are also-called, amps, at, checked, closes-when, drop-volts, fitted-to, id, kind, name, note, opens-at, panel, protective, reference and rides-through."),
    ("kind: diode", "kind: diode, ¤protectiv: false", "device d-ess: `protectiv` is no field of a device.", "Did you mean `protective`?"),
    ("kind: diode", "kind: diode, ¤fitted_to: [late]", "device d-ess: `fitted_to` is no field of a device.", "Did you mean `fitted-to`?"),
    ("name: Left strobe", "¤nmae: Left strobe", "equipment strobe-left: `nmae` is no field of equipment.", "Did you mean `name`?"),
    ("amps: 5, panel: wall, at: B3", "¤apms: 5, panel: wall, at: B3", "equipment pilot: `apms` is no field of a breaker or fuse.", "Did you mean `amps`?"),
    ("bus: main, through: [cb-inv]", "¤buss: main, through: [cb-inv]", "source inv: `buss` is no field of a converter's input.", "Did you mean `bus`?"),
    ('{switches: {bat-switch: "on"}}', '{¤switch: {bat-switch: "on"}}', "device k-bat: `switch` is no field of a closing condition.", "Did you mean `switches`?"),
    ("revision: \"2\"", "revision: \"2\", ¤autor: X", "aircraft: `autor` is no field of aircraft.", "Its fields are checked, load-volts, name, reference, revised, revision, statement and title."),
    # missing fields
    ("  - {id: d-ess, name: Essential diode, ", "  - ¤{id: d-ess, ", "device d-ess: `name` is missing.", ""),
    ("{name: ATT 1, amps: 5, ", "¤{name: ATT 1, ", "equipment att-1: `amps` is missing in its breaker or fuse.", ""),
    ("  - {from: inv, to: ac}", "  - ¤{from: inv}", "feeder number 4: `to` is missing.", ""),
    ("  - {id: late, name", "  - ¤{name", "airframe Serials 10 and after: `id` is missing.", ""),
    # wrong values
    ("kind: diode", "kind: ¤diod", "device d-ess: `kind` must be `breaker`, `fuse`, `fuse-link`, `contactor`, `relay`, `switch`, `diode` or `shunt`, not `diod`.", "Did you mean `diode`?"),
    ("current: ac, amps", "current: ¤AC, amps", "source inv: `current` must be `dc` or `ac`, not `AC`.", "Did you mean `ac`?"),
    ("name: Left strobe", "name: ¤12", "equipment strobe-left: `name` must be text, not the number `12`.", 'Write "12" in quotes.'),
    ('revision: "2"', "revision: ¤3.10", "aircraft: `revision` must be text, not the number `3.10`.", 'Write "3.10" in quotes.'),
    ("name: Left strobe", "name: ¤true", "equipment strobe-left: `name` must be text, not the truth value `true`.", 'Write "true" in quotes.'),
    ("name: Left strobe", "name: ¤[Left, strobe]", "equipment strobe-left: `name` must be text, not a list.", ""),
    ("name: Left strobe", 'name: ¤""', "equipment strobe-left: `name` is empty.", "Write the text, or delete the line."),
    ("name: Left strobe", "name: ¤>\n      Left strobe", "equipment strobe-left: `name` must be one line of text, with no space before or after it.", "After `>` or `|` write a hyphen: `>-`."),
    ("name: Left strobe", f"name: ¤{'x' * 201}", "equipment strobe-left: `name` is longer than 200 characters.", "Shorten it."),
    ("volts: 28.5", "volts: ¤28 V", "source gen: `volts` must be a number, not `28 V`.", "Write 28 alone, without the unit."),
    ("volts: 28.5", 'volts: ¤"28.5"', "source gen: `volts` must be a number, not `28.5`.", "Write 28.5 without quotes."),
    ("volts: 28.5", 'volts: ¤"28,5"', "source gen: `volts` must be a number, not `28,5`.", "Write a decimal point: 28.5"),
    ("volts: 28.5", "volts: ¤true", "source gen: `volts` must be a number, not `true`.", ""),
    ("volts: 28.5", "volts: ¤-28.5", "source gen: `volts` must be more than 0, not `-28.5`.", ""),
    ("volts: 28.5", "volts: ¤28500000", "source gen: `volts` must be at most 1e+06, not `28500000`.", ""),
    ("volts: 28.5", "volts: ¤1e999", "source gen: `volts` must be a number of a sensible size, not `1e999`.", ""),
    ("amps: 0.2", "amps: ¤little", "equipment att-2: `amps` must be a number, not `little`.", ""),
    ("amps: 0.2", "amps: {cruise: ¤-1, approach: 2}", "equipment att-2: `cruise` must be at least 0, not `-1`.", ""),
    ("columns: 8", "columns: ¤8.5", "panel wall: `columns` must be a whole number, not `8.5`.", ""),
    ("essential: true", "essential: ¤1", "function attitude: `essential` must be true or false, not `1`.", "Write it without quotes."),
    ("through: [k-bat]", "through: ¤k-bat", "feeder bat to main: `through` must be a list, not `k-bat`.", "Write [k-bat]."),
    ("supplies: [{bus: essential, ", "supplies: [¤essential, {bus: essential, ", "equipment att-1: `supplies` must be fields with values, not `essential`.", "Write {field: value}."),
    ("ata: 22", "ata: ¤2-2", "equipment pilot: `ata` must be an ATA chapter like `23`, `23-12` or `23-12-01`, not `2-2`.", "Write 02-02."),
    ("revised: 2026-11-20", "revised: ¤20.11.2026", "aircraft: `revised` must be a date, year-month-day like 2026-11-20, not `20.11.2026`.", ""),
    ("revised: 2026-11-20", "revised: ¤2026-13-20", "aircraft: `revised` must be a date, year-month-day like 2026-11-20, not `2026-13-20`.", ""),
    ("revised: 2026-11-20", "revised: ¤20261120", "aircraft: `revised` must be a date, year-month-day like 2026-11-20, not `20261120`.", ""),
    ("id: fl-ess", "id: ¤Fl_Ess", "device Fl_Ess: `Fl_Ess` is not a valid id: an id is lowercase letters and digits, in words joined by single hyphens, like `left-main`.", "Did you mean `fl-ess`?"),
    ("to: essential, through", "to: ¤../../essential, through", "feeder main to ../../essential: `../../essential` is not a valid id: an id is lowercase letters and digits, in words joined by single hyphens, like `left-main`.", "Did you mean `essential`?"),
    ("independent: [[att-1, att-2]]", "independent: [¤[att-1]]", "function attitude: `independent` needs 2 entries at least.", ""),
    ("supplies: [{bus: essential, breaker: {name: ATT 1, amps: 5, panel: wall, at: B1}}]", "supplies: ¤[]", "equipment att-1: it has no supply.", "Name the bus that feeds it: supplies: [{bus: …}]."),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message", "hint"), WRONG, ids=[w[2][:70] for w in WRONG])
def test_a_wrong_value_gives_one_message(old: str, new: str, message: str, hint: str) -> None:
    # A name with a mark in it occurs in other places too: only this one finding may be an error.
    plain, places = marked(spoilt((old, new)))
    errors = read_texts({"all.yaml": plain}).errors
    assert [(f.place, f.message, f.hint) for f in errors] == [(places[0], message, hint)]


def test_an_id_is_not_longer_than_a_file_name_may_be() -> None:
    finding = only_finding(("id: gen-out", f"id: ¤{'a' * 65}"))
    assert finding.message.endswith("`id` is longer than 64 characters.")


def test_a_name_in_a_table_of_amps_is_an_id() -> None:
    finding = only_finding(("amps: {cruise: 1.5,", "amps: {cruise: 1.5, ¤In Cruise: 1,"))
    assert "`In Cruise` is not a valid id" in finding.message


def test_a_wrong_number_does_not_hide_an_unknown_bus_in_the_same_record() -> None:
    findings = findings_of(
        ("supplies: [{bus: essential, breaker: {name: ATT 1, amps: 5,",
         "supplies: [{bus: essental, breaker: {name: ATT 1, apms: 5,"),
        ("    amps: 0.2", "    amps: little"),
    )  # fmt: skip
    assert [f.message for f in findings if f.kind == "error"] == [
        "equipment att-1: there is no bus `essental`.",
        "equipment att-1: `apms` is no field of a breaker or fuse.",
        "equipment att-2: `amps` must be a number, not `little`.",
    ]


def test_what_a_broken_record_defines_is_not_reported_as_unknown() -> None:
    finding = only_finding(("  - {id: main, name: Main bus}", "  - ¤{id: main}"))
    assert finding.message == "bus main: `name` is missing."


def test_a_hundred_mistakes_give_a_hundred_findings() -> None:
    extra = "".join(f"  - {{id: b-{i}, name: Bus {i}, colour: red}}\n" for i in range(100))
    errors = read_texts({"all.yaml": spoilt(("buses:\n", "buses:\n" + extra))}).errors
    assert len([f for f in errors if "`colour` is no field" in f.message]) == 100


def test_the_findings_of_one_file_are_counted_after_two_hundred() -> None:
    extra = "".join(f"  - {{id: b-{i}, name: Bus {i}, colour: red}}\n" for i in range(500))
    errors = read_texts({"all.yaml": spoilt(("buses:\n", "buses:\n" + extra))}).errors
    assert len(errors) == 201
    assert errors[-1].message == "There are 300 more problems up to here."


@pytest.mark.parametrize("section", ["aircraft", "conditions"])
def test_a_catalogue_has_the_sections_that_it_needs(section: str) -> None:
    lines = SAMPLE.split("\n")
    start = next(i for i, line in enumerate(lines) if line.startswith(section))
    end = next(i for i in range(start + 1, len(lines)) if not lines[i].startswith(" "))
    errors = read_texts({"all.yaml": "\n".join(lines[:start] + lines[end:])}).errors
    assert [f.message for f in errors] == [f"No file has the section `{section}`."]
