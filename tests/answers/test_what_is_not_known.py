"""Readings and amps that are easily wrong: not known is never a number, and never 'no load'."""

from __future__ import annotations

from fractions import Fraction

import pytest

from sitegen.answers.drop import drop
from sitegen.answers.failure_changes import single_failure_changes
from sitegen.answers.find import find_observation
from sitegen.answers.function_status import function_status
from sitegen.answers.loads import simple_paths
from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.simple_paths import Topology
from sitegen.answers.loads.source_loads import loads
from sitegen.answers.readings import NOT_KNOWN
from sitegen.answers.single_failures import single_failures
from sitegen.answers.single_points import single_points
from sitegen.answers.trace import trace
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Fault, Scenario, every_single, scenarios_of
from sitegen.terminal.changes_text import effects
from sitegen.terminal.diagnosis_text import diagnosis_text
from sitegen.terminal.function_text import function_text
from sitegen.terminal.trace_text import trace_text
from tests.nets import network

CROSS_FED = """
sources:
  gen-1: {kind: generator, volts: 28.5, amps: 100}
  gen-2: {kind: generator, volts: 28.5, amps: 100}
  conv-1: {kind: converter, volts: 28, amps: 50, fed-from: [{bus: left}, {bus: right-ess}]}
  conv-2: {kind: converter, volts: 28, amps: 50, fed-from: [{bus: right}, {bus: left-ess}]}
buses: [left, right, left-ess, right-ess]
feeders: [gen-1 > left, gen-2 > right, conv-1 > left-ess, conv-2 > right-ess]
equipment:
  radio: {supplies: [{bus: left-ess, breaker: {name: RADIO, amps: 30}}], amps: 20}
  nav: {supplies: [{bus: right-ess, breaker: {name: NAV, amps: 30}}], amps: 20}
indications: {load-1: {kind: loadmeter, at: gen-1}, load-2: {kind: loadmeter, at: gen-2}}
conditions: {flight: {sources: [gen-1, gen-2]}}
"""

INVERTER = """
sources:
  gen-1: {kind: generator, volts: 28.5, amps: 100}
  inverter:
    {kind: converter, volts: 115, current: ac, amps: 3, fed-from: {bus: left, through: [cb-inv]}}
buses: {left: {}, ac: {current: ac}}
devices: {cb-inv: breaker}
feeders: [gen-1 > left, inverter > ac]
equipment: {gyro: {supplies: [{bus: ac}]}}
indications:
  load-1: {kind: loadmeter, at: gen-1}
  load-i: {kind: loadmeter, at: inverter}
  amm: {kind: ammeter, at: cb-inv}
conditions: {flight: {sources: [gen-1]}}
"""

RING = """
sources: {gen-1: {kind: generator, volts: 28.5, amps: 100}}
buses: [centre, left, right]
devices: {fl-left: fuse-link, fl-right: fuse-link, fl-cross: fuse-link}
feeders:
  [gen-1 > centre, centre > fl-left > left, centre > fl-right > right, left > fl-cross > right]
equipment:
  pump: {supplies: [{bus: centre}], amps: 50}
  lamp: {supplies: [{bus: left}], amps: 0}
indications: {cross-amps: {kind: ammeter, at: fl-cross}}
"""


def bounds(net: Network, *faults: Fault) -> dict[str, CurrentBounds]:
    [load] = loads(solve(net, scenarios_of([Scenario("flight", faults)])))
    return current_bounds(net, load.amps)


def test_a_loadmeter_reads_the_same_by_itself_as_among_all_other_failures() -> None:
    """Each converter may feed the other's input, but with generator 2 lost only one does."""
    net = network(CROSS_FED)
    lost = ("gen-2", "lost")
    assert str(drop(net, "flight", [lost]).readings["load-1"]) == "55 %"
    outcome = solve(net, every_single(["flight"], net.faults))
    among_all = loads(outcome)[net.faults.index(lost)]
    [alone] = loads(solve(net, scenarios_of([Scenario("flight", (lost,))])))
    for figures in ("sources", "buses", "drawn", "converters", "unknown", "short_sources"):
        assert getattr(among_all, figures) == getattr(alone, figures)
    assert current_bounds(net, among_all.amps) == current_bounds(net, alone.amps)
    seen = [find_observation(net, "load-1", "55"), find_observation(net, "load-2", "0")]
    assert (lost,) in troubleshoot(net, "flight", seen, order=1).candidates


def test_a_generator_with_an_inverter_whose_load_is_not_known_never_shows_no_load() -> None:
    normal = drop(network(INVERTER), "flight", []).readings
    assert {i: str(shown) for i, shown in normal.items()} == {
        "load-1": "load",
        "load-i": "load",
        "amm": "load",
    }
    opened = drop(network(INVERTER), "flight", [("cb-inv", "open")]).readings
    assert str(opened["load-1"]) == "0 %"


def test_no_current_passes_the_bus_that_it_is_meant_for() -> None:
    net = network(RING)
    assert bounds(net)["fl-cross"] == CurrentBounds(Fraction(0), Fraction(0))
    seen = [find_observation(net, "cross-amps", "0")]
    assert troubleshoot(net, "flight", seen, order=1).nothing_failed_fits


def test_in_a_ring_that_current_passes_each_side_may_carry_all_of_it() -> None:
    net = network(RING.replace("[{bus: left}], amps: 0", "[{bus: left}], amps: 8"))
    assert bounds(net)["fl-cross"] == bounds(net)["fl-left"] == CurrentBounds(0, 8)  # type: ignore[arg-type]
    # Whether an item without a figure draws through it: then not even the most is known.
    unknown = network(RING.replace("[{bus: left}], amps: 0", "[{bus: left}]"))
    assert bounds(unknown)["fl-cross"].unknown


def test_a_path_through_a_block_enters_and_leaves_it_where_the_rest_of_the_net_is() -> None:
    """Two rings one after the other: what is drawn in the first does not pass the second."""
    both_ways = [(0, "g", "a"), (1, "a", "b"), (2, "a", "c"), (3, "c", "b")]
    second = [(4, "b", "d"), (5, "b", "e"), (6, "e", "d")]
    topology = Topology((n, start, end, True, 0) for n, start, end in both_ways + second)
    assert sorted(topology.between("g", "c")) == [0, 1, 2, 3]
    assert sorted(topology.between("g", "d")) == [0, 1, 2, 3, 4, 5, 6]
    assert topology.between("g", "c")[0].must
    assert not topology.between("g", "c")[1].must


def test_a_diode_is_passed_from_its_front_only() -> None:
    topology = Topology([(0, "g", "a", True, 0), (1, "a", "b", True, 0), (2, "b", "a", False, 0)])
    assert sorted(topology.between("g", "b")) == [0, 1]
    assert topology.between("g", "b")[1].must


def test_a_current_uses_a_branch_in_the_direction_in_which_it_is_passed_not_as_it_is_written() -> (
    None
):
    ring = [(0, "g", "a"), (1, "a", "b"), (2, "b", "a"), (3, "c", "b"), (4, "a", "c")]
    used = Topology((n, start, end, True, 0) for n, start, end in ring).between("g", "b")
    assert {n: (p.along, p.against) for n, p in used.items()} == {
        0: (True, False),
        1: (True, False),
        2: (False, True),
        3: (True, False),
        4: (True, False),
    }


BRIDGE = [
    (0, "g", "a", True, 0),
    (1, "a", "left", True, 0),
    (2, "a", "right", True, 0),
    (3, "left", "b", True, 0),
    (4, "right", "b", True, 0),
    (5, "left", "right", True, 0),
]


def test_current_certainly_flows_in_each_leg_of_a_bridge_but_not_in_the_tie_across_it() -> None:
    used = Topology(BRIDGE).between("g", "b")
    assert {n for n, passage in used.items() if passage.certain} == {0, 1, 2, 3, 4}
    assert used[5].along
    assert used[5].against


@pytest.mark.parametrize(("drop", "certain"), [(0, {0}), (500, {0}), (501, {0, 2})])
def test_beside_a_diode_a_leg_of_a_ring_certainly_has_its_share_if_the_diode_drops_too_much(
    drop: int, certain: set[int]
) -> None:
    """The leg with the diode has none while its front is no higher; then the other has it all."""
    ring = [(0, "g", "a", True, 0), (1, "a", "b", False, drop), (2, "a", "b", True, 0)]
    used = Topology(ring).between("g", "b")
    assert {n for n, passage in used.items() if passage.certain} == certain
    assert (1 in used) == (drop <= 500)


def test_the_half_volt_counts_from_one_end_of_a_path_to_the_other() -> None:
    """Each diode drops 0.3 V: one beside the straight way may carry, two in a row may not."""
    ring = [
        (0, "g", "a", True, 0),
        (1, "g", "m", False, 300),
        (2, "m", "a", False, 300),
        (3, "a", "b", True, 0),
        (4, "a", "b", False, 300),
    ]
    assert sorted(Topology(ring).between("g", "b")) == [0, 3, 4]
    assert sorted(Topology(ring).between("g", "m")) == [1]


def test_a_search_that_ends_early_counts_more_branches_as_usable_and_never_fewer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Through the diodes to `x` and `y` a path only comes back to `m`: no current goes there."""
    detour = [
        (0, "entry", "m", True, 0),
        (1, "m", "x", False, 0),
        (2, "x", "y", False, 0),
        (3, "y", "m", False, 0),
        (4, "m", "leave", True, 0),
        (5, "leave", "y", False, 0),
        (6, "entry", "leave", True, 0),
    ]
    exact = Topology(detour).between("entry", "leave")
    assert sorted(exact) == [0, 4, 6]
    monkeypatch.setattr(simple_paths, "MOST_STEPS", 0)
    wider = Topology(detour).between("entry", "leave")
    assert sorted(wider) == [0, 2, 3, 4, 6]
    assert not wider[2].against
    ends = [("g", "a"), ("a", "b"), ("b", "c")]
    bridges = [
        [*((n, *nodes, True, 0) for n, nodes in enumerate(ends)), (3, "a", "c", False, drop)]
        for drop in (0, 500, 501)
    ]
    for branches, bus in ((detour, "leave"), (BRIDGE, "b"), *((b, "c") for b in bridges)):
        monkeypatch.setattr(simple_paths, "MOST_STEPS", 4000)
        exact = Topology(branches).between(branches[0][1], bus)
        monkeypatch.setattr(simple_paths, "MOST_STEPS", 0)
        wider = Topology(branches).between(branches[0][1], bus)
        for number, passage in exact.items():
            assert wider[number].along >= passage.along
            assert wider[number].against >= passage.against
            assert wider[number].must <= passage.must


TWO_AC_SOURCES = """
sources:
  gen-1: {kind: generator, volts: 115, current: ac}
  gen-2: {kind: generator, volts: 115, current: ac}
buses: [left, right]
devices:
  k-1: {kind: contactor, closes-when: {live: [gen-1]}}
  k-2: {kind: contactor, closes-when: {live: [gen-2]}}
  tie: {kind: contactor, closes-when: [{dead: [gen-1]}, {dead: [gen-2]}]}
feeders: [gen-1 > k-1 > left, gen-2 > k-2 > right, left > tie > right]
equipment: {fan: left, pump: right, light: {supplies: [{bus: left}, {bus: right}]}}
"""
TIE_SHUT = (("tie", "stuck-closed"),)


def explained(network: Network, **seen: str) -> list[tuple[Fault, ...]]:
    """The single failures that explain what is seen of some items."""
    found = troubleshoot(
        network, "flight", [find_observation(network, *one) for one in seen.items()], order=1
    )
    return list(found.candidates)


def test_an_item_of_which_it_is_not_known_whether_it_works_may_be_seen_dead_or_working() -> None:
    net = network(TWO_AC_SOURCES)
    assert drop(net, "flight", TIE_SHUT).not_known == ("fan", "light", "pump")
    assert TIE_SHUT in explained(net, fan="dead")
    assert TIE_SHUT in explained(net, fan="dead", pump="dead", light="works")
    assert TIE_SHUT in explained(net, fan="works")
    # One source on both buses is no conflict.
    lost = (("gen-1", "lost"), *TIE_SHUT)
    assert drop(net, "flight", lost).not_known == ()


def test_no_next_check_goes_by_an_item_of_which_it_is_not_known_whether_it_works() -> None:
    net = network(TWO_AC_SOURCES)
    found = troubleshoot(net, "flight", [find_observation(net, "fan", "dead")], order=1)
    assert TIE_SHUT in found.candidates
    assert {c.subject for c in found.next_checks}.isdisjoint({"pump", "light"})
    text = list(diagnosis_text(net, found))
    cause = next(line for line in text if line.startswith("  tie stuck closed"))
    meaning = text[text.index(cause) + 1]
    assert meaning.startswith(
        "    would take nothing else; not known: fan, light, pump (AC sources"
    )


def test_trace_names_the_failures_after_which_it_is_not_known_whether_an_item_works() -> None:
    net = network(TWO_AC_SOURCES)
    found = trace(net, "light")
    assert [by.fault for by in found.not_known_by] == [*TIE_SHUT]
    text = "\n".join(trace_text(net, found))
    assert "after which it is not known: AC sources meet that are not synchronised\n  tie" in text
    [written] = found.as_json(net)["not_known_by"]
    assert written["failed"] == {"id": "tie", "mode": "stuck-closed"}
    synchronised = TWO_AC_SOURCES.replace("current: ac", "current: ac, synchronised: bus")
    assert trace(network(synchronised), "light").not_known_by == ()


FUNCTIONS = """
functions:
  air: {provided-by: [fan, pump], essential: true, independent: [[fan, pump]]}
  work: {provided-by: [clerk, light], need: 1, essential: true}
"""


def with_functions(text: str = TWO_AC_SOURCES) -> Network:
    """Two functions, one of them by an item that itself has sound power and requires the fan."""
    text = text.replace("equipment: {", "equipment: {clerk: {requires: [fan]}, ")
    text = text.replace("clerk: {", "clerk: {supplies: [{bus: dc}], ")
    text = text.replace("buses: [left, right]", "buses: {left: {}, right: {}, dc: {}}")
    text = text.replace("feeders: [", "feeders: [gen-dc > dc, ")
    return network(text.replace("sources:", "sources:\n  gen-dc: 28") + FUNCTIONS)


def test_a_function_that_has_only_what_is_not_known_to_work_may_be_lost() -> None:
    found = single_points(single_failures(with_functions(), condition_states(with_functions())))
    perhaps = [(w.function, w.items, w.by.fault) for w in found.essential if w.by.not_known]
    assert perhaps == [("air", (), *TIE_SHUT), ("work", (), *TIE_SHUT)]
    [pair] = [w for w in found.independent if w.by.not_known]
    assert (pair.items, pair.by.fault) == (("fan", "pump"), *TIE_SHUT)
    synchronised = TWO_AC_SOURCES.replace("current: ac", "current: ac, synchronised: bus")
    net = with_functions(synchronised)
    found = single_points(single_failures(net, condition_states(net)))
    assert TIE_SHUT[0] not in [w.by.fault for w in (*found.essential, *found.independent)]


def test_the_status_of_a_function_says_that_it_is_not_known() -> None:
    net = with_functions()
    text = "\n".join(function_text(net, function_status(net, "air")))
    assert "tie stuck closed (not known: AC sources meet that are not synchronised)" in text
    assert function_status(net, "air").as_json(net)["causes"][-1]["not_known"]


def test_what_requires_an_item_that_is_not_known_to_work_is_not_known_to_work() -> None:
    net = with_functions()
    assert [by.fault for by in trace(net, "clerk").not_known_by] == [*TIE_SHUT]
    # Yet the answer counts it as kept, and says so.
    assert "clerk" in drop(net, "flight", TIE_SHUT).kept


def test_a_revision_that_makes_a_failure_a_conflict_says_what_is_newly_not_known() -> None:
    synchronised = TWO_AC_SOURCES.replace("current: ac", "current: ac, synchronised: bus")
    _, found = single_failure_changes(network(synchronised), network(TWO_AC_SOURCES))
    [change] = found
    assert (change.fault, change.unsure_other) == (*TIE_SHUT, ("fan", "light", "pump"))
    assert effects(change) == [("newly not known", ("fan", "light", "pump"))]
    _, [back] = single_failure_changes(network(TWO_AC_SOURCES), network(synchronised))
    assert effects(back) == [("no longer not known", ("fan", "light", "pump"))]


CARRIES_ITS_INPUT = """
sources:
  gen: {kind: generator, volts: 28, amps: 100}
  converter: {kind: converter, volts: 28, amps: 20, fed-from: [{bus: main}]}
  battery: {kind: battery, volts: 24, amp-hours: 20}
buses: [main, avionics]
devices: {k-cross: {kind: relay, closes-when: {dead: [gen]}}, link: fuse-link}
feeders: [gen > main, battery > link > main, converter > avionics, main > k-cross > avionics]
equipment:
  pump: {supplies: [{bus: main}], amps: 20}
  radio: {supplies: [{bus: avionics}], amps: 10}
indications:
  battery-amps: {kind: ammeter, at: battery}
  link-amps: {kind: ammeter, at: link}
  converter-load: {kind: loadmeter, at: converter}
conditions: {flight: {sources: [gen, battery]}}
"""


def test_who_carries_what_a_converter_feeds_itself_from_is_not_known() -> None:
    net = network(CARRIES_ITS_INPUT)
    whole = drop(net, "flight", []).readings
    assert (str(whole["battery-amps"]), str(whole["converter-load"])) == ("0 A", "50 %")
    lost = drop(net, "flight", [("gen", "lost")])
    assert lost.readings["battery-amps"] == lost.readings["link-amps"] == NOT_KNOWN
    [found] = loads(solve(net, scenarios_of([Scenario("flight", (("gen", "lost"),))])))
    assert {"battery", "converter"} <= found.short_sources
    assert found.sources["battery"] == found.sources["converter"] - 10 == 0
    # What the bus feeds is known.
    assert found.buses["main"] == 20


IN_CONFLICT = """
sources:
  alt-1: {volts: 115, current: ac, amps: 40}
  alt-2: {volts: 115, current: ac, amps: 40}
  rectifier: {kind: converter, volts: 28, amps: 50, efficiency: 1, fed-from: [{bus: ac-2}]}
buses: {ac-1: {current: ac}, ac-2: {current: ac}, dc: {}}
devices: {k-tie: {kind: contactor, closes-when: {dead: [alt-1]}}}
feeders: [alt-1 > ac-1, alt-2 > ac-2, ac-1 > k-tie > ac-2, rectifier > dc]
equipment: {heat: {supplies: [{bus: ac-1}], amps: 20}, fan: {supplies: [{bus: dc}], amps: 23}}
indications:
  load-1: {kind: loadmeter, at: alt-1}
  load-2: {kind: loadmeter, at: alt-2}
  tie-amps: {kind: ammeter, at: k-tie}
  dc-load: {kind: loadmeter, at: rectifier}
conditions: {flight: {sources: [alt-1, alt-2]}}
"""


def test_what_ac_sources_in_conflict_give_is_not_known() -> None:
    net = network(IN_CONFLICT)
    whole = drop(net, "flight", []).readings
    assert (str(whole["load-1"]), str(whole["load-2"])) == ("50 %", "14 %")
    meet = drop(net, "flight", [("k-tie", "stuck-closed")])
    assert set(meet.conflicts) == {"ac-1", "ac-2"}
    for meter in ("load-1", "load-2", "tie-amps"):
        assert meet.readings[meter] == NOT_KNOWN, meter
    # Behind the rectifier all is as before.
    assert str(meet.readings["dc-load"]) == "46 %"
    for shown in ("0", "5", "90"):
        found = troubleshoot(net, "flight", [find_observation(net, "load-1", shown)], order=1)
        assert (("k-tie", "stuck-closed"),) in found.candidates
        # No check goes by a meter of which nothing is known.
        assert "load-2" not in {c.subject for c in found.next_checks}
