"""How far each bar reaches: over all of its connections, as far as its neighbours allow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

END = 12.0
"""From the outermost connection to the end of the bar."""
APART = 14.0
"""Between a bar and what stands next to it."""
PORT = 10.0
"""Room on a bar for a wire that comes from beyond its end."""
NEVER = -999
"""Instead of such a count: there is no room to keep."""


@dataclass
class Stretch:
    """One thing in a row: a bar that may move its ends, or something that keeps its place."""

    low: float
    high: float
    bus: str = ""
    """Empty for what keeps its place."""
    least: float = 0.0
    """The bar's least width."""
    tie: float = 0.0
    """Room for the tie to its right neighbour, 0 if there is none."""
    wanted: list[float] = field(default_factory=list)
    """The x of its connections that it still tries to cover."""
    beyond: list[int] = field(default_factory=lambda: [0, 0])
    """How many connections it has given up on its left and on its right, and keeps room for."""

    def __post_init__(self) -> None:
        self.core = (self.low, self.high)

    def needs(self) -> tuple[float, float]:
        """What the bar must cover for its remaining connections."""
        low, high = min(self.wanted), max(self.wanted)
        before, after = (PORT * max(0, count) for count in self.beyond)
        return low - END - before, high + END + after


def reach(
    row: Sequence[Stretch], connections: Mapping[str, Sequence[float]]
) -> dict[str, tuple[float, float]]:
    """The ends of every bar of one row.

    Parameters
    ----------
    row : from left to right, with the places that the layout engine gave.
    connections : for each bus the x of everything that connects to it from above and below.

    Notes
    -----
    Every bar first takes what it wants. Where two then meet, they move apart as far as they can
    without losing a connection; then the connection farthest from home is given up (its wire
    bends); and when there is nothing left to give, both keep the room that the engine gave
    them, which never overlaps.
    """
    row = sorted(row, key=lambda s: s.low)
    settled: set[int] = set()
    for bar in row:
        if bar.bus:
            bar.wanted = sorted(connections.get(bar.bus, ()))
            _stretch(bar)
    # Each round of the loop gives up a connection or settles a bar, moves aside.
    for _ in range(8 * len(row) + sum(len(b.wanted) for b in row)):
        clash = next(
            (
                n
                for n, (left, right) in enumerate(pairwise(row))
                if left.high + _apart(left, right) > right.low + 0.05
                and not (n in settled and n + 1 in settled)
            ),
            None,
        )
        if clash is None:
            break
        _part(row, clash, settled)
    for n, bar in enumerate(row):
        if bar.bus:
            _make_room(row, n, connections.get(bar.bus, ()))
    return _checked(row)


def _make_room(row: Sequence[Stretch], n: int, connections: Sequence[float]) -> None:
    """Let a bar use a free gap beside it for the wires that come from beyond its end."""
    bar = row[n]
    if any(x > bar.high - END / 2 for x in connections):
        free = _gap(row, n, 1) if n + 1 < len(row) else 2 * PORT
        bar.high += min(free, 2 * PORT)
    if any(x < bar.low + END / 2 for x in connections):
        free = _gap(row, n, -1) if n else 2 * PORT
        bar.low -= min(free, 2 * PORT)


def _apart(left: Stretch, right: Stretch) -> float:
    return left.tie or (APART if left.bus and right.bus else 8.0)


def _stretch(bar: Stretch) -> None:
    low, high = bar.core
    if not bar.wanted:
        middle = (low + high) / 2
        bar.low, bar.high = middle - bar.least / 2, middle + bar.least / 2
        return
    bar.low, bar.high = bar.needs()
    missing = bar.least - (bar.high - bar.low)
    if missing > 0:
        # Grow evenly, but rather within the room given than beyond it.
        bar.low -= missing / 2
        bar.high += missing / 2
        shift = max(0.0, min(low - bar.low, missing / 2)) - max(
            0.0, min(bar.high - high, missing / 2)
        )
        bar.low += shift
        bar.high += shift


def _part(row: Sequence[Stretch], n: int, settled: set[int]) -> None:
    """Part two neighbours that meet, by the least harmful means that is left."""
    left, right = row[n], row[n + 1]
    overlap = left.high + _apart(left, right) - right.low
    give_left = 0.0 if n in settled else _room(row, n, settled, -1)
    give_right = 0.0 if n + 1 in settled else _room(row, n + 1, settled, 1)
    if give_left + give_right >= overlap:
        share = min(give_left, max(overlap - give_right, overlap * 0.5))
        _push(row, n, -share)
        _push(row, n + 1, overlap - share)
        return
    # Room for the wires given up already is only a wish.
    if left.beyond[1] > 0 or right.beyond[0] > 0:
        for bar, side in ((left, 1), (right, 0)):
            if bar.beyond[side] > 0:
                bar.beyond[side] = NEVER
                _stretch(bar)
        return
    astray_left = max(left.wanted, default=0) - left.core[1] if n not in settled else 0
    astray_right = right.core[0] - min(right.wanted, default=0) if n + 1 not in settled else 0
    may_left = n not in settled and len(left.wanted) > 1
    may_right = n + 1 not in settled and len(right.wanted) > 1
    if may_left and (astray_left >= astray_right or not may_right):
        left.wanted.pop()
        left.beyond[1] += 1
        _stretch(left)
    elif may_right:
        right.wanted.pop(0)
        right.beyond[0] += 1
        _stretch(right)
    else:
        for k in (n, n + 1):
            row[k].low, row[k].high = row[k].core
            settled.add(k)


def _room(row: Sequence[Stretch], n: int, settled: set[int], way: int) -> float:
    """How far a bar can move left (-1) or right (1), and push others, and lose no connection."""
    bar = row[n]
    if not bar.bus or n in settled:
        return 0.0
    free = float("inf")
    if bar.wanted:
        low, high = bar.needs()
        free = max(0.0, low - bar.low if way > 0 else bar.high - high)
    if not 0 <= n + way < len(row):
        return free
    return min(free, _gap(row, n, way) + _room(row, n + way, settled, way))


def _gap(row: Sequence[Stretch], n: int, way: int) -> float:
    left, right = (row[n], row[n + 1]) if way > 0 else (row[n - 1], row[n])
    return max(0.0, right.low - left.high - _apart(left, right))


def _push(row: Sequence[Stretch], n: int, by: float) -> None:
    way = 1 if by > 0 else -1
    while by and 0 <= n < len(row):
        onward = abs(by) - _gap(row, n, way) if 0 <= n + way < len(row) else 0.0
        row[n].low += by
        row[n].high += by
        by = way * max(0.0, onward)
        n += way


def _checked(row: Sequence[Stretch]) -> dict[str, tuple[float, float]]:
    for left, right in pairwise(row):
        if left.high > right.low - 2:
            for bar in row:
                bar.low, bar.high = bar.core
            break
    return {bar.bus: (round(bar.low, 1), round(bar.high, 1)) for bar in row if bar.bus}
