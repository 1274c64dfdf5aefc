"""The audit of protection: which short reaches a source that something else counts on?

Common practice, no source.
"""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.protection.protection_audit import protection
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from tests import plain
from tests.answers.audited import TABLE, audited
from tests.nets import expand
from tests.random_nets import AIRFRAMES, Raw, catalogues
from tests.samples import thorough

HOT = """
sources: {gen: {volts: 28, amps: 100}, battery: {kind: battery, volts: 24}}
buses: [main, hot]
devices:
  k: {kind: relay, closes-when: {switches: {battery-switch: "on"}}%s}
  fl: {kind: fuse-link, amps: 20}
switches: {battery-switch: ["on", "off"]}
feeders: [gen > main, battery > k > main, battery > fl > hot]
equipment: {radio: main, clock: hot}
"""


def test_a_short_that_reaches_the_battery_takes_the_hot_bus_too() -> None:
    (found,) = audited(HOT % "").shorts
    assert (found.bus, found.sources, found.also) == ("main", ("gen", "battery"), ("hot",))


def test_a_contactor_with_its_own_fault_sensing_clears_a_short() -> None:
    assert audited(HOT % ", protective: true").shorts == ()


def test_a_source_that_only_fed_the_shorted_bus_is_missed_by_nobody() -> None:
    net = "sources: {gen: 28, other: 28}\nbuses: [main]\nfeeders: [gen > main, other > main]\n"
    assert audited(net + "equipment: {radio: main}").shorts == ()
    # What hangs on its own terminals misses it.
    (found,) = audited(net + "equipment: {radio: main, regulator: gen}").shorts
    assert found.also == ("gen",)


def test_a_changeover_that_brings_a_second_source_onto_the_fault_is_reported() -> None:
    net = """
    sources:
      gen: 28
      inv-1: {kind: converter, current: ac, volts: 115, fed-from: {bus: main}}
      inv-2: {kind: converter, current: ac, volts: 115, fed-from: {bus: main}}
    buses: [main]
    devices:
      k-1: {kind: relay, closes-when: {live: [inv-1]}}
      k-2: {kind: relay, closes-when: {live: [inv-2], dead: [inv-1]}}
      f-1: {kind: fuse, amps: 3}
    feeders: [gen > main, inv-1 > %s k-1 > ac, inv-2 > k-2 > ac]
    equipment: {gyro: ac}
    """
    catalogue = expand(net % "")
    catalogue["buses"].append({"id": "ac", "name": "ac", "current": "ac"})
    (found,) = audited(catalogue).shorts
    assert (found.bus, found.sources, found.drawn_in) == ("ac", ("inv-1", "inv-2"), ("inv-2",))
    catalogue["feeders"][1]["through"].insert(0, "f-1")
    assert audited(catalogue).shorts == ()


def test_a_rectifier_is_not_counted_against_the_dc_bus_that_it_feeds() -> None:
    net = """
    sources:
      gen: {volts: 115, current: ac}
      tru: {kind: converter, volts: 28, fed-from: {bus: ac}}
    buses: [dc, other]
    devices: {cb: breaker}
    feeders: [gen > ac, tru > dc, tru > cb > other]
    equipment: {radio: dc, lamp: other}
    """
    catalogue = expand(net)
    catalogue["buses"].append({"id": "ac", "name": "ac", "current": "ac"})
    assert audited(catalogue).shorts == ()


@thorough(200)
@given(catalogues(), st.sampled_from(AIRFRAMES))
def test_uncleared_shorts_are_as_the_plain_solver_has_them(catalogue: Raw, airframe: str) -> None:
    net = build(Catalogue.model_validate(catalogue), airframe)
    found = {s.bus: s for s in protection(net, TABLE).shorts}
    machines = {s.id for s in net.sources.values() if s.kind != "converter"}
    for bus in net.catalogue.buses:
        widest = 0
        for condition in net.catalogue.conditions:
            normal, dead, shorted = (
                plain.answer(catalogue, condition.id, failed, airframe=airframe)["nodes"]
                for failed in ((), [(bus.id, "dead")], [(bus.id, "shorted")])
            )
            also = {
                n
                for n in net.nodes
                if dead[n]["live"] and not shorted[n]["live"]
                if n not in net.sources or net.on_bus[n]
            }
            sources = {
                s for s in machines if s in dead[s]["sources"] and s not in shorted[s]["sources"]
            }
            drawn_in = {s for s in sources if s not in normal[bus.id]["sources"]}
            if sources:
                widest = max(widest, len(also) + len(drawn_in))
        assert (found[bus.id].breadth if bus.id in found else 0) == widest
