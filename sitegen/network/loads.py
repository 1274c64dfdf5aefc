"""Question 6: how loaded is each source, bus and converter?

Rules (design of the answers): equipment with several live supplies draws from those whose bus shows
the highest volts, equally. A bus's load is carried by the highest-volts sources that reach it, in
proportion to their rated amps. A converter draws output volts x amps / (efficiency x input volts).
Battery charging is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from sitegen.network.drop import Loss, NodeState, losses
from sitegen.network.load_figures import amps_of
from sitegen.network.narrow import narrowed
from sitegen.network.network import Network
from sitegen.network.outcome import Outcome, Power
from sitegen.network.scenarios import bits, by_scenario, listed

STEPS = 50
"""Converters may feed converters; after so many steps the figures no longer change."""
SMALLEST_CHANGE = 1e-12


class State(Protocol):
    """How a net stands in one scenario, as far as loads go. A `Loss` is one."""

    @property
    def nodes(self) -> Mapping[str, NodeState]:
        """By node."""

    @property
    def conducts(self) -> Mapping[str, bool]:
        """By device."""


@dataclass(frozen=True)
class Load:
    """Amps in one scenario."""

    loss: Loss
    drawn: dict[str, float]
    """By equipment that is powered and has figures: what it draws, A."""
    buses: dict[str, float]
    """By node: what equipment and converters draw from it, A."""
    sources: dict[str, float]
    """By source that produces: what it gives, A."""
    converters: dict[str, float]
    """By converter that produces: what it takes at its input, A; 0 if it is among the unknown."""
    unknown: tuple[str, ...]
    """Powered equipment without figures, and converters whose output carries their own input, from
    which no figure follows: every total leaves them out."""


def loads(
    outcome: Outcome, peak: bool = False, answers: Sequence[Loss] | None = None
) -> list[Load]:
    """The amps in every scenario, in the order of the scenarios.

    Parameters
    ----------
    outcome : the solved scenarios; each uses its condition's load column.
    peak : short-time figures where equipment has them, instead of continuous ones.
    answers : the losses of the same scenarios, where the caller has them.
    """
    network = outcome.network
    answers = losses(outcome) if answers is None else answers
    columns = {c.id: c.loads for c in network.catalogue.conditions}
    figures: dict[str | None, dict[str, float | None]] = {
        column: {e.id: amps_of(e, column, peak) for e in network.equipment.values()}
        for column in set(columns.values())
    }
    fed = supplied(outcome)
    return [
        _load(network, loss, fed[k], figures[columns[loss.condition]])
        for k, loss in enumerate(answers)
    ]


def loads_alike(outcome: Outcome, answers: Sequence[Loss]) -> list[Load]:
    """As `loads`; scenarios in which all that loads follow from is alike share their figures.

    Most failures leave most of the net as it was: the figures are worked out once for all of these.
    Two such answers hold the same dicts, so `is` tells them.
    """
    after = outcome.after
    of_column: dict[str | None, int] = {}
    for condition in outcome.network.catalogue.conditions:
        here = after.settled.setting.in_condition.get(condition.id, 0)
        of_column[condition.loads] = of_column.get(condition.loads, 0) | here
    producing = (after.reach[source][source] for source in outcome.network.sources)
    kinds: dict[tuple[bool, ...], int] = {}
    rows = by_scenario(
        [*of_column.values(), *producing, *read_for_loads(after)], outcome.scenarios.count
    )
    kind_of = [kinds.setdefault(row, k) for k, row in enumerate(rows)]
    firsts = list(kinds.values())
    few = replace(
        outcome,
        scenarios=listed([outcome.scenarios.at(k) for k in firsts]),
        after=narrowed(after, firsts),
    )
    found = dict(zip(firsts, loads(few, answers=[answers[k] for k in firsts]), strict=True))
    return [replace(found[k], loss=loss) for k, loss in zip(kind_of, answers, strict=True)]


def read_for_loads(power: Power) -> Iterator[int]:
    """The masks from which it follows who carries what: where all are alike, so are the shares.

    They say which sources carry the load of a node, which converters have which live inputs, and
    from which of its supplies each piece of equipment draws.
    """
    settled, network = power.settled, power.settled.network
    levels = {node: dict(power.volts[node]) for node in network.nodes}
    inputs = [
        (run, mask)
        for run, mask in zip(network.runs, settled.run_masks, strict=True)
        if run.into_converter
    ]
    drawn_from = {node for node in network.nodes if network.on_bus[node]}
    for node in sorted(drawn_from | {run.origin for run, _ in inputs}):
        for source in network.sources.values():
            yield levels[node].get(source.volts, 0) & power.reach[source.id][node]
    for run, mask in inputs:
        yield mask & settled.live[run.origin]
    for item, equipment in network.equipment.items():
        every = settled.setting.all
        if equipment.needs == "all":
            for mask in power.fed[item]:
                every &= mask
        supplies = [
            (volts, mask & fed & every)
            for connection, fed in zip(network.connections[item], power.fed[item], strict=True)
            for volts, mask in levels[connection.bus].items()
        ]
        for volts, mask in supplies:
            for others, higher in supplies:
                if others > volts:
                    mask &= ~higher
            yield mask


def supplied(outcome: Outcome) -> list[dict[str, list[str]]]:
    """By scenario, by equipment that has the supply it needs and is not turned off: where it draws.

    The list names the bus of every live supply.
    """
    network = outcome.network
    fed: list[dict[str, list[str]]] = [{} for _ in range(outcome.scenarios.count)]
    for item, equipment in network.equipment.items():
        if item in outcome.after.shed:
            continue
        connections = network.connections[item]
        for connection, mask in zip(connections, outcome.after.fed[item], strict=True):
            for k in bits(mask):
                fed[k].setdefault(item, []).append(connection.bus)
        if equipment.needs == "all":
            for drawing in fed:
                if len(drawing.get(item, ())) < len(connections):
                    drawing.pop(item, None)
    return fed


def _load(
    network: Network,
    loss: Loss,
    fed: Mapping[str, Sequence[str]],
    figures: Mapping[str, float | None],
) -> Load:
    from_equipment: dict[str, float] = {}
    drawn: dict[str, float] = {}
    unknown: list[str] = []
    for item, buses_of_item in fed.items():
        amps = figures[item]
        if amps is None:
            unknown.append(item)
            continue
        drawn[item] = amps
        for bus, share in split(loss, buses_of_item, amps):
            from_equipment[bus] = from_equipment.get(bus, 0.0) + share
    buses, sources = from_equipment, given_by_sources(network, loss, from_equipment)
    converters: dict[str, float] = {}
    circular = carried_by_themselves(network, loss)
    for _ in range(STEPS):
        taken = {
            source: 0.0 if source in circular else input_amps(network, loss, source, given)
            for source, given in sources.items()
            if network.sources[source].kind == "converter"
        }
        moved = max(
            (abs(amps - converters.get(source, 0.0)) for source, amps in taken.items()), default=0.0
        )
        converters = taken
        if moved <= SMALLEST_CHANGE:
            break
        buses = dict(from_equipment)
        for source, amps in converters.items():
            for bus, share in split(loss, live_inputs(network, loss, source), amps):
                buses[bus] = buses.get(bus, 0.0) + share
        sources = given_by_sources(network, loss, buses)
    return Load(loss, drawn, buses, sources, converters, (*unknown, *circular))


def split(state: State, buses: Sequence[str], amps: float) -> Iterator[tuple[str, float]]:
    """Share amps equally over the supplies whose bus shows the highest volts."""
    if len(buses) < 2:
        yield from ((bus, amps) for bus in buses)
        return
    highest = max(state.nodes[bus].volts for bus in buses)
    carrying = [bus for bus in buses if state.nodes[bus].volts == highest]
    for bus in carrying:
        yield bus, amps / len(carrying)


def given_by_sources(
    network: Network, state: State, buses: Mapping[str, float]
) -> dict[str, float]:
    """What each source gives, when this is drawn from the nodes."""
    given = {source: 0.0 for source in network.sources if source in state.nodes[source].sources}
    for bus, drawn in buses.items():
        for source, amps in sharing(network, state, bus, drawn):
            given[source] = given.get(source, 0.0) + amps
    return given


def sharing(network: Network, state: State, bus: str, amps: float) -> Iterator[tuple[str, float]]:
    """What each of the highest-volts sources that reach a node gives of the amps drawn there."""
    reaching = state.nodes[bus].sources
    if len(reaching) < 2:
        yield from ((source, amps) for source in reaching)
        return
    highest = max(network.sources[s].volts for s in reaching)
    carrying = [s for s in reaching if network.sources[s].volts == highest]
    ratings = [network.sources[s].amps for s in carrying]
    # Without every rating there is no proportion to go by: they share equally.
    weights = [r or 0.0 for r in ratings] if all(ratings) else [1.0] * len(carrying)
    for source, weight in zip(carrying, weights, strict=True):
        yield source, amps * weight / sum(weights)


def carried_by_themselves(network: Network, state: State) -> list[str]:
    """The converters whose output carries what they draw at their own input, through others or not.

    An inverter fed from a bus that a transformer-rectifier holds up, itself fed by the inverter:
    the amps feed themselves, and there is no sum to tell.
    """
    behind: dict[str, set[str]] = {}
    for source, record in network.sources.items():
        if record.kind == "converter" and source in state.nodes[source].sources:
            inputs = split(state, live_inputs(network, state, source), 1.0)
            given = given_by_sources(network, state, {bus: 1.0 for bus, _ in inputs})
            behind[source] = {
                s for s, a in given.items() if a and network.sources[s].kind == "converter"
            }
    return [c for c in behind if c in _all_behind(c, behind)]


def _all_behind(start: str, behind: Mapping[str, set[str]]) -> set[str]:
    found: set[str] = set()
    waiting = list(behind[start])
    while waiting:
        source = waiting.pop()
        if source not in found:
            found.add(source)
            waiting.extend(behind.get(source, ()))
    return found


def live_inputs(network: Network, state: State, converter: str) -> list[str]:
    """The live nodes from which power comes through to a converter's input."""
    return [
        run.origin
        for run in network.runs
        if run.into_converter
        and run.target == converter
        and state.nodes[run.origin].live
        and all(state.conducts[d] for d in run.through)
    ]


def input_amps(network: Network, state: State, converter: str, given: float) -> float:
    """What a converter takes at its input while it gives so many amps."""
    record = network.sources[converter]
    volts = max((state.nodes[n].volts for n in live_inputs(network, state, converter)), default=0.0)
    return record.volts * given / (record.efficiency * volts) if volts else 0.0
