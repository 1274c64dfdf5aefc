"""The stages of a battery's time: recognition, cruise, landing; how long a capacity lasts in them.

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


def flat_after(capacity: Fraction, draws: Sequence[Draw], asked: BatteryTime) -> Fraction | None:
    """The minute at which the stages have used the capacity; None if they never do.

    What is used is a broken line over the minute of the end: it bends where a stage begins or, in
    the cruise or in the landing, where the load changes.
    """
    shed = exact(asked.recognition_minutes)
    landing = exact(asked.landing_minutes)
    changing = [d for k, d in enumerate(draws) if not k or d.amps != draws[k - 1].amps]
    if len(changing) == 1:
        return _flat_under_one_load(capacity, draws[0], shed, landing)
    bends = {shed, shed + landing}
    for draw in changing[1:]:
        bends |= {draw.start, draw.start + landing}
    last = used = NO_TIME
    for bend in sorted(bends - {NO_TIME}):
        by_then = sum(used_in_stages(changing, asked, bend), NO_TIME)
        if by_then >= capacity:
            return last + (capacity - used) * (bend - last) / (by_then - used)
        last, used = bend, by_then
    rate = changing[-1].cruise
    return last + (capacity - used) / rate if rate > 0 else None


def _flat_under_one_load(
    capacity: Fraction, draw: Draw, shed: Fraction, landing: Fraction
) -> Fraction | None:
    left = capacity - draw.recognition * shed
    if left <= 0:
        return capacity / draw.recognition
    if left <= draw.landing * landing:
        return shed + left / draw.landing
    if not draw.cruise:
        return None
    return shed + landing + (left - draw.landing * landing) / draw.cruise
