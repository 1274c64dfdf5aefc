"""Rows and the engine's x positions -> a placed drawing: `Placed`.

The engine gives the x of each item. Everything else follows here: each bar extends over its
connections, rows are as high as their text, and wires lie in the channels between the rows, so that
no wire can cross a text.
"""

from __future__ import annotations

from collections.abc import Mapping

from sitegen.diagram.alignment import aligned_with_bars, bar_ends
from sitegen.diagram.outlines import (
    CONVERTER_HALF,
    SOURCE_HALF,
    STEM,
    TERMINAL,
    WORD_LINE,
    beside,
    placed_bar,
    placed_converter,
    placed_source,
)
from sitegen.diagram.parts import PartKey
from sitegen.diagram.placed_drawing import (
    Placed,
    PlacedDevice,
    PlacedWire,
    Point,
    Text,
    Word,
    trimmed,
)
from sitegen.diagram.plan import Chain, Plan
from sitegen.diagram.rows import (
    LINE,
    WIDE,
    Item,
    Label,
    Link,
    Rows,
    bar_label,
    device_label,
    source_label,
    tie_step,
)
from sitegen.diagram.wire_channel import NEAR, STEP, Net, ports, touching, tracks

MARGIN = 8.0
ABOVE = 3.0
"""From the terminals' height of a device in a tie to its label: its cross when it has failed."""


def place(plan: Plan, rows: Rows, x: Mapping[str, float]) -> Placed:
    """Give everything its place, in drawing units with the origin at the upper left."""
    axis = aligned_with_bars(rows, x)
    bars = bar_ends(plan, rows, axis)
    return _Placement(plan, rows, axis, bars).placed()


class _Placement:
    """Places row after row from the top; its state is what the rows above have placed."""

    def __init__(
        self,
        plan: Plan,
        rows: Rows,
        axis: Mapping[str, float],
        bars: Mapping[str, tuple[float, float]],
    ) -> None:
        self.plan, self.rows, self.axis, self.bars = plan, rows, dict(axis), bars
        self.sources = {s.id: s for s in plan.picture.sources}
        self.buses = {b.id: b for b in plan.picture.buses}
        self.items: dict[str, Item] = {i.name: i for row in rows.rows for i in row}
        self.row_of = {i.name: k for k, row in enumerate(rows.rows) for i in row}
        self.out = Placed()
        self.exit_y: dict[str, float] = {}
        """The y at which wires leave an item or a bar below."""
        self.polylines: dict[PartKey, list[list[Point]]] = {}
        self.ends: dict[tuple[str, int], float] = {}
        """Where a chain's wires meet bars, by bus and chain."""

    def placed(self) -> Placed:
        y = 0.0
        for k, row in enumerate(self.rows.rows):
            if not row:
                continue
            up, down = self._node_extent(row) if k % 2 else (0.0, self._chain_height(row))
            top = self._channel(k, y, up)
            if k % 2:
                self._nodes(row, top + up, down)
            else:
                self._chains(row, top, top + down)
            y = top + up + down
        for chain in (*self.plan.chains, *self.plan.ties.values()):
            for key in chain.wires:
                lines = tuple(tuple(line) for line in _joined(self.polylines.get(key, [])))
                self.out.wires.append(PlacedWire(key, lines, chain.label))
        return trimmed(self.out, MARGIN if self.rows.measure is WIDE else 4.0)

    # Wires in the channel above a row

    def _channel(self, k: int, y: float, up: float) -> float:
        """Place the wires between the rows above and row k; the y of row k's upper edge."""
        links = [link for link in self.rows.links if self.row_of[link.lower] == k]
        if not links:
            return y + (20 if y else 0)
        for _ in range(4):
            upper, lower, groups, nets = self._nets(links)
            track_of = tracks(nets)
            blocked = [links[groups[n][0]].lower for n in touching(nets, track_of)]
            movable = [name for name in blocked if self.items[name].kind == "pass"]
            if not movable:
                break
            # Its own row is not placed yet, so it can still move a little.
            self.axis[movable[0]] += NEAR
        used = [t for t in track_of if t is not None]
        top = y + (14 + STEP * (1 + max(used)) if used else 12)
        for group, track in zip(groups, track_of, strict=True):
            across = y + 7 + STEP * (track or 0) + STEP / 2
            for n in group:
                self._wire(links[n], upper[n], lower[n], across, top, up)
            if len(group) > 1:
                self._joints(links, group, upper, lower, across)
        return top

    def _nets(
        self, links: list[Link]
    ) -> tuple[list[float], list[float], list[list[int]], list[Net]]:
        """The x of the links' ends, the links that share a track, and these as nets."""
        upper, lower = self._link_ends(links)
        shared: dict[tuple[str, str], list[int]] = {}
        for n, link in enumerate(links):
            shared.setdefault(self._trunk(link, n), []).append(n)
        groups = list(shared.values())
        nets = []
        for group in groups:
            lows = [lower[n] for n in group]
            highs = [upper[n] for n in group]
            over = links[group[0]].over
            nets.append(Net((), (*highs, *lows)) if over else Net(tuple(highs), tuple(lows)))
        return upper, lower, groups, nets

    def _trunk(self, link: Link, n: int) -> tuple[str, str]:
        """Wires at one terminal share a track; wires on a bar each have their own."""
        if link.over:
            return ("over", str(n))
        if self.items[link.upper].kind in ("source", "converter"):
            return ("below", link.upper)
        if self.items[link.lower].kind in ("source", "converter"):
            return ("above", link.lower)
        return ("", str(n))

    def _link_ends(self, links: list[Link]) -> tuple[list[float], list[float]]:
        upper = [self.axis[link.upper] for link in links]
        lower = [self.axis[link.lower] for link in links]
        taken = [x for x, link in zip(upper, links, strict=True) if not link.upper_bus]
        taken += [x for x, link in zip(lower, links, strict=True) if not link.lower_bus]
        for mine, other, side in ((upper, lower, "upper_bus"), (lower, upper, "lower_bus")):
            by_bus: dict[str, list[int]] = {}
            for n, link in enumerate(links):
                if bus := getattr(link, side):
                    by_bus.setdefault(bus, []).append(n)
            for bus, members in by_bus.items():
                ends = [other[n] for n in members]
                clear = [x for x in taken if x not in ends]
                chosen = ports(*self.bars[bus], ends, clear)
                for n, x in zip(members, chosen, strict=True):
                    mine[n] = x
                    taken.append(x)
        return upper, lower

    def _wire(
        self, link: Link, upper: float, lower: float, across: float, top: float, up: float
    ) -> None:
        end = top
        if link.lower_bus or self.items[link.lower].kind in ("converter", "source"):
            end = top + up - self._half(link.lower_bus, self.items[link.lower])
        if link.over:
            points = [(upper, top), (upper, across), (lower, across), (lower, top)]
            self.exit_y[link.upper] = top
        else:
            start = self.exit_y[link.upper_bus or link.upper]
            points = [(upper, start), (upper, across), (lower, across), (lower, end)]
        if self.items[link.lower].kind == "pass":
            self.exit_y[link.lower] = top
        key = self.plan.chains[link.chain].wires[link.wire]
        self.polylines.setdefault(key, []).append(points)

    def _joints(
        self,
        links: list[Link],
        group: list[int],
        upper: list[float],
        lower: list[float],
        across: float,
    ) -> None:
        """Dots where the wires of one terminal part: wherever three lines meet."""
        down = self.items[links[group[0]].upper].kind in ("source", "converter")
        pin = (upper if down else lower)[group[0]]
        branches = {n: (lower if down else upper)[n] for n in group}
        low, high = min(*branches.values(), pin), max(*branches.values(), pin)
        for n, x in branches.items():
            if low < x < high or (x == pin and low < high):
                link = links[n]
                key = self.plan.chains[link.chain].wires[link.wire]
                self.out.joints.append((key, (x, across)))
        if pin not in branches.values() and low < pin < high:
            link = links[group[0]]
            self.out.joints.append((self.plan.chains[link.chain].wires[link.wire], (pin, across)))

    # Rows of nodes

    def _bar_label(self, bus: str) -> Label:
        low, high = self.bars[bus]
        return bar_label(self.buses[bus], self.rows.measure, high - low)

    def _half(self, bus: str, item: Item) -> float:
        """From the middle of a row of nodes to the upper or lower edge of a bar or symbol."""
        if bus:
            lines = len(self._bar_label(bus).lines)
            return (lines + (self.rows.measure is not WIDE)) * LINE / 2 + 6
        return SOURCE_HALF if item.kind == "source" else CONVERTER_HALF

    def _node_extent(self, row: tuple[Item, ...]) -> tuple[float, float]:
        up = down = 0.0
        for item in row:
            if item.kind == "source":
                label = source_label(
                    self.sources[item.id], self.rows.measure.source, self.rows.measure
                )
                up = max(up, SOURCE_HALF + 5 + label.height)
                down = max(down, SOURCE_HALF + STEM)
            elif item.kind == "converter":
                label = source_label(
                    self.sources[item.id], self.rows.measure.label, self.rows.measure
                )
                up = max(up, CONVERTER_HALF, label.height / 2)
                down = max(down, CONVERTER_HALF, label.height / 2 + WORD_LINE + 1)
            for cell in item.cells:
                if cell.id:
                    half = self._half(cell.id, item)
                    up, down = max(up, half), max(down, half)
                elif cell.tie and cell.tie.devices:
                    label_height = max(
                        device_label(d, self.rows.measure).height for d, _ in cell.tie.devices
                    )
                    up = max(up, TERMINAL + ABOVE + label_height)
                    down = max(down, TERMINAL + WORD_LINE)
        return up, down

    def _nodes(self, row: tuple[Item, ...], middle: float, down: float) -> None:
        for item in row:
            x = self.axis[item.name]
            if item.kind in ("source", "converter"):
                source, measure = self.sources[item.id], self.rows.measure
                shape = placed_source if item.kind == "source" else placed_converter
                self.out.nodes.append(shape(source, x, middle, measure))
                half = SOURCE_HALF if item.kind == "source" else CONVERTER_HALF
                self.exit_y[item.name] = middle + half
            for n, cell in enumerate(item.cells):
                if cell.id:
                    half, label = self._half(cell.id, item), self._bar_label(cell.id)
                    bus, ends = self.buses[cell.id], self.bars[cell.id]
                    wide = self.rows.measure is WIDE
                    self.out.nodes.append(placed_bar(bus, ends, middle, half, label, wide))
                    self.exit_y[cell.id] = middle + half
                elif cell.tie:
                    left, right = item.cells[n - 1].id, item.cells[n + 1].id
                    self._tie(cell.tie, self.bars[left][1], self.bars[right][0], middle)

    def _tie(self, tie: Chain, left: float, right: float, y: float) -> None:
        step = tie_step(tie, self.rows.measure)
        middle = (left + right) / 2
        x = middle - step * (len(tie.devices) - 1) / 2
        start = left
        for (device, key), wire in zip(tie.devices, tie.wires, strict=False):
            label = device_label(device, self.rows.measure)
            self.out.devices.append(
                PlacedDevice(
                    key,
                    device,
                    (x, y),
                    90 if tie.upward else -90,
                    Text(
                        label,
                        (x, y - TERMINAL - ABOVE - LINE * (len(label.lines) - 1)),
                        "middle",
                    ),
                    Word((x, y + TERMINAL + WORD_LINE - 1), "middle"),
                )
            )
            self.polylines[wire] = [[(start, y), (x - TERMINAL, y)]]
            start = x + TERMINAL
            x += step
        self.polylines[tie.wires[-1]] = [[(start, y), (right, y)]]

    # Rows of devices

    def _device_extents(self, row: tuple[Item, ...]) -> list[float]:
        """The heights of the lines of devices in a row, from the top."""
        heights: list[float] = []
        for item in row:
            if item.kind != "chain":
                continue
            for n, (device, _) in enumerate(self.plan.chains[item.chain].devices):
                label = device_label(device, self.rows.measure)
                height = max(2 * TERMINAL, label.height + WORD_LINE) + 8
                if n == len(heights):
                    heights.append(height)
                heights[n] = max(heights[n], height)
        return heights

    def _chain_height(self, row: tuple[Item, ...]) -> float:
        return sum(self._device_extents(row))

    def _chains(self, row: tuple[Item, ...], top: float, bottom: float) -> None:
        heights = self._device_extents(row)
        for item in row:
            if item.kind != "chain":
                continue
            x = self.axis[item.name]
            chain = self.plan.chains[item.chain]
            start, y = top, top
            for n, (device, key) in enumerate(chain.devices):
                middle = y + heights[n] / 2
                label = device_label(device, self.rows.measure)
                text = beside(label, x + self.rows.measure.half, middle - WORD_LINE / 2)
                self.out.devices.append(
                    PlacedDevice(
                        key,
                        device,
                        (x, middle),
                        180 if chain.upward else 0,
                        text,
                        Word((text.at[0], text.at[1] + label.height - 2)),
                    )
                )
                self.polylines.setdefault(chain.wires[n], []).append(
                    [(x, start), (x, middle - TERMINAL)]
                )
                start = middle + TERMINAL
                y += heights[n]
            self.polylines.setdefault(chain.wires[-1], []).append([(x, start), (x, bottom)])
            self.exit_y[item.name] = bottom


def _joined(lines: list[list[Point]]) -> list[list[Point]]:
    """Lines that continue each other as one, without points that add nothing."""
    whole: list[list[Point]] = []
    for line in lines:
        points = [(round(x, 1), round(y, 1)) for x, y in line]
        if whole and whole[-1][-1] == points[0]:
            whole[-1].extend(points[1:])
        else:
            whole.append(points)
    return [_simplified(line) for line in whole]


def _simplified(line: list[Point]) -> list[Point]:
    kept: list[Point] = []
    for point in line:
        if kept and kept[-1] == point:
            continue
        if len(kept) > 1 and (
            kept[-2][0] == kept[-1][0] == point[0] or kept[-2][1] == kept[-1][1] == point[1]
        ):
            kept[-1] = point
        else:
            kept.append(point)
    return kept
