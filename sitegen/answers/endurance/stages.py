"""The stages of a battery's time: recognition, cruise, landing; how long a capacity lasts in them.

Minutes count from the failure. The landing is at the end, wherever that is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sitegen.catalogue.model import BatteryTime


@dataclass(frozen=True)
class Draw:
    """What a battery gives in each stage from a minute on, A."""

    start: float
    recognition: float
    cruise: float
    landing: float


def stage_ends(end: float, asked: BatteryTime) -> tuple[float, float]:
    """The minutes at which recognition and cruise end, for a battery that is flat at `end`."""
    shed = min(asked.recognition_minutes, end)
    return shed, max(shed, end - asked.landing_minutes)


def used_in_stages(
    draws: Sequence[Draw], asked: BatteryTime, end: float
) -> tuple[float, float, float]:
    """What each stage takes from a battery that is flat at minute `end`, A-min."""
    shed, land = stage_ends(end, asked)
    recognition = cruise = landing = 0.0
    for number, draw in enumerate(draws):
        until = draws[number + 1].start if number + 1 < len(draws) else end
        recognition += draw.recognition * _overlap(draw.start, until, 0.0, shed)
        cruise += draw.cruise * _overlap(draw.start, until, shed, land)
        landing += draw.landing * _overlap(draw.start, until, land, end)
    return recognition, cruise, landing


def _overlap(start: float, until: float, begin: float, stop: float) -> float:
    return max(0.0, min(until, stop) - max(start, begin))


def flat_after(capacity: float, draws: Sequence[Draw], asked: BatteryTime) -> float | None:
    """The minute at which the stages have used the capacity; None if they never do.

    What is used is a broken line over the minute of the end: it bends where a stage begins or, in
    the cruise or in the landing, where the load changes.
    """
    shed = asked.recognition_minutes
    landing = asked.landing_minutes
    bends = {shed, shed + landing}
    for draw in draws:
        bends |= {draw.start, draw.start + landing}
    last, used = 0.0, 0.0
    for bend in sorted(bends - {0.0}):
        by_then = sum(used_in_stages(draws, asked, bend))
        if by_then >= capacity:
            return last + (capacity - used) * (bend - last) / (by_then - used)
        last, used = bend, by_then
    rate = draws[-1].cruise
    return last + (capacity - used) / rate if rate > 0 else None
