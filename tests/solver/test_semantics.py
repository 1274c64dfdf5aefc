"""Cases of the semantics, each worked by hand with its reasons in `semantics.yaml`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from sitegen.answers.because import Event, because
from sitegen.answers.drop import Loss, fault, losses
from sitegen.answers.overload import Word, overloaded, what_is_overloaded_opens
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import Outcome, after_the_crew, solve
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of
from tests import plain, plain_amps

Case = dict[str, Any]

SECTIONS = (
    *("sources", "buses", "devices", "feeders", "equipment"),
    *("functions", "indications", "switches", "airframes"),
)
WITHOUT_NAMES = ("feeders",)
WHOLE_LISTS = (
    *("lost", "reduced", "comes_on", "turned_on", "shed", "on_battery", "not_powered"),
    *("not_known", "stalled", "driven", "chatter"),
)


def cases() -> list[Case]:
    """The cases, each made whole from the one that it is like."""
    found: dict[str, Case] = {}
    for case in yaml.safe_load((Path(__file__).parent / "semantics.yaml").read_text()):
        like = {k: v for k, v in found.get(case.get("like"), {}).items() if k != "choice"}
        found[case["case"]] = {**like, **case}
    return list(found.values())


def written(case: Case) -> Case:
    """The catalogue that an author would have written for a case, as YAML gives it."""
    records: dict[str, list[Case]] = {}
    for section in SECTIONS:
        records[section] = [dict(record) for record in case.get(section, [])]
        for record in records[section]:
            if section not in WITHOUT_NAMES:
                record.setdefault("name", record["id"])
            if section == "equipment":
                record.setdefault("ata", "23-10")
    machines = [s["id"] for s in records["sources"] if s["kind"] != "converter"]
    condition = {"id": "c", "name": "c", "sources": case.get("on-line", machines)}
    return {
        "format": 1,
        "aircraft": {
            **{"name": "Case", "revision": "1", "revised": "2026-01-01"},
            **{"statement": "Invented.", **case.get("aircraft", {})},
        },
        **{section: found for section, found in records.items() if found},
        "conditions": [{**condition, **case.get("condition", {})}],
    }


def faults_of(case: Case, network: Network) -> tuple[Fault, ...]:
    """What fails, each with its mode."""
    return tuple(fault(network, text) for text in case["failed"])


def answer(case: Case) -> tuple[Network, Outcome, dict[str, Word]]:
    """The network of a case, and its one scenario solved."""
    catalogue = Catalogue.model_validate(written(case))
    network = build(catalogue, case.get("airframe", catalogue.airframes[0].id))
    scenario = Scenario("c", faults_of(case, network))
    outcome = solve(network, scenarios_of([scenario]), dip=case.get("answer") == "dip")
    then = Then.model_validate(case["then"]) if "then" in case else None
    over = overloaded(outcome if then is None else after_the_crew(outcome, then))[0]
    if case.get("answer") == "overload":
        outcome = what_is_overloaded_opens(outcome, then)
    elif then is not None:
        outcome = after_the_crew(outcome, then)
    return network, outcome, over


def events(case: Case, network: Network) -> tuple[Event, ...]:
    then = Then.model_validate(case["then"]) if "then" in case else None
    return because(network, "c", faults_of(case, network), then, case.get("answer") == "dip")


def by_package(case: Case) -> Case:
    """The package's answer to a case."""
    network, outcome, over = answer(case)
    loss: Loss = losses(outcome)[0]
    rows = events(case, network) if "because" in case["expect"] else ()
    return {
        **loss.as_json(network),
        "overloaded": over,
        "readings": {i: str(shown) for i, shown in loss.readings.items()},
        "because": [(e.step, e.kind, e.id, e.change) for e in rows],
    }


def by_plain_solver(case: Case) -> Case:
    """The plain solver's answer to a case."""
    catalogue = written(case)
    airframe = case.get("airframe", case.get("airframes", [{"id": None}])[0]["id"])
    modes: dict[str, str] = {}
    for component, mode in plain.every_fault(catalogue, airframe):
        modes.setdefault(component, mode)
    failed = [
        (component, mode or modes[component])
        for component, _, mode in (text.partition(":") for text in case["failed"])
    ]
    if case.get("answer") == "overload":
        before = plain.settled_condition(catalogue, "c", airframe)
        after = plain.after_failure(before, failed)
        words, answered = plain_amps.overload_answer(before, after, case.get("then"))
        return {**answered, "overloaded": words}
    dip = case.get("answer") == "dip"
    return plain.answer(catalogue, "c", failed, case.get("then"), airframe, dip=dip)


def tried() -> Iterator[object]:
    """Every case by both solvers."""
    for solver in (by_package, by_plain_solver):
        for case in cases():
            yield pytest.param(solver, case, id=f"{solver.__name__}-{case['case']}")


@pytest.mark.parametrize(("solver", "case"), list(tried()))
def test_the_answer_is_the_one_worked_by_hand(solver: Callable[[Case], Case], case: Case) -> None:
    found = solver(case)
    for key, expected in case["expect"].items():
        if key in WHOLE_LISTS:
            assert sorted(found[key]) == sorted(expected), key
        elif key == "nodes":
            assert {node: found["nodes"][node]["volts"] for node in expected} == expected
        elif key in ("contactors", "functions"):
            assert {i: found[key][i] for i in expected} == expected, key
        elif key == "lamps":
            assert {i: found["readings"][i] for i in expected} == expected
        elif key == "because":
            assert [list(row) for row in found["because"]] == expected
        else:
            assert found[key] == expected, key
