"""Small catalogues in which what a fault opens, stalls or welds decides what is lost."""

from __future__ import annotations

from pathlib import Path

from sitegen.answers.because import because
from sitegen.answers.drop import Loss, drop, fault, faults_of
from sitegen.catalogue.read import read
from sitegen.solver.network import build
from tests.nets import network

CASES = Path(__file__).parent / "cases"


def answer(case: str, *failed: str, after: bool = False) -> Loss:
    """The answer for some components or one named failure, in the only condition."""
    catalogue = read(CASES / f"{case}.yaml").catalogue
    assert catalogue is not None
    network = build(catalogue, catalogue.airframes[0].id)
    named = {f.id: f for f in catalogue.failures}
    if failed[0] in named:
        failure = named[failed[0]]
        return drop(
            network,
            catalogue.conditions[0].id,
            faults_of(network, failure),
            failure.then if after else None,
        )
    faults = [fault(network, text) for text in failed]
    return drop(network, catalogue.conditions[0].id, faults)


def test_a_tripped_line_contactor_lights_its_lamp_and_brings_in_the_standby_source() -> None:
    loss = answer("trip", "main:shorted")
    assert loss.opened == {"k-gen": "tripped"}
    assert str(loss.readings["genoff"]) == "lit"
    assert loss.conducts["k-sby"]
    assert loss.lost == ("b",)


def test_a_crew_that_only_turns_a_fan_off_does_not_bring_a_stalled_generator_back() -> None:
    at_once, after = answer("crew", "short"), answer("crew", "short", after=True)
    assert at_once.stalled == after.stalled == ("gen-1",)
    assert at_once.lost == after.lost == ("heater", "radio")
    assert after.shed == ("fan",)


def test_a_link_that_has_blown_at_once_stays_blown_when_the_crew_takes_the_fault_away() -> None:
    at_once, after = answer("crew2", "short"), answer("crew2", "short", after=True)
    assert set(at_once.opened.values()) == set(after.opened.values()) == {"blown"}
    assert "radio" in after.lost


def test_a_tie_contactor_that_is_stuck_closed_cannot_open_so_both_buses_die() -> None:
    loss = answer("prot", "left:shorted", "k-tie:stuck-closed")
    assert loss.opened == {}
    assert loss.stalled == ("gen-1", "gen-2")
    assert loss.lost == ("nav", "radio")


SPURS = """
sources:
  gen: {kind: generator, volts: 28}
  inv: {kind: converter, volts: 115, current: ac, fed-from: {bus: av}}
buses: {main: {}, spur: {}, other: {}, av: {}, ac: {current: ac}}
devices:
  fl: fuse-link
  fl-other: fuse-link
  k: {kind: contactor, closes-when: {closed: [k], live: [main]}}
feeders:
  [gen > main, main > fl > spur, main > fl-other > other, main > k > av, inv > ac]
equipment: {gyro: {supplies: [{bus: ac}]}}
conditions: {flight: {sources: [gen], held-closed: [k]}}
"""
"""A bus that a latched contactor feeds, and two spurs off the same bus."""


def causes(text: str, *failed: tuple[str, str], dip: bool = False) -> dict[str, tuple[str, ...]]:
    return {e.id: e.causes for e in because(network(text), "flight", failed, dip=dip)}


def test_what_has_no_volts_in_a_dip_has_the_short_as_its_cause_and_no_other_bus() -> None:
    """Every bus that the short reaches is down with it; that does not make one dead by another."""
    found = causes(SPURS, ("spur", "shorted"), dip=True)
    assert found["av"] == found["inv"] == ("spur",)
    assert found["ac"] == ("inv", "spur")
    assert found["fl"] == ("spur",)


def test_a_bus_in_the_shorted_part_is_dead_because_of_the_short() -> None:
    found = causes(SPURS, ("main", "shorted"))
    assert found["gen"] == found["av"] == found["spur"] == ("main",)


def test_a_spur_that_has_failed_too_is_no_cause_of_what_it_does_not_feed() -> None:
    """No way to the bus passes the spur, which would have to go back to where it came from."""
    found = causes(SPURS, ("gen", "lost"), ("other", "dead"))
    assert found["main"] == found["spur"] == ("gen",)
    assert found["av"] == ("gen",)
