"""One airframe's wiring, made ready for computing.

Nodes are sources and buses; a `Network` is built once from a checked catalogue and never changes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from graphlib import TopologicalSorter

from sitegen.catalogue.fitted import on_airframe
from sitegen.catalogue.kinds import KINDS, OVERCURRENT, SWITCHING
from sitegen.catalogue.model import (
    Bus,
    Catalogue,
    Device,
    Equipment,
    Feed,
    Feeder,
    Indication,
    Named,
    Source,
    Supply,
    Terms,
    required_ids,
)
from sitegen.catalogue.panel_position import panel_and_position
from sitegen.catalogue.protector_ids import own_protectors
from sitegen.catalogue.wire_chart import wire_ohms
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import Figures, amps_of, millivolts, supply_amps
from sitegen.words import in_short


@dataclass(frozen=True)
class Component:
    """Something that can fail, be pulled or be searched for."""

    id: str
    name: str
    kind: str
    """A device kind, `bus`, or a source kind (`generator`, `battery` ...)."""
    modes: tuple[str, ...]
    amps: float | None = None
    panel: str | None = None
    at: str | None = None


@dataclass(frozen=True)
class Branch:
    """A feeder, or the feed into a converter: a conductor between two nodes, devices in series."""

    origin: str
    target: str
    through: tuple[str, ...]
    one_way: bool
    """It has a diode: power passes from origin to target only."""
    into_converter: bool
    """The target is a converter's input: nothing comes back, and the source there is another."""
    protective: tuple[str, ...]
    """The devices in it that open on a short."""
    diodes: tuple[str, ...]
    """The diodes in it."""
    ohms: Fraction | None = None
    """Of its conductor (`wire_ohms`); None where that is not known."""


@dataclass(frozen=True)
class Connection:
    """One supply of a piece of equipment or an indication."""

    bus: str
    protector: str | None
    """The id of its breaker or fuse."""
    through: tuple[str, ...]
    """All devices between the bus and the equipment, the protector first."""
    ohms: Fraction | None = None
    """Of its conductor (`wire_ohms`); None where that is not known."""


@dataclass(frozen=True, eq=False)
class Network:
    """One airframe's wiring. Dictionaries keep the author's order."""

    catalogue: Catalogue
    """What is fitted to this airframe."""
    airframe: str
    components: dict[str, Component]
    sources: dict[str, Source]
    branches: tuple[Branch, ...]
    switching: dict[str, tuple[Terms, ...]]
    """Contactors, relays and switches, each with its closing conditions."""
    equipment: dict[str, Equipment]
    connections: dict[str, tuple[Connection, ...]]
    """By the id of the equipment or indication."""
    resolve_order: tuple[str, ...]
    """Equipment ids, each after everything that it requires."""

    def rating(self, component: str) -> float | None:
        """The amps of a source, a device, or a breaker of a supply; None where none are given."""
        return (self.sources.get(component) or self.components[component]).amps

    @cached_property
    def millivolts(self) -> dict[str, int]:
        """By source its volts, and by diode its forward drop, mV."""
        return {
            **{s.id: millivolts(s.volts) for s in self.sources.values()},
            **{d.id: millivolts(d.drop_volts) for d in self.catalogue.devices if d.kind == "diode"},
        }

    @cached_property
    def millivolt_ranges(self) -> dict[str, tuple[int, int]]:
        """By source that has one: its `volts-range`, mV."""
        return {
            s.id: (millivolts(s.volts_range[0]), millivolts(s.volts_range[1]))
            for s in self.sources.values()
            if s.volts_range
        }

    @cached_property
    def millivolt_changes(self) -> dict[str, tuple[int, int]]:
        """By source with a `volts-range`, how far its bottom and its top are from its volts, mV."""
        return {
            s: (low - self.millivolts[s], high - self.millivolts[s])
            for s, (low, high) in self.millivolt_ranges.items()
        }

    def at_volts(self, volts: Mapping[str, float]) -> Network:
        """The same airframe with some sources at other volts, and without a range round them."""
        moved = {
            s: self.sources[s].model_copy(update={"volts": v, "volts_range": None})
            for s, v in volts.items()
        }
        return replace(self, sources={**self.sources, **moved})

    @cached_property
    def min_millivolts(self) -> dict[str, int]:
        """By equipment that has such a limit: the least at which a supply is of use, mV."""
        return {e.id: millivolts(e.min_volts) for e in self.equipment.values() if e.min_volts}

    @cached_property
    def hazards(self) -> dict[str, str]:
        """By source, bus and equipment that has one: what can hurt someone there."""
        c = self.catalogue
        records: tuple[Source | Bus | Equipment, ...] = (*c.sources, *c.buses, *c.equipment)
        return {r.id: r.hazard.removesuffix(".") for r in records if r.hazard}

    def hazard_in_short(self, name: str) -> str:
        """What can hurt someone there in the few words before the colon; empty for nothing."""
        return in_short(self.hazards.get(name, ""))

    @cached_property
    def by_volts(self) -> bool:
        """Whether any switching device follows volts."""
        return any(t.volts_above or t.volts_below for s in self.switching.values() for t in s)

    @property
    def goes_by_volts(self) -> bool:
        """Whether any switching device follows volts, or any equipment needs a least of them."""
        return self.by_volts or bool(self.min_millivolts)

    @cached_property
    def dropping_out(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What drops out in a dip: by the catalogue; with all of which it does not say it."""
        says = {d.id: d.rides_through for d in self.catalogue.devices}
        every = tuple(d for d in self.switching if not says[d])
        return tuple(d for d in every if says[d] is False), every

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Sources, then buses."""
        return (*self.sources, *(b.id for b in self.catalogue.buses))

    @cached_property
    def inputs(self) -> dict[str, tuple[Branch, ...]]:
        """By converter: the branches that lead to its input."""
        return {
            s: tuple(
                branch for branch in self.branches if branch.into_converter and branch.target == s
            )
            for s, record in self.sources.items()
            if record.kind == "converter"
        }

    @cached_property
    def figures(self) -> dict[tuple[str | None, bool], Figures]:
        """By load column, and whether short-time: what each piece of equipment draws, A.

        None where the catalogue has no figure. Column None is that of a condition without one.
        """
        named = (c.id for c in self.catalogue.load_columns)
        columns = {None, *named, *(c.loads for c in self.catalogue.conditions)}
        return {
            (column, peak): {e.id: amps_of(e, column, peak) for e in self.equipment.values()}
            for column in columns
            for peak in (False, True)
        }

    @cached_property
    def columns(self) -> dict[str, str | None]:
        """By condition: its load column."""
        return {c.id: c.loads for c in self.catalogue.conditions}

    @cached_property
    def supply_figures(self) -> dict[tuple[str, str | None], tuple[Fraction, ...]]:
        """By equipment with a figure for each of its supplies, and load column: these, A.

        What is not known counts 0 here, and makes the equipment's own figure not known.
        """
        return {
            (e.id, column): tuple(amps or Fraction() for amps in supply_amps(e, column))
            for e in self.equipment.values()
            for column, peak in self.figures
            if not peak and supply_amps(e, column)
        }

    @cached_property
    def follow_volts(self) -> frozenset[str]:
        """The equipment whose amps follow the volts of DC buses."""
        return frozenset(
            e.id
            for e in self.equipment.values()
            if e.load != "constant-current" and self.load_millivolts is not None
        )

    @cached_property
    def dc_nodes(self) -> frozenset[str]:
        """The nodes at which amps follow the volts."""
        nodes: tuple[Source | Bus, ...] = (*self.sources.values(), *self.catalogue.buses)
        return frozenset(node.id for node in nodes if node.current == "dc")

    @cached_property
    def load_millivolts(self) -> int | None:
        """The volts at which amps were taken, mV; None: whatever the bus has."""
        volts = self.catalogue.aircraft.load_volts
        return None if volts is None else millivolts(volts)

    @cached_property
    def condition_names(self) -> dict[str, str]:
        """What a person calls each condition."""
        return {c.id: c.name for c in self.catalogue.conditions}

    @cached_property
    def panel_names(self) -> dict[str, str]:
        """What a person calls each panel."""
        return {p.id: p.name for p in self.catalogue.panels}

    @cached_property
    def positions(self) -> dict[str, str]:
        """By component: its panel and the position on it, `Left side wall panel B7`."""
        return {
            c.id: panel_and_position(self.panel_names.get(c.panel or ""), c.at)
            for c in self.components.values()
        }

    @cached_property
    def names(self) -> dict[str, str]:
        """What a person calls each component, piece of equipment, function and indication.

        Breakers of one placard are distinguished by their positions.
        """
        c = self.catalogue
        named: tuple[Named, ...] = (*c.equipment, *c.functions, *c.indications, *c.switches)
        placards = Counter(component.name for component in self.components.values())
        return {
            **{record.id: record.name for record in named},
            **{
                d.id: f"{d.name} ({self.positions[d.id]})"
                if d.at and placards[d.name] > 1
                else d.name
                for d in self.components.values()
            },
        }

    @cached_property
    def faults(self) -> tuple[tuple[str, str], ...]:
        """Every failure of one component, as (component id, mode)."""
        return tuple((c.id, mode) for c in self.components.values() for mode in c.modes)

    @cached_property
    def combined_faults(self) -> tuple[tuple[str, str], ...]:
        """The faults that are tried in twos and threes: rare and harmless ones are left out."""
        return tuple(
            (c, mode) for c, mode in self.faults if mode != KINDS[self.components[c].kind].rare
        )

    @cached_property
    def on_bus(self) -> dict[str, tuple[tuple[str, Connection], ...]]:
        """For each bus the equipment that it supplies, with the connection."""
        supplied: dict[str, list[tuple[str, Connection]]] = {n: [] for n in self.nodes}
        for equipment in self.equipment:
            for connection in self.connections[equipment]:
                supplied[connection.bus].append((equipment, connection))
        return {node: tuple(found) for node, found in supplied.items()}

    @cached_property
    def loaded_nodes(self) -> tuple[str, ...]:
        """The nodes from which equipment or converters draw."""
        inputs = {branch.origin for branch in self.branches if branch.into_converter}
        return tuple(node for node in self.nodes if self.on_bus[node] or node in inputs)


def build(catalogue: Catalogue, airframe: str) -> Network:
    """Make one airframe's network from a checked catalogue, or give that which was made before.

    Parameters
    ----------
    catalogue : the whole fleet's Catalogue, without errors.
    airframe : the id of one of its airframes.
    """
    return _built(_Identity(catalogue), airframe)


class _Identity:
    """A catalogue as a key: it is the same only as itself."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Identity) and self.catalogue is other.catalogue

    def __hash__(self) -> int:
        return id(self.catalogue)


@lru_cache(maxsize=8)
def _built(of: _Identity, airframe: str) -> Network:
    """The checks of a catalogue and its answers ask for the same airframes one after the other."""
    catalogue = of.catalogue
    fitted = on_airframe(catalogue, airframe)
    protectors = {
        id(supply): Component(made, p.name, kind, KINDS[kind].modes, p.amps, p.panel, p.at)
        for supply, kind, p, made in own_protectors(catalogue)
    }
    sources = {s.id: s for s in fitted.sources}
    devices = {d.id: d for d in fitted.devices}
    components = {
        **{s.id: Component(s.id, s.name, s.kind, KINDS[s.kind].modes) for s in fitted.sources},
        **{b.id: Component(b.id, b.name, "bus", KINDS["bus"].modes) for b in fitted.buses},
        **{
            d.id: Component(d.id, d.name, d.kind, KINDS[d.kind].modes, d.amps, d.panel, d.at)
            for d in fitted.devices
        },
    }
    connections: dict[str, tuple[Connection, ...]] = {}
    owners: tuple[Equipment | Indication, ...] = (*fitted.equipment, *fitted.indications)
    for owner in owners:
        found = []
        for supply in owner.supplies:
            written = protectors.get(id(supply))
            if written is not None:
                components[written.id] = written
            found.append(_connection(supply, written))
        connections[owner.id] = tuple(found)
    return Network(
        catalogue=fitted,
        airframe=airframe,
        components=components,
        sources=sources,
        branches=tuple(_branches(fitted, devices)),
        switching={d.id: tuple(d.closes_when or ()) for d in fitted.devices if d.kind in SWITCHING},
        equipment={e.id: e for e in fitted.equipment},
        connections=connections,
        resolve_order=tuple(
            TopologicalSorter({e.id: required_ids(e) for e in fitted.equipment}).static_order()
        ),
    )


def _connection(supply: Supply, written: Component | None) -> Connection:
    shared = supply.breaker if supply.breaker is not None else supply.fuse
    protector = written.id if written else shared if isinstance(shared, str) else None
    first = (protector,) if protector else ()
    ohms = wire_ohms(supply.length, supply.wire)
    return Connection(supply.bus, protector, (*first, *supply.through), ohms)


def _branches(fitted: Catalogue, devices: dict[str, Device]) -> Iterator[Branch]:
    def branch(origin: str, target: str, wiring: Feeder | Feed, into_converter: bool) -> Branch:
        in_series = [devices[d] for d in wiring.through]
        return Branch(
            origin,
            target,
            tuple(wiring.through),
            one_way=any(d.kind == "diode" for d in in_series),
            into_converter=into_converter,
            protective=tuple(d.id for d in in_series if d.kind in OVERCURRENT or d.protective),
            diodes=tuple(d.id for d in in_series if d.kind == "diode"),
            ohms=wire_ohms(wiring.length, wiring.wire),
        )

    for feeder in fitted.feeders:
        yield branch(feeder.from_, feeder.to, feeder, into_converter=False)
    for source in fitted.sources:
        for feed in source.fed_from:
            yield branch(feed.bus, source.id, feed, into_converter=True)
