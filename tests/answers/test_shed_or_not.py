"""A battery lasts longer where the crew turns off what another one carries: then it is not 'shed or
not'. The other goes flat later, and hands its load on later.

Two batteries feed the essential bus through a diode each and share its 24 A. The main one carries
the heaters besides. Usable are 3/4: of 10 Ah 450 A-min.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.results import Endurance
from sitegen.catalogue.model import Failure, Then
from sitegen.pages import failure_page
from sitegen.solver.network import Network
from sitegen.terminal.endurance_text import endurance_text
from tests.nets import expand, network
from tests.pages.pages_sample import context_of, words

NET = """
sources:
  gen: 28
  large: {kind: battery, volts: 24, amp-hours: %d}
  small: {kind: battery, volts: 24, amp-hours: 10}
buses: [main, ess]
devices:
  k-gen: {kind: contactor, closes-when: {live: [gen]}}
  k-large: {kind: relay, closes-when: {live: [large]}}
  d-large: diode
  d-small: diode
feeders: [gen > k-gen > main, large > k-large > main, main > d-large > ess, small > d-small > ess]
equipment:
  radio: {supplies: [{bus: ess}], amps: 24}
  heat-1: {supplies: [{bus: main}], amps: 50}
  heat-2: {supplies: [{bus: main}], amps: 50}
conditions: {flight: {sources: [gen, large, small]}}
"""
SHED = ["heat-1", "heat-2"]


def small_one(amp_hours: int, shed: list[str]) -> tuple[Network, Endurance]:
    net = network(NET % amp_hours)
    record: dict[str, Any] = {"id": "x", "name": "x", "failed": ["gen"], "then": {"shed": shed}}
    failure = Failure.model_validate(record)
    found = battery_endurances(net, "flight", [("gen", "lost")], failure)
    [small] = [one for one in found if one.battery == "small"]
    return net, small


def test_what_spares_another_battery_has_saved_this_one() -> None:
    """Shed: 450 / 12 = 37.5 min. With one heater on the large one has 1,800 A-min, 5 min at 112 A
    and then 62 A: flat at 25 min. The small one has given 300 A-min by then, and carries 24 A for
    6.25 min.
    """
    net, small = small_one(40, SHED)
    assert small.total == Fraction(75, 2)
    assert [(s.id, s.amps, s.spares_another) for s in small.bought] == [
        ("heat-1", 0, True),
        ("heat-2", 0, True),
    ]
    assert {s.minutes for s in small.bought} == {Fraction(75, 2) - Fraction(125, 4)}
    assert not small.acts_change_nothing
    assert "shed or not" not in "\n".join(endurance_text(net, small))


def test_what_all_acts_save_together_counts_though_none_saves_anything_alone() -> None:
    """With one heater on, the large one lasts 5 + (3,600 - 560) / 62 = 54 min, longer than the
    small one; with both, 3,600 / 112 = 32 min.
    """
    net, small = small_one(80, SHED)
    assert small.total == Fraction(75, 2)
    assert not small.bought
    assert not small.same_without_acts
    assert "shed or not" not in "\n".join(endurance_text(net, small))


def test_where_nothing_that_it_gives_changes_sooner_it_lasts_shed_or_not() -> None:
    net, small = small_one(200, SHED)
    assert small.total == Fraction(75, 2)
    assert small.same_without_acts
    assert small.acts_change_nothing
    assert "shed or not" in "\n".join(endurance_text(net, small, Then(shed=SHED)))


@pytest.mark.parametrize(
    ("amp_hours", "said"),
    [(40, "shed at minute 5"), (80, "the crew acting at minute 5"), (200, "shed or not")],
)
def test_the_headline_of_its_page_says_which(amp_hours: int, said: str) -> None:
    raw = expand(NET % amp_hours)
    raw["failures"] = [{"id": "lost", "name": "Lost", "failed": ["gen"], "then": {"shed": SHED}}]
    [page] = failure_page.NAMED.pages(context_of(raw, "all"))
    assert f"37 min {said}" in words(page.make())


def test_where_nobody_acts_nothing_is_said_of_shedding() -> None:
    """1 Ah, 45 A-min, are flat after 3.75 min at 12 A: the large one gives 112 A, then 124 A."""
    net = network(NET.replace("amp-hours: 10}", "amp-hours: 1}") % 80)
    [large, _] = battery_endurances(net, "flight", [("gen", "lost")])
    assert (large.recognition.amps, large.cruise.amps) == (112, 124)
    assert not large.acts_add_load
    text = "\n".join(endurance_text(net, large))
    assert "5 min at first at 112.0 A" in text
    assert "min then at 124.0 A" in text
    assert "shedding" not in text
