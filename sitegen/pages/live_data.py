"""One airframe's wiring for the engine in the browser (`engine.js`): what can be solved there.

The engine reads ids; what a person reads is beside them, once. Volts are whole millivolts, as in
the solver; amps are the catalogue's own decimals. What is empty is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sitegen.answers.drop import faults_of
from sitegen.answers.endurance.asked import asked_of
from sitegen.answers.named_failures import NamedFailures
from sitegen.answers.next_checks import is_ground_only, is_tried
from sitegen.answers.single_failures import SingleFailures
from sitegen.answers.three_answers import must_open
from sitegen.catalogue.kinds import KINDS, SWITCHING
from sitegen.catalogue.model import (
    AnyOf,
    Condition,
    Device,
    Function,
    Group,
    Indication,
    Provider,
    Terms,
)
from sitegen.solver.load_figures import millivolts
from sitegen.solver.network import Component, Connection, Network
from sitegen.solver.scenarios import Fault


def live_data(network: Network, singles: SingleFailures, named: NamedFailures) -> dict[str, Any]:
    """The wiring of one airframe, as JSON.

    `branches` and supplies are lists, since there are many: [from, to, devices] and [bus, devices].
    `feeds` has the numbers of the branches that lead to a converter's input, `opening` by condition
    the single and named failures that overload something that must open.
    """
    c = network.catalogue
    records = {d.id: d for d in c.devices}
    return {
        "airframe": network.airframe,
        "sources": [_source(network, s) for s in network.sources],
        "buses": [_filled(id=b.id, name=b.name, current=b.current) for b in c.buses],
        "devices": [
            _device(network, component, records.get(component.id))
            for component in network.components.values()
            if KINDS[component.kind].role == "device"
        ],
        "branches": [[b.origin, b.target, list(b.through)] for b in network.branches],
        "feeds": [i for i, branch in enumerate(network.branches) if branch.into_converter],
        "switches": [
            {"id": s.id, "name": s.name, "positions": list(s.positions)} for s in c.switches
        ],
        "conditions": [_condition(condition) for condition in c.conditions],
        "equipment": [_equipment(network, item) for item in network.equipment],
        "functions": [_function(f) for f in c.functions],
        "failures": [
            {"id": f.id, "name": f.name, "failed": faults_of(network, f)} for f in c.failures
        ],
        "indications": [_indication(network, i) for i in c.indications],
        "loadColumns": [column.id for column in c.load_columns],
        **_filled(loadMillivolts=network.load_millivolts, opening=_opening(singles, named)),
    }


def _opening(singles: SingleFailures, named: NamedFailures) -> dict[str, list[tuple[Fault, ...]]]:
    """By condition: the single and named failures that overload something that must open.

    The browser has the amps of one scenario at a time: of hundreds it would take long to find them.
    """
    found: dict[str, list[tuple[Fault, ...]]] = {}
    first = named.answers[0]
    for scenarios, numbers in (
        (singles.overload.scenarios, range(singles.overload.scenarios.count)),
        (first.scenarios, must_open(first)),
    ):
        for scenario in map(scenarios.at, numbers):
            found.setdefault(scenario.condition, []).append(scenario.faults)
    return found


def _filled(**fields: Any) -> dict[str, Any]:
    """These fields without those that are empty; a zero is a figure, a whole one has no point."""
    return {
        name: int(value) if isinstance(value, float) and value.is_integer() else value
        for name, value in fields.items()
        if value or (value == 0 and not isinstance(value, bool))
    }


def _source(network: Network, source: str) -> dict[str, Any]:
    record = network.sources[source]
    return _filled(
        id=record.id,
        name=record.name,
        kind=record.kind,
        current=record.current,
        millivolts=network.millivolts[source],
        range=network.millivolt_ranges.get(source),
        amps=record.amps,
        amps5s=record.amps_5s,
        amps5min=record.amps_5min,
        ampHours=record.amp_hours,
        batteryTime=asked_of(network, source).model_dump() if record.kind == "battery" else None,
        chargeAmps=record.charge_amps,
        efficiency=record.efficiency if record.kind == "converter" else None,
        synchronised=record.synchronised,
    )


def _device(network: Network, component: Component, record: Device | None) -> dict[str, Any]:
    switching = component.kind in SWITCHING
    opens_at = record.opens_at if record else None
    return _filled(
        id=component.id,
        name=network.names[component.id],
        kind=component.kind,
        amps=component.amps,
        groundOnly=is_ground_only(network, component),
        noPanel=component.kind == "breaker" and not component.panel,
        millivolts=network.millivolts.get(component.id),
        protective=bool(record and record.protective),
        ridesThrough=bool(record and record.rides_through),
        dropsOut=bool(record and record.rides_through is False),
        opensAt=[opens_at.may, opens_at.must] if opens_at else None,
        closesWhen=list(map(_terms, network.switching[component.id])) if switching else None,
    )


def _terms(terms: Terms) -> dict[str, Any]:
    return _filled(
        switches=terms.switches,
        live=terms.live,
        dead=terms.dead,
        closed=terms.closed,
        open=terms.open,
        above={node: millivolts(volts) for node, volts in terms.volts_above.items()},
        below={node: millivolts(volts) for node, volts in terms.volts_below.items()},
    )


def _condition(condition: Condition) -> dict[str, Any]:
    own = condition.own_battery_time
    return _filled(
        id=condition.id,
        name=condition.name,
        sources=condition.sources,
        switches=condition.switches,
        pulled=condition.pulled,
        heldClosed=condition.held_closed,
        loads=condition.loads,
        noBatteryTime=not condition.battery_time,
        batteryTime=own.model_dump(exclude_unset=True) if own else None,
    )


def _supplies(connections: Sequence[Connection]) -> list[list[Any]]:
    return [[c.bus, list(c.through)] for c in connections]


def _equipment(network: Network, item: str) -> dict[str, Any]:
    record = network.equipment[item]
    every = record.needs == "all"
    return _filled(
        id=item,
        name=record.name,
        ata=record.ata,
        supplies=_supplies(network.connections[item]),
        all=every,
        requires=[list(r.any) if isinstance(r, AnyOf) else r for r in record.requires],
        least=network.min_millivolts.get(item),
        amps=record.amps,
        peak=record.peak_amps,
        ofSupplies=record.amps_of_supplies,
        load=record.load if record.load != "constant-current" else None,
        ifItComesOn=record.if_it_comes_on,
        # 1: not in flight; 2: not on the ground either
        notTried=2 - sum(is_tried(record, on_ground) for on_ground in (True, False)) or None,
    )


def _function(function: Function) -> dict[str, Any]:
    return _filled(
        id=function.id,
        name=function.name,
        providers=list(map(_provider, function.provided_by)),
        need=function.need,
        essential=function.essential,
    )


def _provider(provider: Provider) -> Any:
    if not isinstance(provider, Group):
        return provider
    if provider.any is not None:
        return {"any": list(map(_provider, provider.any)), "need": provider.need}
    return {"all": list(map(_provider, provider.all or ()))}


def _indication(network: Network, indication: Indication) -> dict[str, Any]:
    return _filled(
        id=indication.id,
        name=indication.name,
        kind=indication.kind,
        at=indication.at,
        colour=indication.colour,
        litWhen=list(map(_terms, indication.lit_when)) if indication.lit_when else None,
        supplies=_supplies(network.connections[indication.id]),
    )
