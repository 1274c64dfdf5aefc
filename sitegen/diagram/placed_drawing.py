"""A placed drawing: each part with its place, in drawing units from the upper left corner."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from sitegen.catalogue.model import Bus, Device, Source
from sitegen.diagram.parts import PartKey, text_width
from sitegen.diagram.rows import LINE, SMALL, WORD, Label

Point = tuple[float, float]


@dataclass(frozen=True)
class Box:
    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return round(self.right - self.left, 1)

    @property
    def height(self) -> float:
        return round(self.bottom - self.top, 1)

    @property
    def middle(self) -> float:
        """The y of its middle."""
        return round((self.top + self.bottom) / 2, 1)


@dataclass(frozen=True)
class Text:
    """A label: the baseline of its first line, and where the lines are anchored."""

    label: Label
    at: Point
    anchor: str = "start"
    """`start`, `middle` or `end`, as in SVG."""

    def boxes(self) -> list[Box]:
        return [
            _text_box(
                text,
                self.at[0],
                self.at[1] + k * LINE,
                self.label.size if bold else SMALL,
                self.anchor,
            )
            for k, (text, bold) in enumerate(self.label.lines)
        ]


@dataclass(frozen=True)
class Word:
    """The place of the word for a part's state: its baseline and anchor."""

    at: Point
    anchor: str = "start"
    longest: str = "FAILED"

    def boxes(self) -> list[Box]:
        return [_text_box(self.longest, *self.at, WORD, self.anchor)]


def _text_box(text: str, x: float, y: float, size: float, anchor: str) -> Box:
    width = text_width(text, size, bold=True)
    left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return Box(left, y - size * 0.75, left + width, y + size * 0.22)


@dataclass(frozen=True)
class PlacedNode:
    key: PartKey
    record: Source | Bus
    box: Box
    """A bar's outline, or the square round a source's symbol."""
    text: Text
    word: Word


@dataclass(frozen=True)
class PlacedDevice:
    key: PartKey
    record: Device
    at: Point
    turn: int
    """Degrees by which the symbol is turned; unturned, its feeder's `from` is above."""
    text: Text
    word: Word


@dataclass(frozen=True)
class PlacedWire:
    key: PartKey
    polylines: tuple[tuple[Point, ...], ...]
    label: str
    """`from` and `to` in words."""


@dataclass
class Placed:
    """A picture with everything at its place."""

    width: float = 0.0
    height: float = 0.0
    nodes: list[PlacedNode] = field(default_factory=list)
    devices: list[PlacedDevice] = field(default_factory=list)
    wires: list[PlacedWire] = field(default_factory=list)
    joints: list[tuple[PartKey, Point]] = field(default_factory=list)
    """Dots where the wires of one terminal part, with the wire whose state they show."""

    def text_boxes(self) -> list[Box]:
        """The boxes of all texts, and of the longest word for each part's state."""
        boxes: list[Box] = []
        parts: list[PlacedNode | PlacedDevice] = [*self.nodes, *self.devices]
        for part in parts:
            boxes += part.text.boxes() + part.word.boxes()
        return boxes


def trimmed(placed: Placed, margin: float) -> Placed:
    """The same picture moved and sized so that nothing reaches into its margin."""
    boxes = [n.box for n in placed.nodes] + placed.text_boxes()
    boxes += [Box(*p, *p) for w in placed.wires for line in w.polylines for p in line]
    boxes += [Box(d.at[0] - 14, d.at[1] - 14, d.at[0] + 14, d.at[1] + 14) for d in placed.devices]
    if not boxes:
        return replace(placed, width=2 * margin, height=2 * margin)
    right = margin - min(b.left for b in boxes)
    down = margin - min(b.top for b in boxes)

    def at(p: Point) -> Point:
        return round(p[0] + right, 1), round(p[1] + down, 1)

    def text(t: Text) -> Text:
        return replace(t, at=at(t.at))

    return Placed(
        width=round(max(b.right for b in boxes) + right + margin, 1),
        height=round(max(b.bottom for b in boxes) + down + margin, 1),
        nodes=[
            replace(
                n,
                box=Box(*at((n.box.left, n.box.top)), *at((n.box.right, n.box.bottom))),
                text=text(n.text),
                word=replace(n.word, at=at(n.word.at)),
            )
            for n in placed.nodes
        ],
        devices=[
            replace(d, at=at(d.at), text=text(d.text), word=replace(d.word, at=at(d.word.at)))
            for d in placed.devices
        ],
        wires=[
            replace(w, polylines=tuple(tuple(at(p) for p in line) for line in w.polylines))
            for w in placed.wires
        ],
        joints=[(key, at(p)) for key, p in placed.joints],
    )
