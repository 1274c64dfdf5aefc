"""Scenarios as bits: which condition, and what has failed.

A scenario is a bit. `Scenarios` keeps, for every condition and for every mode in which a component
fails, one integer whose bit k says 'this holds in scenario k'. The solver sees nothing else, so a
list of three scenarios and the million pairs of a large net are solved in the same way.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, compress, islice, repeat

LARGEST_BLOCK = 1 << 20
"""Scenarios in one block: masks of 128 kB, small enough to stay in a processor's cache."""

Masks = Mapping[str, int]
"""By id: the scenarios in which something holds of it."""

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
    """By fault: the scenarios in which it has occurred; a fault that is not a key, in none."""
    at: Callable[[int], Scenario]
    """Scenario number k, for k in 0 .. count - 1."""
    of_size: dict[int, int]
    """By number of faults: the scenarios with that many, as far as the builder fills it in."""

    @property
    def all(self) -> int:
        """The mask of every scenario."""
        return (1 << self.count) - 1

    def conditions_by_fault(self, mask: int) -> dict[Fault, tuple[str, ...]]:
        """Of scenarios with one fault each: by fault, the conditions of those in a mask."""
        found: dict[Fault, tuple[str, ...]] = {}
        for k in bits(mask):
            scenario = self.at(k)
            fault = scenario.faults[0]
            found[fault] = (*found.get(fault, ()), scenario.condition)
        return found

    def spread_out(self, by_condition: dict[str, int]) -> int:
        """A mask in which every scenario has its condition's truth value (0 or 1)."""
        mask = 0
        for condition, scenarios in self.in_condition.items():
            if by_condition[condition]:
                mask |= scenarios
        return mask


def scenarios_of(scenarios: Sequence[Scenario]) -> Scenarios:
    """The scenarios of a list; scenario k is the list's item k."""
    in_condition: dict[str, int] = {}
    failed: dict[Fault, int] = {}
    for k, scenario in enumerate(scenarios):
        bit = 1 << k
        in_condition[scenario.condition] = in_condition.get(scenario.condition, 0) | bit
        for fault in scenario.faults:
            failed[fault] = failed.get(fault, 0) | bit
    of_size: dict[int, int] = {}
    for k, scenario in enumerate(scenarios):
        size = len(scenario.faults)
        of_size[size] = of_size.get(size, 0) | 1 << k
    return Scenarios(len(scenarios), in_condition, failed, lambda k: scenarios[k], of_size)


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
        {1: (1 << (size * len(names))) - 1},
    )


def singles_and_pairs(
    condition: str, faults: Sequence[Fault], first: int | None = None
) -> Scenarios:
    """Every fault alone and every pair of faults, in one condition.

    `first`: those alone in which one of this number of faults, from the first on, has failed.

    The bits are in rows: row i holds fault i alone, then with each later fault. A fault's mask is
    then its whole row and one bit in every earlier row; those bits lie on one pattern, which grows
    by a bit a row and only has to be shifted, so that building costs one shift a fault.
    """
    size = len(faults)
    failed: dict[Fault, int] = {}
    starts = []
    start = 0
    pattern = 0
    for i, fault in enumerate(faults[:first]):
        starts.append(start)
        # start >= i holds for every row: earlier rows are at least one bit long.
        pattern |= 1 << (start - i)
        failed[fault] = (((1 << (size - i)) - 1) << start) | (pattern << i)
        start += size - i
    for i in range(len(starts), size):
        failed[faults[i]] = pattern << i

    def at(k: int) -> Scenario:
        row = bisect_right(starts, k) - 1
        other = row + k - starts[row]
        both = (faults[row],) if other == row else (faults[row], faults[other])
        return Scenario(condition, both)

    every = (1 << start) - 1
    alone = sum(1 << s for s in starts)
    return Scenarios(start, {condition: every}, failed, at, {1: alone, 2: every & ~alone})


def every_set(
    condition: str, faults: Sequence[Fault], order: int, largest: int = LARGEST_BLOCK
) -> Iterator[Scenarios]:
    """Every set of one to `order` faults, in one condition, in blocks that bound the memory.

    Parameters
    ----------
    condition, faults : what the sets are made of.
    order : the most faults in a set, 1 to 3.
    largest : about how many scenarios a block may hold; a mask takes an eighth as many bytes.

    Yields
    ------
    Blocks of scenarios. With `order` 3, the pairs are in the first block, and each again before
    the triples that begin with it, where leaving it out would cost more; `of_size` of these later
    blocks names the triples alone.
    """
    if order == 1:
        yield every_single([condition], faults)
        return
    yield singles_and_pairs(condition, faults)
    if order == 2:
        return
    first, count = 0, 0
    for i in range(len(faults)):
        rest = len(faults) - 1 - i
        count += rest * (rest + 1) // 2
        if count >= largest or i == len(faults) - 1:
            yield _with_first(condition, faults, range(first, i + 1))
            first, count = i + 1, 0


def _with_first(condition: str, faults: Sequence[Fault], firsts: Iterable[int]) -> Scenarios:
    """Every pair and triple whose first fault is one of these, one part a first fault."""
    failed: dict[Fault, int] = {}
    starts: list[int] = []
    parts: list[tuple[Fault, Scenarios]] = []
    triples = 0
    start = 0
    for i in firsts:
        part = singles_and_pairs(condition, faults[i + 1 :])
        starts.append(start)
        parts.append((faults[i], part))
        for fault, mask in (*part.failed.items(), (faults[i], part.all)):
            failed[fault] = failed.get(fault, 0) | mask << start
        triples |= part.of_size[2] << start
        start += part.count

    def at(k: int) -> Scenario:
        which = bisect_right(starts, k) - 1
        fault, part = parts[which]
        return Scenario(condition, (fault, *part.at(k - starts[which]).faults))

    return Scenarios(start, {condition: (1 << start) - 1}, failed, at, {3: triples})


def union(masks: Iterable[int]) -> int:
    """The scenarios in which any of these masks holds."""
    found = 0
    for mask in masks:
        found = found | mask if found else mask  # without a copy of the first
    return found


def at_least(masks: Iterable[int], most: int, every: int) -> list[int]:
    """For n = 0 .. most: the scenarios in which at least n of the masks hold.

    Examples
    --------
    >>> [bin(m) for m in at_least([0b011, 0b110], 2, 0b111)]
    ['0b111', '0b111', '0b10']
    """
    reached = [every] + [0] * most
    for mask in masks:
        for n in range(most, 0, -1):
            reached[n] |= reached[n - 1] & mask
    return reached


def bits(mask: int) -> list[int]:
    """The numbers of the bits that are set, rising."""
    if mask < 2:
        return [0] if mask else []
    found: list[int] = []
    # Most masks are long and nearly empty: the search for bytes with something in them is fast.
    for stretch in _NOT_EMPTY.finditer(mask.to_bytes((mask.bit_length() + 7) // 8, "little")):
        for index, byte in enumerate(stretch.group(), stretch.start()):
            start = index * 8
            found += [start + b for b in _BITS_OF_BYTE[byte]]
    return found


def by_scenario(masks: Iterable[int], count: int) -> Iterator[tuple[bool, ...]]:
    """For each scenario in turn, whether each of the masks holds it.

    The table of masks is turned over a byte at a time, which is much less work than asking each
    mask for each bit.

    Examples
    --------
    >>> list(by_scenario([0b011, 0b110], 3))
    [(True, False), (True, True), (False, True)]
    """
    if count == 1:
        return iter([tuple(mask == 1 for mask in masks)])
    size = (count + 7) // 8
    columns = [
        chain.from_iterable(map(_TRUTHS_OF_BYTE.__getitem__, mask.to_bytes(size, "little")))
        for mask in masks
    ]
    return islice(zip(*columns, strict=True), count) if columns else repeat((), count)


def ids_by_scenario(masks: Mapping[str, int], count: int) -> list[list[str]]:
    """For each scenario the sorted ids whose mask holds it."""
    ids = sorted(masks)
    rows = by_scenario([masks[i] for i in ids], count)
    return [list(compress(ids, row)) for row in rows]


def values_by_scenario(masks: Mapping[str, int], count: int) -> list[dict[str, bool]]:
    """For each scenario, whether each id's mask holds it."""
    return [dict(zip(masks, row, strict=True)) for row in by_scenario(masks.values(), count)]


def distinct(masks: Iterable[int], count: int) -> list[int]:
    """By scenario a number that is the same for two scenarios if no mask distinguishes them.

    Bit i of it says that mask i is not there what it is in most scenarios.

    Examples
    --------
    >>> distinct([0b0111, 0b0001], 4)
    [2, 0, 0, 1]
    """
    every = (1 << count) - 1
    numbers = [0] * count
    if count == 1:
        return numbers
    for i, mask in enumerate(masks):
        few = mask ^ every if 2 * bin(mask).count("1") > count else mask
        if few:
            digit = 1 << i
            for k in bits(few):
                numbers[k] |= digit
    return numbers


_TRUTHS_OF_BYTE = tuple(tuple(bool(byte >> b & 1) for b in range(8)) for byte in range(256))
_NOT_EMPTY = re.compile(rb"[^\0]+")
_BITS_OF_BYTE = tuple(tuple(b for b in range(8) if byte >> b & 1) for byte in range(256))
