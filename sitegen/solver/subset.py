"""A few scenarios out of many: for questions that cost much to ask of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any

from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits


def narrowed(power: Power, numbers: Sequence[int]) -> Power:
    """The same net with some of its scenarios only.

    Parameters
    ----------
    power : the scenarios in steady state.
    numbers : which of them, rising; scenario i of the answer is number `numbers[i]`.

    The answer is to be read; no further steady state is computed from it.
    """
    steady = power.steady
    if len(numbers) == steady.setting.all.bit_length():
        return power  # with what is known of it
    place = {k: i for i, k in enumerate(numbers)}
    every = (1 << len(numbers)) - 1
    chosen = widened(every, numbers)

    def few(mask: int) -> int:
        # Most things are the same in nearly all of the few: the exceptions are quickly gone over.
        there, absent = mask & chosen, chosen & ~mask
        if not there or not absent:
            return every if there else 0
        if bin(there).count("1") < bin(absent).count("1"):
            return sum(1 << place[k] for k in bits(there))
        return every ^ sum(1 << place[k] for k in bits(absent))

    def each(masks: Mapping[Any, int]) -> dict[Any, int]:
        return {key: few(mask) if mask else 0 for key, mask in masks.items()}

    setting = replace(
        steady.setting,
        all=every,
        **{
            f.name: each(getattr(steady.setting, f.name))
            for f in fields(steady.setting)
            if f.name not in ("all", "open", "stuck")
        },
        # What opened or held a device is not asked any more: what conducts says it all.
        open={},
        stuck={},
    )
    steady = replace(
        steady,
        setting=setting,
        live=each(steady.live),
        produces=each(steady.produces),
        conducts=each(steady.conducts),
        chatters=each(steady.chatters),
        down=each(steady.down),
    )
    return Power(steady, each(power.shed))


def widened(mask: int, numbers: Sequence[int]) -> int:
    """A mask over a few scenarios as a mask over all of them.

    Examples
    --------
    >>> bin(widened(0b101, [1, 4, 6]))
    '0b1000010'
    """
    if not mask:
        return 0
    held = bytearray(numbers[-1] // 8 + 1)
    for i, k in enumerate(numbers):
        if mask >> i & 1:
            held[k >> 3] |= 1 << (k & 7)
    return int.from_bytes(held, "little")
