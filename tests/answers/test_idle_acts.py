"""An act of the crew that does nothing in a condition is not one of its acts there."""

from __future__ import annotations

from typing import Any

from sitegen.answers.idle_acts import idle_acts
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import read
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build
from tests.nets import expand

NET = """
sources: {gen: 28.5, bat: {kind: battery, volts: 24}}
buses: [main, shed, spare]
switches: {gen-switch: ["off", "on"], hold-switch: ["on", reset], link-switch: ["off", "on"]}
devices:
  k-gen:
    kind: contactor
    rides-through: true
    closes-when: {switches: {gen-switch: "on"}, live: [gen]}
  cb: breaker
  k-hold:
    kind: contactor
    protective: true
    rides-through: RIDES
    closes-when:
      - {switches: {hold-switch: "on"}, live: [main], closed: [k-hold, k-gen]}
      - {switches: {hold-switch: reset}, live: [main], closed: [k-gen]}
  cb-spare: breaker
  k-spare: {kind: relay, closes-when: {switches: {link-switch: "on"}}}
feeders:
  - gen > k-gen > main
  - bat > cb > main
  - main > k-hold > shed
  - main > cb-spare > k-spare > spare
equipment: {radio: main, pump: shed, light: spare}
conditions:
  flight:
    sources: [gen, bat]
    switches: {gen-switch: "on", link-switch: "on"}
    held-closed: [k-gen, k-hold]
  parked: {sources: [bat]}
"""


def idle(then: dict[str, Any], *failed: str, rides: bool = True) -> list[set[str]]:
    """By condition, flight and parked: what the crew's acts on these failures do nothing with."""
    raw = expand(NET.replace("RIDES", str(rides).lower()))
    raw["failures"] = [{"id": "it", "name": "It", "failed": list(failed), "then": then}]
    network = build(Catalogue.model_validate(raw), "all")
    return [
        {name for _, name in acts} for acts in idle_acts(network, network.catalogue.failures)["it"]
    ]


def test_a_switch_that_changes_what_has_power_is_not_idle() -> None:
    assert idle({"switches": {"link-switch": "off"}}, "gen") == [set(), {"link-switch"}]


def test_what_is_set_for_good_is_kept_though_the_failure_has_done_it_already() -> None:
    """The contactor of a lost generator has opened; its switch goes off all the same."""
    assert idle({"switches": {"gen-switch": "off"}}, "gen") == [set(), {"gen-switch"}]


def test_of_two_acts_of_which_either_is_enough_none_is_idle() -> None:
    then = {"switches": {"link-switch": "off"}, "pulled": ["cb-spare"]}
    assert idle(then, "gen") == [set(), {"link-switch"}]


def test_a_reset_of_what_has_not_tripped_is_idle() -> None:
    then = {"switches": {"link-switch": "off"}, "reset": ["cb-spare"]}
    assert idle(then, "spare:shorted") == [set(), {"link-switch", "cb-spare"}]


def test_a_reset_onto_the_short_is_idle() -> None:
    assert idle({"reset": ["cb-spare"]}, "spare:shorted") == [{"cb-spare"}, {"cb-spare"}]


def test_an_act_is_kept_that_only_helps_if_contactors_drop_out() -> None:
    then = {"switches": {"hold-switch": "reset"}}
    assert idle(then, "spare:shorted", rides=False) == [set(), {"hold-switch"}]
    assert idle(then, "spare:shorted", rides=True) == [{"hold-switch"}, {"hold-switch"}]


def test_turning_off_what_has_no_power_is_idle() -> None:
    """In flight the pump still works at once, and the act keeps it off; parked it has no power."""
    then = {"shed": ["pump", "radio"]}
    assert idle(then, "cb-spare") == [set(), {"pump"}]
    assert idle(then, "gen") == [{"pump"}, {"pump"}]


def test_turning_off_what_another_act_gives_power_is_not_idle() -> None:
    then = {"switches": {"link-switch": "on"}, "shed": ["light"]}
    assert idle(then, "gen") == [{"link-switch"}, set()]


def test_a_failure_without_acts_is_not_listed() -> None:
    network = build(Catalogue.model_validate(expand(NET.replace("RIDES", "true"))), "all")
    assert idle_acts(network, network.catalogue.failures) == {}


def test_the_demo_on_one_generator_does_not_reset_what_is_shed() -> None:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue
    network = build(catalogue, "block-1")
    conditions = [c.id for c in network.catalogue.conditions]
    found = idle_acts(network, network.catalogue.failures)
    by_condition = dict(zip(conditions, found["cabin-short"], strict=True))
    assert by_condition["cruise"] == frozenset()
    assert by_condition["generator-1-alone"] == {("switches", "cabin-master")}
    by_condition = dict(zip(conditions, found["aft-short"], strict=True))
    assert by_condition["generator-1-alone"] == {("switches", "utility-switch")}
