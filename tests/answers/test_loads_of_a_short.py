"""Amps and minutes of a short are of the answer to expect: contactors ride through or drop out."""

from __future__ import annotations

import pytest

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.endurance_changes import endurance_changes
from sitegen.answers.loads.load_table import LoadTable, load_table
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.terminal.load_text import load_text
from tests.nets import expand, network
from tests.pages.pages_sample import reading

# A short on the spur drops `hold`, and the battery takes what the generator had.
NET = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24, amps: 20, amp-hours: 20}}
buses: [main, spur]
devices:
  cb: {kind: breaker, amps: 50}
  hold: {kind: contactor, rides-through: RIDES, closes-when: {closed: [hold], live: [gen]}}
  tie: {kind: contactor, amps: 20, rides-through: true, closes-when: {live: [bat]}}
feeders: [gen > hold > main, main > cb > spur, bat > tie > main]
equipment: {radio: {supplies: [{bus: main}], amps: 25}, lamp: {supplies: [{bus: spur}], amps: 10}}
conditions: {flight: {sources: [gen, bat], held-closed: [hold]}}
"""
SHORT = [("spur", "shorted")]
DROPS, RIDES, UNSAID = (
    NET.replace("rides-through: RIDES, ", word)
    for word in ("rides-through: false, ", "rides-through: true, ", "")
)


def with_a_name(text: str) -> Network:
    """The same where the short is a named failure too."""
    record = {"id": "short", "name": "Short", "failed": ["spur:shorted"]}
    return build(Catalogue.model_validate({**expand(text), "failures": [record]}), "all")


def answers_of(on: Network) -> AirframeAnswers:
    return AirframeAnswers(reading(on.catalogue.model_dump(by_alias=True, exclude_unset=True)), on)


def table(on: Network, failed: bool = True) -> LoadTable:
    faults = SHORT if failed else []
    return load_table(on, "flight", faults)


@pytest.mark.parametrize(
    ("net", "gen", "bat"),
    [(DROPS, 0, 25), (RIDES, 25, 0), (UNSAID, 25, 0)],
)
def test_amps_are_of_the_answer_to_expect(net: str, gen: float, bat: float) -> None:
    on = network(net)
    found = table(on)
    assert {s.source: float(s.amps) for s in found.sources} == {"gen": gen, "bat": bat}
    lines = "\n".join(load_text(on, found, "short"))
    # 20 Ah, three quarters usable, at 25 A: 36 minutes.
    assert ("bat: 36 min" in lines) is (net is DROPS)


def test_a_shorted_diode_holds_no_volts_down() -> None:
    """Contactors have nothing to ride through."""
    net = network("""
    sources: {gen: 28}
    buses: [main, side]
    devices: {d: {kind: diode}}
    feeders: [gen > main, main > d > side]
    equipment: {radio: {supplies: [{bus: side}], amps: 5}}
    """)
    assert load_table(net, "flight", [("d", "shorted")]).assumes == ()
    assert len(load_table(net, "flight", [("side", "shorted")]).assumes) == 1


@pytest.mark.parametrize(("net", "worst"), [(DROPS, 25), (RIDES, 0)])
def test_the_worst_failure_is_judged_by_the_answer_to_expect(net: str, worst: float) -> None:
    """With two generators only what takes both leaves the battery anything: the short's dip."""
    second = net.replace("sources: {gen", "sources: {gen-b: {volts: 28, amps: 100}, gen")
    [hold] = [line for line in net.splitlines() if line.startswith("  hold:")]
    other = hold.replace("hold", "hold-b").replace("[gen]", "[gen-b]")
    second = second.replace(hold, f"{hold}\n{other}")
    second = second.replace("feeders: [", "feeders: [gen-b > hold-b > main, ")
    second = second.replace("sources: [gen", "sources: [gen-b, gen")
    second = second.replace("held-closed: [", "held-closed: [hold-b, ")
    on = network(second)
    for found in (load_table(on, "flight"), answers_of(on).load_tables[0]):
        of_source, of_device = found.worst_sources["bat"], found.worst_devices.get("tie")
        assert of_source.amps == worst
        assert of_source.failed == ((*SHORT,) if worst else ())
        assert (of_device.amps if of_device else 0) == worst


def test_a_revision_compares_the_minutes_of_the_answer_to_expect() -> None:
    """At 25 A, 900 ampere-minutes are 36 minutes, and 450 are 18."""
    had, has = with_a_name(DROPS), with_a_name(DROPS.replace("amp-hours: 20", "amp-hours: 10"))
    found = {
        change.fault: (change.was and change.was.total, change.now and change.now.total)
        for change in endurance_changes(had, has, {})
    }
    assert found["spur", "shorted"] == (36, 18)
    assert found["short", ""] == (36, 18)
    riding = network(RIDES), network(RIDES.replace("amp-hours: 20", "amp-hours: 10"))
    assert ("spur", "shorted") not in {c.fault for c in endurance_changes(*riding, {})}


# The short drops the battery's relay out, which holds itself in; nothing is lost by that.
RELAY_HOLDS = """
sources:
  bat-1: {kind: battery, volts: 24, amp-hours: 10, usable: 0.75}
  bat-2: {kind: battery, volts: 24, amp-hours: 40, usable: 0.75}
buses: [left, aft]
devices:
  k-2: {kind: relay, rides-through: false, closes-when: {live: [left], closed: [k-2]}}
  cb-aft: {kind: breaker, amps: 20}
feeders: [bat-1 > left, bat-2 > k-2 > left, left > cb-aft > aft]
equipment: {radio: {supplies: [{bus: left}], amps: 20}, fan: {supplies: [{bus: aft}], amps: 5}}
conditions: {flight: {sources: [bat-1, bat-2], held-closed: [k-2]}}
"""


def test_amps_follow_what_a_dip_opens_where_nothing_more_is_lost() -> None:
    """10 Ah x 0.75 x 60 / 20 A are 22 min; riding through, both batteries share the 20 A."""
    net = network(RELAY_HOLDS)
    found = battery_endurances(net, "flight", (("aft", "shorted"),))
    assert [int(one.total or 0) for one in found if one.battery == "bat-1"] == [22]
    spared = network(RELAY_HOLDS.replace("rides-through: false", "rides-through: true"))
    found = battery_endurances(spared, "flight", (("aft", "shorted"),))
    assert [int(one.total or 0) for one in found if one.battery == "bat-1"] != [22]
