"""Devices between two bars: where their wires are straight, as far as there is room."""

from __future__ import annotations

import pytest

from sitegen.diagram.alignment import aligned_with_bars
from sitegen.diagram.bars import END
from sitegen.diagram.rows import WIDE, Cell, Item, Link, Rows


def bar(name: str, width: float) -> Item:
    return Item(f"n-{name}", "bars", 0, width, id=name, cells=(Cell(name, width),))


def moved(upper: float, lower: float, *devices: float) -> list[float]:
    """Where devices go that lead from one bar, 100 wide, down to another."""
    items = tuple(Item(f"c{n}", "chain", 13, 57, chain=n) for n in range(len(devices)))
    links = [
        link
        for n, item in enumerate(items)
        for link in (
            Link("n-a", item.name, n, 0, upper_bus="a"),
            Link(item.name, "n-b", n, 1, lower_bus="b"),
        )
    ]
    rows = Rows(((), (bar("a", 100),), items, (bar("b", 100),)), tuple(links), WIDE)
    x = {"n-a": upper, "n-b": lower, **{i.name: at for i, at in zip(items, devices, strict=True)}}
    axis = aligned_with_bars(rows, x)
    return [axis[item.name] for item in items]


def test_a_device_that_is_above_and_below_a_bar_stays() -> None:
    assert moved(0, 50, 70) == [70]


@pytest.mark.parametrize(("at", "goes_to"), [(10, 50 + END + 1), (140, 100 - END - 1)])
def test_a_device_moves_to_where_both_bars_are(at: float, goes_to: float) -> None:
    assert moved(0, 50, at) == [goes_to]


@pytest.mark.parametrize(("at", "goes_to"), [(140, 100 - END - 1), (160, 200 + END + 1)])
def test_between_bars_that_are_not_above_each_other_it_goes_to_the_nearer(
    at: float, goes_to: float
) -> None:
    assert moved(0, 200, at) == [goes_to]
    assert moved(200, 0, at) == [goes_to]


def test_a_device_moves_no_further_than_its_neighbours_leave_room() -> None:
    """Each reaches 13 to the left and 57 to the right; 4 stay between them."""
    first, second = moved(0, 50, -60, 14)
    assert (first, second) == (14 - 13 - 4 - 57, 63)
    assert moved(0, 50, 80, 300) == [80, 80 + 57 + 4 + 13]
