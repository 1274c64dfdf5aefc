"""Rules about several records: each is broken once, and the finding is at its exact place."""

# Catalogue lines are quoted whole, so that they can be found again.
# ruff: noqa: E501

from __future__ import annotations

import pytest

from sitegen.catalogue.checks import RULES, RULES_OF_THE_WHOLE
from tests.catalogue.catalogue_sample import (
    SAMPLE,
    findings_of,
    marked,
    only_finding,
    read_texts,
    spoilt,
)


def test_the_sample_is_without_fault() -> None:
    reading = read_texts({"all.yaml": SAMPLE})
    assert reading.findings == ()
    assert reading.catalogue is not None


def test_no_rule_is_listed_twice() -> None:
    rules = RULES + RULES_OF_THE_WHOLE
    assert len(set(rules)) == len(rules)


# ids


def test_a_bus_and_a_device_may_not_share_an_id() -> None:
    finding = only_finding(
        ("id: fl-ess, name", "id: ¤main, name"),
        ("through: [fl-ess, d-ess]", "through: [main, d-ess]"),
    )
    assert finding.kind == "error"
    assert "`main` is defined twice" in finding.message
    assert "all.yaml:11:10" in finding.message


def test_an_id_may_be_used_twice_on_different_airframes() -> None:
    early = "{id: k-gen, name: Line contactor, kind: contactor, fitted-to: [early], closes-when"
    late = (
        "  - {id: k-gen, name: Line relay, kind: relay, fitted-to: [late],"
        ' closes-when: {switches: {gen-switch: "on"}}}\n'
    )
    assert not findings_of(
        ("{id: k-gen, name: Line contactor, kind: contactor, closes-when", early),
        ("  - {id: k-bat,", late + "  - {id: k-bat,"),
    )


def test_an_id_may_not_be_used_twice_where_the_airframes_overlap() -> None:
    finding = only_finding(
        (
            "  - {id: k-bat,",
            "  - {id: ¤k-gen, name: Other, kind: shunt, fitted-to: [late]}\n  - {id: k-bat,",
        ),
        ("through: [k-bat]", "through: [k-bat]"),
    )
    assert "is defined twice on airframe late" in finding.message


def test_an_own_breaker_s_id_may_not_be_that_of_a_bus() -> None:
    finding = only_finding(("{name: ATT 1,", "{id: ¤main, name: ATT 1,"))
    assert "is defined twice" in finding.message
    assert "supply's own breaker" in finding.message


def test_a_section_of_its_own_may_use_an_id_again() -> None:
    assert not findings_of(("id: gen-out", "id: main"))


def test_an_indication_may_not_share_an_id_with_equipment() -> None:
    finding = only_finding(("id: gen-off", "id: ¤pilot"))
    assert "`pilot` is defined twice" in finding.message


@pytest.mark.parametrize("section", ["airframes", "switches", "panels", "load-columns"])
def test_every_section_refuses_an_id_twice(section: str) -> None:
    record = {
        "airframes": "{id: ¤early, name: Other}",
        "switches": '{id: ¤gen-switch, name: Other, positions: ["off", "on"]}',
        "panels": "{id: ¤wall, name: Other, where: there, rows: [A, B], columns: 8}",
        "load-columns": "{id: ¤cruise, name: Other}",
    }[section]
    lines = SAMPLE.rstrip("\n").split("\n")
    at = lines.index(f"{section}:")
    end = next(i for i in range(at + 1, len(lines)) if not lines[i].startswith(" "))
    lines.insert(end, f"  - {record}")
    finding = only_finding(text="\n".join(lines))
    assert "is defined twice" in finding.message


# mentions

UNKNOWN = [
    ("from: bat, to: main", "from: bat, to: ¤mian", "feeder bat to mian: there is no source or bus `mian`.", "main"),
    ("through: [k-bat]", "through: [k-bat, ¤dess]", "feeder bat to main: there is no device `dess`.", "d-ess"),
    ("bus: main, through: [cb-inv]", "bus: ¤mein, through: [cb-inv]", "source inv: there is no bus or source `mein`.", "main"),
    ("{gen-switch: \"on\"}, live: [gen]", "{gen-switch: \"on\"}, live: [¤gne]", "contactor k-gen: there is no source or bus `gne`.", "gen"),
    ("{gen-switch: \"on\"}, live", "{¤gen-swich: \"on\"}, live", "contactor k-gen: there is no switch `gen-swich`.", "gen-switch"),
    ("{switches: {bat-switch: \"on\"}}", "{switches: {bat-switch: \"on\"}, closed: [¤k-gan]}", "relay k-bat: there is no device `k-gan`.", "k-gen"),
    ("amps: 20, panel: wall", "amps: 20, panel: ¤wal", "breaker cb-inv: there is no panel `wal`.", "wall"),
    ("bus: essential, breaker", "bus: ¤essental, breaker", "equipment att-1: there is no bus `essental`.", "essential"),
    ("amps: 5, panel: wall, at: B3", "amps: 5, panel: ¤walls, at: B3", "equipment pilot: there is no panel `walls`.", "wall"),
    ("any: [att-1, att-2]", "any: [att-1, ¤atr-2]", "equipment pilot: there is no equipment `atr-2`.", "att-2"),
    ("sources: [gen, bat]", "sources: [gen, ¤batt]", "condition cruise: there is no source `batt`.", "bat"),
    (", bat-switch: \"on\"}, loads", ", ¤bat-swich: \"on\"}, loads", "condition cruise: there is no switch `bat-swich`.", "bat-switch"),
    ("\"on\"}, loads: cruise", "\"on\"}, loads: cruise, pulled: [¤cb-storbe]", "condition cruise: there is no breaker or fuse `cb-storbe`.", "cb-strobe"),
    ("\"on\"}, loads: cruise", "\"on\"}, loads: cruise, held-closed: [¤k-get]", "condition cruise: there is no contactor or relay `k-get`.", "k-gen"),
    ("failed: [gen]", "failed: [gen, ¤d-es]", "failure gen-out: there is no source, bus or device `d-es`.", "d-ess"),
    ("failed: [gen]", "failed: [gen], notes-in: {¤criuse: Land.}", "failure gen-out: there is no condition `criuse`.", "cruise"),
    ("shed: [strobe-left]", "shed: [strobe-left], reset: [¤gne]", "failure gen-out: there is no breaker, contactor, relay or source `gne`.", "gen"),
    ("shed: [strobe-left]", "shed: [¤strobe-lift]", "failure gen-out: there is no equipment `strobe-lift`.", "strobe-left"),
    ("kind: voltmeter, at: main", "kind: voltmeter, at: ¤man", "indication volts: there is no source or bus `man`.", "main"),
    ("{open: [k-gen]}", "{open: [¤kgen]}", "indication gen-off: there is no device `kgen`.", "k-gen"),
    ("provided-by: [att-1, att-2]", "provided-by: [att-1, att-2, ¤att-3]", "function attitude: there is no equipment `att-3`.", None),
    ("landing-column: approach", "landing-column: ¤aproach", "battery-time: there is no load column `aproach`.", "approach"),
    ("amps: {cruise: 1.5, approach: 1.5}", "amps: {cruise: 1.5, approach: 1.5, ¤landing: 1}", "equipment att-1: there is no load column `landing`.", None),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message", "meant"), UNKNOWN, ids=[u[2] for u in UNKNOWN])
def test_a_name_that_is_nowhere_is_reported_with_the_likely_one(
    old: str, new: str, message: str, meant: str | None
) -> None:
    plain, places = marked(spoilt((old, new)))
    errors = read_texts({"all.yaml": plain}).errors
    at_the_mark = [f for f in errors if f.place == places[0]]
    assert [f.message for f in at_the_mark] == [message]
    if meant:
        assert at_the_mark[0].hint == f"Did you mean `{meant}`?"


WRONG_KIND = [
    ("sources: [gen, bat]", "sources: [gen, ¤main]", "`main` is a bus; a source is wanted."),
    ("through: [k-bat]", "through: [k-bat, ¤main]", "`main` is a bus; a device is wanted."),
    ("bus: essential, breaker", "bus: ¤gen, breaker", "`gen` is a source; a bus is wanted."),
    ("requires: [{any: [att-1, att-2]}]", "requires: [¤main]", "`main` is a bus; equipment is wanted."),
    ("shed: [strobe-left]", "shed: [¤k-gen]", "`k-gen` is a contactor; equipment is wanted."),
    ("\"on\"}, loads: cruise", "\"on\"}, loads: cruise, held-closed: [¤d-ess]", "`d-ess` is a diode; a contactor or relay is wanted."),
    ("\"on\"}, loads: cruise", "\"on\"}, loads: cruise, pulled: [¤k-gen]", "`k-gen` is a contactor; a breaker or fuse is wanted."),
    ("B3}}]\n    amps: 3", "B3}, through: [¤d-ess]}]\n    amps: 3", "`d-ess` is a diode; a contactor, relay or switch is wanted."),
    ("kind: voltmeter, at: main", "kind: voltmeter, at: ¤k-gen", "`k-gen` is a contactor; a source or bus is wanted."),
    ("kind: voltmeter, at: main", "kind: ammeter, at: ¤main", "`main` is a bus; a source or device is wanted."),
    ("failed: [gen]", "failed: [¤pilot]", "`pilot` is equipment; a source, bus or device is wanted."),
    ("through: [k-bat]", "through: [k-bat, ¤gen-switch]", "`gen-switch` is a switch of the section `switches`; a device is wanted."),
    ("{switches: {bat-switch: \"on\"}}", "{switches: {bat-switch: \"on\", ¤k-gen: \"on\"}}", "`k-gen` is a contactor; a switch is wanted."),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message"), WRONG_KIND, ids=[w[2] for w in WRONG_KIND])
def test_a_name_of_the_wrong_kind_says_so(old: str, new: str, message: str) -> None:
    plain, places = marked(spoilt((old, new)))
    errors = read_texts({"all.yaml": plain}).errors
    assert [f.message.split(": ", 1)[1] for f in errors if f.place == places[0]] == [message]


def test_a_shared_fuse_is_not_named_as_a_breaker() -> None:
    finding = only_finding(
        ("name: STROBE, kind: breaker", "name: STROBE, kind: fuse"),
        ("name: Left strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: cb-strobe}]",
         "name: Left strobe\n    ata: 33-40\n    supplies: [{bus: main, fuse: cb-strobe}]"),
        ("name: Right strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: cb-strobe}]",
         "name: Right strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: ¤cb-strobe}]"),
    )  # fmt: skip
    assert finding.message == "equipment strobe-right: `cb-strobe` is a fuse; a breaker is wanted."


def test_the_made_up_id_of_an_own_breaker_can_be_pulled_and_can_fail() -> None:
    assert not findings_of(
        ('"on"}, loads: cruise', '"on"}, loads: cruise, pulled: [pilot.breaker]'),
        ("failed: [gen]", "failed: [gen, att-1.breaker]"),
    )


def test_the_breakers_of_equipment_with_two_supplies_are_numbered() -> None:
    two = (
        "at: B3}}]\n    amps: 3",
        "at: B3}}, {bus: essential, breaker: {name: AP 2, amps: 5, panel: wall, at: B4}}]\n    amps: 3",
    )
    assert not findings_of(two, ("failed: [gen]", "failed: [gen, pilot.breaker-2]"))
    finding = only_finding(two, ("failed: [gen]", "failed: [gen, ¤pilot.breaker]"))
    assert finding.hint in {f"Did you mean `pilot.breaker-{n}`?" for n in (1, 2)}


def test_a_mode_in_the_words_of_the_trade_is_understood() -> None:
    finding = only_finding(("failed: [gen]", 'failed: [¤"k-gen:welded"]'))
    assert finding.hint == "Did you mean `stuck-closed`?"


def test_a_bus_may_fail_shorted() -> None:
    assert not findings_of(("failed: [gen]", 'failed: ["main:shorted", "k-gen:stuck-closed"]'))


@pytest.mark.parametrize(
    ("failed", "message"),
    [
        ("gen:dead", "a source does not fail as `dead`; it fails as `lost` or `shorted`."),
        ("main:open", "a bus does not fail as `open`; it fails as `dead` or `shorted`."),
        ("d-ess:dead", "a diode does not fail as `dead`; it fails as `open` or `shorted`."),
        ("k-gen:closed", "a contactor does not fail as `closed`; it fails as `open` or `stuck-closed`."),
        ("pilot.breaker:", "there is no mode after the colon; a supply's own breaker fails as `open` or `stuck-closed`."),
    ],
)  # fmt: skip
def test_a_component_fails_only_in_a_mode_of_its_kind(failed: str, message: str) -> None:
    finding = only_finding(("failed: [gen]", f'failed: [¤"{failed}"]'))
    assert finding.message == f"failure gen-out: {message}"


def test_a_switch_is_set_only_to_a_position_that_it_has() -> None:
    finding = only_finding(('{bat-switch: "on"}}}', '{bat-switch: ¤"onn"}}}'))
    assert finding.message == "relay k-bat: the switch `bat-switch` has no position `onn`."
    assert finding.hint == "Did you mean `on`?"


def test_a_condition_sets_switches_only_to_positions_that_they_have() -> None:
    finding = only_finding(('bat-switch: "on"}, loads', "bat-switch: ¤auto}, loads"))
    assert finding.hint == "It has `off` or `on`."


def test_crew_actions_set_switches_only_to_positions_that_they_have() -> None:
    finding = only_finding(('{gen-switch: "off"}}}', "{gen-switch: ¤up}}}"))
    assert finding.message == "failure gen-out: the switch `gen-switch` has no position `up`."


def test_a_lamp_depends_only_on_positions_that_a_switch_has() -> None:
    finding = only_finding(("{open: [k-gen]}", "{open: [k-gen], switches: {gen-switch: ¤up}}"))
    assert finding.message.startswith("indication gen-off: the switch `gen-switch` has no position")


def test_an_item_is_not_fitted_to_an_airframe_that_is_not_there() -> None:
    finding = only_finding(("name: Left strobe", "name: Left strobe\n    fitted-to: [early, ¤lat]"))
    assert finding.message == "equipment strobe-left: there is no airframe `lat`."
    assert finding.hint == "Did you mean `late`?"


def test_a_supply_is_not_fitted_to_an_airframe_that_is_not_there() -> None:
    finding = only_finding(
        (
            "supplies: [{bus: essential, ",
            "supplies: [{fitted-to: [early, late, ¤x], bus: essential, ",
        )
    )
    assert "there is no airframe `x`" in finding.message


def test_wiring_does_not_name_what_is_not_fitted_with_it() -> None:
    finding = only_finding(
        ("{id: fl-ess, name", "{id: fl-ess, fitted-to: [early], name"),
        ("through: [fl-ess, d-ess]", "through: [¤fl-ess, d-ess]"),
    )
    assert finding.message == (
        "feeder main to essential: the fuse-link `fl-ess` is not fitted on airframe late, "
        "where feeder main to essential is."
    )


def test_a_supply_is_not_fed_from_a_bus_that_is_not_fitted_with_it() -> None:
    findings = findings_of(("{id: ac, name", "{id: ac, fitted-to: [late], name"))
    assert [f.message.split(":")[0] for f in findings if "not fitted" in f.message] == [
        "feeder inv to ac",
        "equipment att-2",
    ]


def test_a_condition_may_name_a_source_that_only_one_airframe_has() -> None:
    changes = (
        ("  - {id: bat, name", "  - {id: ext, name: External power, kind: external-power, volts: 28, "
         "amps: 400, fitted-to: [late]}\n  - {id: bat, name"),
        ("sources: [gen, bat]", "sources: [gen, bat, ext]"),
        ("  - {from: inv,", "  - {from: ext, to: main, fitted-to: [late]}\n  - {from: inv,"),
    )  # fmt: skip
    assert not findings_of(*changes)


def test_a_failure_must_be_fitted_where_its_components_are() -> None:
    finding = only_finding(
        ("  - {id: cb-strobe,", "  - {id: sh, name: Shunt, kind: shunt, fitted-to: [late]}\n  - {id: cb-strobe,"),
        ("  - {from: inv, to: ac}", "  - {from: inv, to: ac, fitted-to: [early]}\n"
         "  - {from: inv, to: ac, through: [sh], fitted-to: [late]}"),
        ("failed: [gen]", "failed: [gen, ¤sh]"),
    )  # fmt: skip
    assert "the shunt `sh` is not fitted on airframe early" in finding.message


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("through: [k-bat]", "through: [k-bat, ¤k-bat]"),
        ("sources: [gen, bat]", "sources: [gen, bat, ¤gen]"),
        ("failed: [gen]", 'failed: [gen, ¤"gen:lost"]'),
        ("provided-by: [att-1, att-2]", "provided-by: [att-1, att-2, ¤att-2]"),
        ("name: Left strobe", "name: Left strobe\n    fitted-to: [early, late, ¤early]"),
        ("live: [gen]", "live: [gen, ¤gen]"),
        ("independent: [[att-1, att-2]]", "independent: [[att-1, ¤att-1]]"),
    ],
)
def test_a_list_names_nothing_twice(old: str, new: str) -> None:
    assert "is listed twice in" in only_finding((old, new)).message


def test_two_records_of_one_name_are_hard_to_distinguish() -> None:
    finding = only_finding(("name: Right strobe", "name: ¤Left strobe"))
    assert finding.kind == "advice"
    assert "and so has strobe-left" in finding.message


# wiring


def test_a_feeder_does_not_end_where_it_begins() -> None:
    finding = only_finding(("  - {from: inv,", "  - {from: main, to: ¤main}\n  - {from: inv,"))
    assert finding.message == "The feeder from `main` ends where it begins."


def test_a_converter_is_not_fed_from_itself() -> None:
    findings = findings_of(("{bus: main, through: [cb-inv]}", "{bus: inv, through: [cb-inv]}"))
    assert "source inv is fed from itself." in [f.message for f in findings]


def test_a_feeder_does_not_join_ac_to_dc() -> None:
    finding = only_finding(("  - {from: inv,", "  - ¤{from: main, to: ac}\n  - {from: inv,"))
    assert finding.message == "The feeder joins `main` (DC) to `ac` (AC)."


def test_a_supply_has_a_breaker_or_a_fuse_but_not_both() -> None:
    finding = only_finding(
        ("B3}}]\n    amps: 3", "B3}, ¤fuse: {name: F, amps: 5, panel: wall, at: B4}}]\n    amps: 3")
    )
    assert (
        finding.message == "equipment pilot: the supply from `main` has both a breaker and a fuse."
    )


def test_a_shared_breaker_supplies_equipment_once() -> None:
    finding = only_finding(
        (
            "name: Right strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: cb-strobe}]",
            "name: Right strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: cb-strobe},"
            " ¤{bus: main, breaker: cb-strobe}]",
        )
    )
    assert "through the same breaker `cb-strobe`" in finding.message


def test_a_shared_breaker_serves_one_bus() -> None:
    finding = only_finding(
        (
            "name: Right strobe\n    ata: 33-40\n    supplies: [{bus: main, breaker: cb-strobe}]",
            "name: Right strobe\n    ata: 33-40\n    supplies: [{bus: essential, breaker: ¤cb-strobe}]",
        )
    )
    assert finding.message == (
        "The breaker `cb-strobe` serves the supply of equipment strobe-right from `essential`, "
        "but the supply of equipment strobe-left from `main`."
    )


def test_a_breaker_is_not_in_a_feeder_and_in_a_supply() -> None:
    finding = only_finding(("through: [k-bat]", "through: [k-bat, ¤cb-strobe]"))
    assert finding.message == (
        "The breaker `cb-strobe` is in the feeder from `bat` to `main`, and in the supply of "
        "equipment strobe-left too."
    )


def test_a_fuse_link_is_in_one_feeder() -> None:
    finding = only_finding(("through: [k-bat]", "through: [k-bat, fl-ess]"),
                           ("through: [fl-ess, d-ess]", "through: [¤fl-ess, d-ess]"))  # fmt: skip
    assert "is in the feeder from `main` to `essential`, and in" in finding.message


def test_a_breaker_is_in_one_converter_input_or_feeder() -> None:
    finding = only_finding(("through: [cb-inv]", "through: [¤cb-inv]"),
                           ("through: [k-bat]", "through: [k-bat, cb-inv]"))  # fmt: skip
    assert "is in the input of `inv`, and in the feeder from `bat` to `main`" in finding.message


def test_a_contactor_may_be_in_several_feeders() -> None:
    assert not findings_of(("  - {from: inv, to: ac}", "  - {from: inv, to: ac, through: [k-bat]}"))


@pytest.mark.parametrize("kind", ["contactor", "relay", "switch"])
def test_a_device_that_moves_says_what_closes_it(kind: str) -> None:
    finding = only_finding(
        ("  - {id: d-ess,", f"  - ¤{{id: k, name: K, kind: {kind}}}\n  - {{id: d-ess,"),
        ("through: [k-bat]", "through: [k-bat, k]"),
    )
    assert finding.message == f"{kind} k: nothing says what closes it."


def test_a_device_that_does_not_move_has_no_terms() -> None:
    finding = only_finding(("kind: diode", "kind: diode, ¤closes-when: {live: [main]}"))
    assert finding.message == "diode d-ess: a diode has no `closes-when`."


def test_only_contactors_and_relays_are_protective() -> None:
    finding = only_finding(("kind: diode", "kind: diode, ¤protective: true"))
    assert finding.message == "diode d-ess: only a contactor or relay can be `protective`."
    assert not findings_of(("kind: contactor,", "kind: contactor, protective: true,"))


def test_a_converter_has_an_input() -> None:
    findings = findings_of((", fed-from: {bus: main, through: [cb-inv]}", ""))
    assert "source inv: nothing says what the converter is fed from." in [
        f.message for f in findings
    ]


def test_only_a_converter_has_an_input() -> None:
    finding = only_finding(("amp-hours: 30", "amp-hours: 30, ¤fed-from: {bus: main}"))
    assert finding.message == "source bat: a battery is not fed from a bus; only a converter is."


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("amps: 200", "amps: 200, ¤amp-hours: 3"),
        ("amps: 200", "amps: 200, ¤usable: 0.5"),
        ("amps: 200", "amps: 200, ¤charge-amps: [0, 5]"),
        ("amps: 200", "amps: 200, ¤efficiency: 0.5"),
        ("amps: 200", "amps: 200, ¤battery-time: {required-minutes: 20}"),
    ],
)
def test_a_source_has_no_field_of_another_kind_of_source(old: str, new: str) -> None:
    finding = only_finding((old, new))
    assert finding.kind == "advice"
    assert "has no effect" in finding.message


@pytest.mark.parametrize(
    ("old", "new", "kind", "message"),
    [
        (
            "amp-hours: 30",
            "amp-hours: 30, charge-amps: [¤60, 5]",
            "error",
            "source bat: `charge-amps` begins with 60 and ends with 5.",
        ),
        (
            "amp-hours: 30",
            "amp-hours: 30, volts-range: [¤25.2, 22]",
            "error",
            "source bat: `volts-range` begins with 25.2 and ends with 22.",
        ),
        (
            "amp-hours: 30",
            "amp-hours: 30, volts-range: ¤[20, 23]",
            "advice",
            "source bat: its 24 V are outside `volts-range`, 20 to 23 V.",
        ),
        (
            "amps: 200",
            "amps: 200, volts-range: ¤[29, 30]",
            "advice",
            "source gen: its 28.5 V are outside `volts-range`, 29 to 30 V.",
        ),
    ],
)
def test_a_range_runs_from_the_least_to_the_most(
    old: str, new: str, kind: str, message: str
) -> None:
    finding = only_finding((old, new))
    assert (finding.kind, finding.message) == (kind, message)


def test_a_battery_has_its_capacity() -> None:
    finding = only_finding(("  - {id: bat,", "  - ¤{id: bat,"), (", amp-hours: 30", ""))
    assert (finding.kind, finding.message) == (
        "advice",
        "source bat: the battery has no `amp-hours`.",
    )


def test_a_generator_has_its_rated_amps() -> None:
    finding = only_finding(("  - {id: gen, name", "  - ¤{id: gen, name"), (", amps: 200", ""))
    assert (finding.kind, finding.message) == ("advice", "source gen: it has no rated `amps`.")


def test_a_condition_need_not_list_a_converter() -> None:
    finding = only_finding(("sources: [gen, bat]", "sources: [gen, bat, ¤inv]"))
    assert finding.kind == "advice"
    assert "follows its input" in finding.message


# where power can get to


def test_a_bus_that_no_source_can_reach_is_reported() -> None:
    finding = only_finding(("  - {id: ac, name", "  - ¤{id: ac, name"),
                           ("  - {from: inv, to: ac}\n", "  - {from: ac, to: inv, through: [d-2]}\n"),
                           ("  - {id: cb-inv,", "  - {id: d-2, name: D, kind: diode}\n  - {id: cb-inv,"),
                           )  # fmt: skip
    assert finding.message == ("bus ac: no source can feed it, even with every contactor closed.")


def test_a_bus_is_fed_on_every_airframe() -> None:
    finding = only_finding(("  - {id: ac, name", "  - ¤{id: ac, name"),
                           ("  - {from: inv, to: ac}", "  - {from: inv, to: ac, fitted-to: [late]}"))  # fmt: skip
    assert "no source can feed it on airframe early" in finding.message


def test_a_bus_downstream_of_a_dead_converter_is_not_fed() -> None:
    findings = findings_of(("{bus: main, through: [cb-inv]}", "{bus: ac, through: [cb-inv]}"))
    assert any(f.message.startswith("bus ac: no source can feed it") for f in findings)


def test_a_source_that_feeds_nothing_is_advice() -> None:
    finding = only_finding(
        (
            "  - {id: bat, name",
            "  - ¤{id: apu, name: Spare, kind: generator, volts: 28, amps: 9}\n  - {id: bat, name",
        )
    )
    assert (finding.kind, finding.message) == (
        "advice",
        "source apu feeds nothing: no feeder begins at it.",
    )


def test_a_bus_that_feeds_nothing_is_advice() -> None:
    finding = only_finding(
        ("  - {id: ac, name", "  - ¤{id: tail, name: Tail bus}\n  - {id: ac, name"),
        ("  - {from: inv,", "  - {from: main, to: tail}\n  - {from: inv,"),
    )
    assert (finding.kind, finding.message) == ("advice", "bus tail: nothing is fed from it.")


def test_equipment_is_supplied_on_every_airframe() -> None:
    finding = only_finding(
        ("supplies: [{bus: essential, ", "supplies: ¤[{fitted-to: [late], bus: essential, ")
    )
    assert finding.message == "equipment att-1 has no supply on airframe early."


def test_every_airframe_has_a_condition() -> None:
    finding = only_finding(
        ("{id: cruise, name: Cruise, sources", "{id: cruise, name: Cruise, fitted-to: [early], sources"),
        ("  - {id: late,", "  - ¤{id: late,"),
    )  # fmt: skip
    assert finding.message == "airframe late: no condition is fitted to it."


# panels


@pytest.mark.parametrize(
    ("at", "message"),
    [
        ("C1", "the panel `wall` has no row `C`."),
        ("A9", "the panel `wall` has no column 9."),
        ("A0", "the panel `wall` has no column 0."),
        ("A", "the place `A` is not a row and a column."),
        ("1A", "the place `1A` is not a row and a column."),
    ],
)
def test_a_place_is_on_its_panel(at: str, message: str) -> None:
    finding = only_finding(("panel: wall, at: B3", f"panel: wall, at: ¤{at}"))
    assert finding.message == f"breaker AP of equipment pilot: {message}"


def test_a_place_holds_one_breaker() -> None:
    finding = only_finding(("panel: wall, at: B3", "panel: wall, at: ¤A2"))
    assert "the place `A2` on panel `wall` is taken by breaker cb-strobe" in finding.message


def test_a_place_may_hold_one_breaker_on_each_airframe() -> None:
    assert not findings_of(
        ("name: Autopilot", "name: Autopilot\n    fitted-to: [early]"),
        ("  - id: strobe-left", "  - {id: pilot-2, name: Autopilot 2, ata: 22, fitted-to: [late], amps: 3, "
         "supplies: [{bus: main, breaker: {name: AP, amps: 5, panel: wall, at: B3}}]}\n  - id: strobe-left"),
    )  # fmt: skip


def test_a_place_without_a_panel_is_no_place() -> None:
    finding = only_finding(("amps: 5, panel: wall, at: B3", "amps: 5, ¤at: B3"))
    assert finding.kind == "error"
    assert "the place `B3` is on no panel" in finding.message


def test_a_panel_without_a_place_is_advice() -> None:
    finding = only_finding(("amps: 5, panel: wall, at: B3", "amps: 5, ¤panel: wall"))
    assert (finding.kind, finding.message) == (
        "advice",
        "breaker AP of equipment pilot: it has a panel but no place on it.",
    )


def test_breakers_without_a_panel_are_reported_in_one_finding() -> None:
    finding = only_finding(
        ("  - {id: cb-strobe,", "  - ¤{id: cb-strobe,"),
        ("amps: 10, panel: wall, at: A2", "amps: 10"),
        ("amps: 5, panel: wall, at: B3", "amps: 5"),
    )
    assert (finding.kind, finding.message) == (
        "advice",
        "2 breakers without a panel: cb-strobe and AP of equipment pilot.",
    )


def test_a_panel_s_rows_have_different_names() -> None:
    assert (
        "the row `A` is defined twice" in only_finding(("rows: [A, B]", "rows: [A, B, ¤A]")).message
    )


def test_a_switch_s_positions_have_different_names() -> None:
    finding = only_finding(
        ('name: Battery switch, positions: ["off", "on"]',
         'name: Battery switch, positions: ["off", "on", ¤"off"]')
    )  # fmt: skip
    assert "the position `off` is defined twice" in finding.message


# equipment


def test_a_table_of_amps_has_a_figure_for_every_column() -> None:
    finding = only_finding(("amps: {cruise: 1.5, approach: 1.5}", "¤amps: {cruise: 1.5}"))
    assert (finding.kind, finding.message) == (
        "advice",
        "equipment att-1: `amps` has no figure for `approach`.",
    )


def test_equipment_without_amps_is_reported_in_one_finding() -> None:
    finding = only_finding(
        ("  - id: att-2", "  - ¤id: att-2"), ("\n    amps: 0.2", ""), ("\n    amps: 3", "")
    )
    assert (finding.kind, finding.message) == (
        "advice",
        "2 pieces of equipment without `amps`: att-2 and pilot.",
    )


def test_figures_of_all_the_supplies_that_an_item_needs_are_its_amps() -> None:
    both = "needs: all\n    supplies: [{bus: main, amps: 2}, {bus: main, amps: %s}]"
    supplies = (
        "supplies: [{bus: main, breaker: {name: AP, amps: 5, panel: wall, at: B3}}]\n    amps: 3"
    )
    assert not findings_of((supplies, both % 1))
    one = findings_of((supplies, both.replace(", amps: %s", "")))
    assert [f.message for f in one] == ["1 piece of equipment without `amps`: pilot."]


def test_amps_that_follow_volts_need_the_volts_at_which_they_were_taken() -> None:
    by_volts = ("\n    amps: 3", "\n    amps: 3\n    load: ¤constant-power")
    finding = only_finding(by_volts)
    assert (finding.kind, finding.message) == (
        "advice",
        "`load` has no effect without the aircraft's `load-volts`: pilot.",
    )
    assert finding.hint.startswith("Write `load-volts` under `aircraft`")
    load_volts = ("{name: Heron 3,", "{name: Heron 3, load-volts: 28,")
    assert not findings_of((by_volts[0], by_volts[1].replace("¤", "")), load_volts)


@pytest.mark.parametrize(("amps", "load"), [("3", "constant-current"), ("0.2", "resistive")])
def test_amps_that_follow_no_volts_need_none(amps: str, load: str) -> None:
    """The second draws from an AC bus: its amps are as written."""
    assert not findings_of((f"\n    amps: {amps}", f"\n    amps: {amps}\n    load: {load}"))


def test_a_condition_names_its_load_column() -> None:
    findings = findings_of(('"on"}, loads: cruise', '"on"}'))
    assert [f.kind for f in findings] == ["advice", "advice"]
    assert findings[1].message == "condition cruise: it names no load column."


def test_equipment_does_not_require_itself() -> None:
    finding = only_finding(("requires: [{any: [att-1, att-2]}]", "requires: ¤[pilot]"))
    assert finding.message == "equipment pilot: it requires itself."


def test_requirements_do_not_come_round() -> None:
    finding = only_finding(
        ("amps: 0.2", "amps: 0.2\n    requires: ¤[strobe-left]"),
        ("supplies: [{bus: main, breaker: cb-strobe}]\n    amps: 2\n  - id: strobe-right",
         "supplies: [{bus: main, breaker: cb-strobe}]\n    amps: 2\n    requires: [{any: [pilot]}]\n  - id: strobe-right"),
    )  # fmt: skip
    assert finding.message == (
        "equipment att-2: what it requires comes round to itself: "
        "att-2 requires strobe-left requires pilot requires att-2."
    )


def test_a_chain_of_requirements_longer_than_the_stack_is_no_loop() -> None:
    chain = "".join(
        f"  - {{id: e-{i}, name: E {i}, ata: 22, amps: 1, requires: [e-{i + 1}], "
        "supplies: [{bus: main, breaker: cb-strobe}]}\n"
        for i in range(1500)
    ).replace("requires: [e-1500]", "requires: [att-1]")
    assert not findings_of(("  - id: att-1\n", chain + "  - id: att-1\n"))


# indications and functions


def test_a_lamp_says_when_it_shows() -> None:
    finding = only_finding(
        ("  - {id: gen-off,", "  - ¤{id: gen-off,"), (", lit-when: {open: [k-gen]}", "")
    )
    assert finding.message == "lamp gen-off: nothing says when it shows."


def test_a_meter_says_where_it_reads() -> None:
    finding = only_finding(("  - {id: volts,", "  - ¤{id: volts,"), (", at: main}", "}"))
    assert finding.message == "voltmeter volts: nothing says where it reads."


def test_a_meter_does_not_light() -> None:
    finding = only_finding((", at: main}", ", at: main, ¤lit-when: {dead: [main]}}"))
    assert finding.message == "voltmeter volts: a voltmeter has no `lit-when`."


def test_a_lamp_does_not_read() -> None:
    finding = only_finding(("kind: lamp,", "kind: lamp, ¤at: main,"))
    assert finding.message == "lamp gen-off: a lamp has no `at`."


def test_an_ammeter_reads_a_device_through_which_a_feeder_runs() -> None:
    finding = only_finding(("kind: voltmeter, at: main", "kind: ammeter, at: ¤cb-strobe"))
    assert "`cb-strobe` is in no feeder" in finding.message
    assert not findings_of(("kind: voltmeter, at: main", "kind: ammeter, at: cb-inv"))


def test_a_loadmeter_has_a_rating_to_read_against() -> None:
    finding = only_finding(("kind: voltmeter, at: main", "kind: loadmeter, at: ¤bat"))
    assert finding.kind == "advice"
    assert "`bat` has no rated `amps`" in finding.message


def test_a_function_has_enough_providers_on_every_airframe() -> None:
    finding = only_finding(
        ("name: Attitude 2", "name: Attitude 2\n    fitted-to: [late]"),
        ("requires: [{any: [att-1, att-2]}]", "requires: [att-1]"),
        ("provided-by: [att-1, att-2], essential: true",
         "provided-by: ¤[att-1, att-2], need: 2, essential: true"),
    )  # fmt: skip
    assert finding.message == "function attitude needs 2 and has 1 provider on airframe early."


def test_an_independent_pair_provides_the_function() -> None:
    finding = only_finding(("independent: [[att-1, att-2]]", "independent: [[att-1, ¤pilot]]"))
    assert finding.message == "function attitude: `pilot` does not provide it."


# unused


def test_a_switch_on_which_nothing_depends_is_advice() -> None:
    finding = only_finding(
        (
            "  - {id: bat-switch, name",
            "  - ¤{id: spare, name: Spare, positions: [a, b]}\n  - {id: bat-switch, name",
        )
    )
    assert (finding.kind, finding.message) == (
        "advice",
        "switch spare: nothing depends on its position.",
    )


def test_a_panel_with_nothing_on_it_is_advice() -> None:
    finding = only_finding(
        (
            "load-columns:\n",
            "  - ¤{id: roof, name: Roof, where: above, rows: [A], columns: 2}\nload-columns:\n",
        )
    )
    assert (finding.kind, finding.message) == ("advice", "panel roof: nothing is on it.")


def test_a_load_column_that_no_condition_uses_is_advice() -> None:
    finding = only_finding(
        (
            "  - {id: cruise, name: Cruise}",
            "  - {id: cruise, name: Cruise}\n  - ¤{id: night, name: Night}",
        ),
        ("approach: 1.5}", "approach: 1.5, night: 2}"),
    )
    assert finding.kind == "advice"
    assert finding.message.startswith("load column night: no condition")


def test_a_device_that_is_in_no_wiring_is_advice() -> None:
    finding = only_finding(
        ("  - {id: d-ess,", "  - ¤{id: sh, name: Shunt, kind: shunt}\n  - {id: d-ess,")
    )
    assert (finding.kind, finding.message) == (
        "advice",
        "shunt sh is in no feeder and no supply.",
    )


SWITCHED = 'switches: {gen-switch: "on", bat-switch: "on"}'
TWO_MORE = f"""\
  - {{id: climb, name: Climb, sources: [gen, bat], {SWITCHED}, loads: cruise}}
  - ¤{{id: descent, name: Descent, sources: [gen, bat], {SWITCHED}, loads: cruise}}
"""


def test_a_switch_that_one_condition_forgets_is_named() -> None:
    more = TWO_MORE.replace(f"Descent, sources: [gen, bat], {SWITCHED}", 'Descent, sources: [gen, bat], switches: {gen-switch: "on"}')  # fmt: skip
    finding = only_finding(("failures:\n", f"{more}failures:\n"))
    assert finding.message == (
        "condition descent: it does not set the switch `bat-switch`, which is then `off`; all other"
        " conditions set it."
    )


def test_a_condition_that_sets_few_switches_means_the_others_as_they_are() -> None:
    more = TWO_MORE.replace(f"Descent, sources: [gen, bat], {SWITCHED}", "Descent, sources: [gen, bat]")  # fmt: skip
    assert findings_of(("failures:\n", f"{more}failures:\n")) == []


def test_one_placard_is_on_a_panel_once_on_an_airframe() -> None:
    finding = only_finding(("breaker: {name: AP,", "breaker: {name: ¤ATT 1,"))
    assert "the placard `ATT 1` is on panel `wall` twice" in finding.message
    fitted = "breaker: {name: ATT 1, amps: 5, panel: wall, at: B1}, fitted-to: [early]"
    other = "breaker: {name: ATT 1, amps: 5, panel: wall, at: B3}, fitted-to: [late]"
    late = ("    ata: 22\n", "    ata: 22\n    fitted-to: [late]\n")
    early = [
        ("breaker: {name: ATT 1, amps: 5, panel: wall, at: B1}", fitted),
        ("breaker: {name: AP, amps: 5, panel: wall, at: B3}", other),
    ]
    assert not any("placard" in f.message for f in findings_of(late, *early))


def test_a_source_that_a_diode_keeps_from_feeding_is_reported_at_the_feeder() -> None:
    finding = only_finding(
        ("  - {from: bat, to: main, through: [k-bat]}", "  - ¤{from: main, to: bat, through: [k-bat, d-bat]}"),
        ("  - {id: d-ess,", "  - {id: d-bat, name: Battery diode, kind: diode}\n  - {id: d-ess,"),
    )  # fmt: skip
    assert finding.hint == "Turn the feeder round: from `bat` to `main`."
