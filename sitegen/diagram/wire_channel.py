"""Wires between two rows: where each runs across, so that as few as possible cross.

A wire leaves its upper end straight down, runs across on a track of its own, and goes straight
down to its lower end. Wires whose ends stand above each other need no track.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

STEP = 9.0
"""From track to track."""
NEAR = 6.0
"""Two vertical runs closer than this would look like one."""

TOUCH = 1000
"""What it costs, in crossings, if two runs would lie on each other."""


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
    wishes: dict[int, set[int]] = {k: set() for k in across}
    musts: dict[int, set[int]] = {k: set() for k in across}
    for n, i in enumerate(across):
        for j in across[n + 1 :]:
            if not _meet(nets[i], nets[j]):
                continue
            this_way, other_way = _crossings(nets[i], nets[j]), _crossings(nets[j], nets[i])
            upper, lower = (i, j) if this_way <= other_way else (j, i)
            wishes[lower].add(upper)
            if abs(this_way - other_way) > TOUCH / 2:
                musts[lower].add(upper)
    track: dict[int, int] = {}
    todo = list(across)
    while todo:
        # In a ring of wishes the one with the fewest open wishes goes first.
        following = min(
            todo,
            key=lambda k: (len(musts[k] - track.keys()), len(wishes[k] - track.keys()), k),
        )
        todo.remove(following)
        met = [track[k] for k in track if _meet(nets[k], nets[following])]
        track[following] = max(met, default=-1) + 1
    return [track.get(k) for k in range(len(nets))]


def touching(nets: Sequence[Net], given: Sequence[int | None]) -> list[int]:
    """The nets whose lower run lies on the upper run of another, which no order could avoid."""
    found = []
    for n, net in enumerate(nets):
        mine = given[n]
        lower_nets = [
            other
            for other, theirs in zip(nets, given, strict=True)
            if mine is not None and theirs is not None and theirs > mine
        ]
        if any(abs(x - y) < NEAR - 1 for o in lower_nets for x in net.lower for y in o.upper):
            found.append(n)
    return found


def _meet(one: Net, other: Net) -> bool:
    (low, high), (other_low, other_high) = one.span, other.span
    return low < other_high + NEAR and other_low < high + NEAR


def _crossings(upper: Net, lower: Net) -> int:
    """What it costs to let one net run above the other: crossings, and runs that would touch."""
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
    taken : the x of runs to keep clear of.

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
