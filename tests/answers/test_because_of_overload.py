"""How it comes about if what is overloaded opens: rows and causes, worked by hand."""

from __future__ import annotations

import json

from click.testing import CliRunner

from sitegen.answers.because import because
from sitegen.answers.drop import fault
from sitegen.catalogue.model import Then
from sitegen.cli import commands
from tests.nets import network

Row = tuple[int, str, str, str, tuple[str, ...]]

TWO_SIDES = """
sources: {gen-1: 28, gen-2: 28}
buses: [left, right]
devices: {cb-tie: {kind: breaker, amps: 40}}
feeders: [gen-1 > left, left > cb-tie > right, gen-2 > right]
equipment: {heater: {supplies: [{bus: right}], amps: 60}}
"""
"""With generator 2 lost the tie carries 60 A: more than 1.38 x 40 A."""


def rows(net: str, *failed: str, crew: dict[str, object] | None = None) -> list[Row]:
    made = network(net)
    faults = [fault(made, name) for name in failed]
    then = None if crew is None else Then.model_validate(crew)
    events = because(made, "flight", faults, then, overload=True)
    return [(e.step, e.kind, e.id, e.change, e.causes) for e in events]


def test_an_overloaded_breaker_opens_without_a_cause_and_its_bus_goes_dead_with_it() -> None:
    assert rows(TWO_SIDES, "gen-2") == [
        (1, "breaker", "cb-tie", "tripped", ()),
        (1, "bus", "right", "dead", ("cb-tie",)),
    ]


def test_a_link_that_overload_opens_has_blown() -> None:
    link = "{kind: fuse-link, amps: 40, opens-at: {may: 1, must: 1.2}}"
    net = TWO_SIDES.replace("{kind: breaker, amps: 40}", link)
    assert rows(net, "gen-2")[1] == (1, "fuse-link", "cb-tie", "blown", ())


def test_without_overload_the_same_failure_has_no_event() -> None:
    made = network(TWO_SIDES)
    assert because(made, "flight", [("gen-2", "lost")]) == ()


SHORTED_INFEED = """
sources: {gen-1: 28, gen-2: 28}
buses: [left, right, infeed]
devices: {cb-tie: {kind: breaker, amps: 40}, cb-2: breaker}
feeders: [gen-1 > left, left > cb-tie > right, gen-2 > infeed, infeed > cb-2 > right]
equipment: {heater: {supplies: [{bus: right}], amps: 60}}
"""


def test_what_the_short_opens_comes_first_and_has_the_short_as_its_cause() -> None:
    """The breaker and generator 2 go on the short; the tie then has the heater alone."""
    assert rows(SHORTED_INFEED, "infeed:shorted") == [
        (1, "breaker", "cb-2", "tripped", ("infeed",)),
        (1, "generator", "gen-2", "stalled", ("infeed",)),
        (2, "breaker", "cb-tie", "tripped", ()),
        (2, "bus", "right", "dead", ("cb-tie",)),
    ]


CHANGEOVER = """
sources: {gen-1: 28, gen-2: 28}
buses: [left, right]
devices:
  cb-tie: {kind: breaker, amps: 40}
  cb-other: {kind: breaker, amps: 30}
  k: {kind: contactor, closes-when: [{dead: [right]}, {closed: [k]}]}
feeders: [gen-1 > left, left > cb-tie > right, left > k > cb-other > right, gen-2 > right]
equipment: {heater: {supplies: [{bus: right}], amps: 60}}
"""


def test_a_contactor_that_takes_over_overloads_the_next_breaker() -> None:
    """Dead, live through the contactor, and dead again: the bus is told at its last change."""
    assert rows(CHANGEOVER, "gen-2") == [
        (1, "breaker", "cb-tie", "tripped", ()),
        (2, "contactor", "k", "closed", ("right",)),
        (3, "breaker", "cb-other", "tripped", ()),
        (3, "bus", "right", "dead", ("cb-other",)),
    ]


def test_one_overload_after_another_has_no_cause_though_a_short_began_it() -> None:
    shorted = CHANGEOVER.replace("[left, right]", "[left, right, infeed]").replace(
        "gen-2 > right", "gen-2 > infeed, infeed > cb-2 > right"
    )
    net = shorted.replace("devices:", "devices:\n  cb-2: breaker")
    causes = {name: causes for _, _, name, _, causes in rows(net, "infeed:shorted")}
    assert causes["cb-2"] == ("infeed",)
    assert (causes["cb-tie"], causes["cb-other"]) == ((), ())


def test_the_crews_stage_begins_with_what_overload_has_left() -> None:
    """Reset and relieved of the heater, the tie holds; what was reset is no event of its own."""
    crew = {"shed": ["heater"], "reset": ["cb-tie"]}
    assert rows(TWO_SIDES, "gen-2", crew=crew) == [(1, "bus", "right", "live", ("cb-tie",))]


def test_a_reset_onto_the_same_overload_leaves_all_as_it_was() -> None:
    assert rows(TWO_SIDES, "gen-2", crew={"reset": ["cb-tie"]}) == []


SECOND_TIE = """
sources: {gen-1: 28, gen-2: 28}
buses: [left, right]
switches: {s: ["off", "on"]}
devices:
  cb-tie: {kind: breaker, amps: 40}
  cb-other: {kind: breaker, amps: 30}
  r: {kind: relay, closes-when: {switches: {s: "on"}}}
feeders: [gen-1 > left, left > cb-tie > right, left > r > cb-other > right, gen-2 > right]
equipment: {heater: {supplies: [{bus: right}], amps: 60}}
"""


def test_what_the_crew_switches_on_may_be_overloaded_in_turn() -> None:
    """The bus was dead and is dead again: no event."""
    assert rows(SECOND_TIE, "gen-2", crew={"switches": {"s": "on"}}) == [
        (1, "relay", "r", "closed", ("s",)),
        (2, "breaker", "cb-other", "tripped", ()),
    ]


def test_the_command_prints_the_events_of_that_answer() -> None:
    asked = ["drop", "standby-diode", "--airframe", "block-2", "--overload"]
    text = CliRunner().invoke(commands, [*asked, "--because"]).output
    assert "AUX BATT: tripped by overload" in text.partition("How it comes about")[2]
    answer = json.loads(CliRunner().invoke(commands, [*asked, "--json"]).stdout)
    opened = [e for e in answer["because"] if e["change"] in ("tripped", "blown")]
    assert {e["id"] for e in opened} == {*answer["opened"]}
    # Nothing is shorted to earth in it: what opens, opens by overload.
    assert opened
    assert not any(e["causes"] for e in opened)
