"""Scenarios as bits: which condition, and what has failed.

A scenario is a bit. `Scenarios` keeps, for every condition and for every way in which a component
fails, one integer whose bit k says 'this holds in scenario k'. The solver sees nothing else, so a
list of three scenarios and the million pairs of a large net go the same way.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

Fault = tuple[str, str]
"""A component's id and the mode in which it failed: `("left-main", "shorted")`."""


@dataclass(frozen=True)
class Scenario:
    """One condition with any number of components failed in it."""

    condition: str
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class Scenarios:
    """Many scenarios at once."""

    count: int
    in_condition: dict[str, int]
    """By condition id: the scenarios that start from it."""
    failed: dict[Fault, int]
    """By fault: the scenarios in which it stands. A fault that is not there fails in none."""
    at: Callable[[int], Scenario]
    """Scenario number k, for k in 0 .. count - 1."""

    @property
    def all(self) -> int:
        """The mask of every scenario."""
        return (1 << self.count) - 1

    def spread_out(self, by_condition: dict[str, int]) -> int:
        """A mask in which every scenario has its condition's truth value (0 or 1)."""
        mask = 0
        for condition, scenarios in self.in_condition.items():
            if by_condition[condition]:
                mask |= scenarios
        return mask


def listed(scenarios: Sequence[Scenario]) -> Scenarios:
    """The scenarios of a list; scenario k is the list's item k."""
    in_condition: dict[str, int] = {}
    failed: dict[Fault, int] = {}
    for k, scenario in enumerate(scenarios):
        bit = 1 << k
        in_condition[scenario.condition] = in_condition.get(scenario.condition, 0) | bit
        for fault in scenario.faults:
            failed[fault] = failed.get(fault, 0) | bit
    return Scenarios(len(scenarios), in_condition, failed, lambda k: scenarios[k])


def every_single(conditions: Iterable[str], faults: Sequence[Fault]) -> Scenarios:
    """Every fault alone in every condition: a block of bits a condition, a bit a fault."""
    names = list(conditions)
    size = len(faults)
    block = (1 << size) - 1
    column = sum(1 << (size * c) for c in range(len(names)))
    return Scenarios(
        size * len(names),
        {name: block << (size * c) for c, name in enumerate(names)},
        {fault: column << f for f, fault in enumerate(faults)},
        lambda k: Scenario(names[k // size], (faults[k % size],)),
    )


def singles_and_pairs(condition: str, faults: Sequence[Fault]) -> Scenarios:
    """Every fault alone and every pair of faults, in one condition.

    The bits stand in rows: row i holds fault i alone, then with each later fault. A fault's mask is
    then its whole row and one bit in every earlier row; those bits lie on one pattern, which grows
    by a bit a row and only has to be shifted, so that building costs one shift a fault.
    """
    size = len(faults)
    failed: dict[Fault, int] = {}
    starts = []
    start = 0
    pattern = 0
    for i, fault in enumerate(faults):
        starts.append(start)
        # start >= i holds for every row: earlier rows are at least one bit long.
        pattern |= 1 << (start - i)
        failed[fault] = (((1 << (size - i)) - 1) << start) | (pattern << i)
        start += size - i

    def at(k: int) -> Scenario:
        row = bisect_right(starts, k) - 1
        other = row + k - starts[row]
        both = (faults[row],) if other == row else (faults[row], faults[other])
        return Scenario(condition, both)

    return Scenarios(start, {condition: (1 << start) - 1}, failed, at)


def bits(mask: int) -> list[int]:
    """The numbers of the bits that are set, rising."""
    found: list[int] = []
    for index, byte in enumerate(mask.to_bytes((mask.bit_length() + 7) // 8, "little")):
        if byte:
            found.extend(index * 8 + b for b in range(8) if byte >> b & 1)
    return found
