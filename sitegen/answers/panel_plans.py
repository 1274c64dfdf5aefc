"""Panel layouts: each panel of an airframe, place by place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sitegen.answers.device_ends import Ends, LiveSide
from sitegen.catalogue.kinds import OVERCURRENT
from sitegen.catalogue.model import Panel
from sitegen.catalogue.panel_position import position
from sitegen.solver.network import Component, Network


@dataclass(frozen=True)
class Placed:
    """A breaker, or another device, at its place on a panel. Ids are in the author's order."""

    component: Component
    row: int
    """Counted from 0, from the top."""
    column: int
    """Counted from 1, from the left."""
    bus: str | None
    """The bus that it is listed under: the one it is on or, on a source's terminals, feeds."""
    buses: tuple[str, ...]
    """All that it is on: buses, and sources by their terminals."""
    feeds: tuple[str, ...]
    """The buses and converters that may get power through it, either end of a tie."""
    ends: tuple[Ends, ...]
    """Of a device in feeders: between which nodes."""
    live_sides: tuple[LiveSide, ...]
    """Which of its sides no switch turns off."""
    users: tuple[str, ...]
    """The equipment and indications that are supplied through it."""


@dataclass(frozen=True)
class PanelPlan:
    """The layout of one panel."""

    panel: Panel
    rows: tuple[tuple[Placed | None, ...], ...]
    """Every row from the top, every place in it from the left; None for an empty one."""
    unplaced: tuple[Component, ...]
    """What is on this panel, without a place in the catalogue."""

    @property
    def placed(self) -> tuple[Placed, ...]:
        """All that has a place, row by row."""
        return tuple(p for row in self.rows for p in row if p)


def panel_plans(
    network: Network,
    ends: Mapping[str, tuple[Ends, ...]],
    always_live: Mapping[str, tuple[LiveSide, ...]],
) -> tuple[PanelPlan, ...]:
    """Every panel of an airframe, in the catalogue's order.

    Parameters
    ----------
    ends, always_live : by device (`device_ends`, `live_sides`).
    """
    buses: dict[str, dict[str, None]] = {}
    feeds: dict[str, dict[str, None]] = {}
    users: dict[str, dict[str, None]] = {}
    for owner, connections in network.connections.items():
        for connection in connections:
            for device in connection.through:
                buses.setdefault(device, {})[connection.bus] = None
                users.setdefault(device, {})[owner] = None
    for branch in network.branches:
        for device in branch.through:
            buses.setdefault(device, {})[branch.origin] = None
            feeds.setdefault(device, {})[branch.target] = None
    for device, each in ends.items():
        feeds[device].update((e.origin, None) for e in each if e.both_ways)

    bars = {b.id for b in network.catalogue.buses}

    def plan(panel: Panel) -> PanelPlan:
        held: dict[tuple[int, int], Placed] = {}
        unplaced = []
        for component in network.components.values():
            if component.panel != panel.id:
                continue
            where = position(component.at or "", panel.rows, panel.columns)
            if where is None:
                unplaced.append(component)
                continue
            here = component.id
            near, far = buses.get(here, {}), feeds.get(here, {})
            held[where] = Placed(
                component,
                *where,
                bus=next((node for node in (*near, *far) if node in bars), None),
                buses=tuple(near),
                feeds=tuple(far),
                ends=ends.get(here, ()),
                live_sides=always_live.get(here, ()),
                users=tuple(users.get(here, ())),
            )
        rows = tuple(
            tuple(held.get((row, column)) for column in range(1, panel.columns + 1))
            for row in range(len(panel.rows))
        )
        return PanelPlan(panel, rows, tuple(unplaced))

    return tuple(plan(panel) for panel in network.catalogue.panels)


def on_no_panel(network: Network) -> Iterator[Component]:
    """The breakers, fuses and fuse links of which the catalogue names no panel."""
    for component in network.components.values():
        if component.kind in OVERCURRENT and component.panel not in network.panel_names:
            yield component
