"""Chance that falls the same on every machine."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import TypeVar

T = TypeVar("T")


class Chance:
    """Draws from a seed.

    Of Python's generator only `random()` is used: what it gives for a seed is promised to stay,
    while how `shuffle` and `choice` use it has changed between versions.

    Examples
    --------
    >>> Chance("1").shuffled("abcde") == Chance("1").shuffled("abcde")
    True
    """

    def __init__(self, seed: str) -> None:
        self._random = Random(seed)

    def below(self, number: int) -> int:
        """A whole number from 0 to below `number`."""
        return int(self._random.random() * number)

    def one(self, things: Sequence[T]) -> T:
        """One of some things."""
        return things[self.below(len(things))]

    def shuffled(self, things: Sequence[T]) -> list[T]:
        """The things in any order (Fisher and Yates)."""
        mixed = list(things)
        for last in range(len(mixed) - 1, 0, -1):
            other = self.below(last + 1)
            mixed[last], mixed[other] = mixed[other], mixed[last]
        return mixed
