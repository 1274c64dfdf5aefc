"""What a failure does only once what it overloads has opened, in every list of failures.

Generator 1 lost, generator 2 carries both sides by the tie, whose link opens at 60 A.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from sitegen.answers.drop import drop
from sitegen.answers.failure_changes import single_failure_changes
from sitegen.answers.find import find_observation
from sitegen.answers.function_status import function_status
from sitegen.answers.named_failures import NamedEffect, named_failures
from sitegen.answers.signatures import signature_table
from sitegen.answers.single_failures import SingleFailure, single_failures
from sitegen.answers.single_points import single_points
from sitegen.answers.three_answers import IF_OVERLOAD_OPENS
from sitegen.answers.trace import trace
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.terminal.changes_text import takes
from sitegen.terminal.diagnosis_json import diagnosis_json
from sitegen.terminal.diagnosis_text import diagnosis_text
from sitegen.terminal.function_text import function_text
from sitegen.terminal.signatures_text import signatures_text
from sitegen.terminal.trace_text import trace_text
from tests.nets import expand

NET = """
sources: {gen-1: {volts: 28, amps: 200}, gen-2: {volts: 28, amps: 200}}
buses: [left, right]
devices:
  tie: {kind: fuse-link, amps: 50, opens-at: {may: 1.1, must: 1.2}}
feeders: [gen-1 > left, gen-2 > right, left > tie > right]
equipment:
  radio: {amps: 80, supplies: [{bus: left}]}
  fan: {amps: 10, supplies: [{bus: right}]}
functions: {talk: {provided-by: [radio], essential: true, independent: [[radio, fan]]}}
indications:
  left-volts: {kind: voltmeter, at: left}
  right-volts: {kind: voltmeter, at: right}
  gen-1-off: {kind: lamp, lit-when: {dead: [gen-1]}}
failures: {engine-1: {failed: [gen-1]}}
conditions: {flight: {sources: [gen-1, gen-2]}}
"""
GEN_1 = ("gen-1", "lost")
IF_OPENING = SingleFailure(GEN_1, ("flight",), "overload")


def net(text: str = NET) -> Network:
    raw = expand(text)
    raw["failures"] = [{"id": "engine-1", "name": "Engine 1 stops", "failed": ["gen-1"]}]
    return build(Catalogue.model_validate(raw), "all")


@pytest.fixture(scope="module")
def network() -> Network:
    return net()


def test_the_radio_is_lost_only_in_the_answer_in_which_the_link_opens(network: Network) -> None:
    assert drop(network, "flight", [GEN_1]).lost == ()
    assert drop(network, "flight", [GEN_1], overload=True).lost == ("radio",)


def test_trace_names_the_failure_with_the_remark(network: Network) -> None:
    found = trace(network, "radio")
    [cause] = [c for c in found.causes if c.by == IF_OPENING]
    assert cause.also_lost == ()
    assert f"gen-1 lost {IF_OVERLOAD_OPENS}" in "\n".join(trace_text(network, found))
    written = found.as_json(network)["causes"]
    assert {c["failed"]["id"] for c in written if c["if_overload_opens"]} == {"gen-1"}
    assert NamedEffect("engine-1", "lost", ("flight",), "overload") in found.named


def test_functions_and_single_points_have_it(network: Network) -> None:
    status = function_status(network, "talk")
    assert IF_OPENING in status.takes
    assert IF_OVERLOAD_OPENS in "\n".join(function_text(network, status))
    points = single_points(single_failures(network, condition_states(network)))
    assert IF_OPENING in [w.by for w in points.essential]
    named = named_failures(network, condition_states(network)).on_function("talk")
    assert NamedEffect("engine-1", "lost", ("flight",), "overload") in named


def test_the_table_of_signatures_has_what_then_shows(network: Network) -> None:
    table = signature_table(single_failures(network, condition_states(network)), "flight")
    [row] = [s for s in table.shown if GEN_1 in s.faults["overload"]]
    assert dict(row.readings)["left-volts"].number == 0
    assert GEN_1 not in table.harmless
    assert f"    gen-1 lost {IF_OVERLOAD_OPENS}" in signatures_text(network, table)


def test_one_failure_explains_a_dead_bus_once_the_link_has_opened(network: Network) -> None:
    seen = [find_observation(network, "radio", "dead"), find_observation(network, "fan", "works")]
    found = troubleshoot(network, "flight", seen)
    [number] = [i for i, c in enumerate(found.candidates) if c == (GEN_1,)]
    assert found.answers[number] == "overload"
    assert found.losses[number].lost == ("radio",)
    # With the link open besides, it is no smallest explanation any more.
    assert not [c for c in found.candidates if GEN_1 in c and len(c) > 1]
    assert IF_OVERLOAD_OPENS in "\n".join(diagnosis_text(network, found))
    assert diagnosis_json(network, found)["candidates"][number]["if_overload_opens"]


def test_a_near_miss_may_need_the_link_to_open(network: Network) -> None:
    states = {"radio": "dead", "fan": "works", "gen-1-off": "lit", "right-volts": "0"}
    found = troubleshoot(
        network, "flight", [find_observation(network, *one) for one in states.items()]
    )
    near = [(n.failed, n.answer, [o.subject for o in n.against]) for n in found.near_misses]
    assert ((GEN_1,), "overload", ["right-volts"]) in near


def test_a_lower_rating_changes_what_the_failure_does() -> None:
    weak, strong = net(), net(NET.replace("amps: 50", "amps: 100"))
    _, consequences = single_failure_changes(strong, weak, revisions=True)
    [of_gen] = [c for c in consequences if c.fault == GEN_1]
    assert (of_gen.answer, of_gen.only_other) == ("overload", ("radio",))
    assert takes(of_gen) == "more"
    _, back = single_failure_changes(weak, strong, revisions=True)
    [of_gen] = [c for c in back if c.fault == GEN_1]
    assert (of_gen.answer, of_gen.only_one) == ("overload", ("radio",))


def test_what_the_first_answer_takes_already_is_not_said_again() -> None:
    # Without the tie it is lost whatever opens.
    causes = trace(net(NET.replace(", left > tie > right", "")), "radio").causes
    assert [c.by for c in causes if c.by.fault == GEN_1] == [replace(IF_OPENING, answer="expected")]
