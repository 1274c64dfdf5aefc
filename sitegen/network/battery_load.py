"""How load falls on the batteries, at once and after the crew has acted.

Load is linear in amps while nothing moves: one ampere at each node tells what a battery gives for
every ampere of every piece of equipment. The rules of who carries what are those of `loads`.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from sitegen.catalogue.model import Then
from sitegen.network.drop import NodeState, node_states, truths
from sitegen.network.loads import (
    SMALLEST_CHANGE,
    STEPS,
    State,
    carried_by_themselves,
    given_by_sources,
    input_amps,
    live_inputs,
    split,
    supplied,
)
from sitegen.network.network import Network
from sitegen.network.outcome import Outcome, Power
from sitegen.network.scenarios import listed
from sitegen.network.settle import setting_for, settle

Share = dict[str, dict[str, float]]
"""By battery, by equipment: what the battery gives for each ampere that the equipment draws."""


@dataclass(frozen=True)
class Phase:
    """How load falls on the batteries from a minute on, until the next of them is flat."""

    start: float
    flat: tuple[str, ...]
    """The batteries that are flat by then, the last one last."""
    at_once: Share
    crew: list[Share]
    """After the crew has acted: after all acts, then with each one of them left undone."""


def phase_from(start: float, flat: tuple[str, ...], at_once: Outcome, crew: Outcome) -> Phase:
    """A phase, from one scenario at once and from what `after_acts` made of it.

    Where nobody acts, `crew` is `at_once` itself.
    """
    shares = _shares(at_once)
    return Phase(start, flat, shares[0], shares if crew is at_once else _shares(crew))


def on_batteries(power: Power) -> int:
    """The scenarios in which a battery may carry load: elsewhere there is no clock to ask for."""
    network = power.settled.network
    feeding = {run.origin for run in network.runs if run.into_converter}
    found = 0
    for source in network.sources.values():
        if source.kind == "battery":
            for node in network.nodes:
                if network.on_bus[node] or node in feeding:
                    level = dict(power.volts[node]).get(source.volts, 0)
                    found |= level & power.reach[source.id][node]
    return found


@dataclass(frozen=True)
class _Stand:
    """A `State` without the rest of a `Loss`, which costs more than all else here."""

    nodes: dict[str, NodeState]
    conducts: dict[str, bool]


def _shares(outcome: Outcome) -> list[Share]:
    """In every scenario, what each battery gives for each ampere of each piece of equipment."""
    found: list[Share] = []
    count = outcome.scenarios.count
    states = zip(
        node_states(outcome.after, count),
        truths(outcome.after.settled.conducts, count),
        strict=True,
    )
    for (nodes, conducts), drawing in zip(states, supplied(outcome), strict=True):
        state = _Stand(nodes, conducts)
        circular = carried_by_themselves(outcome.network, state)
        per_amp = _per_amp(outcome.network, state, circular)
        shares: Share = {}
        # What such a converter draws is not known: it stands among the equipment, with no figure.
        feeding = {c: live_inputs(outcome.network, state, c) for c in circular}
        for item, buses in (*drawing.items(), *feeding.items()):
            for bus, part in split(state, buses, 1.0):
                for battery, amps in per_amp[bus].items():
                    of_battery = shares.setdefault(battery, {})
                    of_battery[item] = of_battery.get(item, 0.0) + part * amps
        found.append(shares)
    return found


def _per_amp(
    network: Network, state: State, circular: Container[str]
) -> dict[str, dict[str, float]]:
    """By node, by battery: what the battery gives for an ampere drawn there."""
    given = {n: given_by_sources(network, state, {n: 1.0}) for n in network.nodes}
    carriers = {n: {s: part for s, part in found.items() if part} for n, found in given.items()}
    inputs: dict[str, dict[str, float]] = {}
    for source, record in network.sources.items():
        if record.kind == "converter" and source not in circular:
            taken = inputs[source] = {}
            # Two feeds of one converter may come from one bus.
            for bus, amps in split(
                state, live_inputs(network, state, source), input_amps(network, state, source, 1.0)
            ):
                taken[bus] = taken.get(bus, 0.0) + amps
    helped = _helped(network, carriers, inputs)
    direct = {
        n: {
            s: part
            for s, part in found.items()
            if n not in helped and network.sources[s].kind == "battery"
        }
        for n, found in carriers.items()
    }
    per_amp = direct
    for _ in range(STEPS):
        through = {n: dict(amps) for n, amps in direct.items()}
        for node, found in carriers.items():
            for converter, part in found.items() if node not in helped else ():
                for origin, each in inputs.get(converter, {}).items():
                    for battery, amps in per_amp[origin].items():
                        more = part * each * amps
                        through[node][battery] = through[node].get(battery, 0.0) + more
        moved = any(
            abs(amps - per_amp[n].get(battery, 0.0)) > SMALLEST_CHANGE
            for n, found in through.items()
            for battery, amps in found.items()
        )
        per_amp = through
        if not moved:
            break
    return per_amp


def _helped(
    network: Network,
    carriers: Mapping[str, Mapping[str, float]],
    inputs: Mapping[str, Mapping[str, float]],
) -> set[str]:
    """The nodes whose load a generator or external power carries, alone or with others."""
    machines = {s for s, r in network.sources.items() if r.kind not in ("battery", "converter")}
    while True:
        helped = {n for n, found in carriers.items() if machines & found.keys()}
        behind = {s for s, origins in inputs.items() if helped & origins.keys()}
        if behind <= machines:
            return helped
        machines |= behind


# What the crew has done


def after_acts(at_once: Outcome, then: Then, acts: Sequence[str]) -> Outcome:
    """One scenario after the crew has acted, then with each of these acts left undone.

    What the crew sheds is left on here: it moves nothing, and is counted by itself.
    """
    network, scenario = at_once.network, at_once.scenarios.at(0)
    scenarios = listed([scenario] * (1 + len(acts)))
    setting = setting_for(
        network,
        scenarios,
        switches={scenario.condition: then.switches},
        pulled={scenario.condition: then.pulled},
    )
    as_before = setting_for(network, scenarios)
    position, opened = dict(setting.position), dict(setting.open)
    for number, act in enumerate(acts, 1):
        undone = 1 << number
        for place in position:
            if place[0] == act:
                position[place] = _mixed(position[place], as_before.position[place], undone)
        if act in opened:
            opened[act] = _mixed(opened[act], as_before.open[act], undone)
    conducts = at_once.after.settled.conducts
    start = {d: scenarios.all if conducts[d] else 0 for d in network.moving}
    settled = settle(network, replace(setting, position=position, open=opened), start)
    return Outcome(network, scenarios, at_once.before, Power(settled))


def _mixed(mask: int, other: int, where: int) -> int:
    return mask & ~where | other & where


def with_flat(outcome: Outcome, flat: Iterable[str]) -> Outcome:
    """The scenarios again when these batteries are flat, settled from where they stood."""
    settled = outcome.after.settled
    setting = settled.setting
    on_line = {**setting.on_line, **dict.fromkeys(flat, 0)}
    start = {d: settled.conducts[d] for d in outcome.network.moving}
    again = settle(outcome.network, replace(setting, on_line=on_line), start)
    return replace(outcome, after=Power(again))
