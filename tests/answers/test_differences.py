"""How two airframes differ, and what of it when something fails."""

from __future__ import annotations

import json

import pytest

from sitegen.answers.differences import Differences, differences
from sitegen.answers.failure_changes import ConditionChange, Consequence
from sitegen.answers.three_answers import Answer
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from sitegen.terminal.differences_text import differences_json, differences_text
from tests import plain
from tests.nets import expand
from tests.test_commands import run

SECOND = ["second"]
FLEET = {
    "format": 1,
    "aircraft": {"name": "Pair", "revision": "1", "revised": "2026-11-20"},
    "airframes": [{"id": "first", "name": "First"}, {"id": "second", "name": "Second"}],
    "sources": [
        {"id": "gen", "name": "Generator", "kind": "generator", "volts": 28},
        {"id": "aux", "name": "Aux", "kind": "battery", "volts": 24, "fitted-to": SECOND},
    ],
    "buses": [{"id": "main", "name": "Main"}, {"id": "standby", "name": "Standby"}],
    "devices": [
        {"id": "cb-a", "name": "A", "kind": "breaker", "amps": 10, "fitted-to": ["first"]},
        {"id": "cb-a", "name": "A", "kind": "breaker", "amps": 20, "fitted-to": SECOND},
    ],
    "feeders": [
        {"from": "gen", "to": "main", "through": ["cb-a"]},
        {"from": "main", "to": "standby"},
        {"from": "aux", "to": "standby", "fitted-to": SECOND},
    ],
    "equipment": [
        {"id": "radio", "name": "Radio", "ata": "23", "supplies": [{"bus": "main"}]},
        {
            "id": "horizon",
            "name": "Horizon",
            "ata": "34",
            "supplies": [{"bus": "main"}, {"bus": "standby", "fitted-to": SECOND}],
        },
    ],
    "conditions": [{"id": "flight", "name": "Flight", "sources": ["gen", "aux"]}],
}


def test_what_only_one_has_what_changed_and_what_a_failure_makes_of_it() -> None:
    catalogue = Catalogue.model_validate(FLEET)
    found = differences(build(catalogue, "first"), build(catalogue, "second"))
    assert found.only_one == ()
    only_other = [(r.section, r.id) for r in found.only_other]
    assert only_other == [("sources", "aux"), ("feeders", "aux > standby")]
    assert changed(found) == [
        ("devices", "cb-a", "amps", "10 A", "20 A"),
        ("equipment", "horizon", "supplies", "no such supply", "Standby"),
    ]
    # Where the main bus is dead the horizon lives on the standby bus, on the second alone. A
    # short comes through to the standby bus: nothing protects it.
    lost = {(c.fault, c.only_one, c.only_other) for c in found.consequences}
    faults = [
        *(("gen", "lost"), ("gen", "shorted"), ("cb-a", "open"), ("main", "dead")),
        ("main", "shorted"),
    ]
    assert lost == {
        (fault, tuple(sorted(one - other)), tuple(sorted(other - one)))
        for fault in faults
        for one, other in [(by_hand("first", fault), by_hand("second", fault))]
        if one != other
    }
    assert (("main", "dead"), ("horizon",), ()) in lost


def changed(found: Differences) -> list[tuple[str, str, str, str, str]]:
    """(section, id, field, on the one, on the other) of all that is not wired the same."""
    return [(r.section, r.id, f.label, f.was, f.now) for r in found.changed for f in r.fields]


def test_what_works_on_one_alone_with_nothing_failed_is_said_once_and_not_with_each_failure() -> (
    None
):
    raw = expand(HELD.replace("gen > k > main", "gen > main").replace(", held-closed: [k]", ""))
    raw["airframes"] = FLEET["airframes"]
    raw["equipment"][0]["requires"] = ["lamp"]
    raw["feeders"][1]["fitted-to"] = ["first"]
    catalogue = Catalogue.model_validate(raw)
    found = differences(build(catalogue, "first"), build(catalogue, "second"))
    assert found.conditions == (ConditionChange("flight", ("lamp", "radio"), ()),)
    assert found.consequences == ()


def by_hand(airframe: str, fault: tuple[str, str]) -> set[str]:
    return set(plain.answer(FLEET, "flight", [fault], airframe=airframe)["lost"])


def test_an_airframe_beside_itself_differs_in_nothing() -> None:
    catalogue = Catalogue.model_validate(FLEET)
    same = differences(build(catalogue, "first"), build(catalogue, "first"))
    assert (same.only_one, same.only_other, same.changed) == ((),) * 3
    assert (same.conditions, same.consequences) == ((),) * 2


HELD = """
sources: {gen: 28}
buses: [main, side]
devices: {cb: {kind: breaker, amps: 20}}
feeders: [gen > k > main, main > cb > side]
equipment: {radio: main, lamp: side}
conditions: {flight: {sources: [gen], held-closed: [k]}}
"""


@pytest.mark.parametrize(
    ("says", "answer", "remark"),
    [(None, "drop-out", " (if contactors drop out)"), (False, "expected", "")],
)
def test_a_short_that_takes_more_on_the_one_if_contactors_drop_out_is_a_difference(
    says: bool | None, answer: Answer, remark: str
) -> None:
    """Without a remark where the catalogue says that they do there."""
    raw = expand(HELD)
    raw["airframes"] = FLEET["airframes"]
    for fitted, rides in (("first", says), ("second", True)):
        contactor = {"id": "k", "name": "K", "kind": "contactor", "rides-through": rides}
        terms = {"live": ["main"], "closed": ["k"]}
        raw["devices"].append({**contactor, "closes-when": terms, "fitted-to": [fitted]})
    catalogue = Catalogue.model_validate(raw)
    networks = build(catalogue, "first"), build(catalogue, "second")
    found = differences(*networks)
    short = Consequence("flight", ("side", "shorted"), ("radio",), (), answer=answer)
    assert found.consequences == (short,)
    text = list(differences_text(*networks, found))
    assert f"  side shorted{remark}, flight" in text
    [written] = differences_json(found)["consequences"]
    assert written["if_contactors_drop_out"] == (says is None)


def test_a_supply_with_another_conductor_or_other_amps_is_not_the_same() -> None:
    raw = expand(HELD.replace("gen > k > main", "gen > main").replace(", held-closed: [k]", ""))
    raw["airframes"] = FLEET["airframes"]
    bus = {"bus": "main"}
    raw["equipment"][0].update(
        needs="all",
        supplies=[
            {**bus, "wire": 20, "length": {"feet": 9}, "amps": 1, "fitted-to": ["first"]},
            {**bus, "wire": 12, "length": {"feet": 9}, "amps": 5, "fitted-to": ["second"]},
        ],
    )
    catalogue = Catalogue.model_validate(raw)
    found = differences(build(catalogue, "first"), build(catalogue, "second"))
    assert changed(found) == [
        ("equipment", "radio", "amps", "1 A", "5 A"),
        ("equipment", "radio", "wire", "20", "12"),
    ]


def test_the_demo_answers_at_the_terminal_and_for_a_program() -> None:
    result = run("differences", "block-1", "block-3")
    assert result.exit_code == 0
    assert "Only on Serials 1 to 24" in result.output
    found = json.loads(run("differences", "--json").stdout)
    assert found["airframes"] == ["block-1", "block-3"]
    assert found["consequences"]


@pytest.mark.parametrize(
    ("names", "says"),
    [
        (["block-1", "block-1"], "one airframe"),
        (["block-1", "blok-2"], "did you mean 'block-2'"),
        (["block-1", "block-2", "block-3"], "name two airframes"),
    ],
)
def test_wrong_names_get_one_message(names: list[str], says: str) -> None:
    result = run("differences", *names)
    assert result.exit_code == 2
    assert says in result.output
