"""The channel of wires between two rows: a track for each, so that few cross.

A wire leaves its upper end straight down, goes across on a track of its own, and straight down
to its lower end. Wires whose ends are above each other need no track.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

STEP = 11.0
"""From track to track."""
NEAR = 9.0
"""Two vertical lines closer than this would look like one."""

TOUCH = 1000
"""What it costs, in crossings, if two lines would overlap."""


@dataclass(frozen=True)
class Net:
    """Wires of one node that may share a track: the x of their upper and lower ends."""

    upper: tuple[float, ...]
    lower: tuple[float, ...]

    @property
    def span(self) -> tuple[float, float]:
        return min(self.upper + self.lower), max(self.upper + self.lower)

    @property
    def straight(self) -> bool:
        low, high = self.span
        return high - low < 0.1


def tracks(nets: Sequence[Net]) -> list[int | None]:
    """The track of each net, counted from the top, None for a straight one."""
    across = [k for k, net in enumerate(nets) if not net.straight]
    preferred: dict[int, set[int]] = {k: set() for k in across}
    required: dict[int, set[int]] = {k: set() for k in across}
    for n, i in enumerate(across):
        for j in across[n + 1 :]:
            if not _meet(nets[i], nets[j]):
                continue
            in_order, reversed_order = _crossings(nets[i], nets[j]), _crossings(nets[j], nets[i])
            upper, lower = (i, j) if in_order <= reversed_order else (j, i)
            preferred[lower].add(upper)
            if abs(in_order - reversed_order) > TOUCH / 2:
                required[lower].add(upper)
    track: dict[int, int] = {}
    todo = list(across)
    while todo:
        # In a cycle the net with the fewest unplaced nets above it goes first.
        following = min(
            todo,
            key=lambda k: (len(required[k] - track.keys()), len(preferred[k] - track.keys()), k),
        )
        todo.remove(following)
        met = [track[k] for k in track if _meet(nets[k], nets[following])]
        track[following] = max(met, default=-1) + 1
    return [track.get(k) for k in range(len(nets))]


def touching(nets: Sequence[Net], track_of: Sequence[int | None]) -> list[int]:
    """The nets whose lower line overlaps the upper line of another, which no order could avoid."""
    nets_touching = []
    for n, net in enumerate(nets):
        mine = track_of[n]
        lower_nets = [
            other
            for other, theirs in zip(nets, track_of, strict=True)
            if mine is not None and theirs is not None and theirs > mine
        ]
        if any(abs(x - y) < NEAR - 1 for o in lower_nets for x in net.lower for y in o.upper):
            nets_touching.append(n)
    return nets_touching


def _meet(one: Net, other: Net) -> bool:
    (low, high), (other_low, other_high) = one.span, other.span
    return low < other_high + NEAR and other_low < high + NEAR


def _crossings(upper: Net, lower: Net) -> int:
    """The cost of one net's track above the other's: crossings, and lines that would touch."""
    cost = 0
    for x in upper.lower:
        low, high = lower.span
        cost += 2 * (low < x < high)
        cost += TOUCH * any(abs(x - other) < NEAR for other in lower.upper)
    for x in lower.upper:
        low, high = upper.span
        cost += 2 * (low < x < high)
    return cost


def ports(low: float, high: float, ends: Sequence[float], taken: Sequence[float]) -> list[float]:
    """Where wires that come from beyond a bar's ends join it.

    Parameters
    ----------
    low, high : the bar's ends.
    ends : the x of the wires' other ends.
    taken : the x of lines to keep clear of.

    Returns
    -------
    For each wire its x on the bar: straight where the bar reaches, else near the bar's end,
    the farthest outermost.
    """
    inset = 8.0
    joined: dict[int, float] = {}
    busy = list(taken)
    for k, x in enumerate(ends):
        if low + inset - 0.05 <= x <= high - inset + 0.05:
            joined[k] = x
            busy.append(x)
    for side in (1, -1):
        outside = [
            k
            for k in range(len(ends))
            if k not in joined and (ends[k] >= (low + high) / 2) == (side > 0)
        ]
        x = high - inset if side > 0 else low + inset
        for k in sorted(outside, key=lambda k: -side * ends[k]):
            tried = x
            while any(abs(tried - other) < NEAR + 1 for other in busy):
                tried -= side * 2
                if not low + 2 <= tried <= high - 2:
                    tried = x
                    break
            joined[k] = tried
            busy.append(tried)
    return [round(joined[k], 1) for k in range(len(ends))]
