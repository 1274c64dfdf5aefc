"""How loaded each source, bus and converter is.

Who carries what is in `sharing.py`. Battery charging is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from sitegen.answers.drop import Loss, losses
from sitegen.answers.loads.sharing import Sharing
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome
from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits, by_scenario, scenarios_of
from sitegen.solver.subset import narrowed


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
    """Powered equipment without figures, and converters whose output feeds their own input, from
    which no figure follows: no total includes them."""
    short_nodes: frozenset[str]
    short_sources: frozenset[str]
    """From these something unknown draws: their amps, and a converter's input, are too low."""

    def least_at(self, node: str) -> str:
        """`at least ` before the amps of a node that are too low, else nothing."""
        return "at least " if node in self.short_nodes else ""

    def least_from(self, source: str) -> str:
        """The same for what a source gives, and for a converter's input."""
        return "at least " if source in self.short_sources else ""


def loads(outcome: Outcome, peak: bool = False) -> list[Load]:
    """The amps in every scenario, in the order of the scenarios.

    Parameters
    ----------
    outcome : the solved scenarios; each uses its condition's load column.
    peak : short-time figures where equipment has them, instead of continuous ones.
    """
    return _with_figures(outcome.network, _drawing(outcome, losses(outcome)), peak)


def loads_and_peaks(outcome: Outcome, answers: Sequence[Loss]) -> tuple[list[Load], list[Load]]:
    """The amps in every scenario, continuous and with short-time figures, as `loads` has them.

    Most failures leave most of the net as it was. Scenarios in which all that loads follow from is
    the same share their figures: their loads hold the same dicts, which `is` shows.

    Parameters
    ----------
    outcome : the solved scenarios.
    answers : the losses of the same scenarios.
    """
    after = outcome.after
    of_column: dict[str | None, int] = {}
    for condition in outcome.network.catalogue.conditions:
        here = after.steady.setting.in_condition.get(condition.id, 0)
        of_column[condition.loads] = of_column.get(condition.loads, 0) | here
    producing = (after.reach[source][source] for source in outcome.network.sources)
    first_with: dict[tuple[bool, ...], int] = {}
    rows = by_scenario(
        [*of_column.values(), *producing, *masks_for_loads(after)], outcome.scenarios.count
    )
    first_like = [first_with.setdefault(row, k) for k, row in enumerate(rows)]
    firsts = list(first_with.values())
    distinct = replace(
        outcome,
        scenarios=scenarios_of([outcome.scenarios.at(k) for k in firsts]),
        after=narrowed(after, firsts),
    )
    drawing = _drawing(distinct, [answers[k] for k in firsts])
    continuous, peaks = (
        dict(zip(firsts, _with_figures(outcome.network, drawing, peak), strict=True))
        for peak in (False, True)
    )
    return (
        [replace(continuous[k], loss=loss) for k, loss in zip(first_like, answers, strict=True)],
        [replace(peaks[k], loss=loss) for k, loss in zip(first_like, answers, strict=True)],
    )


def masks_for_loads(power: Power) -> Iterator[int]:
    """The masks from which it follows who carries what: where all are the same, so are the shares.

    They say which sources carry the load of a node, which converters have which live inputs, and
    from which of its supplies each piece of equipment draws.
    """
    steady, network = power.steady, power.steady.network
    levels = {node: dict(power.volts[node]) for node in network.nodes}
    inputs = [
        (branch, mask)
        for branch, mask in zip(network.branches, steady.branch_masks, strict=True)
        if branch.into_converter
    ]
    drawn_from = {node for node in network.nodes if network.on_bus[node]}
    for node in sorted(drawn_from | {branch.origin for branch, _ in inputs}):
        for source in network.sources.values():
            yield power.carriers[node].get(source.id, 0)
    for branch, mask in inputs:
        yield mask & steady.live[branch.origin]
    for item, equipment in network.equipment.items():
        every = steady.setting.all
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


def powered_from(outcome: Outcome) -> list[dict[str, list[str]]]:
    """By scenario and equipment: the bus of every live supply.

    Equipment that has not the supply it needs, or is turned off, is left out.
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


_Drawing = tuple[Loss, Sharing, dict[str, list[str]]]
"""One scenario: its losses, who carries what, and where each piece of equipment draws."""


def _drawing(outcome: Outcome, answers: Sequence[Loss]) -> list[_Drawing]:
    return [
        (loss, Sharing(outcome.network, loss), fed)
        for loss, fed in zip(answers, powered_from(outcome), strict=True)
    ]


def _with_figures(network: Network, drawing: Sequence[_Drawing], peak: bool) -> list[Load]:
    columns = {c.id: c.loads for c in network.catalogue.conditions}
    return [
        _load(loss, sharing, fed, network.figures[columns[loss.condition], peak])
        for loss, sharing, fed in drawing
    ]


def _load(
    loss: Loss,
    sharing: Sharing,
    fed: Mapping[str, Sequence[str]],
    figures: Mapping[str, float | None],
) -> Load:
    buses: dict[str, float] = {}
    drawn: dict[str, float] = {}
    # What has no figure, and where it draws.
    unknown: dict[str, Sequence[str]] = {}
    for item, buses_of_item in fed.items():
        amps = figures[item]
        if amps is None:
            unknown[item] = buses_of_item
            continue
        drawn[item] = amps
        for bus, part in sharing.drawn_from(buses_of_item):
            buses[bus] = buses.get(bus, 0.0) + part * amps
    sources = dict.fromkeys(sharing.producing, 0.0)
    for bus, amps in buses.items():
        for source, part in sharing.source_amps(bus).items():
            sources[source] += part * amps
    converters: dict[str, float] = {}
    for converter, inputs in sharing.inputs.items():
        converters[converter] = 0.0
        if converter not in sharing.circular:
            for bus, part in inputs.items():
                taken = part * sources[converter]
                converters[converter] += taken
                buses[bus] = buses.get(bus, 0.0) + taken
    for converter in sharing.circular:
        unknown[converter] = [branch.origin for branch in sharing.live_inputs(converter)]
    drawn_at = {n for nodes in unknown.values() for n, _ in sharing.drawn_from(nodes)}
    short = {source for node in drawn_at for source in sharing.source_amps(node)}
    drawn_at |= {node for source in short for node in sharing.inputs.get(source, ())}
    return Load(
        loss,
        drawn,
        buses,
        sources,
        converters,
        tuple(unknown),
        short_nodes=frozenset(drawn_at),
        short_sources=frozenset(short),
    )
