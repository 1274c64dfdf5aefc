"""The minutes that the demo's texts give are those that its figures make."""

from __future__ import annotations

import math
import re

import pytest

from sitegen.answers.drop import faults_of
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.results import Endurance
from sitegen.catalogue.model import Failure
from sitegen.solver.network import Network
from tests.answers.test_troubleshoot import demo_block


def main_battery(network: Network, failure: Failure, condition: str) -> Endurance:
    faults = faults_of(network, failure)
    found = battery_endurances(network, condition, faults, failure)
    return next(one for one in found if one.battery == "battery")


@pytest.mark.parametrize("block", [1, 2, 3])
def test_both_generators_lost(block: int) -> None:
    """In cruise the landing has what is on there; here it has what the shed approach draws."""
    network = demo_block(block)
    failure = next(f for f in network.catalogue.failures if f.id == "both-generators")
    cruise, approach = (main_battery(network, failure, c) for c in ("cruise", "approach"))
    assert cruise.capacity is not None
    asked = cruise.asked
    landing, recognition = asked.landing_minutes, asked.recognition_minutes
    left = cruise.capacity - approach.landing.amps * landing
    left -= cruise.recognition.amps * recognition
    minutes = recognition + left / cruise.cruise.amps + landing
    text = failure.then.note
    assert text is not None
    [said] = re.findall(r"land by (\d+)", text)
    assert int(said) == math.floor(minutes)
    assert approach.total is not None
    [said] = re.findall(r"lasts about (\d+) minutes", failure.notes_in["approach"])
    assert int(said) == math.floor(approach.total)
