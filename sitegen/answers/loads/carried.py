"""What a branch or a device carries: a figure, or the two between which it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sitegen.quantities import Fraction


@dataclass(slots=True, unsafe_hash=True)  # frozen takes longer, and these are very many
class CurrentBounds:
    """Amps through a device or a branch in one state."""

    least: Fraction
    """What it carries for certain, A."""
    most: Fraction
    """What it could carry, A; the same where the current has one path."""
    unknown: bool = False
    """Something without a figure may draw through it: `most` leaves that out."""
    along: tuple[Fraction, Fraction] | None = field(default=None, compare=False)
    """What flows along a branch of all that has a figure, at least and at most, A; less than 0
    against it. None of a device."""


def worst_of(poles: Iterable[CurrentBounds]) -> CurrentBounds:
    """The bounds of several poles, each at its worst."""
    every = list(poles)
    return CurrentBounds(
        max(b.least for b in every), max(b.most for b in every), any(b.unknown for b in every)
    )
