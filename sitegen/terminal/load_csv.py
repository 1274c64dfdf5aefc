"""How loaded everything is, as a table for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from sitegen.answers.loads.load_table import LoadTable, most_first
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.answers.loads.worst_cases import WorstCase
from sitegen.quantities import NOT_KNOWN, PLAIN, Fraction, for_json
from sitegen.solver.network import Network
from sitegen.terminal.voltage_text import feeder_drops

COLUMNS = (
    "condition",
    "failed",
    "kind",
    "id",
    "name",
    "amps",
    "short-time amps",
    "input amps",
    "rated amps",
    "worst amps",
    "drop volts",
    "short-time drop volts",
    "volts at the item",
    "bound",
    "bound of the volts",
    "bound of the worst amps",
    "assumed",
)
"""The bounds are of amps and drops, then of volts at the item."""


def load_csv(network: Network, tables: Iterable[LoadTable]) -> str:
    """A table condition after condition; amps and volts to a thousandth."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for table in tables:
        load = table.load
        failed = " ".join(f"{component}:{mode}" for component, mode in load.failed)
        for row, bounds in _rows(network, table):
            values = [for_json(v) if isinstance(v, Fraction) else v for v in row]
            values += [None] * (len(COLUMNS) - 6 - len(values))
            bounds = ("", *bounds[1:]) if row[3] == NOT_KNOWN else bounds
            values += [*bounds, *[None] * (3 - len(bounds)), "; ".join(table.assumes)]
            writer.writerow([load.condition, failed, *("" if v is None else v for v in values)])
    return out.getvalue()


def _rows(
    network: Network, table: LoadTable
) -> Iterator[tuple[tuple[object, ...], tuple[str, ...]]]:
    """(values, what bounds they are) of each row, from the third column on."""
    names, load, peak = network.names, table.load, table.peak
    values: tuple[object, ...]
    for source in table.sources:
        s, worst = source.source, table.worst_sources.get(source.source)
        kind, most = network.sources[s].kind, worst.amps if worst else None
        taken: Fraction | str | None = load.converters.get(s)
        if isinstance(taken, Fraction):
            [taken] = _in_a_cell(s in load.short_sources, taken)
            taken = NOT_KNOWN if s in load.unknown else taken
        figures = _in_a_cell(s in load.short_sources, source.amps, source.peak)
        values = (kind, s, names[s], *figures, taken, source.rated, most)
        yield values, (_least(s in load.short_sources), "", _least_of(worst))
    for bus in network.catalogue.buses:
        drawn, short = load.buses.get(bus.id, NO_AMPS), peak.buses.get(bus.id, NO_AMPS)
        figures = _in_a_cell(bus.id in load.short_nodes, drawn, short)
        yield ("bus", bus.id, bus.name, *figures), (_least(bus.id in load.short_nodes),)
    for device, carried in table.devices.items():
        component, worst = network.components[device], table.worst_devices.get(device)
        most = worst.amps if worst else None
        [here] = _in_a_cell(carried.unknown, carried.least if carried.unknown else carried.most)
        bound = _least(carried.unknown) or ("at most" if carried.least < carried.most else "")
        values = (component.kind, device, names[device], here, None, None, component.amps, most)
        yield values, (bound, "", _least_of(worst))
    for item, amps in most_first(load.drawn):
        yield ("equipment", item, names[item], amps, peak.drawn.get(item, amps)), ()
    for item in load.unknown:
        if item in network.equipment:
            yield ("equipment", item, names[item], NOT_KNOWN), ()
    for branch, drop in feeder_drops(network, table.drops):
        ends = f"{names[branch.origin]} to {names[branch.target]}"
        key = f"{branch.origin} {branch.target}"
        values = ("feeder", key, ends, drop.amps, None, None, None, None, drop.volts)
        yield values, (drop.bound.strip(),)
    for supply in table.drops.highest_first():
        on_bus = f"{names[supply.item]} on {names[supply.bus]}"
        drops = supply.continuous, supply.short_time
        taken_here = [drop.amps if drop else None for drop in drops]
        volts = [*(drop.volts if drop else None for drop in drops), supply.at_item.volts]
        key = f"{supply.item} {supply.bus}"
        bounds = [drop.bound.strip() for drop in drops if drop and drop.bound][:1] or [""]
        bounds.append(supply.at_item.bound.strip())
        yield ("supply", key, on_bus, *taken_here, None, None, None, *volts), tuple(bounds)


def _least(unknown: bool) -> str:
    """That figures are the least, where something unknown comes on top."""
    return "at least" if unknown else ""


def _least_of(worst: WorstCase | None) -> str:
    return _least(worst is not None and worst.at_least)


def _in_a_cell(unknown: bool, *figures: Fraction) -> list[Fraction | str]:
    """Amps as they are, or that they are not known, as `Quantities.least_amps` has it."""
    return [NOT_KNOWN if PLAIN.least_amps(f, unknown) == NOT_KNOWN else f for f in figures]
