"""How loaded sources, buses and converters are: small nets, and laws that hold on every net."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.drop import Loss, fault, losses
from sitegen.answers.loads.load_table import load_table
from sitegen.answers.loads.source_loads import Load, load_pairs, loads
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of
from sitegen.terminal.load_csv import load_csv
from sitegen.terminal.load_text import load_text
from tests import nets
from tests.random_nets import AIRFRAMES, Draw, Raw, catalogues
from tests.samples import thorough

NEAR = 1e-9
"""How closely what is given equals what is drawn, as a share of it (or A, below 1 A)."""


def load(
    text: str,
    *failed: str,
    condition: str = "flight",
    peak: bool = False,
    shed: tuple[str, ...] = (),
) -> Load:
    """The amps of a short net in one scenario."""
    network = nets.network(text)
    faults = tuple(fault(network, name) for name in failed)
    outcome = solve(network, scenarios_of([Scenario(condition, faults)]))
    if shed:
        outcome = after_the_crew(outcome, Then.model_validate({"shed": list(shed)}))
    return loads(outcome, peak)[0]


def amps(found: dict[str, float] | float) -> Any:
    """To compare with figures worked out by hand."""
    return pytest.approx(found, rel=NEAR, abs=NEAR)


# Where equipment draws

TWO_BUSES = """
sources: {left-gen: {volts: %s, amps: 100}, right-gen: {volts: %s, amps: 100}}
buses: [left, right]
devices: {cb-left: breaker, cb-right: breaker}
feeders: [left-gen > cb-left > left, right-gen > cb-right > right]
equipment:
  horizon:
    supplies: [{bus: left}, {bus: right}]
    needs: %s
    amps: 6
"""


def test_equipment_with_two_live_supplies_of_equal_volts_draws_half_from_each() -> None:
    found = load(TWO_BUSES % (28, 28, "any"))
    assert found.drawn == {"horizon": 6}
    assert found.buses == amps({"left": 3, "right": 3})
    assert found.sources == amps({"left-gen": 3, "right-gen": 3})


def test_equipment_with_two_live_supplies_draws_from_the_bus_of_higher_volts_alone() -> None:
    found = load(TWO_BUSES % (28, 28.5, "any"))
    assert found.buses == amps({"right": 6})
    assert found.sources == amps({"left-gen": 0, "right-gen": 6})


def test_equipment_draws_all_from_the_supply_that_is_left() -> None:
    found = load(TWO_BUSES % (28, 28.5, "any"), "cb-right")
    assert found.buses == amps({"left": 6})
    assert found.sources == amps({"left-gen": 6, "right-gen": 0})


def test_equipment_that_needs_all_its_supplies_draws_while_it_has_them() -> None:
    assert load(TWO_BUSES % (28, 28, "all")).buses == amps({"left": 3, "right": 3})


def test_equipment_that_needs_all_its_supplies_draws_nothing_with_one_gone() -> None:
    found = load(TWO_BUSES % (28, 28, "all"), "cb-right")
    assert found.drawn == {}
    assert found.buses == {}
    assert found.sources == amps({"left-gen": 0, "right-gen": 0})


def test_of_three_supplies_the_two_on_the_highest_volts_share_equally() -> None:
    found = load("""
    sources: {a: {volts: 28, amps: 50}, b: {volts: 28, amps: 200}, c: {volts: 24, amps: 100}}
    buses: [bus-a, bus-b, bus-c]
    feeders: [a > bus-a, b > bus-b, c > bus-c]
    equipment: {radio: {supplies: [{bus: bus-a}, {bus: bus-b}, {bus: bus-c}], amps: 8}}
    """)
    assert found.buses == amps({"bus-a": 4, "bus-b": 4})
    assert found.sources == amps({"a": 4, "b": 4, "c": 0})


def test_equipment_on_a_dead_bus_draws_nothing() -> None:
    found = load(TWO_BUSES % (28, 28, "any"), "left:dead", "right:dead")
    assert found.drawn == {}
    assert found.sources == amps({"left-gen": 0, "right-gen": 0})


def test_equipment_on_the_terminals_of_a_source_is_part_of_its_load() -> None:
    found = load("""
    sources: {bat: {kind: battery, volts: 24, amps: 100}}
    buses: [main]
    feeders: [bat > main]
    equipment:
      clock: {supplies: [{bus: bat}], amps: 0.5}
      radio: {supplies: [{bus: main}], amps: 2}
    """)
    assert found.buses == amps({"bat": 0.5, "main": 2})
    assert found.sources == amps({"bat": 2.5})


# Which sources carry a bus

SHARED_BUS = """
sources:
  small: {volts: 28, amps: %s}
  large: {volts: 28, amps: 300}
  bat: {kind: battery, volts: 24, amps: 900}
buses: [main]
devices: {cb-small: breaker, cb-large: breaker, relay: breaker}
feeders: [small > cb-small > main, large > cb-large > main, bat > relay > main]
equipment: {heater: {supplies: [{bus: main}], amps: 40}}
"""


def test_sources_of_equal_volts_share_in_proportion_to_their_rated_amps() -> None:
    assert load(SHARED_BUS % 100).sources == amps({"small": 10, "large": 30, "bat": 0})


def test_the_generator_that_is_left_carries_the_whole_bus() -> None:
    found = load(SHARED_BUS % 100, "large")
    assert found.sources == amps({"small": 40, "bat": 0})


def test_a_battery_carries_the_bus_only_when_no_higher_source_reaches_it() -> None:
    found = load(SHARED_BUS % 100, "cb-small", "cb-large")
    assert found.sources == amps({"small": 0, "large": 0, "bat": 40})


def test_without_every_rating_sources_share_equally() -> None:
    # Our own choice: the plan says 'in proportion to rated amps', and here there is no proportion.
    assert load(SHARED_BUS % "null").sources == amps({"small": 20, "large": 20, "bat": 0})


def test_charging_a_battery_is_left_out() -> None:
    found = load("""
    sources: {gen: {volts: 28.5, amps: 100}, bat: {kind: battery, volts: 24, amp-hours: 40}}
    buses: [main]
    feeders: [gen > main, bat > main]
    equipment: {radio: {supplies: [{bus: main}], amps: 5}}
    """)
    assert found.buses == amps({"main": 5})
    assert found.sources == amps({"gen": 5, "bat": 0})


def test_behind_a_diode_a_source_carries_only_what_its_power_reaches() -> None:
    found = load("""
    sources: {left-gen: {volts: 28, amps: 100}, right-gen: {volts: 28, amps: 100}}
    buses: [left, right, essential]
    devices: {d-left: diode, d-right: diode}
    feeders:
      - left-gen > left
      - right-gen > right
      - left > d-left > essential
      - right > d-right > essential
    equipment:
      light: {supplies: [{bus: left}], amps: 7}
      radio: {supplies: [{bus: essential}], amps: 10}
    """)
    assert found.sources == amps({"left-gen": 12, "right-gen": 5})


def test_a_source_that_does_not_produce_is_not_listed() -> None:
    found = load(SHARED_BUS % 100, "small")
    assert sorted(found.sources) == ["bat", "large"]


# Converters

INVERTER = """
sources:
  gen: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amps: 100}
  inverter: {kind: converter, volts: 115, amps: 5, efficiency: 0.5, fed-from: {bus: main}}
buses: [main, ac-bus]
devices: {cb-inverter: breaker}
feeders: [gen > main, bat > main, inverter > cb-inverter > ac-bus]
equipment:
  radio: {supplies: [{bus: main}], amps: 3}
  gyro: {supplies: [{bus: ac-bus}], amps: 2}
"""


def test_a_converter_takes_its_output_power_over_efficiency_times_input_volts() -> None:
    found = load(INVERTER)
    taken = 115 * 2 / (0.5 * 28)
    assert found.converters == amps({"inverter": taken})
    assert found.buses == amps({"main": 3 + taken, "ac-bus": 2})
    assert found.sources == amps({"gen": 3 + taken, "bat": 0, "inverter": 2})


def test_at_lower_input_volts_a_converter_takes_more_amps() -> None:
    found = load(INVERTER, "gen")
    assert found.converters == amps({"inverter": 115 * 2 / (0.5 * 24)})
    assert found.sources["bat"] == pytest.approx(3 + 115 * 2 / (0.5 * 24))


def test_a_converter_that_feeds_nothing_takes_nothing() -> None:
    found = load(INVERTER, "cb-inverter")
    assert found.converters == amps({"inverter": 0})
    assert found.sources == amps({"gen": 3, "bat": 0, "inverter": 0})


def test_a_converter_left_without_efficiency_gives_four_fifths_of_what_it_takes() -> None:
    found = load(INVERTER.replace("efficiency: 0.5, ", ""))
    assert found.converters == amps({"inverter": 115 * 2 / (0.8 * 28)})


def test_a_converter_behind_a_converter_loads_the_generator_through_both() -> None:
    found = load("""
    sources:
      gen: {volts: 28, amps: 100}
      inverter: {kind: converter, volts: 115, efficiency: 0.8, fed-from: {bus: main}}
      rectifier: {kind: converter, volts: 14, efficiency: 0.5, fed-from: {bus: ac-bus}}
    buses: [main, ac-bus, low-bus]
    feeders: [gen > main, inverter > ac-bus, rectifier > low-bus]
    equipment: {radio: {supplies: [{bus: low-bus}], amps: 23}}
    """)
    into_rectifier = 14 * 23 / (0.5 * 115)
    into_inverter = 115 * into_rectifier / (0.8 * 28)
    assert found.converters == amps({"rectifier": into_rectifier, "inverter": into_inverter})
    assert found.buses == amps({"low-bus": 23, "ac-bus": into_rectifier, "main": into_inverter})
    assert found.sources["gen"] == pytest.approx(into_inverter)


@pytest.mark.parametrize(("left", "right", "share"), [(28, 28, 0.5), (28, 24, 1.0), (24, 28, 0.0)])
def test_a_converter_with_two_inputs_takes_from_the_higher_volts_or_half_from_each(
    left: float, right: float, share: float
) -> None:
    found = load(f"""
    sources:
      left-gen: {{volts: {left}, amps: 100}}
      right-gen: {{volts: {right}, amps: 100}}
      inverter: {{kind: converter, volts: 112, efficiency: 0.8,
                  fed-from: [{{bus: left}}, {{bus: right}}]}}
    buses: [left, right, ac-bus]
    feeders: [left-gen > left, right-gen > right, inverter > ac-bus]
    equipment: {{gyro: {{supplies: [{{bus: ac-bus}}], amps: 1}}}}
    """)
    assert found.converters == amps({"inverter": 5})
    assert found.sources["left-gen"] == pytest.approx(5 * share)
    assert found.sources["right-gen"] == pytest.approx(5 * (1 - share))


TWO_INPUTS = """
sources:
  gen: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amps: 100}
  inverter: {kind: converter, volts: 112, efficiency: 0.8,
             fed-from: [{bus: main, through: [cb-main]}, {bus: bat-bus, through: [cb-bat]}]}
buses: [main, bat-bus, ac-bus]
devices: {cb-main: breaker, cb-bat: breaker}
feeders: [gen > main, bat > bat-bus, inverter > ac-bus]
equipment: {gyro: {supplies: [{bus: ac-bus}], amps: 3}}
"""


def test_a_converter_takes_nothing_through_an_open_breaker_though_the_bus_behind_is_live() -> None:
    assert load(TWO_INPUTS).sources == amps({"gen": 15, "bat": 0, "inverter": 3})
    found = load(TWO_INPUTS, "cb-main")
    assert found.converters == amps({"inverter": 112 * 3 / (0.8 * 24)})
    assert found.buses == amps({"bat-bus": 17.5, "ac-bus": 3})
    assert found.sources == amps({"gen": 0, "bat": 17.5, "inverter": 3})


def test_a_converter_without_a_live_input_gives_and_takes_nothing() -> None:
    found = load(TWO_INPUTS, "cb-main", "cb-bat")
    assert found.converters == {}
    assert found.sources == amps({"gen": 0, "bat": 0})


def test_power_goes_through_a_chain_of_four_converters_however_they_are_listed() -> None:
    found = load("""
    sources:
      second: {kind: converter, volts: 28, efficiency: 0.5, fed-from: {bus: first}}
      fourth: {kind: converter, volts: 28, efficiency: 0.5, fed-from: {bus: third}}
      first: {kind: converter, volts: 28, efficiency: 0.5, fed-from: {bus: gen}}
      third: {kind: converter, volts: 28, efficiency: 0.5, fed-from: {bus: second}}
      gen: {volts: 28, amps: 100}
    buses: [last]
    feeders: [fourth > last]
    equipment: {lamp: {supplies: [{bus: last}], amps: 1}}
    """)
    assert found.converters == amps({"fourth": 2, "third": 4, "second": 8, "first": 16})
    assert found.sources["gen"] == pytest.approx(16)


# Which figures

FIGURES = """
sources: {gen: {volts: 28, amps: 100}}
buses: [main]
feeders: [gen > main]
equipment:
  steady: {supplies: [{bus: main}], amps: 2}
  by-column: {supplies: [{bus: main}], amps: {cruise: 3, approach: 8}}
  motor: {supplies: [{bus: main}], amps: 5, peak-amps: 30}
  gear: {supplies: [{bus: main}], amps: {cruise: 0, approach: 4}, peak-amps: {approach: 50}}
conditions:
  cruising: {sources: [gen], loads: cruise}
  approaching: {sources: [gen], loads: approach}
"""


def test_each_condition_uses_its_own_load_column() -> None:
    cruising, approaching = (load(FIGURES, condition=c) for c in ("cruising", "approaching"))
    assert cruising.drawn == {"steady": 2, "by-column": 3, "motor": 5, "gear": 0}
    assert approaching.drawn == {"steady": 2, "by-column": 8, "motor": 5, "gear": 4}
    assert cruising.sources == amps({"gen": 10})
    assert approaching.sources == amps({"gen": 19})


def test_conditions_asked_for_together_keep_their_own_columns() -> None:
    network = nets.network(FIGURES)
    conditions = ("approaching", "cruising", "approaching")
    scenarios = scenarios_of([Scenario(condition) for condition in conditions])
    assert [found.sources["gen"] for found in loads(solve(network, scenarios))] == [19, 10, 19]


def test_where_nothing_has_a_figure_the_amps_are_not_known() -> None:
    """Neither `at least 0.0 A` nor a margin that follows from it."""
    net = nets.network("""
sources:
  gen: {kind: generator, volts: 28, amps: 50}
  alternator: {kind: generator, volts: 28, amps: 50}
buses: [main, side]
devices: {k: {kind: fuse-link, amps: 60}}
feeders: [gen > k > main, alternator > side]
equipment:
  radio: {supplies: [{bus: main}]}
  pump: {supplies: [{bus: side}]}
  fan: {supplies: [{bus: side}], amps: 3}
""")
    table = load_table(net, "flight", ())
    lines = [line.strip() for line in load_text(net, table, "")]
    assert {
        "gen: not known",
        "alternator: at least 3.0 A of 50 A, 6 %, at most 47.0 A spare",
        "main: amps not known, 28 V",
        "side: at least 3.0 A at 28 V",
        "k: not known",
    } <= {*lines}
    rows = list(csv.DictReader(io.StringIO(load_csv(net, [table]))))
    amps = {row["id"]: (row["amps"], row["short-time amps"]) for row in rows}
    assert (amps["gen"], amps["alternator"]) == (("not known",) * 2, ("3.0",) * 2)
    assert (amps["main"], amps["side"]) == (("not known",) * 2, ("3.0",) * 2)
    bounds = {row["id"]: row["bound"] for row in rows}
    assert (bounds["alternator"], bounds["side"]) == ("at least", "at least")
    assert (bounds["gen"], bounds["k"], bounds["fan"]) == ("", "", "")


def test_the_table_for_a_spreadsheet_says_what_is_a_bound() -> None:
    net = nets.network("""
    sources: {gen: {volts: 28, amps: 50}}
    buses: [main, side]
    devices: {f-1: {kind: breaker, amps: 20}, f-2: {kind: breaker, amps: 20}}
    feeders: [gen > main, main > f-1 > side, main > f-2 > side]
    equipment: {fan: {supplies: [{bus: side}], amps: 3}}
    """)
    rows = list(csv.DictReader(io.StringIO(load_csv(net, [load_table(net, "flight")]))))
    assert {row["id"]: (row["amps"], row["bound"]) for row in rows if row["kind"] == "breaker"} == {
        "f-1": ("3.0", "at most"),
        "f-2": ("3.0", "at most"),
    }


def test_a_short_time_figure_replaces_the_continuous_one_where_there_is_one() -> None:
    cruising = load(FIGURES, condition="cruising", peak=True)
    approaching = load(FIGURES, condition="approaching", peak=True)
    assert cruising.drawn == {"steady": 2, "by-column": 3, "motor": 30, "gear": 0}
    assert approaching.drawn == {"steady": 2, "by-column": 8, "motor": 30, "gear": 50}
    assert approaching.sources == amps({"gen": 90})


def test_a_short_time_figure_below_the_continuous_one_does_not_lower_it() -> None:
    # Our own choice: a short-time figure is the most that a piece draws.
    found = load(
        """
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main]
    feeders: [gen > main]
    equipment: {pump: {supplies: [{bus: main}], amps: 9, peak-amps: 4}}
    """,
        peak=True,
    )
    assert found.drawn == {"pump": 9}


def test_equipment_without_amps_is_listed_as_unknown_and_left_out() -> None:
    found = load("""
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main, dark]
    feeders: [gen > main]
    equipment:
      radio: {supplies: [{bus: main}], amps: 4}
      mystery: {supplies: [{bus: main}]}
      no-such-column: {supplies: [{bus: main}], amps: {approach: 9}}
      unpowered-mystery: {supplies: [{bus: dark}]}
    conditions: {flight: {sources: [gen], loads: cruise}}
    """)
    assert sorted(found.unknown) == ["mystery", "no-such-column"]
    assert found.drawn == {"radio": 4}
    assert found.sources == amps({"gen": 4})


def test_equipment_with_a_figure_by_column_is_unknown_in_a_condition_without_a_column() -> None:
    found = load("""
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main]
    feeders: [gen > main]
    equipment: {radio: {supplies: [{bus: main}], amps: {cruise: 4}}}
    """)
    assert found.unknown == ("radio",)


def test_shed_equipment_draws_nothing_and_is_not_unknown() -> None:
    text = """
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main]
    feeders: [gen > main]
    equipment:
      oven: {supplies: [{bus: main}], amps: 60}
      fan: {supplies: [{bus: main}]}
      radio: {supplies: [{bus: main}], amps: 4}
    """
    assert load(text).sources == amps({"gen": 64})
    found = load(text, shed=("oven", "fan"))
    assert found.drawn == {"radio": 4}
    assert found.unknown == ()
    assert found.sources == amps({"gen": 4})


# Laws that hold on every net


@st.composite
def loaded(draw: Draw) -> Raw:
    """A random net with ratings, efficiencies and amps, some of them left out."""
    catalogue: Raw = draw(catalogues())
    figure = st.sampled_from([7, 2.5, 40, 0.3, 1, 0])
    by_column = st.fixed_dictionaries({"cruise": figure}, optional={"approach": figure})
    # Volts that are the same or far apart, and no drops: who carries what can be seen at a node.
    for device in catalogue["devices"]:
        if device["kind"] == "diode":
            device["drop-volts"] = 0
    for source in catalogue["sources"]:
        if source["kind"] != "converter":
            source["volts"] = draw(st.sampled_from([24, 28, 30]))
        source["amps"] = draw(st.sampled_from([100, 50, 300, 50, 300, None]))
        if source["kind"] == "converter":
            source["efficiency"] = draw(st.sampled_from([0.5, 0.8, 1.0]))
    for item in catalogue["equipment"]:
        item["amps"] = draw(st.one_of(figure, figure, by_column, st.none()))
        item["peak-amps"] = draw(st.one_of(st.none(), figure, by_column))
    catalogue["load-columns"] = [{"id": c, "name": c} for c in ("cruise", "approach")]
    for condition in catalogue["conditions"]:
        condition["loads"] = draw(st.sampled_from(["cruise", "approach", None]))
    if draw(st.integers(0, 3)):
        put_on_load(draw, catalogue)
    return catalogue


def put_on_load(draw: Draw, catalogue: Raw) -> None:
    """Most random nets are half dead, or feed a converter from itself: bring this one to life.

    Every machine is on line, most contactors close, a diode in each feeder of a source keeps its
    terminals its own, and a converter is fed from the terminals of sources listed before it.
    """
    sources = [s["id"] for s in catalogue["sources"]]
    machines = [s["id"] for s in catalogue["sources"] if s["kind"] != "converter"]
    for condition in catalogue["conditions"]:
        condition["sources"] = machines
    for device in catalogue["devices"]:
        if "closes-when" in device and draw(st.integers(0, 3)):
            device["closes-when"] = [{}]
    guarded = []
    for number, feeder in enumerate(catalogue["feeders"]):
        if feeder["to"] in sources:
            feeder["from"], feeder["to"] = feeder["to"], feeder["from"]
        if feeder["to"] in sources:
            continue
        guarded.append(feeder)
        if feeder["from"] in sources:
            diode = f"guard-{number}"
            feeder["through"] = [*feeder["through"], diode]
            catalogue["devices"].append(
                {"id": diode, "name": diode, "kind": "diode", "drop-volts": 0}
            )
    catalogue["feeders"] = guarded
    for source in catalogue["sources"]:
        feeds = source.get("fed-from", [])
        for feed in feeds if isinstance(feeds, list) else [feeds]:
            feed["bus"] = draw(st.sampled_from(sources[: sources.index(source["id"])]))


def loads_and_losses(
    catalogue: Raw, airframe: str, peak: bool
) -> tuple[Network, list[tuple[Load, Loss]]]:
    """The amps and the losses in every condition with each fault alone, and with none."""
    network = build(Catalogue.model_validate(catalogue), airframe)
    conditions = [c["id"] for c in catalogue["conditions"]]
    singles = solve(network, every_single(conditions, network.faults))
    whole = solve(network, scenarios_of([Scenario(c) for c in conditions]))
    every = [*loads(singles, peak), *loads(whole, peak)]
    return network, list(zip(every, [*losses(singles), *losses(whole)], strict=True))


def single_failures(catalogue: Raw, airframe: str, peak: bool) -> tuple[Network, list[Load]]:
    """The same without the losses."""
    network, every = loads_and_losses(catalogue, airframe, peak)
    return network, [found for found, _ in every]


def carriers(network: Network, found: Load, node: str) -> list[str]:
    """The highest-volts sources that reach a node."""
    state = found.nodes[node]
    return [s for s in state.sources if network.sources[s].volts == state.volts]


def open_inputs(network: Network, found: Load, converter: str) -> list[str]:
    """The nodes of the highest volts that feed a converter's input."""
    conducts = found.amps.net.sharing.state.conducts
    feeds = [
        feed.bus
        for feed in network.sources[converter].fed_from
        if all(conducts[d] for d in feed.through) and found.nodes[feed.bus].live
    ]
    highest = max((found.nodes[n].volts for n in feeds), default=0.0)
    return [n for n in feeds if found.nodes[n].volts == highest]


def a_converter_feeds_itself(network: Network, found: Load) -> bool:
    """Some converter carries a node that its own input draws from, through others or not.

    No figures follow from such a net: the amps feed themselves.
    """
    fed_by = {
        c: {s for n in open_inputs(network, found, c) for s in carriers(network, found, n)}
        for c in found.converters
    }
    for start in fed_by:
        waiting, seen = list(fed_by[start]), set()
        while waiting:
            source = waiting.pop()
            if source not in seen:
                seen.add(source)
                waiting += fed_by.get(source, ())
        if start in seen:
            return True
    return False


def islands(network: Network, found: Load) -> Iterator[tuple[set[str], set[str]]]:
    """(sources, nodes) that share a load: each node goes with the sources that carry it."""
    parts: list[tuple[set[str], set[str]]] = [({s}, set()) for s in found.sources]
    for node in network.nodes:
        touching = set(carriers(network, found, node))
        joined: tuple[set[str], set[str]] = (touching, {node})
        apart = []
        for part in parts:
            if part[0] & touching:
                joined = (joined[0] | part[0], joined[1] | part[1])
            else:
                apart.append(part)
        parts = [*apart, joined]
    yield from parts


@thorough(160)
@given(loaded(), st.sampled_from(AIRFRAMES), st.booleans())
def test_in_every_single_failure_what_is_given_is_what_is_drawn(
    catalogue: Raw, airframe: str, peak: bool
) -> None:
    network, every = loads_and_losses(catalogue, airframe, peak)
    for found, loss in every:
        if loss.conflicts or a_converter_feeds_itself(network, found):
            continue
        volts = {node: state.volts for node, state in found.nodes.items()}
        rated = {s: network.sources[s].volts for s in found.sources}

        # Buses carry equipment and the inputs of converters, and nothing else.
        drawn = sum(found.drawn.values()) + sum(found.converters.values())
        assert sum(found.buses.values()) == amps(drawn)

        # Kirchhoff's current law, wherever sources and nodes hang together at one level of volts.
        for sources, nodes in islands(network, found):
            gives = sum(found.sources[s] for s in sources)
            assert gives == amps(sum(found.buses.get(n, 0.0) for n in nodes))

        # Equipment draws at the highest volts that it can have.
        watts = 0.0
        for item, taken in found.drawn.items():
            feeding = [
                volts[c.bus]
                for c in network.connections[item]
                if all(loss.conducts[d] for d in c.through)
            ]
            assert max(feeding) > 0
            watts += max(feeding) * taken

        # Power is lost only in converters.
        for converter, taken in found.converters.items():
            inputs = open_inputs(network, found, converter)
            into = volts[inputs[0]] * taken
            out = rated[converter] * found.sources[converter]
            assert out == amps(network.sources[converter].efficiency * into)
            watts += into - out
        machines = [s for s in found.sources if s not in found.converters]
        assert sum(rated[s] * found.sources[s] for s in machines) == amps(watts)


@thorough(160)
@given(loaded(), st.sampled_from(AIRFRAMES))
def test_every_source_that_produces_and_no_other_is_listed(catalogue: Raw, airframe: str) -> None:
    network, every = loads_and_losses(catalogue, airframe, peak=False)
    on_line = {c["id"]: c["sources"] for c in catalogue["conditions"]}
    for found, loss in every:
        well = {
            s
            for s in network.sources
            if not {(s, "lost"), (s, "shorted")} & {*found.failed}
            and s not in loss.stalled
            and not found.nodes[s].down
        }
        converters = {s for s in well if open_inputs(network, found, s)}
        assert set(found.converters) == converters
        assert set(found.sources) == converters | (well & {*on_line[found.condition]})
        assert all(gives >= 0 for gives in found.sources.values())
        assert not set(found.unknown) & set(found.drawn)
        assert all(found.nodes[n].live for n in found.buses)


@thorough(160)
@given(loaded(), st.sampled_from(AIRFRAMES), st.data())
def test_adding_a_load_never_lowers_what_a_source_gives(
    catalogue: Raw, airframe: str, data: st.DataObject
) -> None:
    network, before = single_failures(catalogue, airframe, peak=False)
    supply = {"bus": data.draw(st.sampled_from(network.nodes))}
    added = {"id": "added", "name": "Added", "ata": "24", "supplies": [supply], "amps": 10}
    larger = {**catalogue, "equipment": [*catalogue["equipment"], added]}
    for found, more in zip(before, single_failures(larger, airframe, peak=False)[1], strict=True):
        assert (found.condition, found.failed) == (more.condition, more.failed)
        if a_converter_feeds_itself(network, found):
            continue
        for source, gives in found.sources.items():
            assert more.sources[source] >= gives * (1 - NEAR)
        if more.nodes[supply["bus"]].live:
            risen = sum(more.sources.values()) - sum(found.sources.values())
            assert risen >= 10 - NEAR * sum(more.sources.values())


@thorough(160)
@given(loaded(), st.sampled_from(AIRFRAMES), st.booleans())
def test_opening_a_device_never_raises_what_equipment_draws(
    catalogue: Raw, airframe: str, peak: bool
) -> None:
    # A contactor that closes because something is dead, open or low in volts may bring equipment to
    # life, and one that starts closed may chatter: here contactors close on live buses and switches
    # alone.
    for device in catalogue["devices"]:
        for terms in device.get("closes-when", ()):
            for term in ("dead", "open", "volts-below"):
                terms.pop(term, None)
    for condition in catalogue["conditions"]:
        condition.pop("held-closed", None)
    _, every = single_failures(catalogue, airframe, peak)
    whole = {found.condition: found for found in every if not found.failed}
    for found in every:
        if all(mode == "open" for _, mode in found.failed):
            before = whole[found.condition]
            assert sum(found.drawn.values()) <= sum(before.drawn.values()) + NEAR
            assert set(found.drawn) <= set(before.drawn)


@thorough(120)
@given(loaded(), st.sampled_from(AIRFRAMES))
def test_scenarios_that_share_their_figures_have_the_same_as_each_alone(
    catalogue: Raw, airframe: str
) -> None:
    network = build(Catalogue.model_validate(catalogue), airframe)
    outcome = solve(
        network, every_single([c["id"] for c in catalogue["conditions"]], network.faults)
    )
    for k, pair in enumerate(load_pairs(outcome)):
        for found, peak in zip(pair, (False, True), strict=True):
            [alone] = loads(solve(network, scenarios_of([outcome.scenarios.at(k)])), peak)
            assert (found.condition, found.failed) == (alone.condition, alone.failed)
            assert (found.drawn, found.buses) == (alone.drawn, alone.buses)
            assert (found.sources, found.converters) == (alone.sources, alone.converters)
            assert (found.short_nodes, {*found.unknown}) == (alone.short_nodes, {*alone.unknown})


@thorough(160)
@given(loaded(), st.sampled_from(AIRFRAMES))
def test_the_amps_marked_too_low_are_those_that_what_is_unknown_would_raise(
    catalogue: Raw, airframe: str
) -> None:
    _, found = single_failures(catalogue, airframe, peak=False)
    for item in catalogue["equipment"]:
        if item["amps"] is None:
            item["amps"] = 2
        elif isinstance(item["amps"], dict):
            item["amps"] = {"cruise": 2, "approach": 2, **item["amps"]}
    _, known = single_failures(catalogue, airframe, peak=False)
    for least, whole in zip(found, known, strict=True):
        if whole.unknown:
            continue
        nodes = {n for n, amps in whole.buses.items() if amps - least.buses.get(n, 0.0) > NEAR}
        sources = {s for s, amps in whole.sources.items() if amps - least.sources[s] > NEAR}
        assert (least.short_nodes, least.short_sources) == (nodes, sources)
