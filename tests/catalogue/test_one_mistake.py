"""One mistake gives one finding, where it was made: what only follows from it is not reported as well."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import pytest

from sitegen.catalogue.did_you_mean import closest
from tests.catalogue.catalogue_sample import SAMPLE, findings_of, only_finding, read_texts, spoilt

BUS = "  - {id: main, name: Main bus}"
STROBE = "  - id: strobe-left\n    name: Left strobe"
PILOT_SUPPLY = "supplies: [{bus: main, breaker: {name: AP, amps: 5, panel: wall, at: B3}}]"


# records that could not be understood


@pytest.mark.parametrize(
    "record",
    ["¤{name: Main bus}", "{¤id: , name: Main bus}", "¤{id: main}"],
)
def test_a_bus_without_its_id_or_name_is_not_missed_wherever_it_is_named(record: str) -> None:
    only_finding((BUS, f"  - {record}"))


def test_a_generator_without_its_id_is_not_missed_under_a_short_form_of_its_name() -> None:
    only_finding(("  - {id: gen, name: Generator,", "  - ¤{name: Generator,"))


def test_a_misspelt_name_is_reported_beside_a_record_without_an_id() -> None:
    errors = findings_of(
        (BUS, "  - {name: Main bus}"), ("to: essential, through", "to: esential, through")
    )
    assert [f.message for f in errors] == [
        "bus Main bus: `id` is missing.",
        "feeder main to esential: there is no source or bus `esential`.",
    ]  # fmt: skip


def test_an_id_with_a_wrong_letter_is_not_missed_under_the_right_one() -> None:
    finding = only_finding(("{id: k-bat,", "{id: ¤k-b#at,"))
    assert "`k-b#at` is not a valid id" in finding.message


def test_an_invalid_id_is_reported_with_the_id_that_is_there() -> None:
    finding = only_finding(("through: [k-bat]", "through: [¤k_baat]"))
    assert finding.hint == "Did you mean `k-bat`?"


def test_an_airframe_that_could_not_be_understood_may_be_named() -> None:
    only_finding(
        ("  - {id: late, name: Serials 10 and after}", "  - ¤{id: late}"),
        ("kind: diode", "kind: diode, fitted-to: [early, late]"),
    )


@pytest.mark.parametrize("section", ["airframes", "buses", "switches"])
def test_a_section_without_its_records_is_one_mistake(section: str) -> None:
    lines = SAMPLE.split("\n")
    start = lines.index(f"{section}:") + 1
    end = next(i for i in range(start, len(lines)) if not lines[i].startswith(" "))
    errors = read_texts({"all.yaml": "\n".join(lines[:start] + lines[end:])}).errors
    assert [(f.message, f.place.line) for f in errors] == [(f"`{section}` has no value.", start)]


def test_the_missing_fields_of_a_record_are_reported_together() -> None:
    finding = only_finding((STROBE, f"  - ¤id: strobe-3\n{STROBE}"))
    assert finding.message == "equipment strobe-3: `name`, `ata` and `supplies` are missing."


def test_a_wrong_value_of_a_misspelt_field_is_reported_as_well() -> None:
    findings = findings_of(("    amps: 0.2", "    apms: little"))
    assert [f.message for f in findings] == [
        "equipment att-2: `apms` is no field of equipment.",
        "equipment att-2: `amps` must be a number, not `little`.",
    ]


def test_a_word_where_a_list_is_wanted_is_taken_for_its_only_entry() -> None:
    only_finding(("through: [k-bat]", "through: ¤k-bat"))
    only_finding(("kind: diode", "kind: diode, fitted-to: ¤nowhere"))


def test_a_record_that_is_fitted_to_nothing_is_not_taken_for_fitted_everywhere() -> None:
    early, late = "fitted-to: [early], kind: diode", "fitted-to: ¤[], kind: fuse"
    only_finding(
        ("kind: diode}", f"{early}}}\n  - {{id: d-ess, name: Essential diode, {late}}}"),
    )


def test_a_record_in_the_wrong_section_is_reported_with_where_it_belongs() -> None:
    finding = only_finding(("  - {from: inv, to: ac}", "  - {from: inv, to: ac}\n  - ¤{id: x, name: X, kind: fuse, amps: 4}"))  # fmt: skip
    assert finding.message == "feeder x: its fields are not those of a feeder."
    assert finding.hint == "Move it to the section `devices`."


def test_a_list_s_entry_that_lost_its_hyphen_is_one_mistake() -> None:
    plain = spoilt((STROBE, "    name: Left strobe"))
    errors = read_texts({"all.yaml": plain}).errors
    assert [str(f) for f in errors] == [
        "all.yaml:51:5: `name`, `ata`, `supplies` and `amps` are defined twice in this record, "
        "first from line 46 on. If a new entry begins here, write its `- ` before it; else delete them."
    ]


def test_sections_defined_twice_are_reported_one_by_one() -> None:
    errors = read_texts({"all.yaml": SAMPLE + "buses: []\nfeeders: []\n"}).errors
    assert [f.place.line for f in errors] == [71, 72]


# names and airframes


def test_what_a_misspelt_feeder_leaves_unfed_is_not_reported() -> None:
    only_finding(("from: gen, to: main", "from: ¤gne, to: main"))
    only_finding(("from: main, to: essential", "from: main, to: ¤pilot"))
    only_finding(("bus: main, through: [cb-inv]", "bus: ¤mian, through: [cb-inv]"))


def test_what_a_misspelt_device_leaves_idle_is_not_reported() -> None:
    only_finding(("through: [k-bat]", "through: [¤k-batt]"))
    only_finding(
        ("through: [k-gen]", "through: [¤k-geen]"),
        ("kind: voltmeter, at: main", "kind: ammeter, at: k-gen"),
    )


def test_what_a_misspelt_switch_or_panel_leaves_unused_is_not_reported() -> None:
    only_finding(('{switches: {bat-switch: "on"}}}', '{switches: {¤ba-switch: "on"}}}'))


def test_a_function_with_an_unknown_provider_is_not_short_of_providers_as_well() -> None:
    only_finding(
        ("provided-by: [att-1, att-2]", "provided-by: [att-1, ¤att-9]"), ("essential: true", "need: 2"),
        ("[[att-1, att-2]]", "[]"),
    )  # fmt: skip


def test_an_unknown_piece_of_equipment_in_a_pair_is_reported_once() -> None:
    only_finding(("[[att-1, att-2]]", "[[att-1, ¤att-9]]"))


def test_an_unknown_airframe_does_not_make_what_is_fitted_to_it_miss_others() -> None:
    finding = only_finding(
        ("  - {id: essential, name", "  - {id: essential, fitted-to: [¤never], name")
    )
    assert finding.message == "bus essential: there is no airframe `never`."
    assert finding.hint == "It can be `early` or `late`."


def test_a_feeder_s_unknown_airframe_is_reported_with_the_feeder() -> None:
    finding = only_finding(("from: inv, to: ac", "from: inv, to: ac, fitted-to: [¤never]"))
    assert finding.message.startswith("feeder inv to ac: ")


def test_equipment_copied_whole_is_one_mistake() -> None:
    start, end = SAMPLE.index("  - id: att-1"), SAMPLE.index("  - id: att-2")
    att_1 = SAMPLE[start:end]
    finding = only_finding(
        ("  - id: att-2", att_1.replace("id: att-1", "id: ¤att-1") + "  - id: att-2")
    )
    assert (
        finding.message == "The id `att-1` of equipment is defined twice; first at all.yaml:35:9."
    )


def test_one_supply_on_another_bus_is_the_mistake_not_the_many_on_the_first() -> None:
    third = "  - id: strobe-low\n    name: Lower strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: cb-strobe}]\n    amps: 2\n"
    text = SAMPLE.replace("supplies: [{bus: main, breaker: cb-strobe}]", "supplies: [{bus: essential, breaker: ¤cb-strobe}]", 1)  # fmt: skip
    only_finding(("conditions:\n", f"{third}conditions:\n"), text=text)


def test_a_supply_of_an_unknown_bus_does_not_make_its_breaker_serve_two() -> None:
    text = SAMPLE.replace(
        "[{bus: main, breaker: cb-strobe}]", "[{bus: ¤nain, breaker: cb-strobe}]", 1
    )
    only_finding(text=text)


# likely names


@pytest.mark.parametrize(
    ("written", "there", "meant"),
    [
        ("esential", "essential", True),
        ("left-mian", "left-main", True),
        ("Left Main", "left-main", True),
        ("main-left", "left-main", True),
        ("generator-1", "gen-1", True),
        ("standby-instrument", "standby-instrument-light", True),
        ("short", "shorted", True),
        ("fuselink", "fuse-link", True),
        # Other things of the same aircraft are not meant.
        ("gen-3", "gen-2", False),
        ("strobe-left", "torque-left", False),
        ("gear-indicator", "flap-indicator", False),
        ("inlet-heat", "windshield-heat", False),
        ("cb-pitot-left", "cb-pitot-right", False),
        ("x", "y", False),
        ("", "a", False),
    ],
)
def test_a_name_is_meant_only_where_it_is_similar(written: str, there: str, meant: bool) -> None:
    assert closest(written, [there]) == (there if meant else None)


def test_the_closest_name_is_meant() -> None:
    assert closest("boost-lef", ["boost-left", "boost-lift", "boost-left-aft"]) == "boost-left"


def test_where_no_name_is_similar_the_few_that_exist_are_listed() -> None:
    finding = only_finding(("loads: cruise", "loads: ¤night"))
    assert finding.hint == "It can be `cruise` or `approach`."
