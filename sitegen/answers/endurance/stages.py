"""The stages of a battery's time: recognition, cruise, landing; what each takes.

Minutes count from the failure. The landing is at the end, wherever that is. Minutes and amps are
exact fractions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sitegen.catalogue.model import BatteryTime
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import exact

NO_TIME = Fraction()


@dataclass(frozen=True)
class Draw:
    """What a battery gives in each stage from a minute on, A."""

    start: Fraction
    recognition: Fraction
    cruise: Fraction
    landing: Fraction

    @property
    def amps(self) -> tuple[Fraction, Fraction, Fraction]:
        """In each stage, A."""
        return self.recognition, self.cruise, self.landing


def stage_ends(end: Fraction | None, asked: BatteryTime) -> tuple[Fraction, Fraction | None]:
    """The minutes at which recognition and cruise end, for a battery that is flat at `end`.

    None is without limit.
    """
    shed = exact(asked.recognition_minutes)
    if end is None:
        return shed, None
    shed = min(shed, end)
    return shed, max(shed, end - exact(asked.landing_minutes))


def used_in_stages(
    draws: Sequence[Draw], asked: BatteryTime, end: Fraction
) -> tuple[Fraction, Fraction, Fraction]:
    """What each stage takes from a battery that is flat at minute `end`, A-min."""
    shed, land = stage_ends(end, asked)
    assert land is not None
    recognition = cruise = landing = NO_TIME
    for number, draw in enumerate(draws):
        until = draws[number + 1].start if number + 1 < len(draws) else end
        recognition += draw.recognition * _overlap(draw.start, until, NO_TIME, shed)
        cruise += draw.cruise * _overlap(draw.start, until, shed, land)
        landing += draw.landing * _overlap(draw.start, until, land, end)
    return recognition, cruise, landing


def _overlap(start: Fraction, until: Fraction, begin: Fraction, stop: Fraction) -> Fraction:
    return max(NO_TIME, min(until, stop) - max(start, begin))
