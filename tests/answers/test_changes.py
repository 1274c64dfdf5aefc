"""What a revision changes: edits of the demo, each reported once, with what follows."""

from __future__ import annotations

import random
from collections.abc import Callable
from copy import deepcopy
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers import changes as module
from sitegen.answers.changes import ORDER, Changes, changes
from sitegen.answers.failure_changes import single_failure_changes
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import ReadResult, read
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build
from sitegen.terminal.changes_text import changes_json, changes_text
from tests import plain
from tests.pages.pages_sample import reading
from tests.random_nets import AIRFRAMES, catalogues, hard_catalogues
from tests.samples import thorough

Raw = dict[str, Any]
EVERY = ("block-1", "block-2", "block-3")
LATER = ("block-2", "block-3")


@cache
def demo() -> ReadResult:
    return read(demo_catalogue())


def raw_demo() -> Raw:
    assert demo().catalogue is not None
    return deepcopy(demo().catalogue.model_dump(by_alias=True, mode="json", exclude_unset=True))


@pytest.fixture(autouse=True)
def no_minutes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Minutes on battery take long; they have tests of their own."""
    monkeypatch.setattr(module, "endurance_changes", lambda *_: ())


def revised(edit: Callable[[Raw], object], notes: dict[str, str] | None = None) -> Changes:
    raw = raw_demo()
    edit(raw)
    notes = {n.id: n.text for n in demo().notes} | (notes or {})
    return changes(demo(), reading(raw, notes))


def record(raw: Raw, section: str, name: str, number: int = 0) -> Raw:
    """A record by its id; of several with that id, by its number."""
    found: Raw = [r for r in raw[section] if r["id"] == name][number]
    return found


def item(name: str, number: int = 0, /, **fields: Any) -> Callable[[Raw], object]:
    return lambda raw: record(raw, "equipment", name, number).update(fields)


def supply(name: str, number: int = 0, /, **fields: Any) -> Callable[[Raw], object]:
    return lambda raw: record(raw, "equipment", name, number)["supplies"][0].update(fields)


def breaker(name: str, /, **fields: Any) -> Callable[[Raw], object]:
    def edit(raw: Raw) -> None:
        record(raw, "equipment", name)["supplies"][0]["breaker"].update(fields)

    return edit


def of(section: str, name: str, number: int = 0, /, **fields: Any) -> Callable[[Raw], object]:
    return lambda raw: record(raw, section, name, number).update(fields)


def feeder(origin: str, target: str, **fields: Any) -> Callable[[Raw], object]:
    def edit(raw: Raw) -> None:
        next(f for f in raw["feeders"] if (f["from"], f["to"]) == (origin, target)).update(fields)

    return edit


def without(section: str, name: str) -> Callable[[Raw], object]:
    return lambda raw: raw[section].remove(record(raw, section, name))


def with_record(section: str, new: Raw) -> Callable[[Raw], object]:
    return lambda raw: raw[section].append(new)


def condition_switch(condition: str, switch: str, position: str) -> Callable[[Raw], object]:
    def edit(raw: Raw) -> None:
        record(raw, "conditions", condition)["switches"][switch] = position

    return edit


def with_id(old: str, new: str) -> Callable[[Raw], object]:
    """An id changed wherever it is written, in texts too."""

    def changed(value: Any) -> Any:
        if isinstance(value, dict):
            return {changed(key): changed(each) for key, each in value.items()}
        if isinstance(value, list):
            return [changed(each) for each in value]
        if isinstance(value, str):
            if value == old or value.startswith((f"{old}:", f"{old}.")):
                return new + value[len(old) :]
            return value.replace(f"]({old})", f"]({new})")
        return value

    return lambda raw: raw.update(changed(raw))


def without_tie(raw: Raw) -> None:
    raw["feeders"] = [f for f in raw["feeders"] if f.get("through") != ["fl-forward-mid"]]


def fuse_for_breaker(raw: Raw) -> None:
    supplied = record(raw, "equipment", "com-2")["supplies"][0]
    supplied["fuse"] = supplied.pop("breaker")


def second_supply(raw: Raw) -> None:
    spare = {"name": "COM 2 STBY", "amps": 10, "panel": "left-wall", "at": "D9"}
    record(raw, "equipment", "com-2")["supplies"].append({"bus": "essential", "breaker": spare})


def one_supply_less(raw: Raw) -> None:
    del record(raw, "equipment", "com-1", 1)["supplies"][1]


def fewer_shed(raw: Raw) -> None:
    record(raw, "failures", "both-generators")["then"]["shed"].remove("weather-radar")


def crew_note(raw: Raw) -> None:
    record(raw, "failures", "both-generators")["then"]["note"] += " Land soon."


def note_of(section: str, name: str, field: str) -> Callable[[Raw], object]:
    def edit(raw: Raw) -> None:
        one = record(raw, section, name)
        one[field] = one.get(field, "") + " See the manual."

    return edit


def fitted_later(raw: Raw) -> None:
    record(raw, "equipment", "magnetometer")["fitted-to"] = list(EVERY)


COM_3 = {
    "id": "com-3",
    "name": "VHF COM 3",
    "ata": "23-12",
    "supplies": [{"bus": "hot-battery", "fuse": {"name": "COM 3", "amps": 5}}],
}

Change = tuple[str, str, str, str, str, str]
"""Section, id, kind, field, was, now."""

EDITS: dict[str, tuple[Callable[[Raw], object], list[Change], tuple[str, ...]]] = {
    "an item is added": (
        with_record("equipment", COM_3),
        [("equipment", "com-3", "added", "", "", "Hot battery bus, fuse COM 3 5 A")],
        EVERY,
    ),
    "an item is removed": (
        without("equipment", "com-hf"),
        [
            (
                "equipment",
                "com-hf",
                "removed",
                "",
                "Mid bus, breaker HF RADIO 20 A, Right side wall panel A3, wire 14",
                "",
            )
        ],
        EVERY,
    ),
    "an item gets another bus": (
        supply("com-2", bus="avionics-1"),
        [("equipment", "com-2", "rewired", "bus", "Avionics bus 2", "Avionics bus 1")],
        EVERY,
    ),
    "an item gets a second supply": (
        second_supply,
        [
            (
                "equipment",
                "com-2",
                "rewired",
                "supplies",
                "no such supply",
                "Essential bus, breaker COM 2 STBY 10 A, Left side wall panel D9",
            )
        ],
        EVERY,
    ),
    "an item loses a supply": (
        one_supply_less,
        [
            (
                "equipment",
                "com-1",
                "rewired",
                "supplies",
                "Standby bus, breaker COM 1 STBY 10 A, Left side wall panel D1, wire 18",
                "no such supply",
            )
        ],
        LATER,
    ),
    "a breaker gets another rating": (
        breaker("com-2", amps=7.5),
        [("equipment", "com-2", "re-rated", "breaker.amps", "10 A", "7.5 A")],
        EVERY,
    ),
    "a breaker gets another position": (
        breaker("com-2", at="D9"),
        [("equipment", "com-2", "moved", "breaker.at", "D3", "D9")],
        EVERY,
    ),
    "a placard gets another name": (
        breaker("com-2", name="COM TWO"),
        [("equipment", "com-2", "renamed", "breaker.name", "COM 2", "COM TWO")],
        EVERY,
    ),
    "a fuse in place of a breaker": (
        fuse_for_breaker,
        [
            (
                "equipment",
                "com-2",
                "rewired",
                "breaker",
                "breaker COM 2 10 A, Right side wall panel D3",
                "fuse COM 2 10 A, Right side wall panel D3",
            )
        ],
        EVERY,
    ),
    "an item gets another name": (
        item("com-2", name="VHF radio 2"),
        [("equipment", "com-2", "renamed", "name", "VHF COM 2", "VHF radio 2")],
        EVERY,
    ),
    "an item gets another id": (
        with_id("com-2", "radio-2"),
        [("equipment", "radio-2", "renamed", "id", "com-2", "radio-2")],
        EVERY,
    ),
    "a bus gets another name": (
        of("buses", "avionics-2", name="Right avionics bus"),
        [("buses", "avionics-2", "renamed", "name", "Avionics bus 2", "Right avionics bus")],
        EVERY,
    ),
    "a bus gets another id": (
        with_id("avionics-2", "right-avionics"),
        [("buses", "right-avionics", "renamed", "id", "avionics-2", "right-avionics")],
        EVERY,
    ),
    "what to do without it is written anew": (
        note_of("equipment", "com-2", "on-loss"),
        [("equipment", "com-2", "reworded", "on-loss", "Use COM 1.", "Use COM 1. See the manual.")],
        EVERY,
    ),
    "a hazard is written": (
        item("com-2", hazard="Radiates"),
        [("equipment", "com-2", "reworded", "hazard", "none", "Radiates")],
        EVERY,
    ),
    "a reference is another": (
        item("com-2", reference="Wiring chart 23-12-03, revision 4"),
        [
            (
                "equipment",
                "com-2",
                "checked",
                "reference",
                "Wiring chart 23-12-03, revision 3",
                "Wiring chart 23-12-03, revision 4",
            )
        ],
        EVERY,
    ),
    "a line is checked": (
        breaker("com-2", checked={"by": "R. Dale", "on": "2026-11-02"}),
        [("equipment", "com-2", "checked", "breaker.checked", "none", "by R. Dale; on 2026-11-02")],
        EVERY,
    ),
    "a wire is thinner": (
        supply("com-2", wire=20),
        [("equipment", "com-2", "re-rated", "wire", "18", "20")],
        EVERY,
    ),
    "an item draws more in one condition": (
        item("com-2", amps={"ground": 0.8, "level": 1.2, "landing": 2.5}),
        [
            (
                "equipment",
                "com-2",
                "re-rated",
                "amps",
                "Approach and landing, night: 2 A",
                "Approach and landing, night: 2.5 A",
            )
        ],
        EVERY,
    ),
    "all supplies are needed": (
        item("com-1", 1, needs="all"),
        [("equipment", "com-1", "rewired", "needs", "any", "all")],
        LATER,
    ),
    "an item requires another": (
        item("com-2", requires=["audio-right"]),
        [("equipment", "com-2", "rewired", "requires", "none", "Right audio panel")],
        EVERY,
    ),
    "an item is fitted to more airframes": (
        fitted_later,
        [("equipment", "magnetometer", "added", "", "", "")],
        ("block-3",),
    ),
    "a feeder is removed": (
        without_tie,
        [("feeders", "forward > fl-forward-mid > mid", "removed", "", "", "")],
        EVERY,
    ),
    "a feeder begins at another bus": (
        feeder("aft", "wall-right", **{"from": "mid"}),
        [("feeders", "mid > fl-wall-right > wall-right", "rewired", "from", "Aft bus", "Mid bus")],
        EVERY,
    ),
    "a fuse link is larger": (
        of("devices", "fl-wall-right", amps=130),
        [("devices", "fl-wall-right", "re-rated", "amps", "100 A", "130 A")],
        EVERY,
    ),
    "a contactor closes in another case": (
        of("devices", "k-gen-2", **{"closes-when": {"live": ["gen-2"]}}),
        [("devices", "k-gen-2", "rewired", "closes-when", "...", "Generator 2 live")],
        ("block-1",),
    ),
    "a contactor rides through": (
        of("devices", "k-utility", **{"rides-through": True}),
        [("devices", "k-utility", "rewired", "rides-through", "no", "yes")],
        ("block-1", "block-2"),
    ),
    "a generator gives more volts": (
        of("sources", "gen-1", volts=28),
        [("sources", "gen-1", "re-rated", "volts", "28.5 V", "28 V")],
        EVERY,
    ),
    "an inverter is fed from another bus": (
        of("sources", "inverter-1", **{"fed-from": {"bus": "mid", "through": ["cb-inverter-1"]}}),
        [
            ("sources", "inverter-1", "rewired", "bus", "Essential bus", "Mid bus"),
            ("sources", "inverter-1", "re-rated", "wire", "14", "none"),
        ],
        EVERY,
    ),
    "a switch is off in a condition": (
        condition_switch("cruise", "left-boost", "off"),
        [("conditions", "cruise", "redefined", "switches", "...", "...")],
        EVERY,
    ),
    "the crew leaves an item on": (
        fewer_shed,
        [("failures", "both-generators", "redefined", "then.shed", "...", "...")],
        ("block-1",),
    ),
    "the crew's note is longer": (
        crew_note,
        [("failures", "both-generators", "reworded", "then.note", "...", "...")],
        ("block-1",),
    ),
    "a function needs more": (
        of("functions", "vhf-communication", need=2),
        [("functions", "vhf-communication", "redefined", "need", "1", "2")],
        EVERY,
    ),
    "a meter is at another bus": (
        of("indications", "mid-volts", at="aft"),
        [("indications", "mid-volts", "rewired", "at", "Mid bus", "Aft bus")],
        EVERY,
    ),
    "a panel has another name": (
        of("panels", "right-wall", name="Right breaker panel"),
        [
            (
                "panels",
                "right-wall",
                "renamed",
                "name",
                "Right side wall panel",
                "Right breaker panel",
            )
        ],
        EVERY,
    ),
    "a handout has other parts": (
        of("handout", "table", sections=["function-losses"]),
        [("handout", "table", "redefined", "sections", "...", "function-losses")],
        EVERY,
    ),
    "an airframe has another name": (
        of("airframes", "block-3", name="Serials 59 to 90"),
        [("airframes", "block-3", "renamed", "name", "Serials 59 and after", "Serials 59 to 90")],
        (),
    ),
    "more minutes are required": (
        lambda raw: raw["battery-time"].update({"required-minutes": 45}),
        [("battery-time", "battery-time", "redefined", "required-minutes", "30", "45")],
        (),
    ),
    "an abbreviation is explained": (
        lambda raw: raw["abbreviations"].update({"ZZ": "an example"}),
        [("abbreviations", "ZZ", "added", "", "", "")],
        (),
    ),
    "advice is accepted": (
        lambda raw: raw.setdefault("accepted", []).append(
            {"rule": "not-first", "at": "cb-avionics-1", "reason": "Known to the operator."}
        ),
        [("accepted", "not-first cb-avionics-1", "added", "", "", "")],
        (),
    ),
    "what the aircraft is": (
        lambda raw: raw["aircraft"].update({"statement": "Invented."}),
        [("aircraft", "aircraft", "reworded", "statement", "...", "Invented.")],
        (),
    ),
}

WIRED_OTHERWISE = {
    "an item is added",
    "an item gets another bus",
    "an item gets a second supply",
    "an item loses a supply",
    "all supplies are needed",
    "an item requires another",
    "an item is fitted to more airframes",
    "a feeder is removed",
    "a feeder begins at another bus",
    "a contactor closes in another case",
    "a contactor rides through",
    "an inverter is fed from another bus",
}
"""The edits after which some failure takes something else; all others must change no answer."""


@pytest.mark.parametrize(
    "edit",
    [e if e in WIRED_OTHERWISE else pytest.param(e, marks=pytest.mark.slow) for e in EDITS],
)
def test_an_edit_is_reported_once_at_its_record_with_what_follows(edit: str) -> None:
    change, expected, airframes = EDITS[edit]
    found = revised(change)
    fields = [
        (of.what.section, of.what.id, f.kind, f.field, f.was, f.now)
        for of in found.records
        for f in of.what.fields
    ]
    assert len(fields) == len(expected)
    for field, wanted in zip(fields, expected, strict=True):
        assert field[:4] == wanted[:4]
        if wanted[2] not in ("added", "removed") or any(wanted[4:]):
            for text, part in zip(field[4:], wanted[4:], strict=True):
                assert text == part or part == "..."
    assert {of.airframes for of in found.records} == {airframes}
    assert bool(found.failures) == (edit in WIRED_OTHERWISE)
    assert len(list(changes_text(found))) > 4
    if "another id" not in edit:
        new = raw_demo()
        change(new)
        as_the_plain_solver_has_it(found, new, random.Random(edit))


def as_the_plain_solver_has_it(found: Changes, new: Raw, chance: random.Random) -> None:
    """What follows from an edit, of failures that it changes and of others."""
    old = raw_demo()
    reported = {
        (airframe, of.what.condition, of.what.fault): of.what
        for of in found.failures
        for airframe in of.airframes
        if of.what.fault[1] and of.what.answer == "expected"
    }
    cases = chance.sample(sorted(reported), min(len(reported), 8))
    for _ in range(8):
        airframe = chance.choice(EVERY)
        network = found.networks[airframe][1]
        fault = chance.choice(network.faults)
        cases.append((airframe, chance.choice(list(network.condition_names)), fault))
    for airframe, condition, fault in cases:
        if fault not in found.networks[airframe][0].faults:
            continue
        was, now = (plain.answer(raw, condition, (fault,), airframe=airframe) for raw in (old, new))
        off, off_now = (
            set(plain.answer(raw, condition, (), airframe=airframe)["not_powered"])
            for raw in (old, new)
        )
        items = set(found.networks[airframe][0].equipment)
        same = {i for i in items if (i in off) == (i in off_now)}
        lost, lost_now = set(was["lost"]), set(now["lost"])
        change = reported.get((airframe, condition, fault))
        gained = (lost_now - lost) & same | {i for i in lost_now if i not in items}
        assert set(change.only_other if change else ()) == gained
        left = (lost - lost_now) & same & set(found.networks[airframe][1].equipment)
        assert set(change.only_one if change else ()) == left


def test_every_section_of_a_catalogue_is_compared() -> None:
    sections = {info.alias or name for name, info in Catalogue.model_fields.items()}
    assert {s.replace("_", "-") for s in sections} - {"format"} == set(ORDER) - {"notes"}


def effects(found: Changes, airframe: str, condition: str, *fault: str) -> list[tuple[str, ...]]:
    """(newly lost, no longer lost) of one failure."""
    return [
        (" ".join(of.what.only_other), " ".join(of.what.only_one))
        for of in found.failures
        if airframe in of.airframes
        and of.what.condition == condition
        and of.what.fault == fault
        and not of.what.after_crew
    ]


def test_another_bus_moves_the_losses_and_makes_a_single_point_where_both_radios_are() -> None:
    found = revised(EDITS["an item gets another bus"][0])
    assert effects(found, "block-3", "cruise", "avionics-1", "dead") == [("com-2", "")]
    assert effects(found, "block-3", "cruise", "avionics-2", "dead") == [("", "com-2")]
    # Both answers to a short take it: that is said once.
    assert effects(found, "block-3", "cruise", "avionics-1", "shorted") == [("com-2", "")]
    points = {
        (of.what.function, of.what.items, of.what.fault, of.airframes)
        for of in found.single_points
        if of.what.is_new
    }
    both = ("com-1", "com-2")
    # From block 2 on COM 1 has the standby bus besides.
    assert ("vhf-communication", (), ("avionics-1", "dead"), ("block-1",)) in points
    assert ("vhf-communication", both, ("cb-avionics-1", "open"), ("block-1",)) in points
    assert {airframes for *_, airframes in points} == {("block-1",)}


def test_a_second_supply_saves_the_item_and_a_supply_less_loses_it() -> None:
    found = revised(second_supply)
    assert effects(found, "block-1", "cruise", "avionics-2", "dead") == [("", "com-2")]
    # Its breaker has a number now, and is the same breaker.
    assert effects(found, "block-1", "cruise", "com-2.breaker-1", "open") == [("", "com-2")]
    found = revised(one_supply_less)
    assert effects(found, "block-2", "cruise", "avionics-1", "dead") == [("com-1", "")]
    assert effects(found, "block-1", "cruise", "avionics-1", "dead") == []


def test_supplies_that_both_move_are_known_again_by_their_placards() -> None:
    def edit(raw: Raw) -> None:
        for supplied, bus, at in zip(
            record(raw, "equipment", "com-1", 1)["supplies"],
            ("avionics-2", "essential"),
            ("D8", "D9"),
            strict=True,
        ):
            supplied["bus"] = bus
            supplied["breaker"]["at"] = at
        record(raw, "equipment", "com-1", 1)["supplies"].reverse()

    found = revised(edit)
    [of_record] = found.records
    said = {(f.field, f.at, f.was, f.now) for f in of_record.what.fields}
    assert said == {
        ("bus", "supply from Avionics bus 2", "Avionics bus 1", "Avionics bus 2"),
        ("breaker.at", "supply from Avionics bus 2", "C4", "D8"),
        ("bus", "supply from Essential bus", "Standby bus", "Essential bus"),
        ("breaker.at", "supply from Essential bus", "D1", "D9"),
    }


def test_a_new_item_is_lost_with_its_bus_and_its_own_breaker_says_nothing_new() -> None:
    found = revised(EDITS["an item is added"][0])
    assert effects(found, "block-1", "cruise", "hot-battery", "dead") == [("com-3", "")]
    assert effects(found, "block-1", "cruise", "com-3.fuse", "open") == []
    assert {of.what.only_other for of in found.failures} == {("com-3",)}


def test_a_new_link_in_a_feeder_is_a_new_failure_that_takes_what_is_downstream() -> None:
    def edit(raw: Raw) -> None:
        link = {"id": "fl-new", "name": "New link", "kind": "fuse-link", "amps": 60}
        raw["devices"].append(link)
        wall = next(f for f in raw["feeders"] if f["to"] == "wall-left")
        wall["through"].append("fl-new")

    found = revised(edit)
    assert [(of.what.section, of.what.change) for of in found.records] == [
        ("devices", "added"),
        ("feeders", "changed"),
    ]
    new = {of.what.fault for of in found.failures}
    assert new == {("fl-new", "open")}
    assert all(of.what.part_is_new for of in found.failures)
    old = build(demo_of(), "block-1")
    takes = next(of.what.only_other for of in found.failures if of.what.condition == "cruise")
    assert set(takes) >= {e for e in old.equipment if alone_on(old, e, "wall-left")} - {
        "taxi-light"
    }


def alone_on(network: Any, item: str, bus: str) -> bool:
    """Whether an item that works in the first condition is fed from one bus alone."""
    works = plain.answer(raw_demo(), "cruise", (), airframe="block-1")["kept"]
    return item in works and {c.bus for c in network.connections[item]} == {bus}


def demo_of() -> Catalogue:
    assert demo().catalogue is not None
    return demo().catalogue


def test_a_named_failure_that_does_the_same_once_the_crew_has_acted_has_one_line() -> None:
    text = list(changes_text(revised(EDITS["an item gets another bus"][0])))
    assert "    Short on the mid bus at once and once the crew has acted" in text
    assert "    Short on the mid bus" not in text
    alone = "    Ring dead once the crew has acted"
    assert any(line.startswith(alone) for line in text)


def test_a_switch_off_in_a_condition_is_said_of_the_condition_and_not_of_each_failure() -> None:
    found = revised(EDITS["a switch is off in a condition"][0])
    [of] = found.conditions
    assert (of.what.condition, of.what.only_one, of.what.only_other) == (
        "cruise",
        ("boost-left",),
        (),
    )
    assert of.airframes == EVERY
    assert not any("boost-left" in of.what.only_one for of in found.failures)


def test_a_function_that_needs_more_has_new_single_points() -> None:
    found = revised(EDITS["a function needs more"][0])
    assert {of.what.function for of in found.single_points} == {"vhf-communication"}
    assert all(of.what.is_new for of in found.single_points)
    assert ("com-1", "open") not in {of.what.fault for of in found.single_points}
    assert ("com-2.breaker", "open") in {of.what.fault for of in found.single_points}


def test_what_comes_over_its_rating_with_nothing_failed_is_said() -> None:
    """The right wall bus draws more than the 20 A that its link is rated for now."""
    found = revised(of("devices", "fl-wall-right", amps=20))
    assert not found.failures
    assert {of.what.component for of in found.ratings} == {"fl-wall-right"}
    cruise = [of.what for of in found.ratings if of.what.condition == "cruise"]
    assert all(one.now and not one.was for one in cruise)
    said = "\n".join(changes_text(found))
    assert "Over its rating with nothing failed\n  now 2" in said
    assert "; now over a rating with nothing failed: 1." in said
    assert changes_json(found)["over_rating"][0]["component"] == "fl-wall-right"
    raw = raw_demo()
    record(raw, "devices", "fl-wall-right")["amps"] = 20
    back = changes(reading(raw, {n.id: n.text for n in demo().notes}), demo())
    assert all(of.what.was and not of.what.now for of in back.ratings)
    assert "  no longer: Right wall bus fuse link (in" in "\n".join(changes_text(back))


def test_a_contactor_that_rides_through_changes_what_shorts_take() -> None:
    found = revised(EDITS["a contactor rides through"][0])
    assert found.failures
    assert all(of.what.answer == "expected" for of in found.failures)
    # Of a named failure too, which has no mode.
    assert {of.what.fault[1] for of in found.failures} == {"shorted", ""}


def test_two_airframes_that_no_longer_differ_are_named() -> None:
    found = revised(of("devices", "k-utility", **{"rides-through": True}))
    assert [(pair.one, pair.other) for pair in found.pairs] == [
        ("block-1", "block-3"),
        ("block-2", "block-3"),
    ]
    assert all(pair.same == (("devices", "k-utility"),) for pair in found.pairs)


def test_a_note_that_is_new_gone_or_other() -> None:
    found = revised(lambda _: None, {"weak-points": "# Other\n\nText.", "more": "# More\n\nText."})
    assert [(of.what.id, of.what.fields[0].kind) for of in found.records] == [
        ("weak-points", "reworded"),
        ("more", "added"),
    ]


def also_fitted(value: Any) -> None:
    """Fit to block 4 what is fitted to block 3."""
    for each in value.values() if isinstance(value, dict) else value:
        if isinstance(each, (dict, list)):
            also_fitted(each)
    if isinstance(value, dict) and "block-3" in value.get("fitted-to", ()):
        value["fitted-to"].append("block-4")


def test_an_airframe_more_is_reported_and_what_only_it_has() -> None:
    def edit(raw: Raw) -> None:
        also_fitted(raw)
        raw["airframes"].append({"id": "block-4", "name": "Serials 91 and after"})
        raw["equipment"].append({**COM_3, "fitted-to": ["block-4"]})

    found = revised(edit)
    assert [(of.what.section, of.what.id, of.airframes) for of in found.records] == [
        ("airframes", "block-4", ()),
        ("equipment", "com-3", ("block-4",)),
    ]


@pytest.mark.parametrize("seed", range(3))
def test_nothing_is_reported_of_records_and_lists_in_another_order(seed: int) -> None:
    chance = random.Random(seed)

    def edit(raw: Raw) -> None:
        for section, records in raw.items():
            if isinstance(records, list) and section not in ("airframes", "conditions"):
                chance.shuffle(records)
        for one in (*raw["conditions"], *raw["functions"], *raw["equipment"]):
            for field in ("sources", "held-closed", "pulled", "provided-by", "supplies"):
                if field in one:
                    one[field] = one[field][::-1]
            one.setdefault("note", "")
        for one in raw["equipment"]:
            one.setdefault("needs", "any")

    found = revised(edit)
    assert found.records == ()
    assert found.nothing


def test_a_revision_that_keeps_its_name_is_pointed_out_and_a_new_name_alone_is_nothing() -> None:
    assert revised(breaker("com-2", amps=7.5)).same_revision
    found = revised(lambda raw: raw["aircraft"].update({"revision": "9", "revised": "2027-01-01"}))
    assert found.nothing
    assert "revision 8 of 28 Nov 2026 -> revision 9 of 1 Jan 2027" in next(changes_text(found))


def test_the_json_names_what_the_text_names() -> None:
    found = changes_json(revised(EDITS["an item gets another bus"][0]))
    [of_record] = found["records"]
    assert of_record["id"] == "com-2"
    assert of_record["fields"][0]["now"] == "Avionics bus 1"
    one = next(
        f
        for f in found["failures"]
        if f["condition"] == "cruise" and f.get("failed") == {"id": "avionics-1", "mode": "dead"}
    )
    assert (one["newly_lost"], one["takes"]) == (["com-2"], "more")


nets = catalogues() | catalogues(busy=True) | hard_catalogues()


@thorough(200)
@given(nets, nets, st.sampled_from(AIRFRAMES), st.randoms(use_true_random=False))
def test_what_failures_take_otherwise_is_as_the_plain_solver_has_it(
    old: Raw, new: Raw, airframe: str, chance: random.Random
) -> None:
    one, other = (build(Catalogue.model_validate(raw), airframe) for raw in (old, new))
    _, found = single_failure_changes(one, other)
    said = {(c.condition, c.fault): c for c in found if c.answer == "expected"}
    conditions = [c for c in one.condition_names if c in other.condition_names]
    faults = sorted(set(one.faults) & set(other.faults))
    items = set(one.equipment) & set(other.equipment)
    for condition in conditions:
        normal = [plain.answer(raw, condition, (), airframe=airframe) for raw in (old, new)]
        for fault in chance.sample(faults, min(len(faults), 4)):
            was, now = (
                plain.answer(raw, condition, (fault,), airframe=airframe) for raw in (old, new)
            )
            off = [set(answer["not_powered"]) for answer in normal]
            same = {i for i in items if (i in off[0]) == (i in off[1])}
            lost, lost_now = set(was["lost"]) & same, set(now["lost"]) & same
            on, on_now = set(was["comes_on"]) & same, set(now["comes_on"]) & same
            expected = tuple(
                tuple(sorted(ids))
                for ids in (lost - lost_now, lost_now - lost, on - on_now, on_now - on)
            )
            given_effect = (
                said[condition, fault].effect[:4] if (condition, fault) in said else ((),) * 4
            )
            assert given_effect == expected


@pytest.mark.parametrize(("says", "now"), [(False, "no"), (True, "yes")])
def test_what_nothing_was_said_of_is_a_change_once_something_is(says: bool, now: str) -> None:
    """Left out, it is open whether a contactor rides through; `false` says that it drops out."""
    found = revised(of("devices", "k-hydraulic", **{"rides-through": says}))
    [change] = [record.what for record in found.records]
    assert [(f.field, f.was, f.now) for f in change.fields] == [("rides-through", "none", now)]
