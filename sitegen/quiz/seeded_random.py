"""Random numbers that are the same on every machine."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import TypeVar

T = TypeVar("T")


class SeededRandom:
    """Random choices from a seed.

    Of Python's generator only `random()` is used: Python promises the same numbers for a seed,
    while `shuffle` and `choice` have changed between versions.

    Examples
    --------
    >>> SeededRandom("1").shuffled("abcde") == SeededRandom("1").shuffled("abcde")
    True
    """

    def __init__(self, seed: str) -> None:
        self._random = Random(seed)

    def below(self, number: int) -> int:
        """A whole number from 0 up to, but not including, `number`."""
        return int(self._random.random() * number)

    def choice(self, options: Sequence[T]) -> T:
        """One of the options."""
        return options[self.below(len(options))]

    def shuffled(self, options: Sequence[T]) -> list[T]:
        """The options in random order (Fisher-Yates)."""
        mixed = list(options)
        for last in range(len(mixed) - 1, 0, -1):
            other = self.below(last + 1)
            mixed[last], mixed[other] = mixed[other], mixed[last]
        return mixed
