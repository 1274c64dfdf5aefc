"""Numbers in every scenario at once: binary digits, each a mask of scenarios.

Digit i of a sum, for all scenarios, is one integer (bit-sliced arithmetic).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sitegen.solver.scenarios import by_scenario

STEPS_IN_AN_AMP = 1 << 16
"""Amps are counted in steps this small; a thousand items are together right to 0.01 A."""

Digits = Sequence[int]
"""A number in every scenario: mask i holds the scenarios whose number has binary digit i set."""


def add_up(amps: Mapping[int, float]) -> list[int]:
    """The sum, in steps, in every scenario, of amps that flow in some of them.

    Parameters
    ----------
    amps : by mask of scenarios, what is added there, A; not below zero.

    Examples
    --------
    >>> digits = add_up({0b11: 1.0, 0b10: 2.5})
    >>> [n / STEPS_IN_AN_AMP for n in numbers(digits, 2)]
    [1.0, 3.5]
    """
    columns: list[list[int]] = []
    for mask, amount in amps.items():
        steps = round(amount * STEPS_IN_AN_AMP)
        columns += [[] for _ in range(steps.bit_length() - len(columns))]
        for place in range(steps.bit_length()):
            if steps >> place & 1:
                columns[place].append(mask)
    return _carry(columns)


def add_up_numbers(one: Digits, other: Digits) -> list[int]:
    """The sum of two numbers in every scenario."""
    places = max(len(one), len(other))
    return _carry(
        [[digits[i] for digits in (one, other) if i < len(digits)] for i in range(places)]
    )


def _carry(columns: list[list[int]]) -> list[int]:
    """Digits from any number of masks in a place: three make one, and one carried."""
    digits = []
    place = 0
    while place < len(columns):
        column, carries = columns[place], []
        at = 0
        while len(column) - at > 1:
            a, b = column[at], column[at + 1]
            c = column[at + 2] if len(column) - at > 2 else 0
            at += 3 if len(column) - at > 2 else 2
            either = a ^ b
            column.append(either ^ c)
            over = a & b | c & either
            if over:
                carries.append(over)
        digits.append(column[at] if at < len(column) else 0)
        if carries:
            if place + 1 == len(columns):
                columns.append([])
            columns[place + 1] += carries
        place += 1
    return digits


def numbers(digits: Digits, count: int) -> list[int]:
    """The number in each scenario."""
    values = [1 << i for i in range(len(digits))]
    return [
        sum(value for value, there in zip(values, row, strict=True) if there)
        for row in by_scenario(digits, count)
    ]


def constant(amps: float, every: int) -> list[int]:
    """The same amps in every scenario; not below zero."""
    steps = max(0, round(amps * STEPS_IN_AN_AMP))
    return [every if steps >> i & 1 else 0 for i in range(steps.bit_length())]


def at_least(one: Digits, other: Digits, every: int) -> int:
    """The scenarios in which one number is not less than the other."""
    mask = every
    for i in range(max(len(one), len(other))):
        a = one[i] if i < len(one) else 0
        b = other[i] if i < len(other) else 0
        mask = a & ~b | ~(a ^ b) & mask
    return mask & every
