"""A device that only supplies equipment is an explanation; one that is in nothing never is."""

from __future__ import annotations

import pytest

from sitegen.answers.find import find_observation
from sitegen.answers.signatures import signature_table
from sitegen.answers.single_failures import single_failures
from sitegen.answers.trace import trace
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import Fault
from tests.nets import network

NET = """
sources: {gen: 28}
buses: [main]
devices:
  k-lamp: {kind: relay, closes-when: {switches: {lamp-switch: "on"}}}
  k-fan: {kind: relay, closes-when: {switches: {lamp-switch: "off"}}}
  cb-fan: {kind: breaker, amps: 5}
  spare: breaker
  k-spare: {kind: contactor, closes-when: {live: [main]}}
feeders: [gen > main]
equipment:
  lamp: {supplies: [{bus: main, through: [k-lamp]}]}
  fan: {supplies: [{bus: main, through: [k-fan, cb-fan]}]}
switches: {lamp-switch: ["off", "on"]}
indications: {volts: {kind: voltmeter, at: main}}
"""
IN_NOTHING = {"spare", "k-spare"}


def explanations(*seen: tuple[str, str]) -> set[Fault]:
    net = network(NET)
    observed = [find_observation(net, *one) for one in seen]
    return {fault for s in troubleshoot(net, "flight", observed).candidates for fault in s}


@pytest.mark.parametrize(
    ("seen", "explained_by"),
    [
        (("fan", "dead"), {("k-fan", "open"), ("cb-fan", "open")}),
        (("lamp", "works"), {("k-lamp", "stuck-closed")}),
    ],
)
def test_a_relay_and_a_breaker_in_a_supply_explain_their_item(
    seen: tuple[str, str], explained_by: set[Fault]
) -> None:
    assert explanations(seen, ("volts", "28")) == explained_by


def test_what_is_in_nothing_explains_nothing_even_where_nothing_need_have_failed() -> None:
    for seen in (("fan", "dead"), ("fan", "works"), ("lamp", "dead"), ("volts", "28")):
        assert not {c for c, _ in explanations(seen)} & IN_NOTHING
    net = network(NET)
    table = signature_table(single_failures(net, condition_states(net), ["flight"]), "flight")
    assert {c for c, _ in table.harmless} >= IN_NOTHING
    assert {"k-lamp", "k-fan", "cb-fan"} <= {c for c, _ in table.unseen["expected"]}
    assert not {c.by.fault[0] for c in trace(net, "fan").causes} & IN_NOTHING
