"""How much longer or shorter a battery lasts in a new revision."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from sitegen.answers import changes as module
from sitegen.answers.changes import Changes, changes
from sitegen.terminal.changes_text import changes_text
from tests.answers.test_endurance_at_other_volts import SHARED
from tests.answers.test_endurance_remarks import IF_THE_TIE_OPENS
from tests.nets import expand
from tests.pages.pages_sample import reading

NET = """
sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 20}}
buses: [main]
feeders: [gen > k > main, bat > main]
devices: {k: contactor}
equipment: {radio: {supplies: [{bus: main}], amps: 10}, lamp: {supplies: [{bus: main}], amps: 5}}
"""


def net(**of_radio: Any) -> dict[str, Any]:
    raw = expand(NET)
    raw["devices"][0]["closes-when"] = {"live": ["gen"]}
    raw["equipment"][0].update(of_radio)
    raw["failures"] = [{"id": "no-gen", "name": "No generator", "failed": ["gen"]}]
    return raw


def between(old: dict[str, Any], new: dict[str, Any]) -> Changes:
    return changes(reading(old), reading(new))


def test_a_battery_lasts_shorter_with_more_amps_in_every_failure_that_leaves_it_alone() -> None:
    # 20 Ah x 75 % at 15 A, then at 20 A; the last ten minutes are the landing's, at the same amps.
    found = between(net(), net(amps=15))
    failures = {(of.what.fault, of.what.battery) for of in found.endurances}
    assert failures >= {(("gen", "lost"), "bat"), (("no-gen", ""), "bat"), (("k", "open"), "bat")}
    for of in found.endurances:
        assert of.what.was is not None
        assert of.what.now is not None
        assert (of.what.was.total, of.what.now.total) == (60, 45)
    text = list(changes_text(found))
    at = text.index("  bat: 60 min -> 45 min")
    assert "    gen lost" in text[at:]


def test_the_same_minutes_are_no_change() -> None:
    old, new = net(), net(amps=9.9999)
    assert between(old, new).endurances == ()
    old["equipment"][1]["name"] = "Lamp"
    assert between(old, net()).endurances == ()


def test_a_battery_that_no_longer_carries_anything_and_one_that_is_too_short() -> None:
    new = net()
    new["feeders"][1]["from"] = "gen"
    found = between(net(), new)
    assert {of.what.now for of in found.endurances} == {None}
    text = "\n".join(changes_text(between(net(), net(amps=40))))
    assert "bat: 60 min -> 20 min (short of 30 min)" in text


def test_that_something_must_open_no_longer_is_said_where_the_minutes_stay() -> None:
    """The left one lasts 42.9 minutes, the right one is flat 0.8 before: 30 A through 20 A then."""
    old = expand(SHARED.replace(", volts-range: [20, 25]", ""))
    new = deepcopy(old)
    for device in new["devices"]:
        device["amps"] = device.get("amps") and 30
    text = "\n".join(changes_text(between(old, new)))
    assert "  left: 42 min until something opens by overload -> 42 min\n    gen lost" in text


def test_that_something_moves_by_volts_is_said_where_the_minutes_stay() -> None:
    """At 21 V the relay opens; from 20.5 V on it does not."""
    old = net()
    old["sources"][1]["volts-range"] = [21, 25]
    old["devices"].append({"id": "r", "name": "r", "kind": "relay"})
    old["devices"][1]["closes-when"] = {"volts-above": {"main": 22}}
    old["equipment"][0]["supplies"][0]["through"] = ["r"]
    new = deepcopy(old)
    new["devices"][1]["closes-when"] = {"volts-above": {"main": 20.5}}
    text = "\n".join(changes_text(between(old, new)))
    assert "  bat: 60 min if nothing moves by volts -> 60 min\n" in text


def test_a_change_of_the_longest_time_alone_is_listed() -> None:
    """900 A-min: 15 A at 24 V; at 25 V 14.4 A, at 30 V 12 A."""
    old = net()
    old["aircraft"]["load-volts"] = 24
    old["sources"][1]["volts-range"] = [24, 25]
    for item in old["equipment"]:
        item["load"] = "constant-power"
    new = deepcopy(old)
    new["sources"][1]["volts-range"] = [24, 30]
    text = "\n".join(changes_text(between(old, new)))
    assert "  bat: 60 min, up to 62 min -> 60 min, up to 75 min\n    gen lost" in text
    found = between(old, new)
    assert {of.what.battery for of in found.endurances} == {"bat"}


def test_of_long_times_no_change_is_said_that_is_not_shown() -> None:
    """450 and 900 minutes are both more than 4 hours."""
    old, new = net(amps=1), net(amps=1)
    old["equipment"][1]["amps"], new["equipment"][1]["amps"] = 1, 0
    assert between(old, new).endurances == ()


def test_only_failures_of_both_revisions_are_compared() -> None:
    new = net()
    new["failures"][0]["id"] = "gen-gone"
    new["failures"][0]["name"] = "Generator gone"
    found = between(net(), new)
    assert found.endurances == ()
    assert [of.what.change for of in found.records] == ["removed", "added"]


def test_minutes_are_not_computed_where_none_can_have_changed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def computed(*_: object) -> tuple[()]:
        raise AssertionError

    monkeypatch.setattr(module, "endurance_changes", computed)
    new = net()
    new["indications"] = [{"id": "v", "name": "V", "kind": "voltmeter", "at": "main"}]
    assert between(net(), new).endurances == ()
    with_note = changes(reading(net()), reading(net(), {"new": "# New"}))
    assert [of.what.section for of in with_note.records] == ["notes"]
    with pytest.raises(AssertionError):
        between(net(), net(amps=12))


def test_minutes_if_what_is_overloaded_opens_are_compared_too() -> None:
    """If the tie opens, with 41 A 900 A-min last 21.9 min and 450 last 10.9; the clock's ampere
    alone lasts longer than 4 hours with either. A tie of 50 A carries 40 A.
    """
    old, smaller, holds = (
        expand(IF_THE_TIE_OPENS % (f"amp-hours: {size}", tie, 1))
        for size, tie in ((20, 20), (10, 20), (20, 50))
    )
    long = "more than 4 hours"
    until = f"{long} until something opens by overload"
    [line] = minutes_lines(between(old, smaller))
    assert line.startswith(
        f"bat: {until}, then 21 min (short of 30 min) -> {until}, then 10 min (short of 30 min)"
    )
    [line] = minutes_lines(between(holds, old))
    assert line.startswith(f"bat: {long} -> {until}, then 21 min (short of 30 min)")


def minutes_lines(found: Changes) -> list[str]:
    return [line.strip() for line in changes_text(found) if "bat: " in line]
