"""What the crew does about a named failure may be otherwise in a condition (`then-in`)."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.endurance.airframe_endurance import AirframeEndurance
from sitegen.answers.idle_acts import idle_acts
from sitegen.answers.loads.load_table import load_table
from sitegen.answers.record_changes import record_changes
from sitegen.catalogue.line_facts import Names, record_facts
from sitegen.catalogue.model import NO_ACTS, Catalogue, Failure
from sitegen.cli import commands
from sitegen.solver.network import Network, build
from tests.nets import expand
from tests.pages.pages_sample import reading

# In flight the crew turns the oven off; parked it switches the battery off instead.
NET = """
sources:
  gen: 28
  bat: {kind: battery, volts: 24, amp-hours: 60, usable: 1}
buses: [main, hot]
switches: {master: ["off", "on"]}
devices:
  k-bat: {kind: relay, closes-when: {switches: {master: "on"}, live: [hot]}}
feeders: [gen > main, bat > hot, hot > k-bat > main]
equipment:
  radio: {supplies: [{bus: main}], amps: 10}
  oven: {supplies: [{bus: main}], amps: 20}
  clock: {supplies: [{bus: hot}], amps: 1}
conditions:
  flight: {sources: [gen, bat], switches: {master: "on"}}
  approach: {sources: [gen, bat], switches: {master: "on"}}
  parked: {sources: [bat], switches: {master: "on"}}
battery-time: {recognition-minutes: 5, landing-minutes: 0}
"""
PUMP = """
buses: [pumps]
switches: {pump-switch: ["off", "on"]}
devices: {s-pump: {kind: switch, closes-when: {switches: {pump-switch: "on"}}}}
feeders: [main > s-pump > pumps]
equipment: {pump: {supplies: [{bus: pumps}], amps: 4}}
"""
FLIGHT = {"shed": ["oven"], "note": "Oven off."}
PARKED = {"switches": {"master": "off"}, "note": "Battery off."}
LOST: dict[str, Any] = {"id": "lost", "name": "Generator lost", "failed": ["gen"]}


def raw(**crew: Any) -> dict[str, Any]:
    catalogue: dict[str, Any] = expand(NET)
    catalogue["failures"] = [copy.deepcopy({**LOST, **crew})]
    return catalogue


def written() -> dict[str, Any]:
    return raw(**{"then": FLIGHT, "then-in": {"parked": PARKED}})


def network(catalogue: dict[str, Any]) -> Network:
    return build(Catalogue.model_validate(catalogue), "all")


def file(tmp_path: Path, catalogue: dict[str, Any], name: str = "net.yaml") -> str:
    path = tmp_path / name
    path.write_text(yaml.safe_dump(catalogue, sort_keys=False), "utf-8")
    return str(path)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(commands, arguments)


def test_in_a_condition_without_a_list_of_its_own_the_list_of_all_holds() -> None:
    [failure] = network(written()).catalogue.failures
    assert failure.crew_does("flight") == failure.then == failure.crew_does("approach")
    assert failure.crew_does("parked") == failure.then_in["parked"]
    assert [failure.crew_note(c) for c in ("flight", "parked")] == ["Oven off.", "Battery off."]


def test_the_acts_of_a_condition_replace_all_of_the_others_and_their_note() -> None:
    [failure] = network(raw(**{"then": FLIGHT, "then-in": {"parked": {}}})).catalogue.failures
    assert not failure.crew_does("parked").changes_wiring
    assert failure.crew_note("parked") == ""


def test_a_failure_with_acts_in_one_condition_alone_has_a_stage_after_the_crew() -> None:
    catalogue = raw(**{"then-in": {"parked": PARKED}})
    net = network(catalogue)
    [failure] = net.catalogue.failures
    assert failure.has_acts
    assert not Failure.model_validate({**LOST, "then-in": {"parked": {"note": "x"}}}).has_acts
    _, acted = AirframeAnswers(reading(catalogue), net).named["lost"]
    assert [loss.shed for loss in acted] == [(), (), ("oven", "radio")]


def test_drop_says_and_computes_what_the_crew_does_there(tmp_path: Path) -> None:
    path = file(tmp_path, written())
    text = run("drop", path, "lost", "--after", "--condition", "parked").output
    assert "The crew sets master to off\n  Battery off.\n" in text
    for condition, shed in (("flight", ["oven"]), ("parked", ["oven", "radio"])):
        answer = run("drop", path, "lost", "--after", "--condition", condition, "--json").stdout
        assert json.loads(answer)["shed"] == shed


def test_amps_and_minutes_are_of_what_the_crew_does_there() -> None:
    """60 Ah are 3600 A-min. In flight 31 A for 5 minutes, then 11 A; parked 31 A, then 1 A."""
    net = network(written())
    [failure] = net.catalogue.failures
    faults = [("gen", "lost")]
    table = load_table(net, "parked", faults, failure, after=True)
    assert [(s.source, s.amps) for s in table.sources if s.amps] == [("bat", 1)]
    every = AirframeEndurance(AirframeAnswers(reading(written()), net))
    totals = [one.total for k in range(3) for one in every.of_named(failure, k)]
    in_flight, parked = 5 + (3600 - 5 * 31) / 11, 5 + (3600 - 5 * 31) / 1
    assert totals == [pytest.approx(m) for m in (in_flight, in_flight, parked)]
    [at_once] = {one.total for one in every.of_named_at_once(failure, 2)} - {totals[2]}
    assert at_once == pytest.approx(3600 / 31)


def test_the_worst_case_is_of_what_the_crew_does_there() -> None:
    """In flight the crew turns the pump on, 4 A more on the battery than any failure by itself."""
    catalogue = raw(**{"then": {}, "then-in": {"flight": {"switches": {"pump-switch": "on"}}}})
    more = expand(PUMP)
    for section in ("buses", "switches", "devices", "feeders", "equipment"):
        catalogue[section] += more[section]
    net = network(catalogue)
    amps = [load_table(net, c).worst_sources["bat"].amps for c in ("flight", "approach")]
    assert amps == [35, 31]


def test_an_act_that_does_nothing_is_judged_in_its_own_list() -> None:
    then_in = {"parked": {"switches": {"master": "off"}, "shed": ["oven"]}}
    net = network(raw(**{"then": {"shed": ["clock"]}, "then-in": then_in}))
    found = idle_acts(net, net.catalogue.failures)["lost"]
    # Parked the oven is off once the battery is: but it worked at once, so turning it off counts.
    assert found == (frozenset(), frozenset(), frozenset())
    there = network(raw(**{"then": FLIGHT, "then-in": {"parked": {"switches": {"master": "on"}}}}))
    assert idle_acts(there, there.catalogue.failures)["lost"][2] == {("switches", "master")}


@pytest.mark.parametrize(
    ("then_in", "message"),
    [
        ({"praked": PARKED}, "failure lost: there is no condition `praked`."),
        ({"parked": {"switches": {"mastre": "off"}}}, "failure lost: there is no switch `mastre`."),
        ({"parked": {"switches": {"master": "of"}}}, "`of`"),
        ({"parked": {"shed": ["ovne"]}}, "failure lost: there is no equipment `ovne`."),
        ({"parked": {"pulled": ["cb"]}}, "failure lost: there is no breaker or fuse `cb`."),
        ({"parked": {"note": "See [this](nowhere)."}}, "`nowhere`"),
        ({"parked": {"reset": ["k-bat"]}}, "failure lost: `k-bat` never trips"),
        ({"parked": {"sheds": ["oven"]}}, "`sheds`"),
    ],
)
def test_a_mistake_in_it_is_said_with_its_place(
    tmp_path: Path, then_in: dict[str, Any], message: str
) -> None:
    path = file(tmp_path, raw(**{"then-in": then_in}))
    found = [line for line in run("inspect", path).output.split("\n") if message in line]
    assert len(found) == 1, run("inspect", path).output
    lines = Path(path).read_text("utf-8").split("\n")
    number = int(found[0].split(":")[1])
    assert number > next(k for k, line in enumerate(lines, 1) if "then-in" in line)


def test_what_is_not_fitted_is_left_out_of_it() -> None:
    catalogue = written()
    catalogue["airframes"] = [{"id": "old", "name": "Old"}, {"id": "new", "name": "New"}]
    catalogue["equipment"].append(
        {**catalogue["equipment"][0], "id": "fan", "name": "Fan", "fitted-to": ["new"]}
    )
    catalogue["failures"][0]["then-in"]["parked"]["shed"] = ["fan"]
    model = Catalogue.model_validate(catalogue)
    shed = [build(model, a).catalogue.failures[0].crew_does("parked").shed for a in ("old", "new")]
    assert shed == [[], ["fan"]]


def changed_fields(one: dict[str, Any], other: dict[str, Any]) -> list[tuple[str, str, str]]:
    [change] = record_changes(network(one), network(other), ["failures"])
    return [(field.label, field.was, field.now) for field in change.fields]


def test_a_list_for_a_condition_is_compared_with_the_one_that_held_there() -> None:
    here, there = raw(then=FLIGHT), written()
    assert changed_fields(here, there) == [
        ("the crew sets, in parked", "none", "master: off"),
        ("the crew turns off, in parked", "oven", "none"),
        ("note for the crew, in parked", "Oven off.", "Battery off."),
    ]
    assert [(a, c, b) for a, b, c in changed_fields(there, here)] == changed_fields(here, there)


def test_a_list_of_what_is_not_checked_says_it() -> None:
    catalogue = Catalogue.model_validate(written())
    [failure] = catalogue.failures
    said = record_facts(failure, Names(catalogue))
    assert said == "failed gen; shed oven; in parked: master off"
    nothing = failure.model_copy(update={"then_in": {"parked": NO_ACTS}})
    assert record_facts(nothing, Names(catalogue)).endswith("in parked: no acts")
