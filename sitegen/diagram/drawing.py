"""Placed pictures -> SVG text in fragments, with gaps for what differs between failures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup, escape

from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import Bus, Source
from sitegen.diagram.dot_layout import Engine, x_positions
from sitegen.diagram.order import ordered
from sitegen.diagram.parts import STATE_WORDS, STUCK, PartKey
from sitegen.diagram.placed_drawing import (
    Box,
    Placed,
    PlacedDevice,
    PlacedNode,
    PlacedWire,
    Point,
    Text,
    Word,
)
from sitegen.diagram.placement import place
from sitegen.diagram.plan import Picture, plan
from sitegen.diagram.rows import CROSS, CROSS_NARROW, LINE, number, rows, source_rating
from sitegen.diagram.symbols import SYMBOL_NAMES, environment, symbol

Classes = Callable[[PartKey], str]
"""From a part to its state classes, `live-0 dead-1`: a state and a view's number each."""

Href = Callable[[PartKey], str | None]
"""From a part to the page it leads to, if there is one."""


def no_link(part: PartKey) -> str | None:
    """For drawings whose parts lead nowhere."""
    return None


def no_state(part: PartKey) -> str:
    """For a blank drawing."""
    return ""


@dataclass(frozen=True)
class Drawing:
    """A laid-out picture. It stays the same whatever fails; only classes are filled in."""

    title: str
    width: float
    """Natural width and height, CSS px."""
    height: float
    fragments: tuple[str | PartKey, ...]
    """SVG text, and the parts whose classes and link go between them."""
    symbols: tuple[str, ...]
    """What a legend of it has to explain, in the legend's order."""
    notice: str = ""
    """What went wrong with the layout, for people; empty if nothing did."""
    labels: tuple[tuple[PartKey, Point, str], ...] = ()
    """Each named part with the baseline and the anchor of its name, from the top down and from
    left to right; a device of several poles is there once for each."""

    def render(self, classes: Classes = no_state, link: Href = no_link) -> Markup:
        """The drawing as an `<svg>` element.

        Parameters
        ----------
        classes : for each part its state in each view, such as `live-0 dead-1 failed-2`. A
            failed contactor that still conducts has `closed-2` besides `failed-2`.
        link : for each part an address, or None.
        """
        out: list[str] = []
        for fragment in self.fragments:
            if isinstance(fragment, str):
                out.append(fragment)
                continue
            out.append(classes(fragment))
            address = link(fragment)
            out.append(f'" href="{escape(address)}"' if address else '"')
        return Markup("".join(out))

    def parts(self) -> tuple[PartKey, ...]:
        """Every part once, in drawing order."""
        return tuple(dict.fromkeys(p for p in self.fragments if isinstance(p, PartKey)))


def lay_out(pictures: Sequence[Picture], engine: Engine | None = None) -> list[Drawing]:
    """Lay out many pictures in one call of the engine.

    Parameters
    ----------
    pictures : from `overview` and `feed`.
    engine : which dot to run.

    Returns
    -------
    One drawing for each picture. If the engine is missing or fails there still is a drawing,
    packed row by row, whose `notice` says so.
    """
    plans = [plan(picture) for picture in pictures]
    cut = [ordered(rows(p)) for p in plans]
    positions, notice = x_positions(cut, engine or Engine())
    return [
        replace(_drawn(p.picture, place(p, r, x)), notice=notice)
        for p, r, x in zip(plans, cut, positions, strict=True)
    ]


# Values for the templates


_EMPTY = Markup("")


@dataclass(frozen=True)
class _Line:
    text: str
    x: float
    y: float
    name: bool
    figure: bool
    """It gives a rating."""


@dataclass(frozen=True)
class _Part:
    gap: str
    """A mark in the template's output, where the part's classes go."""
    key: PartKey
    kind: str
    title: str
    symbol: Markup = _EMPTY
    at: str = ""
    turn: int = 0
    path: str = ""
    box: Box | None = None
    hit: Box | None = None
    lines: tuple[_Line, ...] = ()
    anchor: str = "start"
    word: tuple[float, float, str] = (0, 0, "start")
    words: tuple[str, ...] = ("open", "failed")
    """Of a device: the words that it may need."""
    plate: Box | None = None
    """Of a bar: the ground behind its name; with `word_plate` a second one for its word."""
    word_plate: Box | None = None


def _drawn(picture: Picture, placed: Placed) -> Drawing:
    gaps: list[PartKey] = []

    def gap(key: PartKey) -> str:
        gaps.append(key)
        return f"\x00{len(gaps) - 1}\x00"

    current: dict[str, str] = {b.id: b.current for b in picture.buses}
    current |= {s.id: s.current for s in picture.sources}
    values: dict[str, Any] = {
        "title": picture.title,
        "narrow": picture.narrow,
        "cross": CROSS_NARROW if picture.narrow else CROSS,
        "width": placed.width,
        "height": placed.height,
        "state_words": {**STATE_WORDS, "stuck": STUCK},
        "wires": [_wire(w, gap) for w in placed.wires if w.polylines],
        "joints": [_Part(gap(key), key, "joint", "", at=_at(p)) for key, p in placed.joints],
        "bars": [_bar(n, gap, n.key.id in picture.wanted) for n in placed.nodes if _is_bar(n)],
        "sources": [_source(n, gap, current) for n in placed.nodes if not _is_bar(n)],
        "devices": [_device(d, gap) for d in placed.devices],
    }
    text = environment().get_template("drawing.svg.jinja").render(values)
    fragments: list[str | PartKey] = []
    for k, fragment in enumerate(text.split("\x00")):
        fragments.append(gaps[int(fragment)] if k % 2 else fragment)
    return Drawing(
        picture.title,
        placed.width,
        placed.height,
        tuple(fragments),
        _used(placed),
        labels=_labels(placed),
    )


def _labels(placed: Placed) -> tuple[tuple[PartKey, Point, str], ...]:
    parts: list[PlacedNode | PlacedDevice] = [*placed.nodes, *placed.devices]
    labels = [(p.key, p.text.at, p.text.anchor) for p in parts]
    return tuple(sorted(labels, key=lambda label: (round(label[1][1]), label[1][0])))


def _is_bar(node: PlacedNode) -> bool:
    return isinstance(node.record, Bus)


def _used(placed: Placed) -> tuple[str, ...]:
    kinds: set[str] = {d.record.kind for d in placed.devices}
    kinds |= {"bus" if isinstance(n.record, Bus) else n.record.kind for n in placed.nodes}
    return tuple(kind for kind in SYMBOL_NAMES if kind in kinds)


def _at(p: Point) -> str:
    return f"{p[0]:g} {p[1]:g}"


def _lines(text: Text, figures: int) -> tuple[_Line, ...]:
    """The lines of a label, of which the last `figures` give a rating."""
    x, y = text.at
    names = len(text.label.lines) - figures
    return tuple(
        _Line(t, x, round(y + k * LINE, 1), name, k >= names)
        for k, (t, name) in enumerate(text.label.lines)
    )


def _wire(wire: PlacedWire, gap: Callable[[PartKey], str]) -> _Part:
    path = "".join("M" + "L".join(f"{x:g} {y:g}" for x, y in line) for line in wire.polylines)
    return _Part(gap(wire.key), wire.key, "wire", wire.label, path=path)


def _bar(node: PlacedNode, gap: Callable[[PartKey], str], wanted: bool) -> _Part:
    name = _ground(node.text.boxes(), node.box)
    word = _ground(node.word.boxes(), node.box)
    beside = node.text.anchor == "start"
    if not beside:
        name = Box(min(name.left, word.left), name.top, max(name.right, word.right), name.bottom)
    return _Part(
        gap(node.key),
        node.key,
        "bus wanted" if wanted else "bus",
        node.record.name,
        box=node.box,
        lines=_lines(node.text, 0),
        anchor=node.text.anchor,
        word=(*node.word.at, node.word.anchor),
        plate=name,
        word_plate=word if beside else None,
    )


def _ground(boxes: Sequence[Box], bar: Box) -> Box:
    low, high = min(b.left for b in boxes), max(b.right for b in boxes)
    return Box(
        round(max(low - 5, bar.left + 2), 1),
        bar.top + 1.1,
        round(min(high + 5, bar.right - 2), 1),
        bar.bottom - 1.1,
    )


def _source(node: PlacedNode, gap: Callable[[PartKey], str], current: dict[str, str]) -> _Part:
    source = node.record
    assert isinstance(source, Source)
    before = current.get(source.fed_from[0].bus, "dc") if source.fed_from else "dc"
    middle = ((node.box.left + node.box.right) / 2, (node.box.top + node.box.bottom) / 2)
    return _Part(
        gap(node.key),
        node.key,
        f"source {source.kind}",
        f"{source.name}, {source_rating(source)}",
        symbol=symbol(source.kind, before, source.current),
        at=_at(middle),
        hit=_around(node.box, node.text, node.word),
        lines=_lines(node.text, sum(not name for _, name in node.text.label.lines)),
        anchor=node.text.anchor,
        word=(*node.word.at, node.word.anchor),
    )


def _device(device: PlacedDevice, gap: Callable[[PartKey], str]) -> _Part:
    record = device.record
    x, y = device.at
    amps = f", {number(record.amps)} A" if record.amps is not None else ""
    return _Part(
        gap(device.key),
        device.key,
        f"device {record.kind}",
        f"{record.name}: {SYMBOL_NAMES[record.kind].lower()}{amps}",
        symbol=symbol(record.kind),
        at=_at(device.at),
        turn=device.turn,
        hit=_around(Box(x - 13, y - 14, x + 13, y + 14), device.text, device.word),
        lines=_lines(device.text, int(record.amps is not None)),
        anchor=device.text.anchor,
        word=(*device.word.at, device.word.anchor),
        words=("open", "failed", "stuck")[: 3 if "stuck-closed" in KINDS[record.kind].modes else 2],
    )


def _around(box: Box, text: Text, word: Word) -> Box:
    """What a finger may touch: the symbol, its label and the word for its state."""
    boxes = [box, *text.boxes(), *word.boxes()]
    return Box(
        round(min(b.left for b in boxes), 1),
        round(min(b.top for b in boxes), 1),
        round(max(b.right for b in boxes), 1),
        round(max(b.bottom for b in boxes), 1),
    )
