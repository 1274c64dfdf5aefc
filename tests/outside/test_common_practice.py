"""Facts of the trade about bus ties, fuse links and battery relays.

All of them: common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.nets import after, closed, live, network, volts

TIED = """
sources:
  left-gen: 28
  right-gen: 28
  battery: {kind: battery, volts: 24}
  ground-power: {kind: external-power, volts: 28}
buses: [left-bus, centre-bus, right-bus, battery-bus]
devices:
  k-left: {kind: contactor, closes-when: {live: [left-gen]}}
  k-right: {kind: contactor, closes-when: {live: [right-gen]}}
  k-ground: {kind: contactor, closes-when: {live: [ground-power]}}
  battery-relay: {kind: relay, closes-when: {switches: {battery-switch: "on"}, live: [battery-bus]}}
  left-link: {kind: fuse-link, amps: 250}
  right-link: {kind: fuse-link, amps: 250}
switches: {battery-switch: ["off", "on"]}
feeders:
  - left-gen > k-left > left-bus
  - right-gen > k-right > right-bus
  - left-bus > left-link > centre-bus
  - centre-bus > right-link > right-bus
  - battery > battery-bus
  - battery > battery-relay > centre-bus
  - ground-power > k-ground > centre-bus
indications:
  left-volts: {kind: voltmeter, at: left-bus}
  right-volts: {kind: voltmeter, at: right-bus}
conditions:
  battery-only: {sources: [battery], switches: {battery-switch: "on"}}
  left-gen-only: {sources: [left-gen, battery], switches: {battery-switch: "on"}}
  ground-and-gen: {sources: [ground-power, left-gen, battery], switches: {battery-switch: "on"}}
  both-gens: {sources: [left-gen, right-gen, battery], switches: {battery-switch: "on"}}
"""
LINKS = {
    "both good": (),
    "left open": ("left-link",),
    "right open": ("right-link",),
    "both open": ("left-link", "right-link"),
}


def meters(condition: str, links: str) -> tuple[str, str]:
    """What the left and the right voltmeter show."""
    loss = after(network(TIED), *LINKS[links], condition=condition)
    return str(loss.readings["left-volts"]), str(loss.readings["right-volts"])


@pytest.mark.parametrize(
    ("links", "left", "right"),
    [
        ("both good", "24 V", "24 V"),
        ("left open", "0 V", "24 V"),
        ("right open", "24 V", "0 V"),
        ("both open", "0 V", "0 V"),
    ],
)
def test_on_the_battery_alone_an_open_link_shows_as_a_dead_generator_bus(
    links: str, left: str, right: str
) -> None:
    # common practice, no source
    assert meters("battery-only", links) == (left, right)


@pytest.mark.parametrize(
    ("links", "left", "right"),
    [
        ("both good", "28 V", "28 V"),
        ("left open", "28 V", "24 V"),
        ("right open", "28 V", "0 V"),
        ("both open", "28 V", "0 V"),
    ],
)
def test_with_one_generator_on_line_an_open_link_shows_in_the_other_sides_volts(
    links: str, left: str, right: str
) -> None:
    # common practice, no source
    assert meters("left-gen-only", links) == (left, right)


@pytest.mark.parametrize("condition", ["ground-and-gen", "both-gens"])
def test_with_the_same_volts_on_both_sides_of_a_link_an_open_link_does_not_show(
    condition: str,
) -> None:
    # common practice, no source. With ground power on the centre bus and one generator, only the
    # link on the generator's side is hidden: the far side still goes dead with its own link.
    assert meters(condition, "left open") == meters(condition, "both good") == ("28 V", "28 V")
    if condition == "both-gens":
        assert meters(condition, "right open") == meters(condition, "both open") == ("28 V", "28 V")
    else:
        assert meters(condition, "right open") == ("28 V", "0 V")


def test_a_battery_relay_whose_coil_hangs_on_the_hot_battery_bus_opens_with_that_bus() -> None:
    # common practice, no source
    whole = after(network(TIED), condition="battery-only")
    assert "battery-relay" in closed(whole)
    loss = after(network(TIED), "battery-bus", condition="battery-only")
    assert "battery-relay" not in closed(loss)
    assert live(loss) == {"battery"}


DUAL_FED = """
sources: {left-gen: 28, right-gen: 28}
buses: [left-bus, right-bus, dual-fed]
devices:
  left-link: {kind: fuse-link, amps: 60}
  right-link: {kind: fuse-link, amps: 60}
  left-diode: diode
  right-diode: diode
  cb-left: {kind: breaker, amps: 50}
  cb-right: {kind: breaker, amps: 50}
feeders:
  - left-gen > left-bus
  - right-gen > right-bus
  - left-bus > left-link > left-diode > cb-left > dual-fed
  - right-bus > right-link > right-diode > cb-right > dual-fed
equipment: {radio: dual-fed}
"""
LEFT = ["left-gen:lost", "left-bus:dead", "left-bus:shorted", "left-link", "left-diode", "cb-left"]


@pytest.mark.parametrize("failed", [*LEFT, *(name.replace("left", "right") for name in LEFT)])
def test_a_bus_fed_from_both_sides_survives_the_loss_of_either(failed: str) -> None:
    # common practice, no source
    loss = after(network(DUAL_FED), failed)
    assert loss.lost == ()
    assert volts(loss, "dual-fed") == (27.3,)  # a silicon diode drops about 0.7 V


def test_a_bus_fed_from_both_sides_does_not_feed_back_into_a_dead_side() -> None:
    # common practice, no source: that is what its diodes are for
    assert volts(after(network(DUAL_FED), "left-gen"), "left-bus", "dual-fed") == (0, 27.3)


def test_a_bus_fed_from_both_sides_is_lost_with_both() -> None:
    # common practice, no source
    assert after(network(DUAL_FED), "cb-left", "right-link").lost == ("radio",)
