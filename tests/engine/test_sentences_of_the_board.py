"""What the board says of ratings and of batteries that may take over is what a headline says."""

from __future__ import annotations

import pytest

from sitegen.answers.drop import drop, losses, with_overload
from sitegen.answers.over_rating import over_rating
from sitegen.catalogue.model import Then
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of
from sitegen.terminal.headline_text import headline
from tests.answers.test_besides import (
    LOADED,
    OPENED_AT_ONCE,
    OPENS_ELSEWHERE,
    OPENS_ONE,
    TWO_BATTERIES,
)
from tests.answers.test_both_answers_to_a_fault import NET as WITH_A_FUNCTION
from tests.answers.test_headline import (
    CREW_ENDS,
    CREW_ENDS_IT,
    HELD,
    OFF_LINE,
    OTHERS,
    SERIES,
    SHORT,
    SPARE,
)
from tests.answers.test_overload import DROPS_OUT, IN_RESERVE_HELPING
from tests.engine.comparison import airframes
from tests.engine.v8 import Engine
from tests.nets import NOT_SYNCHRONISED
from tests.nets import network as net_of

SAY = """
  function say(set, names) {
    const named = new Map(Object.entries(names));
    return JSON.stringify(headline.sentences(net, named, headline.solved(net, set)).more);
  }
"""


STUCK = "No longer opens"


def is_of_other(said: str) -> bool:
    return said.startswith(("If contactors", "If what is overloaded"))


def compared(said: str) -> bool:
    return any(words in said for words in ("rating", "cannot give", "to take over"))


@airframes
def test_every_single_failure_that_leaves_something_over_its_rating_or_without_a_battery(network):
    engine = Engine(network)
    engine.v8.eval(SAY)
    conditions = [c.id for c in network.catalogue.conditions]
    every = every_single(conditions, network.faults)
    over = over_rating(solve(network, every))
    isolating = {("battery", "lost"), ("k-battery", "stuck-open"), ("fl-battery", "open")}
    chosen = [
        every.at(k) for k, found in enumerate(over) if found or isolating & {*every.at(k).faults}
    ]
    without_battery = 0
    for scenario in chosen:
        pair = solve(network, scenarios_of([scenario, Scenario(scenario.condition)]))
        loss, normal = with_overload(losses(pair), pair, pair)
        expected = [said for said in headline(network, loss, normal) if compared(said)]
        without_battery += "to take over" in " ".join(expected)
        [asked] = engine.asked([scenario])
        said = engine.call("say", asked, network.names)
        assert [one.replace("\xa0", " ") for one in said if compared(one)] == expected, scenario
    assert without_battery


def test_what_is_said_where_ac_sources_meet_that_are_not_synchronised() -> None:
    network = net_of(NOT_SYNCHRONISED + "equipment: {fan: left}")
    engine = Engine(network)
    engine.v8.eval(SAY)
    scenario = Scenario("flight", (("tie", "stuck-closed"),))
    pair = solve(network, scenarios_of([scenario, Scenario("flight")]))
    loss, normal = losses(pair)
    [expected] = [said for said in headline(network, loss, normal) if "synchronised" in said]
    [asked] = engine.asked([scenario])
    assert expected in engine.call("say", asked, network.names)


NETS = [
    HELD,
    OTHERS,
    SPARE,
    WITH_A_FUNCTION,
    OPENS_ONE,
    TWO_BATTERIES,
    OPENS_ELSEWHERE,
    *(net for net, _ in LOADED),
]


@pytest.mark.parametrize("net", NETS)
def test_what_is_said_of_the_other_answer_and_of_what_no_longer_opens(net: str) -> None:
    network = net_of(net)
    engine = Engine(network)
    engine.v8.eval(SAY)
    normal, compared = drop(network, "flight", ()), 0
    for fault in network.faults:
        both = [drop(network, "flight", (fault,), dip=dip) for dip in (False, True)]
        for reading, loss, other in (("", *both), ("dip", *reversed(both))):
            headlined = headline(network, loss, normal, other, reading == "dip")
            expected = [said for said in headlined if is_of_other(said)]
            compared += len(expected)
            [asked] = engine.asked([Scenario("flight", (fault,))])
            said = engine.call("say", {**asked, "reading": reading}, network.names)
            assert [s for s in said if is_of_other(s)] == expected, fault
            assert (STUCK in " ".join(said)) is (STUCK in " ".join(headlined))
    assert compared


@pytest.mark.parametrize(("then", "if_dropping", "if_riding"), CREW_ENDS)
def test_what_is_said_of_functions_that_the_crew_ends_in_one_answer_only(
    then: Then, if_dropping: str, if_riding: str
) -> None:
    network = net_of(CREW_ENDS_IT)
    engine = Engine(network)
    engine.v8.eval(SAY)
    [asked] = engine.asked([Scenario("flight", (("side", "shorted"),))])
    asked["then"] = then.model_dump()
    for reading, do, follows in (
        ("ride", "drop out while the fault lasts", if_dropping),
        ("dip", "ride through the fault", if_riding),
    ):
        said = engine.call("say", {**asked, "reading": reading}, network.names)
        assert f"If contactors {do}, {follows}." in said


@pytest.mark.parametrize(("text", "helping"), IN_RESERVE_HELPING)
def test_what_is_said_of_what_an_overloaded_source_cannot_give(text: str, helping: str) -> None:
    network = net_of(text)
    engine = Engine(network)
    engine.v8.eval(SAY)
    [asked] = engine.asked([Scenario("flight", (("gen-2", "lost"),))])
    said = engine.call("say", asked, network.names)
    expected = f"What it cannot give, {helping} may: that is in no figure."
    assert [one for one in said if "cannot give" in one] == [expected]


def test_what_is_said_where_the_overload_of_the_other_answer_opened_before_the_crew_acted() -> None:
    network = net_of(OPENED_AT_ONCE)
    engine = Engine(network)
    engine.v8.eval(SAY)
    then = Then(shed=["big"])
    normal = drop(network, "flight", [])
    rides, drops = (
        drop(network, "flight", [("aux", "shorted")], then=then, dip=dip) for dip in (False, True)
    )
    expected = [said for said in headline(network, rides, normal, drops) if is_of_other(said)]
    [asked] = engine.asked([Scenario("flight", (("aux", "shorted"),))])
    said = engine.call("say", {**asked, "then": then.model_dump()}, network.names)
    assert [one for one in said if is_of_other(one)] == expected != []


@pytest.mark.parametrize("net", [DROPS_OUT, DROPS_OUT.replace("rides-through: false, ", "")])
def test_what_is_said_of_what_contactors_that_drop_out_leave_overloaded(net: str) -> None:
    """Where the catalogue is silent, only if one assumes that they drop out."""
    network = net_of(net)
    engine = Engine(network)
    engine.v8.eval(SAY)
    short = [("aux", "shorted")]
    [asked] = engine.asked([Scenario("flight", tuple(short))])
    normal, both = drop(network, "flight", ()), {}
    for dip, reading in ((False, ""), (True, "dip")):
        loss, other = (drop(network, "flight", short, dip=d) for d in (dip, not dip))
        headlined = headline(network, loss, normal, other, is_dip=dip)
        both[reading] = [said for said in headlined if "verload" in said]
        said = engine.call("say", {**asked, "reading": reading}, network.names)
        assert [one for one in said if "verload" in one] == both[reading]
    assert both["dip"] != []
    must = "Overloaded and must open: cbb."
    assert (must in both[""]) == ("rides-through" in net)
    said = engine.call("say", {**asked, "reading": "overload"}, network.names)
    assert (must in said) == ("rides-through" in net)


def test_of_two_breakers_in_series_the_one_that_opens_first_is_named() -> None:
    network = net_of(SERIES)
    engine = Engine(network)
    engine.v8.eval(SAY)
    lost = [("apu", "lost")]
    [asked] = engine.asked([Scenario("flight", tuple(lost))])
    for overload in (False, True):
        normal = drop(network, "flight", ())
        headlined = headline(network, drop(network, "flight", lost, overload=overload), normal)
        reading = "overload" if overload else ""
        said = engine.call("say", {**asked, "reading": reading}, network.names)
        for words in (
            "Overloaded and must open: one or two, one first as the most overloaded.",
            "That is if one opens first; if two does, it may be otherwise.",
        ):
            assert (words in headlined, words in said) == (True, True)


def test_what_is_said_of_a_reset_that_does_not_hold() -> None:
    network = net_of(SHORT)
    engine = Engine(network)
    engine.v8.eval(SAY)
    [asked] = engine.asked([Scenario("flight", (("left", "shorted"), ("far", "shorted")))])
    said = engine.call("say", {**asked, "then": {"reset": ["cb", "apu"]}}, network.names)
    assert said[:2] == ["Stalls again once reset: apu.", "Trips again once reset: cb."]


def test_what_is_said_of_a_bus_that_has_power_now() -> None:
    net = "sources: {gen: 28}\nbuses: [main, side]\nswitches: {s: ['off', 'on']}\n"
    net += "devices: {k: {kind: contactor, closes-when: {switches: {s: 'on'}}}}\n"
    network = net_of(net + "feeders: [gen > main, main > k > side]\nequipment: {radio: main}")
    engine = Engine(network)
    engine.v8.eval(SAY)
    [asked] = engine.asked([Scenario("flight", (("k", "stuck-closed"),))])
    said = engine.call("say", asked, network.names)
    assert said == ["Power now, and none before: side.", "No longer opens: k."]


def test_what_is_said_of_a_source_whose_terminals_come_live() -> None:
    network = net_of(OFF_LINE)
    engine = Engine(network)
    engine.v8.eval(SAY)
    unit, spare = engine.asked(
        [Scenario("flight", ((k, "stuck-closed"),)) for k in ("k-unit", "k-spare")]
    )
    assert engine.call("say", unit, network.names) == [
        "Power now, and none before: unit.",
        "No longer opens: k-unit.",
    ]
    said = engine.call("say", spare, network.names)
    assert said[0].startswith(
        "Does not produce, though its terminals are live: spare. Other sources"
    )
