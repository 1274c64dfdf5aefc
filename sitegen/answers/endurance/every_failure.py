"""The battery's time after every single failure, each distinct way of standing worked out once.

Most single failures leave the batteries as they were. What a clock reads of a net is: which sources
reach which node, which supplies of equipment and of converters are live; now, and again when this
or that battery is flat. Where all of it is the same for two failures, so are their clocks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.battery_load import on_batteries, with_flat
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.source_loads import read_for_loads
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, Power, solve
from sitegen.solver.scenarios import Fault, Scenario, bits, by_scenario, every_single, scenarios_of

MOST_BATTERIES = 4
"""With more, there are too many orders of going flat to look for what is alike beforehand."""

Clocks = tuple[Endurance, ...]


def every_battery_endurance(
    network: Network, faults: Sequence[Fault], before: Power
) -> dict[Scenario, Clocks]:
    """The clocks of each fault alone, in each condition in which a battery carries load.

    The same as `battery_times` for each of them, in a fraction of the time; scenarios without a
    clock are left out.
    """
    conditions = {c.id: c.loads for c in network.catalogue.conditions}
    every = every_single(list(conditions), list(faults))
    carried = on_batteries(solve(network, every, before).after)
    scenarios = [every.at(k) for k in bits(carried)]
    if not scenarios:
        return {}
    known: dict[object, Clocks] = {}
    found = {}
    standing = _standing(solve(network, scenarios_of(scenarios), before))
    for scenario, stands in zip(scenarios, standing, strict=True):
        key = (conditions[scenario.condition], stands)
        if key not in known:
            known[key] = tuple(
                battery_endurances(network, scenario.condition, scenario.faults, before=before)
            )
        if known[key]:
            found[scenario] = known[key]
    return found


def _standing(outcome: Outcome) -> Iterator[object]:
    """By scenario, all that a clock reads of the net; equal where the clocks are equal."""
    batteries = [s.id for s in outcome.network.sources.values() if s.kind == "battery"]
    if len(batteries) > MOST_BATTERIES:
        return iter(range(outcome.scenarios.count))
    gone = [c for size in range(1, len(batteries)) for c in combinations(batteries, size)]
    stages = [outcome, *(with_flat(outcome, flat) for flat in gone)]
    return by_scenario(
        [mask for stage in stages for mask in read_for_loads(stage.after)], outcome.scenarios.count
    )
