"""Answers that are computed together, a batch at a time, when the first of a batch is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeVar

T = TypeVar("T")
K = TypeVar("K")


class InBatches(Mapping[K, T]):
    """By fault or item its answer, computed a batch of them at a time.

    Parameters
    ----------
    batches : those that are computed together, the first time that one of them is asked for;
        the first time that they are gone through, all that are left.
    answer : the answers of a batch, in its order.
    """

    def __init__(
        self,
        batches: Sequence[tuple[K, ...]],
        answer: Callable[[tuple[K, ...]], Sequence[T]],
    ) -> None:
        self._batches = {key: batch for batch in batches for key in batch}
        self._answer = answer
        self._known: dict[K, T] = {}

    def __getitem__(self, key: K) -> T:
        if key not in self._known:
            self._answer_all(self._batches[key])
        return self._known[key]

    def __iter__(self) -> Iterator[K]:
        left = tuple(key for key in self._batches if key not in self._known)
        if left:
            self._answer_all(left)
        return iter(self._batches)

    def __len__(self) -> int:
        return len(self._batches)

    def _answer_all(self, batch: tuple[K, ...]) -> None:
        self._known.update(zip(batch, self._answer(batch), strict=True))
