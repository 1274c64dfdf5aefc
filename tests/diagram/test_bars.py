"""How far bars extend: over their connections, as far as their neighbours allow."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from sitegen.diagram.bars import APART, END, PORT, MovableBar, extents

Bars = list[tuple[float, float, list[float]]]
"""The room of each bar of a row, from left to right, and the x of its connections."""


def ends(bars: Bars, least: float = 20) -> list[tuple[float, float]]:
    """The left and right end of each bar."""
    row = [MovableBar(low, high, f"b-{n}", least) for n, (low, high, _) in enumerate(bars)]
    return list(extents(row, {f"b-{n}": xs for n, (_, _, xs) in enumerate(bars)}).values())


def made_up_row(seed: int) -> Bars:
    """A row that the engine could have placed: bars with room between them."""
    dice = random.Random(seed)
    bars: Bars = []
    x = 0.0
    for _ in range(dice.randint(2, 5)):
        width = dice.uniform(30, 120)
        reach = dice.choice([5, 40])
        xs = [dice.uniform(x - reach, x + width + reach) for _ in range(dice.randint(0, 5))]
        bars.append((x, x + width, sorted(xs)))
        x += width + dice.uniform(APART, 40)
    return bars


@pytest.mark.parametrize(
    ("connections", "bar"),
    [
        ([30, 70], (30 - END, 70 + END)),
        ([], (20, 80)),
        ([50], (20, 80)),
        ([70], (40, 100)),
        ([30], (0, 60)),
        ([90], (42, 90 + END)),
    ],
)
def test_a_bar_reaches_past_its_connections_and_grows_to_its_name_within_its_room(
    connections: list[float], bar: tuple[float, float]
) -> None:
    assert ends([(0, 100, connections)], least=60) == [bar]


def test_bars_of_one_row_keep_apart_and_hold_their_names() -> None:
    for seed in range(300):
        bars = made_up_row(seed)
        drawn = ends(bars)
        for (_, left_high), (right_low, _) in pairwise(drawn):
            assert right_low - left_high >= APART - 0.2, seed
        assert all(high - low >= 20 - 0.2 for low, high in drawn), seed


def outer_ends_and_gap(bars: Bars) -> tuple[float, float, float]:
    (low, left_high), (right_low, high) = ends(bars)
    return low, high, right_low - left_high


def test_which_of_two_bars_is_on_the_left_changes_nothing_but_the_side() -> None:
    for seed in range(300):
        bars = made_up_row(seed)[:2]
        mirrored: Bars = [(-high, -low, [-x for x in xs][::-1]) for low, high, xs in bars[::-1]]
        low, high, gap = outer_ends_and_gap(bars)
        expected = pytest.approx((-high, -low, gap), abs=0.21)
        assert outer_ends_and_gap(mirrored) == expected, seed


def test_a_wire_that_one_bar_must_bend_is_the_one_farthest_outside() -> None:
    """The left bar's wire at 95 is above the right bar: it bends, and has a port's room there."""
    left, right = ends([(0, 60, [20, 95]), (80, 140, [90, 130])])
    assert left[0] == 20 - END
    assert 20 + END + PORT <= left[1] <= right[0] - APART
    assert right == (90 - END, 130 + END)
