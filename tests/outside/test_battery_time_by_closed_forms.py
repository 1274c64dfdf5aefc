"""Battery time against the closed forms of a discharge at steady volts.

A battery of C ampere-hours at V volts holds C V watt-hours, as any text on circuits has it. A load
of constant power P empties it in C V / P hours, one of constant resistance R in C R / V hours, one
of constant current I in C / I hours. A catalogue gives the amps of all three at `load-volts`.
"""

from __future__ import annotations

import random

import pytest

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.results import Endurance
from sitegen.quantities import LONGEST_MINUTES
from tests.nets import network

LOAD_VOLTS = 28.0


def lasting(amp_hours: int, volts: tuple[float, float, float], load: str, amps: float) -> Endurance:
    """A battery with one load; its least, nominal and highest volts."""
    least, nominal, highest = volts
    net = network(
        f"sources: {{bat: {{kind: battery, volts: {nominal}, amp-hours: {amp_hours}, usable: 1,"
        f" volts-range: [{least}, {highest}]}}}}\n"
        "buses: [main]\nfeeders: [bat > main]\n"
        f"equipment: {{item: {{supplies: [{{bus: main}}], amps: {amps}, load: {load}}}}}\n"
        f"aircraft: {{load-volts: {LOAD_VOLTS}}}"
    )
    [endurance] = battery_endurances(net, "flight", ())
    return endurance


@pytest.mark.parametrize("seed", range(20))
def test_each_kind_of_load_lasts_as_its_closed_form_says_at_both_ends_of_the_volts(
    seed: int,
) -> None:
    chance = random.Random(seed)
    amp_hours, amps = chance.randint(5, 60), chance.randint(20, 150) / 2
    least, highest = chance.randint(200, 235) / 10, chance.randint(245, 270) / 10
    watts, ohms = amps * LOAD_VOLTS, LOAD_VOLTS / amps
    forms = {
        "constant-power": lambda volts: 60 * amp_hours * volts / watts,
        "resistive": lambda volts: 60 * amp_hours * ohms / volts,
        "constant-current": lambda _: 60 * amp_hours / amps,
    }
    for load, minutes in forms.items():
        endurance = lasting(amp_hours, (least, 24.0, highest), load, amps)
        ends = sorted((minutes(least), minutes(highest)))
        assert endurance.total == pytest.approx(ends[0])
        if endurance.up_to is not None:
            assert endurance.up_to == pytest.approx(ends[1])
        else:
            # The same whole minutes, or both 'more than 4 hours', are no range.
            assert int(ends[0]) == int(ends[1]) or ends[0] > LONGEST_MINUTES
