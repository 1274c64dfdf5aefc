"""The extent of each bar: over all of its connections, as far as its neighbours allow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

END = 12.0
"""From the outermost connection to the end of the bar."""
APART = 14.0
"""Between a bar and its neighbour in the row."""
PORT = 10.0
"""Room on a bar for a wire that comes from beyond its end."""
NO_ROOM = -999
"""In place of a count of dropped connections: no room is kept for them."""


@dataclass
class MovableBar:
    """One thing in a row: a bar that may move its ends, or something that keeps its place."""

    low: float
    high: float
    bus: str = ""
    """Empty for what keeps its place."""
    least: float = 0.0
    """The bar's least width."""
    tie: float = 0.0
    """Room for the tie to its right neighbour, 0 if there is none."""
    covered: list[float] = field(default_factory=list)
    """The x of the connections that it covers."""
    dropped: list[int] = field(default_factory=lambda: [0, 0])
    """How many connections it no longer covers on its left and on its right, but keeps room for."""

    def __post_init__(self) -> None:
        self.core = (self.low, self.high)

    def needs(self) -> tuple[float, float]:
        """What the bar must cover for its remaining connections."""
        low, high = min(self.covered), max(self.covered)
        before, after = (PORT * max(0, count) for count in self.dropped)
        return low - END - before, high + END + after


def extents(
    row: Sequence[MovableBar], connections: Mapping[str, Sequence[float]]
) -> dict[str, tuple[float, float]]:
    """The ends of every bar of one row, by bus.

    Parameters
    ----------
    row : from left to right, with the places from the layout engine.
    connections : for each bus the x of everything that connects to it from above and below.

    Notes
    -----
    Every bar first covers all of its connections. Where two then meet, they move apart as far as
    they can without losing a connection; then the connection farthest outside is dropped (its wire
    bends); when none can be dropped, both keep the room that the engine gave them, which never
    overlaps.
    """
    row = sorted(row, key=lambda s: s.low)
    fixed: set[int] = set()
    for bar in row:
        if bar.bus:
            bar.covered = sorted(connections.get(bar.bus, ()))
            _extend(bar)
    # Each round of the loop drops a connection or fixes a bar; moves come on top.
    for _ in range(8 * len(row) + sum(len(b.covered) for b in row)):
        clash = next(
            (
                n
                for n, (left, right) in enumerate(pairwise(row))
                if left.high + _apart(left, right) > right.low + 0.05
                and not (n in fixed and n + 1 in fixed)
            ),
            None,
        )
        if clash is None:
            break
        _separate(row, clash, fixed)
    for n, bar in enumerate(row):
        if bar.bus:
            _make_room(row, n, connections.get(bar.bus, ()))
    return _checked(row)


def _make_room(row: Sequence[MovableBar], n: int, connections: Sequence[float]) -> None:
    """Let a bar use a free gap beside it for the wires that come from beyond its end."""
    bar = row[n]
    if any(x > bar.high - END / 2 for x in connections):
        free = _gap(row, n, 1) if n + 1 < len(row) else 2 * PORT
        bar.high += min(free, 2 * PORT)
    if any(x < bar.low + END / 2 for x in connections):
        free = _gap(row, n, -1) if n else 2 * PORT
        bar.low -= min(free, 2 * PORT)


def _apart(left: MovableBar, right: MovableBar) -> float:
    return left.tie or (APART if left.bus and right.bus else 8.0)


def _extend(bar: MovableBar) -> None:
    low, high = bar.core
    if not bar.covered:
        middle = (low + high) / 2
        bar.low, bar.high = middle - bar.least / 2, middle + bar.least / 2
        return
    bar.low, bar.high = bar.needs()
    missing = bar.least - (bar.high - bar.low)
    if missing > 0:
        # Grow evenly, but within the engine's room rather than beyond it.
        bar.low -= missing / 2
        bar.high += missing / 2
        shift = max(0.0, min(low - bar.low, missing / 2)) - max(
            0.0, min(bar.high - high, missing / 2)
        )
        bar.low += shift
        bar.high += shift


def _separate(row: Sequence[MovableBar], n: int, fixed: set[int]) -> None:
    """Separate two neighbours that meet, by the least harmful means that is left."""
    left, right = row[n], row[n + 1]
    overlap = left.high + _apart(left, right) - right.low
    give_left = 0.0 if n in fixed else _slack(row, n, fixed, -1)
    give_right = 0.0 if n + 1 in fixed else _slack(row, n + 1, fixed, 1)
    if give_left + give_right >= overlap:
        share = min(give_left, max(overlap - give_right, overlap * 0.5))
        _push(row, n, -share)
        _push(row, n + 1, overlap - share)
        return
    # Room for dropped connections is optional.
    if left.dropped[1] > 0 or right.dropped[0] > 0:
        for bar, side in ((left, 1), (right, 0)):
            if bar.dropped[side] > 0:
                bar.dropped[side] = NO_ROOM
                _extend(bar)
        return
    outside_left = max(left.covered, default=0) - left.core[1] if n not in fixed else 0
    outside_right = right.core[0] - min(right.covered, default=0) if n + 1 not in fixed else 0
    may_left = n not in fixed and len(left.covered) > 1
    may_right = n + 1 not in fixed and len(right.covered) > 1
    if may_left and (outside_left >= outside_right or not may_right):
        left.covered.pop()
        left.dropped[1] += 1
        _extend(left)
    elif may_right:
        right.covered.pop(0)
        right.dropped[0] += 1
        _extend(right)
    else:
        for k in (n, n + 1):
            row[k].low, row[k].high = row[k].core
            fixed.add(k)


def _slack(row: Sequence[MovableBar], n: int, fixed: set[int], direction: int) -> float:
    """How far a bar can move left (-1) or right (1), and push others, and lose no connection."""
    bar = row[n]
    if not bar.bus or n in fixed:
        return 0.0
    free = float("inf")
    if bar.covered:
        low, high = bar.needs()
        free = max(0.0, low - bar.low if direction > 0 else bar.high - high)
    if not 0 <= n + direction < len(row):
        return free
    return min(free, _gap(row, n, direction) + _slack(row, n + direction, fixed, direction))


def _gap(row: Sequence[MovableBar], n: int, direction: int) -> float:
    left, right = (row[n], row[n + 1]) if direction > 0 else (row[n - 1], row[n])
    return max(0.0, right.low - left.high - _apart(left, right))


def _push(row: Sequence[MovableBar], n: int, by: float) -> None:
    direction = 1 if by > 0 else -1
    while by and 0 <= n < len(row):
        remaining = abs(by) - _gap(row, n, direction) if 0 <= n + direction < len(row) else 0.0
        row[n].low += by
        row[n].high += by
        by = direction * max(0.0, remaining)
        n += direction


def _checked(row: Sequence[MovableBar]) -> dict[str, tuple[float, float]]:
    for left, right in pairwise(row):
        if left.high > right.low - 2:
            for bar in row:
                bar.low, bar.high = bar.core
            break
    return {bar.bus: (round(bar.low, 1), round(bar.high, 1)) for bar in row if bar.bus}
