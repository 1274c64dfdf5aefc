"""What a device that has stuck closed, or a shorted diode, does once something else fails."""

from __future__ import annotations

import pytest

from sitegen.answers.drop import drop
from sitegen.answers.latent_failures import Latents, latent_failures
from sitegen.answers.single_failures import single_failures
from sitegen.catalogue.read import read
from sitegen.pages import failure_page
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from tests.nets import expand, network
from tests.pages.pages_sample import context_of, words

# The breaker of the side bus is to clear a short there. The standby battery is the standby bus's
# alone as long as the diode is sound.
NET = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24, amp-hours: 5}}
buses: [main, side, standby]
devices:
  fl-main: {kind: fuse-link, amps: 60}
  cb-side: {kind: breaker, amps: 20}
  d: diode
  cb-bat: {kind: breaker, amps: 10}
feeders:
  - gen > fl-main > main
  - main > cb-side > side
  - main > d > standby
  - bat > cb-bat > standby
equipment:
  radio: {supplies: [{bus: main}], amps: 20}
  fan: {supplies: [{bus: side}], amps: 5}
  clock: {supplies: [{bus: standby}], amps: 1}
functions: {talk: {provided-by: [radio]}}
conditions: {flight: {sources: [gen, bat]}}
"""


def found(net: Network) -> Latents:
    return latent_failures(single_failures(net, condition_states(net)))


def test_a_breaker_that_has_stuck_lets_a_short_take_what_is_upstream() -> None:
    """Alone the short takes the fan. With the breaker stuck the link blows: the radio goes too."""
    [latent] = found(network(NET))["flight", ("cb-side", "stuck-closed")]
    assert latent.by == ("side", "shorted")
    assert latent.both.lost == ("fan", "radio")
    assert latent.each[0].lost == ("fan",)
    assert (latent.more, latent.more_functions) == (("radio",), ("talk",))


def test_a_shorted_diode_lets_the_standby_battery_feed_the_bus_that_has_died() -> None:
    """With the generator lost the battery carries 21 A through its breaker of 10 A."""
    [latent] = found(network(NET))["flight", ("d", "shorted")]
    assert latent.by == ("gen", "lost")
    assert (latent.more, latent.must_open) == ((), ("cb-bat",))


def test_of_two_breakers_in_series_the_one_that_opens_first_is_named() -> None:
    """The battery's 21 A are over 1.38 x 10 A = 13.8 A and 1.38 x 12 A = 16.6 A: the smaller opens,
    and the other carries nothing then.
    """
    raw = expand(NET.replace("bat > cb-bat > standby", "bat > cb-2 > cb-bat > standby"))
    raw["devices"].append({"id": "cb-2", "name": "cb-2", "kind": "breaker", "amps": 12})
    pages = failure_page.SINGLE.pages(context_of(raw, "all"))
    [page] = [p.make() for p in pages if p.path.endswith("failure-d.html")]
    said = "With gen lost as well, cb-bat or cb-2 is overloaded and must open, cb-bat first as the"
    assert f"{said} most overloaded." in words(page)


def test_what_either_does_alone_is_not_counted() -> None:
    """Where the battery's breaker is too small for its own bus, it opens with or without."""
    small = NET.replace("cb-bat: {kind: breaker, amps: 10}", "cb-bat: {kind: breaker, amps: 0.5}")
    [latent] = found(network(small))["flight", ("d", "shorted")]
    assert (latent.more, latent.must_open) == ((), ())


def test_a_source_that_is_left_is_over_its_rating_with_a_load_that_is_not_shed() -> None:
    """One generator of 30 A is left with 40 A: the contactor was to shed 20 A of these."""
    net = network("""
sources: {left: {volts: 28, amps: 30}, right: {volts: 28, amps: 30}}
buses: [main, side]
devices:
  k-side: {kind: contactor, closes-when: {live: [left, right]}}
feeders: [left > main, right > main, main > k-side > side]
equipment:
  radio: {supplies: [{bus: main}], amps: 20}
  oven: {supplies: [{bus: side}], amps: 20}
""")
    [latent] = found(net)["flight", ("k-side", "stuck-closed")]
    assert latent.by in (("left", "lost"), ("right", "lost"))
    (other,) = {"left", "right"} - {latent.by[0]}
    assert {source: how.amps for source, how in latent.over.items()} == {other: 40}
    assert (latent.more, latent.must_open, latent.minutes) == ((), (), {})


def test_a_battery_lasts_less_long_with_a_load_that_is_not_shed() -> None:
    """Worked by hand: 20 Ah is 1,200 A-min, 30 min at 40 A and 60 min at 20 A."""
    text = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24, amp-hours: 20, usable: 1}}
buses: [main, side]
devices:
  k-side: {kind: contactor, closes-when: {live: [gen]}}
feeders: [gen > main, bat > main, main > k-side > side]
equipment:
  radio: {supplies: [{bus: main}], amps: 20}
  oven: {supplies: [{bus: side}], amps: 20}
battery-time: {recognition-minutes: 0, landing-minutes: 0}
"""
    [latent] = found(network(text))["flight", ("k-side", "stuck-closed")]
    assert latent.by == ("gen", "lost")
    assert latent.minutes == {"bat": (30, 60)}


@pytest.mark.parametrize("airframe", ["block-1", "block-3"])
def test_it_is_what_both_failures_together_do(airframe: str) -> None:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue
    net = build(catalogue, airframe)
    of = found(net)
    [latent] = of["cruise", ("cb-ess-forward", "stuck-closed")]
    assert latent.by == ("essential", "shorted")
    both = [latent.by, ("cb-ess-forward", "stuck-closed")]
    dip = airframe == "block-1"  # whose contactors drop out, by the catalogue
    answer, alone = (drop(net, "cruise", failed, dip=dip) for failed in (both, both[:1]))
    assert latent.both.lost == answer.lost
    assert set(latent.more) == {*answer.lost} - {*alone.lost}
    assert len(latent.more) > 20


TIE = """
sources: {left-gen: {volts: 28, amps: 100}, right-gen: {volts: 28, amps: 100}}
buses: [left, right]
switches: {tie-switch: ["off", "on"]}
devices:
  k-left: {kind: contactor, protective: true, closes-when: {live: [left-gen]}}
  k-right: {kind: contactor, protective: true, closes-when: {live: [right-gen]}}
  k-tie: {kind: contactor, rides-through: true, closes-when: {switches: {tie-switch: "on"}}}
feeders: [left-gen > k-left > left, right-gen > k-right > right, left > k-tie > right]
equipment: {heater: {supplies: [{bus: left}], amps: 5}, fan: {supplies: [{bus: right}], amps: 5}}
conditions: {flight: {sources: [left-gen, right-gen]}}
"""


def test_a_tie_that_has_stuck_closed_lets_a_short_take_both_sides() -> None:
    """Open, as it was to stay, it keeps a short on one side away from the other."""
    [latent] = found(network(TIE))["flight", ("k-tie", "stuck-closed")]
    assert latent.both.lost == ("fan", "heater")
    assert len(latent.each[0].lost) == 1
    assert latent.each[1].lost == ()


def test_functions_that_the_condition_has_not_are_not_lost() -> None:
    """Beside the page's items: a function that nothing gives there is taken by no failure."""
    raw = expand(NET)
    raw["switches"] = [{"id": "sw", "name": "sw", "positions": ["off", "on"]}]
    raw["devices"].append(
        {"id": "k", "name": "k", "kind": "relay", "closes-when": [{"switches": {"sw": "on"}}]}
    )
    heat = {"id": "heat", "name": "heat", "ata": "30", "amps": 1}
    raw["equipment"].append({**heat, "supplies": [{"bus": "side", "through": ["k"]}]})
    raw["functions"].append({"id": "warm", "name": "Warm", "provided-by": ["heat"]})
    pages = failure_page.SINGLE.pages(context_of(raw, "all"))
    [page] = [p.make() for p in pages if p.path.endswith("failure-cb-side.html")]
    assert "With side shorted as well, 2 items and 1 function are lost" in words(page)


def test_a_page_says_what_a_source_and_a_battery_then_give() -> None:
    raw = expand("""
sources:
  left: {volts: 28, amps: 30}
  right: {volts: 28, amps: 30}
  bat: {kind: battery, volts: 24, amp-hours: 20, usable: 1}
buses: [main, side]
devices:
  k-side: {kind: contactor, closes-when: {live: [left, right]}}
feeders: [left > main, right > main, bat > main, main > k-side > side]
equipment:
  radio: {supplies: [{bus: main}], amps: 20}
  oven: {supplies: [{bus: side}], amps: 20}
conditions: {flight: {sources: [left, right, bat]}, alone: {sources: [left, bat]}}
battery-time: {recognition-minutes: 0, landing-minutes: 0}
""")
    pages = failure_page.SINGLE.pages(context_of(raw, "all"))
    [page] = [p.make() for p in pages if p.path.endswith("failure-k-side.html")]
    said = "With left lost as well, right is at 133 % of its rating."
    assert said in words(page)


def test_what_must_open_is_named_beside_minutes_though_one_of_both_opens_it_alone() -> None:
    """Worked by hand: 20 Ah is 1,200 A-min, 34 min at 35 A and 80 min at 15 A.

    Without the generator the clock alone overloads the battery's breaker of 10 A.
    """
    raw = expand("""
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24, amp-hours: 20, usable: 1}}
buses: [main, standby]
devices: {d: diode, cb-bat: {kind: breaker, amps: 10}}
feeders: [gen > main, main > d > standby, bat > cb-bat > standby]
equipment:
  radio: {supplies: [{bus: main}], amps: 20}
  clock: {supplies: [{bus: standby}], amps: 15}
conditions: {flight: {sources: [gen, bat]}}
battery-time: {recognition-minutes: 0, landing-minutes: 0}
""")
    pages = failure_page.SINGLE.pages(context_of(raw, "all"))
    [page] = [p.make() for p in pages if p.path.endswith("failure-d.html")]
    assert (
        "With gen lost as well, cb-bat is overloaded and must open. gen stays connected: others may"
        " drive it as a motor. bat lasts 34 min if no breaker opens (80 min with a sound one)."
    ) in words(page)
