"""A plan cut into rows of items with known widths, ready to be given places.

Rows alternate: nodes, the devices in the feeders below them, the next nodes. A feeder that passes a
row of nodes has a narrow item of its own there, so every link joins two adjacent rows.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from sitegen.catalogue.model import Bus, Device, Source
from sitegen.diagram.parts import text_width, wrapped
from sitegen.diagram.plan import Chain, Plan

SMALL = 11.0
WORD = 10.5
LINE = 13.5
"""Text sizes and the step from line to line, in drawing units (CSS px at natural size)."""

LABEL_GAP = 4.0

CROSS, CROSS_NARROW = 8.0, 4.0
"""How far the cross over the end of a failed bar reaches to either side, wide and narrow."""


@dataclass(frozen=True)
class Measure:
    """What differs between a wide and a narrow picture, in drawing units."""

    label: float
    """Widest device label."""
    source: float
    """Widest source label."""
    bar: float
    """Widest bar label."""
    gap: float
    """Between neighbours of one row."""
    text: float
    """Size of names."""
    half: float
    """Half the width of a device's symbol."""
    heavy: bool
    """Whether the names of devices are bold."""
    pull: int
    """How hard the neighbours of a row pull together; 20 is as hard as a wire onto a bar."""


WIDE = Measure(label=86, source=128, bar=170, gap=16, text=12, half=13, heavy=True, pull=1)
NARROW = Measure(label=48, source=67, bar=72, gap=4, text=11, half=11, heavy=False, pull=20)


@dataclass(frozen=True)
class Label:
    """Lines of text with their sizes."""

    lines: tuple[tuple[str, bool], ...]
    """Text, and whether it is the (heavier) name."""
    size: float
    """Of the name."""

    @property
    def width(self) -> float:
        return max((text_width(t, self.size if b else SMALL, b) for t, b in self.lines), default=0)

    @property
    def height(self) -> float:
        return LINE * len(self.lines)


@dataclass(frozen=True)
class Cell:
    """One bar of a group, or the tie between two."""

    id: str
    """The bus's id, empty for a tie."""
    width: float
    tie: Chain | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "width", 2.0 * math.ceil(self.width / 2))


@dataclass(frozen=True)
class Item:
    """One place in a row. Its axis is the x of its wires."""

    name: str
    kind: Literal["source", "converter", "bars", "chain", "pass"]
    left: float
    right: float
    """How far it reaches from its axis (of bars: from the left end of the first)."""
    id: str = ""
    cells: tuple[Cell, ...] = ()
    chain: int = -1
    """Index into the plan's chains."""

    def __post_init__(self) -> None:
        # Whole and even widths, so that axes above each other have the same x.
        object.__setattr__(self, "left", float(math.ceil(self.left)))
        whole = math.ceil(self.left + self.right)
        object.__setattr__(self, "right", whole + whole % 2 - self.left)


@dataclass(frozen=True)
class Link:
    """A wire between an item and one of the next row; with `over`, two items of one row."""

    upper: str
    lower: str
    chain: int
    wire: int
    """Which of the chain's wires it is part of."""
    upper_bus: str = ""
    lower_bus: str = ""
    over: bool = False


@dataclass(frozen=True)
class Rows:
    rows: tuple[tuple[Item, ...], ...]
    links: tuple[Link, ...]
    measure: Measure


def number(value: float) -> str:
    """A figure without a needless decimal point."""
    return f"{value:g}"


def device_label(device: Device, measure: Measure) -> Label:
    heavy = measure.heavy
    lines = [(t, heavy) for t in wrapped(device.name, measure.label, measure.text, bold=heavy)]
    if device.amps is not None:
        lines.append((f"{number(device.amps)} A", False))
    return Label(tuple(lines), measure.text)


def source_rating(source: Source) -> str:
    rating = f"{number(source.volts)} V"
    if source.current == "ac":
        rating += " AC"
    if source.amps is not None:
        rating += f" {number(source.amps)} A"
    elif source.amp_hours is not None:
        rating += f" {number(source.amp_hours)} Ah"
    return rating


def source_label(source: Source, width: float, measure: Measure) -> Label:
    name = wrapped(source.name, width, measure.text, bold=True)
    rating = wrapped(source_rating(source), width, SMALL)
    lines = (*((t, True) for t in name), *((t, False) for t in rating))
    return Label(lines, measure.text)


def bar_label(bus: Bus, measure: Measure, width: float = 0.0) -> Label:
    """A bar's name, in lines that fit the bar once its width is known."""
    room = max(measure.bar, width - _beside_name(measure))
    lines = wrapped(bus.name, room, measure.text, bold=True)
    return Label(tuple((t, True) for t in lines), measure.text)


def bar_width(bus: Bus, measure: Measure) -> float:
    """The least width of a bar: its name, and its state's word beside or below it."""
    name = bar_label(bus, measure).width
    if measure is NARROW:
        name = max(name, text_width("FAILED", WORD, bold=True))
    return name + _beside_name(measure)


def _beside_name(measure: Measure) -> float:
    """What a bar needs besides the width of its name: room for the crosses over its ends when it
    has failed, and in a wide picture for its state's word.
    """
    word = text_width("FAILED", WORD, bold=True)
    return 2 * CROSS_NARROW + 4 if measure is NARROW else word + 44


def rows(plan: Plan) -> Rows:
    """Cut a plan into rows."""
    picture = plan.picture
    measure = NARROW if picture.narrow else WIDE
    sources = {s.id: s for s in picture.sources}
    buses = {b.id: b for b in picture.buses}
    items: list[list[Item]] = [[] for _ in range(2 * len(plan.levels) + 1)]
    links: list[Link] = []
    item_of: dict[str, str] = {}
    for groups in plan.levels:
        for group in groups:
            for node in group:
                item_of[node] = f"n-{group[0]}"

    def add_chain(k: int, chain: Chain) -> None:
        top_bus = chain.top if chain.top in buses else ""
        bottom_bus = chain.bottom if chain.bottom in buses else ""
        first = 2 * plan.level_of[chain.top] + (0 if chain.bridge else 2)
        last = 2 * plan.level_of[chain.bottom]
        end = len(chain.devices)
        item = _chain_item(k, chain, measure)
        items[first].append(item)
        if chain.bridge:
            over = Item(f"c{k}-over", "pass", 5, 5, chain=k)
            items[first].append(over)
            links.append(Link(over.name, item.name, k, 0, over=True))
            links.append(Link(over.name, item_of[chain.top], k, 0, lower_bus=top_bus))
            links.append(Link(item.name, item_of[chain.bottom], k, end, lower_bus=bottom_bus))
            return
        links.append(Link(item_of[chain.top], item.name, k, 0, upper_bus=top_bus))
        above = item.name
        for row in range(first + 1, last + 1):
            past = Item(f"c{k}-{row}", "pass", 5, 5, chain=k)
            items[row].append(past)
            links.append(Link(above, past.name, k, end))
            above = past.name
        links.append(Link(above, item_of[chain.bottom], k, end, lower_bus=bottom_bus))

    load = _bar_loads(plan, measure)
    for level, groups in enumerate(plan.levels):
        for group in groups:
            node = group[0]
            if node in sources:
                items[2 * level + 1].append(_source_item(sources[node], level, measure))
            else:
                cells = _cells([buses[n] for n in group], plan, load, measure)
                width = sum(c.width for c in cells)
                items[2 * level + 1].append(
                    Item(f"n-{node}", "bars", 0, width, id=node, cells=cells)
                )
    for k, chain in enumerate(plan.chains):
        add_chain(k, chain)
    return Rows(tuple(tuple(r) for r in items), tuple(links), measure)


def _source_item(source: Source, level: int, measure: Measure) -> Item:
    if level == 0:
        half = max(source_label(source, measure.source, measure).width / 2 + 3, 24)
        return Item(f"n-{source.id}", "source", half, half, id=source.id)
    label = source_label(source, measure.label, measure)
    return Item(f"n-{source.id}", "converter", 19, 19 + LABEL_GAP + label.width, id=source.id)


def _chain_item(k: int, chain: Chain, measure: Measure) -> Item:
    if not chain.devices:
        return Item(f"c{k}", "pass", 5, 5, chain=k)
    widest = max(device_label(d, measure).width for d, _ in chain.devices)
    widest = max(widest, text_width("FAILED", WORD, bold=True))
    return Item(f"c{k}", "chain", measure.half, measure.half + LABEL_GAP + widest, chain=k)


def _bar_loads(plan: Plan, measure: Measure) -> Mapping[str, float]:
    """How wide each bar has to be for straight feeders on its busier side."""
    above: dict[str, list[float]] = {}
    below: dict[str, list[float]] = {}
    for k, chain in enumerate(plan.chains):
        item = _chain_item(k, chain, measure)
        width = item.left + item.right + measure.gap
        (above if chain.bridge else below).setdefault(chain.top, []).append(width)
        past = plan.level_of[chain.bottom] - plan.level_of[chain.top] > 1
        above.setdefault(chain.bottom, []).append(20 if past else width)
    sides = [(n, side.get(n, [])) for n in plan.level_of for side in (above, below)]
    loads = dict.fromkeys(plan.level_of, 0.0)
    for n, widths in sides:
        # The last one's label may reach beyond the bar.
        loads[n] = max(loads[n], sum(widths) - max(widths, default=0) + 28)
    return loads


def _cells(
    group: list[Bus], plan: Plan, load: Mapping[str, float], measure: Measure
) -> tuple[Cell, ...]:
    cells: list[Cell] = []
    for k, bus in enumerate(group):
        if k:
            tie = plan.ties.get((group[k - 1].id, bus.id))
            cells.append(Cell("", tie_width(tie, measure) if tie else measure.gap, tie))
        cells.append(Cell(bus.id, max(bar_width(bus, measure), load[bus.id])))
    return tuple(cells)


def tie_width(tie: Chain, measure: Measure) -> float:
    """How long a tie is between its bars: its devices side by side, with their labels above."""
    one = tie_step(tie, measure)
    cross = CROSS_NARROW if measure is NARROW else CROSS
    return max(one * len(tie.devices), 12) + 2 * cross


def tie_step(tie: Chain, measure: Measure) -> float:
    widest = max((device_label(d, measure).width for d, _ in tie.devices), default=0)
    return max(widest, text_width("FAILED", WORD, bold=True), 30.0) + 4
