"""The minutes that the demo's texts give are those that its figures make."""

from __future__ import annotations

import math
import re

import pytest

from sitegen.answers.drop import drop, faults_of
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


BY_THEMSELVES = (
    *("com-hf", "windshield-left", "windshield-right", "propeller-heat-left"),
    *("propeller-heat-right", "inlet-heat-left", "inlet-heat-right"),
)
PROBES = {1: ("pitot-heat-left", "pitot-heat-right"), 2: ("pitot-heat-left", "pitot-heat-standby")}


@pytest.mark.parametrize("block", [1, 2, 3])
def test_what_the_text_says_of_both_generators_is_so_on_every_airframe(block: int) -> None:
    """What drops by itself, what stays on, and what to fly and talk with: the same in all texts."""
    network = demo_block(block)
    failure = next(f for f in network.catalogue.failures if f.id == "both-generators")
    assert failure.then is not None
    text = " ".join(failure.then.note.split())
    faults = faults_of(network, failure)
    at_once = drop(network, "cruise", faults)
    acted = drop(network, "cruise", faults, then=failure.then)
    drops, rest = text.split("Leave icing.")
    assert drops.startswith("These drop by themselves where they are on: ")
    assert "(com-hf), windshield, propeller and inlet heat" in drops
    assert {*BY_THEMSELVES} <= {*at_once.lost}
    for bus in ("utility", "survey", "cabin"):
        assert bus in drops
        assert not at_once.nodes[bus].live
    assert "take the rest. Boost pumps stay on. Fly from the [" in rest
    works = {*acted.kept, *acted.reduced}
    assert {"boost-left", "boost-right", *PROBES[min(block, 2)]} <= works
    named = re.findall(r"\(([\w-]+)\)", rest.split("Fly from")[1])
    assert {i for i in named if i in network.equipment} <= works
    assert {"com-1", "nav-1", "transponder-1"} < {*named}
