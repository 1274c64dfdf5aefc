"""Devices between two bars move to where their wires are straight; bars extend to their wires."""

from __future__ import annotations

from collections.abc import Mapping

from sitegen.diagram.bars import END, MovableBar, extents
from sitegen.diagram.plan import Plan
from sitegen.diagram.rows import Rows, bar_width, tie_width


def aligned_with_bars(rows: Rows, x: Mapping[str, float]) -> dict[str, float]:
    """Move devices between two bars sideways, as far as there is room, to where wires are straight.

    The engine pulls wires towards the middle of bars; here any place on a bar is as good.
    """
    axis = dict(x)
    usable: dict[str, tuple[float, float]] = {}
    for row in rows.rows:
        for item in row:
            at = x[item.name]
            for cell in item.cells:
                usable[cell.id] = (at + END + 1, at + cell.width - END - 1)
                at += cell.width
    ends: dict[str, list[str]] = {}
    for link in rows.links:
        ends.setdefault(link.lower, []).append(link.upper_bus)
        ends.setdefault(link.upper, []).append(link.lower_bus)
    for row in rows.rows[::2]:
        for n, item in enumerate(row):
            buses = ends.get(item.name, [])
            if len(buses) != 2 or not all(buses):
                continue
            at = axis[item.name]
            (low, high), (other_low, other_high) = usable[buses[0]], usable[buses[1]]
            if max(low, other_low) <= min(high, other_high):
                target = min(max(at, low, other_low), min(high, other_high))
            else:
                targets = (min(max(at, low), high), min(max(at, other_low), other_high))
                target = min(targets, key=lambda g: abs(g - at))
            if n:
                before = row[n - 1]
                target = max(target, min(at, axis[before.name] + before.right + 4 + item.left))
            if n + 1 < len(row):
                after = row[n + 1]
                target = min(target, max(at, axis[after.name] - after.left - 4 - item.right))
            axis[item.name] = round(target, 1)
    return axis


def bar_ends(plan: Plan, rows: Rows, axis: Mapping[str, float]) -> dict[str, tuple[float, float]]:
    """The ends of every bar, by the id of its bus."""
    buses = {b.id: b for b in plan.picture.buses}
    connections: dict[str, list[float]] = {}
    for link in rows.links:
        if link.upper_bus:
            connections.setdefault(link.upper_bus, []).append(axis[link.lower])
        if link.lower_bus:
            connections.setdefault(link.lower_bus, []).append(axis[link.upper])
    ends: dict[str, tuple[float, float]] = {}
    for row in rows.rows[1::2]:
        row_bars: list[MovableBar] = []
        for item in row:
            at = axis[item.name]
            if item.kind != "bars":
                row_bars.append(MovableBar(at - item.left, at + item.right))
                continue
            for cell in item.cells:
                if cell.id:
                    least = bar_width(buses[cell.id], rows.measure)
                    row_bars.append(MovableBar(at, at + cell.width, cell.id, least))
                elif cell.tie:
                    row_bars[-1].tie = tie_width(cell.tie, rows.measure)
                at += cell.width
        ends |= extents(row_bars, connections)
    return ends
