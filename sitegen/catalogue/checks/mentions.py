"""Every place in a catalogue where one record names another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sitegen.catalogue.checks.context import (
    COMPONENTS,
    NODES,
    OWN,
    Airframes,
    CheckContext,
    Mention,
    OneSupply,
    Path,
)
from sitegen.catalogue.kinds import COIL_OPERATED, DEVICES, METERS, SWITCHING
from sitegen.catalogue.model import AnyOf, Feeder, Fitted, Protector, Terms


@dataclass(frozen=True)
class _Writer:
    """Writes the mentions of one record."""

    owner: str
    path: Path
    fitted: Airframes

    def one(
        self,
        name: str | None,
        path: Path,
        noun: str,
        kinds: frozenset[str] = frozenset(),
        space: str = COMPONENTS,
        wiring: bool = True,
        is_key: bool = False,
    ) -> Iterator[Mention]:
        if name is not None:
            full = (*self.path, *path)
            yield Mention(name, full, space, kinds, noun, self.owner, self.fitted, wiring, is_key)

    def many(
        self,
        names: Iterable[str],
        path: Path,
        noun: str,
        kinds: frozenset[str] = frozenset(),
        space: str = COMPONENTS,
        wiring: bool = True,
    ) -> Iterator[Mention]:
        for i, name in enumerate(names):
            yield from self.one(name, (*path, i), noun, kinds, space, wiring)

    def keys(self, names: Iterable[str], path: Path, noun: str, space: str) -> Iterator[Mention]:
        for name in names:
            yield from self.one(name, (*path, name), noun, space=space, is_key=True)

    def settings(self, names: Iterable[str], path: Path, wiring: bool) -> Iterator[Mention]:
        for name in names:
            yield from self.one(
                name, (*path, name), "switch", space="switches", wiring=wiring, is_key=True
            )

    def terms(self, structures: Iterable[Terms] | None, path: Path) -> Iterator[Mention]:
        for i, terms in enumerate(structures or ()):
            here = (*path, i)
            yield from self.settings(terms.switches, (*here, "switches"), wiring=True)
            yield from self.many(terms.live, (*here, "live"), "source or bus", NODES)
            yield from self.many(terms.dead, (*here, "dead"), "source or bus", NODES)
            yield from self.many(terms.closed, (*here, "closed"), "device", DEVICES | OWN)
            yield from self.many(terms.open, (*here, "open"), "device", DEVICES | OWN)

    def pulled(self, names: Iterable[str], path: Path) -> Iterator[Mention]:
        kinds = OWN | {"breaker", "fuse"}
        yield from self.many(names, path, "breaker or fuse", kinds, wiring=False)


def mentions_of(m: CheckContext, supplies: Iterable[OneSupply]) -> Iterator[Mention]:
    """All mentions, section by section in the author's order."""
    yield from _fitted_to(m, supplies)
    yield from _of_wiring(m)
    yield from _of_supplies(supplies)
    yield from _of_equipment(m)
    yield from _of_states(m)
    yield from _of_answers(m)


def _fitted_to(m: CheckContext, supplies: Iterable[OneSupply]) -> Iterator[Mention]:
    c = m.catalogue
    everywhere = m.everywhere
    sections: tuple[tuple[str, str, Iterable[Fitted]], ...] = (
        ("sources", "source", c.sources),
        ("buses", "bus", c.buses),
        ("devices", "device", c.devices),
        ("feeders", "feeder", c.feeders),
        ("equipment", "equipment", c.equipment),
        ("switches", "switch", c.switches),
        ("panels", "panel", c.panels),
        ("conditions", "condition", c.conditions),
        ("failures", "failure", c.failures),
        ("indications", "indication", c.indications),
        ("functions", "function", c.functions),
        ("handout", "handout", c.handout),
    )
    records = [
        (f"{noun} {_called(record)}", (section, i), record)
        for section, noun, group in sections
        for i, record in enumerate(group)
    ]
    of_supplies = [(one.owner_words, one.path, one.supply) for one in supplies]
    for owner, path, record in (*records, *of_supplies):
        writer = _Writer(owner, path, everywhere)
        names = record.fitted_to or ()
        yield from writer.many(names, ("fitted-to",), "airframe", space="airframes")


def _called(record: Fitted) -> str:
    if isinstance(record, Feeder):
        return f"{record.from_} to {record.to}"
    return str(getattr(record, "id", ""))


def _of_wiring(m: CheckContext) -> Iterator[Mention]:
    c = m.catalogue
    for i, source in enumerate(c.sources):
        w = _Writer(f"source {source.id}", ("sources", i), m.fitted(source))
        for j, feed in enumerate(source.fed_from):
            path = ("fed-from", j)
            yield from w.one(feed.bus, (*path, "bus"), "bus or source", NODES)
            yield from w.many(feed.through, (*path, "through"), "device", DEVICES)
        if source.battery_time:
            column = source.battery_time.landing_column
            where = ("battery-time", "landing-column")
            yield from w.one(column, where, "load column", space="load-columns")
    for i, device in enumerate(c.devices):
        w = _Writer(f"{device.kind} {device.id}", ("devices", i), m.fitted(device))
        yield from w.one(device.panel, ("panel",), "panel", space="panels")
        yield from w.terms(device.closes_when, ("closes-when",))
    for i, feeder in enumerate(c.feeders):
        w = _Writer(f"feeder {feeder.from_} to {feeder.to}", ("feeders", i), m.fitted(feeder))
        yield from w.one(feeder.from_, ("from",), "source or bus", NODES)
        yield from w.one(feeder.to, ("to",), "source or bus", NODES)
        yield from w.many(feeder.through, ("through",), "device", DEVICES)


def _of_supplies(supplies: Iterable[OneSupply]) -> Iterator[Mention]:
    for one in supplies:
        w = _Writer(one.owner_words, one.path, one.fitted)
        yield from w.one(one.supply.bus, ("bus",), "bus", frozenset({"bus"}))
        for kind, protector in (("breaker", one.supply.breaker), ("fuse", one.supply.fuse)):
            if isinstance(protector, Protector):
                yield from w.one(protector.panel, (kind, "panel"), "panel", space="panels")
            else:
                yield from w.one(protector, (kind,), kind, frozenset({kind}))
        noun = "contactor, relay or switch"
        yield from w.many(one.supply.through, ("through",), noun, SWITCHING)


def _of_equipment(m: CheckContext) -> Iterator[Mention]:
    wanted = frozenset({"equipment"})
    for i, equipment in enumerate(m.catalogue.equipment):
        w = _Writer(f"equipment {equipment.id}", ("equipment", i), m.fitted(equipment))
        for j, required in enumerate(equipment.requires):
            if isinstance(required, AnyOf):
                path = ("requires", j, "any")
                yield from w.many(required.any, path, "equipment", wanted)
            else:
                yield from w.one(required, ("requires", j), "equipment", wanted)
        for field, amps in (("amps", equipment.amps), ("peak-amps", equipment.peak_amps)):
            if isinstance(amps, dict):
                yield from w.keys(amps, (field,), "load column", "load-columns")


def _of_states(m: CheckContext) -> Iterator[Mention]:
    sources = frozenset({"source"})
    for i, condition in enumerate(m.catalogue.conditions):
        w = _Writer(f"condition {condition.id}", ("conditions", i), m.fitted(condition))
        yield from w.many(condition.sources, ("sources",), "source", sources, wiring=False)
        yield from w.settings(condition.switches, ("switches",), wiring=False)
        yield from w.one(condition.loads, ("loads",), "load column", space="load-columns")
        yield from w.pulled(condition.pulled, ("pulled",))
        noun = "contactor or relay"
        yield from w.many(
            condition.held_closed, ("held-closed",), noun, COIL_OPERATED, wiring=False
        )
    for i, failure in enumerate(m.catalogue.failures):
        w = _Writer(f"failure {failure.id}", ("failures", i), m.fitted(failure))
        failed = [component.partition(":")[0] for component in failure.failed]
        kinds = NODES | DEVICES | OWN
        yield from w.many(failed, ("failed",), "source, bus or device", kinds)
        if failure.then:
            equipment = frozenset({"equipment"})
            yield from w.settings(failure.then.switches, ("then", "switches"), wiring=False)
            shed = ("then", "shed")
            yield from w.many(failure.then.shed, shed, "equipment", equipment, wiring=False)
            yield from w.pulled(failure.then.pulled, ("then", "pulled"))
        if failure.battery_time:
            column = failure.battery_time.landing_column
            path = ("battery-time", "landing-column")
            yield from w.one(column, path, "load column", space="load-columns")


def _of_answers(m: CheckContext) -> Iterator[Mention]:
    c = m.catalogue
    for i, indication in enumerate(c.indications):
        w = _Writer(f"indication {indication.id}", ("indications", i), m.fitted(indication))
        if indication.kind == "voltmeter":
            yield from w.one(indication.at, ("at",), "source or bus", NODES)
        elif indication.kind in METERS:
            kinds = DEVICES | {"source"}
            yield from w.one(indication.at, ("at",), "source or device", kinds)
        yield from w.terms(indication.lit_when, ("lit-when",))
    wanted = frozenset({"equipment"})
    for i, function in enumerate(c.functions):
        w = _Writer(f"function {function.id}", ("functions", i), m.fitted(function))
        path = ("provided-by",)
        yield from w.many(function.provided_by, path, "equipment", wanted, wiring=False)
        for j, pair in enumerate(function.independent):
            path_of_pair = ("independent", j)
            yield from w.many(pair, path_of_pair, "equipment", wanted, wiring=False)
    for i, handout in enumerate(c.handout):
        w = _Writer(f"handout {handout.id}", ("handout", i), m.fitted(handout))
        path = ("conditions",)
        yield from w.many(handout.conditions, path, "condition", space="conditions", wiring=False)
    w = _Writer("battery-time", ("battery-time",), m.everywhere)
    column = c.battery_time.landing_column
    yield from w.one(column, ("landing-column",), "load column", space="load-columns")
