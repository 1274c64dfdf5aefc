"""A source, a converter or a bar at its place: its outline, its name, the word for its state."""

from __future__ import annotations

from sitegen.catalogue.model import Bus, Source
from sitegen.diagram.parts import PartKey
from sitegen.diagram.placed_drawing import Box, PlacedNode, Text, Word
from sitegen.diagram.rows import LABEL_GAP, LINE, Label, Measure, source_label

TERMINAL = 14.0
"""From the middle of a device's symbol to its terminals."""
SOURCE_HALF = 19.0
CONVERTER_HALF = 17.0
STEM = 16.0
"""Room below a source's symbol, for its state's word beside its wire."""
WORD_LINE = 12.0


def beside(label: Label, x: float, y: float) -> Text:
    """A label to the right of a symbol whose right edge is at x, its middle at y."""
    return Text(label, (x + LABEL_GAP, y - label.height / 2 + LINE - 3))


def _square(x: float, y: float, half: float) -> Box:
    return Box(x - half, y - half, x + half, y + half)


def placed_source(source: Source, x: float, y: float, measure: Measure) -> PlacedNode:
    """A source of the top row, its name above its symbol."""
    label = source_label(source, measure.source, measure)
    first = y - SOURCE_HALF - 8 - LINE * (len(label.lines) - 1)
    return PlacedNode(
        PartKey("node", source.id),
        source,
        _square(x, y, SOURCE_HALF),
        Text(label, (x, first), "middle"),
        Word((x + 7, y + SOURCE_HALF + 12)),
    )


def placed_converter(source: Source, x: float, y: float, measure: Measure) -> PlacedNode:
    """A converter, its name beside its symbol."""
    label = source_label(source, measure.label, measure)
    text = beside(label, x + CONVERTER_HALF, y)
    return PlacedNode(
        PartKey("node", source.id),
        source,
        _square(x, y, CONVERTER_HALF),
        text,
        Word((text.at[0], text.at[1] + label.height - 1)),
    )


def placed_bar(
    bus: Bus, ends: tuple[float, float], y: float, half: float, label: Label, wide: bool
) -> PlacedNode:
    """A bar with its name, and its state's word at its other end (wide) or below (narrow)."""
    low, high = ends
    first = y - half + 17
    if wide:
        text = Text(label, (low + 14, first))
        word = Word((high - 14, y + 4), "end")
    else:
        text = Text(label, ((low + high) / 2, first), "middle")
        word = Word(((low + high) / 2, first + label.height - 1), "middle")
    return PlacedNode(PartKey("node", bus.id), bus, Box(low, y - half, high, y + half), text, word)
