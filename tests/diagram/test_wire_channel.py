"""Tracks for the wires between two rows: few crossings, and no two wires that look like one."""

from __future__ import annotations

import pytest

from sitegen.diagram.wire_channel import NEAR, Net, touching, tracks


def wire(upper: float, lower: float) -> Net:
    return Net((upper,), (lower,))


def test_a_wire_whose_ends_are_above_each_other_needs_no_track() -> None:
    assert tracks([wire(10, 10), wire(0, 20)]) == [None, 0]


@pytest.mark.parametrize("side", [1, -1])
def test_wires_side_by_side_share_a_track_if_their_ends_are_far_enough_apart(side: int) -> None:
    """On either side of each other: the first may be left or right of the second."""
    first = wire(0, side * 50)
    far, near = side * (50 + NEAR + 1), side * (50 + NEAR - 1)
    assert tracks([first, wire(far, side * 100)]) == [0, 0]
    assert sorted(t for t in tracks([first, wire(near, side * 100)]) if t is not None) == [0, 1]


def test_a_wire_goes_across_above_the_one_that_it_would_otherwise_cross() -> None:
    """The second begins within the first's stretch and ends beyond it."""
    outer, inner = wire(0, 100), wire(50, 150)
    assert tracks([outer, inner]) == [1, 0]
    assert tracks([inner, outer]) == [0, 1]


@pytest.mark.parametrize(("apart", "touch"), [(NEAR - 1.5, [0]), (NEAR - 0.5, [])])
def test_wires_of_which_one_ends_where_the_other_begins_look_like_one(
    apart: float, touch: list[int]
) -> None:
    assert touching([wire(0, 100), wire(100 + apart, 50)], [0, 1]) == touch
    # The lower wire's own upper line passes the other's track only where that is above it.
    assert touching([wire(0, 100), wire(100 + apart, 50)], [1, 0]) == []
