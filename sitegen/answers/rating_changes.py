"""What is over its rating with nothing failed in one of two revisions, and was, or is, not so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sitegen.answers.over_rating import OverRating, over_rating_before
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states


@dataclass(frozen=True)
class RatingChange:
    """Of a source or a device in a feeder in one condition."""

    condition: str
    component: str
    was: OverRating | None
    now: OverRating | None
    """How far it is over; None where it is not."""

    def as_json(self) -> dict[str, Any]:
        """An entry of `over_rating` in `changes --json`."""
        return {
            "condition": self.condition,
            "component": self.component,
            "was": self.was and self.was.as_json(),
            "now": self.now and self.now.as_json(),
        }


def rating_changes(
    one: Network, other: Network, renamed: Mapping[str, str]
) -> Iterator[RatingChange]:
    """What comes over its rating, or comes under it, in a condition that both revisions have.

    Parameters
    ----------
    one, other : the older and the newer wiring.
    renamed : by id of the older the newer one, where it has another.
    """
    was, now = (
        {(condition, i): over for i, condition, over in over_rating_before(condition_states(n))}
        for n in (one, other)
    )
    was = {(renamed.get(c, c), renamed.get(i, i)): over for (c, i), over in was.items()}
    both = other.columns.keys() & {renamed.get(c, c) for c in one.columns}
    for key in dict.fromkeys((*now, *was)):
        if (key in was) != (key in now) and key[0] in both:
            yield RatingChange(*key, was.get(key), now.get(key))
