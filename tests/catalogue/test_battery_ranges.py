"""A battery whose volts decide something as they go down has a `volts-range`."""

from __future__ import annotations

import pytest

from sitegen.catalogue.findings import Finding
from sitegen.catalogue.read import read

CODE = "sensed-batteries-have-a-range"
NET = """format: 1
aircraft: {name: A net, revision: "1", revised: 2026-01-01}
sources:
  - {id: gen, name: Gen, kind: generator, volts: 28, amps: 100}
  - {id: bat, name: Bat, kind: battery, volts: 24, amp-hours: 20}
  - {id: sb, name: Sb, kind: battery, volts: 24, amp-hours: 5}
buses: [{id: main, name: Main}, {id: ess, name: Ess}]
devices:
  - {id: d, name: D, kind: diode}
  - {id: k, name: K, kind: relay, closes-when: {volts-below: {main: 21}}}
feeders:
  - {from: gen, to: main}
  - {from: bat, to: main}
  - {from: main, to: ess, through: [d]}
  - {from: sb, to: ess, through: [k]}
equipment:
  - {id: com, name: Com, ata: 23-12, supplies: [{bus: main}], amps: 5}
  - {id: att, name: Att, ata: 34-21, supplies: [{bus: ess}], amps: 3}
conditions: [{id: flight, name: Flight, sources: [gen, bat, sb]}]
"""


def found(tmp_path, text: str) -> list[Finding]:
    path = tmp_path / "net.yaml"
    path.write_text(text, "utf-8")
    return [f for f in read(path).findings if f.rule == CODE]


def changed(old: str, new: str) -> str:
    assert old in NET
    return NET.replace(old, new)


def test_a_battery_that_a_closing_condition_goes_by_has_a_range(tmp_path) -> None:
    """The standby battery reaches the essential bus, from which no power comes back to the main."""
    [finding] = found(tmp_path, NET)
    assert (finding.kind, finding.place.line) == ("advice", 5)
    assert finding.message == (
        "battery bat: its minutes are computed at 24 V to the end, but relay k goes by 21 V at"
        " `main`."
    )
    assert finding.hint.startswith("Write its `volts-range`, from flat to full")


def test_least_volts_of_equipment_count_after_the_diodes_on_the_way(tmp_path) -> None:
    """24 V leave 23.3 V on the essential bus: 23.3 V are not passed, they never were there. The
    standby battery, without a diode, has them.
    """
    for volts, named in ((23.2, ["bat", "sb"]), (23.3, ["sb"]), (24, [])):
        text = changed("amps: 3}", f"amps: 3, min-volts: {volts}}}").replace("main: 21", "gen: 21")
        messages = [f.message for f in found(tmp_path, text)]
        assert [m.partition(":")[0].removeprefix("battery ") for m in messages] == named
        assert all(f"equipment att needs {volts:g} V at `ess`" in m for m in messages)


def test_of_several_limits_the_first_to_be_passed_is_named(tmp_path) -> None:
    text = changed("amps: 5}", "amps: 5, min-volts: 22}").replace(
        "amps: 3}", "amps: 3, min-volts: 20}"
    )
    first, second = (f.message for f in found(tmp_path, text))
    assert first.endswith("but equipment com needs 22 V at `main` and 2 more.")
    assert second.endswith("but equipment att needs 20 V at `ess`.")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("volts: 24, amp-hours: 20", "volts: 24, volts-range: [20, 25], amp-hours: 20"),
        ("volts: 24, amp-hours: 20", "volts: 24"),
        ("volts-below: {main: 21}", "volts-below: {main: 11.9}"),
        ("volts-below: {main: 21}", "volts-below: {main: 24}"),
        ("volts-below: {main: 21}", "volts-below: {gen: 21}"),
        ("{from: bat, to: main}", "{from: main, to: bat, through: [d]}"),
        ("sources: [gen, bat, sb]", "sources: [gen, bat, sb], battery-time: false"),
        ("sources: [gen, bat, sb]", "sources: [gen, sb]"),
    ],
)
def test_nothing_is_said_where_no_limit_is_passed_or_no_minutes_follow(
    tmp_path, old: str, new: str
) -> None:
    assert not found(tmp_path, changed(old, new))
