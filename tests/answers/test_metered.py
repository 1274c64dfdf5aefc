"""What loadmeters and ammeters read, in every scenario at once."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers import observations
from sitegen.answers.drop import drop
from sitegen.answers.find import NotFound, find_observation
from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.metered import meter_at, metered
from sitegen.answers.loads.source_loads import loads
from sitegen.answers.observations import Observation, all_hold, holds
from sitegen.answers.readings import LOAD, NOT_KNOWN, Reading, distinguishable, reads_the_same
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import read
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.scenarios import Scenario, bits, every_single, scenarios_of, union
from sitegen.solver.subset import narrowed
from tests.answers.test_loads import loaded
from tests.nets import network
from tests.random_nets import AIRFRAMES, Raw
from tests.samples import thorough

PAIR = """
sources:
  gen-1: {kind: generator, volts: 28, amps: 200}
  gen-2: {kind: generator, volts: 28, amps: 100}
  bat: {kind: battery, volts: 24}
buses: [left, right]
devices: {k-1: breaker, k-2: breaker, tie: fuse-link, shunt: shunt}
feeders: [gen-1 > k-1 > left, gen-2 > k-2 > right, left > tie > right, bat > shunt > left]
equipment:
  heater: {supplies: [{bus: left}], amps: 60}
  radio: {supplies: [{bus: right}], amps: 30}
indications:
  load-1: {kind: loadmeter, at: gen-1}
  load-2: {kind: loadmeter, at: gen-2}
  bat-amps: {kind: ammeter, at: shunt}
"""


def shows(*failed: str) -> tuple[str, ...]:
    net = network(PAIR)
    faults = [(f, net.components[f].modes[0]) for f in failed]
    return tuple(map(str, drop(net, "flight", faults).readings.values()))


def test_two_generators_show_percent_of_their_own_rating() -> None:
    """90 A shared two to one: 60 of 200 A and 30 of 100 A, each give or take 10 %."""
    assert shows() == ("20 to 40 %", "20 to 40 %", "0 A")


def test_the_generator_that_is_left_shows_the_whole_load() -> None:
    assert shows("gen-1") == ("0 %", "90 %", "0 A")
    assert shows("gen-2") == ("45 %", "0 %", "0 A")


def test_with_the_tie_open_each_generator_shows_its_own_side() -> None:
    assert shows("tie") == ("30 %", "30 %", "0 A")
    assert shows("tie", "gen-1") == ("0 %", "30 %", "60 A discharge")


def test_the_battery_ammeter_shows_what_the_battery_carries() -> None:
    assert shows("gen-1", "gen-2") == ("0 %", "0 %", "90 A discharge")


HOT_BUS = """
sources: {gen: {kind: generator, volts: 28, amps: 100}, bat: {kind: battery, volts: 24}}
buses: [main, hot]
devices: {shunt: shunt, fl: fuse-link}
feeders: [gen > main, bat > shunt > main, bat > fl > hot]
equipment: {heater: {supplies: [{bus: main}], amps: 40}, clock: {supplies: [{bus: hot}], amps: 9}}
indications: {bat-amps: {kind: ammeter, at: shunt}}
"""


def test_a_battery_s_ammeter_says_which_way() -> None:
    net = network(HOT_BUS)
    # With the generator on line, what is on the battery's terminals is fed past the shunt.
    assert str(drop(net, "flight", []).readings["bat-amps"]) == "9 A charge side"
    assert str(drop(net, "flight", [("gen", "lost")]).readings["bat-amps"]) == "40 A discharge"
    charge = find_observation(net, "bat-amps", "9A charge")
    assert charge == Observation("bat-amps", Reading("figure", 9, "A", "charge side"))
    discharge = find_observation(net, "bat-amps", "9 discharge")
    assert discharge.seen == Reading("figure", 9, "A", "discharge")
    assert not reads_the_same(
        Reading("figure", 9, "A", "charge side"), Reading("figure", 9, "A", "discharge")
    )
    found = troubleshoot(net, "flight", [charge], order=1)
    assert found.nothing_failed_fits
    found = troubleshoot(net, "flight", [discharge], order=2)
    assert not found.candidates
    with pytest.raises(NotFound, match="without a sign"):
        find_observation(net, "bat-amps", "-9")


def test_a_load_that_nobody_knows_leaves_load_or_no_load() -> None:
    net = network(PAIR.replace("amps: 30}", "}"))
    assert [str(r) for r in drop(net, "flight", []).readings.values()] == ["load", "load", "0 A"]
    assert str(drop(net, "flight", [("gen-1", "lost")]).readings["load-1"]) == "0 %"


def test_a_loadmeter_that_reads_high_names_the_other_generator() -> None:
    net = network(PAIR)
    found = troubleshoot(net, "flight", [find_observation(net, "load-2", "88")], order=1)
    assert {("gen-1", "lost"), ("k-1", "open")} <= {c[0] for c in found.candidates}
    assert all(str(meaning.readings["load-2"]) == "90 %" for meaning in found.losses)
    assert not found.nothing_failed_fits


def test_a_breaker_that_feeds_a_large_load_is_found_from_the_loadmeters_alone() -> None:
    text = PAIR.replace("{bus: left}", "{bus: left, breaker: {id: cb-heat, name: HEAT, amps: 75}}")
    net = network(text)
    seen = [find_observation(net, meter, "10") for meter in ("load-1", "load-2")]
    found = troubleshoot(net, "flight", seen, order=1)
    assert (("cb-heat", "open"),) in found.candidates


@pytest.mark.parametrize(("amps", "is_cause"), [(2, True), (1.9, False)])
def test_a_breaker_that_feeds_less_than_two_percent_is_no_cause_of_what_a_loadmeter_reads(
    amps: float, is_cause: bool
) -> None:
    net = network(f"""
    sources: {{gen: {{kind: generator, volts: 28, amps: 100}}}}
    buses: [main]
    feeders: [gen > main]
    equipment:
      pump: {{supplies: [{{bus: main}}], amps: 50}}
      lamp: {{supplies: [{{bus: main, breaker: {{id: cb, name: L, amps: 5}}}}], amps: {amps}}}
    indications: {{load: {{kind: loadmeter, at: gen}}}}
    """)
    # With nothing failed it reads 52 or 51.9: too far from this to be read so.
    found = troubleshoot(net, "flight", [find_observation(net, "load", "46.8")], order=1)
    assert not found.nothing_failed_fits
    assert ((("cb", "open"),) in found.candidates) is is_cause


def test_a_meter_is_asked_the_same_in_many_scenarios_as_in_few(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    net = network(PAIR)
    seen = [find_observation(net, meter, "30") for meter in ("load-1", "load-2")]
    outcome = solve(net, every_single(["flight"], net.faults))
    few = all_hold(net, seen, outcome.after)
    assert 0 < len(bits(few)) < outcome.scenarios.count
    monkeypatch.setattr(observations, "MOST_APART", 0)
    assert all_hold(net, seen, outcome.after) == few


def test_readings_that_nobody_can_distinguish_are_one_answer() -> None:
    shown = [*(Reading("figure", percent, "%") for percent in (30, 34, 0, 1, 90)), LOAD]
    assert [str(label) for label in distinguishable(shown)] == [
        "30 to 34 %",
        "30 to 34 %",
        "0 %",
        "1 %",
        "90 %",
        "load",
    ]
    # None against a little is seen: the needle leaves its stop.
    assert not reads_the_same(Reading("figure", 0, "%"), Reading("figure", 3, "%"))


TWO_POLES = """
sources: {gen: {kind: generator, volts: 28, amps: 100}}
buses: [a, b]
devices: {k: {kind: relay, closes-when: {live: [gen]}}}
feeders: [gen > k > a, %s > k > b]
equipment: {heater: {supplies: [{bus: a}], amps: 10}, pump: {supplies: [{bus: b}], amps: 5}}
indications: {k-amps: {kind: ammeter, at: k}}
"""


def test_an_ammeter_at_a_relay_of_two_poles_reads_what_both_carry() -> None:
    assert str(drop(network(TWO_POLES % "gen"), "flight", []).readings["k-amps"]) == "15 A"


def test_where_one_current_passes_two_poles_of_a_relay_its_ammeter_has_no_figure() -> None:
    assert drop(network(TWO_POLES % "a"), "flight", []).readings["k-amps"] == LOAD


SELF_FED = """
sources:
  gen: {kind: generator, volts: 28, amps: 100}
  inverter: {kind: converter, volts: 115, efficiency: 0.6, fed-from: [{bus: main}]}
  rectifier: {kind: converter, volts: 28, amps: 100, efficiency: 0.6, fed-from: [{bus: ac}]}
buses: [main, ac]
feeders: [gen > main, inverter > ac, rectifier > main]
equipment: {pump: {supplies: [{bus: main}], amps: 10}, lamp: {supplies: [{bus: ac}], amps: 1}}
indications: {gen-load: {kind: loadmeter, at: gen}}
conditions: {flight: {sources: [gen]}}
"""


def test_converters_that_carry_each_others_input_have_no_figure_and_are_named() -> None:
    net = network(SELF_FED)
    found = loads(solve(net, scenarios_of([Scenario("flight")])))[0]
    assert {"inverter", "rectifier"} <= set(found.unknown)
    assert str(drop(net, "flight", []).readings["gen-load"]) == "not known"
    # With one of them gone nothing goes round, and the other has its figure.
    alone = loads(solve(net, scenarios_of([Scenario("flight", (("rectifier", "lost"),))])))[0]
    assert alone.unknown == ()
    assert alone.converters["inverter"] == pytest.approx(115 / (0.6 * 28))


def test_an_ammeter_at_the_input_of_a_converter_that_feeds_itself_is_never_at_no_load() -> None:
    text = SELF_FED.replace("[{bus: main}]}\n  rect", "[{bus: main, through: [cb]}]}\n  rect")
    text = text.replace("feeders:", "devices: {cb: breaker}\nfeeders:")
    text = text.replace("at: gen}}", "at: gen}, inverter-amps: {kind: ammeter, at: cb}}")
    assert drop(network(text), "flight", []).readings["inverter-amps"] == NOT_KNOWN
    alone = drop(network(text), "flight", [("rectifier", "lost")]).readings["inverter-amps"]
    assert str(alone) == "7 A"


@cache
def demo() -> Outcome:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    net = build(catalogue, catalogue.airframes[-1].id)
    conditions = [c.id for c in catalogue.conditions]
    return solve(net, every_single(conditions, net.faults))


def agree(outcome: Outcome) -> None:
    """The figures of all scenarios at once are exactly those of one scenario at a time.

    The one at a time are of a copy of the network: they share what is known of a state with each
    other, and with no others.
    """
    net = outcome.network
    copied = replace(net)
    among_all = draws(outcome.after)
    read_at = [*net.sources, *{d: None for branch in net.branches for d in branch.through}]
    found = {at: metered(among_all, meter_at(net, at)) for at in read_at}
    step = max(1, outcome.scenarios.count // 300)
    for k in range(0, outcome.scenarios.count, step):
        scenario = outcome.scenarios.at(k)
        alone = solve(copied, scenarios_of([scenario]))
        one_by_one, drawn = loads(alone)[0], draws(alone.after)
        bounds = current_bounds(net, one_by_one.amps)
        for at in read_at:
            here = [flow for flow, mask in found[at].flows.items() if mask >> k & 1]
            by_itself = metered(drawn, meter_at(net, at))
            assert here == list(by_itself.flows), (scenario, at)
            assert bool(found[at].unsure >> k & 1) == bool(by_itself.unsure), (scenario, at)
            assert bool(found[at].some >> k & 1) == bool(by_itself.some), (scenario, at)
            if here and at in net.sources:
                assert here[0].amps == one_by_one.sources.get(at, 0), (scenario, at)
            poles = sum(at in branch.through for branch in net.branches)
            if here and poles == 1:
                carried = bounds.get(at, CurrentBounds(Fraction(), Fraction()))
                assert carried.least == carried.most == abs(here[0].amps), (scenario, at)


def test_in_every_single_failure_of_the_demo_the_meters_read_what_the_loads_say() -> None:
    agree(demo())


def test_few_loads_of_the_demo_are_not_known() -> None:
    """So that the test above has something to compare."""
    outcome = demo()
    drawn = draws(outcome.after)
    conflicts = union(outcome.after.conflicts.values())
    for source in ("gen-1", "gen-2"):
        assert not metered(drawn, meter_at(outcome.network, source)).unsure & ~conflicts
    unsure = metered(drawn, meter_at(outcome.network, "shunt-battery")).unsure | conflicts
    assert len(bits(unsure)) < outcome.scenarios.count / 20


@thorough(120)
@given(loaded(), st.sampled_from(AIRFRAMES))
def test_on_random_nets_the_meters_read_what_the_loads_say(catalogue: Raw, airframe: str) -> None:
    net = build(Catalogue.model_validate(catalogue), airframe)
    conditions = [c["id"] for c in catalogue["conditions"]]
    agree(solve(net, every_single(conditions, net.faults)))


def test_a_few_scenarios_apart_answer_as_they_do_among_all() -> None:
    outcome = demo()
    net: Network = outcome.network
    few = list(range(5, outcome.scenarios.count, 37))
    apart = narrowed(outcome.after, few)
    seen = [
        find_observation(net, "gen-1-load", "70"),
        find_observation(net, "battery-amps", "0"),
        find_observation(net, "forward-volts", "28"),
        find_observation(net, "gen-1-off", "lit"),
        find_observation(net, "com-1", "works"),
    ]
    for observation in seen:
        among_all = holds(net, observation, outcome.after)
        assert bits(holds(net, observation, apart)) == [
            i for i, k in enumerate(few) if among_all >> k & 1
        ]
