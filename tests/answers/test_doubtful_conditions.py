"""What a condition has, with nothing failed, that nobody means: idle sources, relays that lock."""

from __future__ import annotations

import pytest

from sitegen.answers.doubtful_conditions import doubtful_conditions
from tests.catalogue.catalogue_sample import SAMPLE, read_texts, spoilt

RELAY = '{id: k-bat, name: Battery relay, kind: relay, closes-when: {switches: {bat-switch: "on"}}}'
CONDITION = 'sources: [gen, bat], switches: {gen-switch: "on", bat-switch: "on"}'
PULLED_IN = RELAY.replace(
    '{switches: {bat-switch: "on"}}', "[{dead: [main]}, {closed: [k-bat], live: [bat]}]"
)


def advice(*changes: tuple[str, str]) -> list[str]:
    reading = read_texts({"all.yaml": spoilt(*changes)})
    assert not reading.errors, [str(f) for f in reading.errors]
    return [f"{f.message} {f.hint}" for f in doubtful_conditions(reading)]


def test_nothing_is_said_of_a_sound_catalogue() -> None:
    assert advice((SAMPLE, SAMPLE)) == []


def test_a_source_whose_switch_a_condition_forgets_feeds_nothing() -> None:
    said = advice((CONDITION, 'sources: [gen, bat], switches: {bat-switch: "on"}'))
    assert said == [
        "source gen: it is on line in cruise on early and cruise on late and feeds nothing: k-gen"
        " is open, since the switch gen-switch is off. Set what connects it, or take `gen` out of"
        " `sources`."
    ]


def test_a_source_that_is_not_on_line_may_be_idle() -> None:
    assert advice((CONDITION, 'sources: [bat], switches: {bat-switch: "on"}')) == []


def test_a_source_locked_out_by_a_relay_is_said_to_be() -> None:
    lock = "  - {id: k-lock, name: Lock-out, kind: relay, closes-when: [{dead: [main]}, {closed: [k-lock], live: [bat]}]}\n"  # noqa: E501
    said = advice(
        (f"  - {RELAY}\n", f"  - {RELAY}\n{lock}"),
        ("live: [gen]}}", "live: [gen], open: [k-lock]}}"),
        ("[{bus: main, breaker: {name: AP,", "[{bus: main, through: [k-lock], breaker: {name: AP,"),
    )
    assert any("k-gen is open, since k-lock is closed" in text for text in said)


STANDBY = "{dead: [main], live: [bat]}"
BY_SWITCH = '{switches: {bat-switch: "on"}}'


@pytest.mark.parametrize(
    "closes",
    [
        STANDBY,
        "{open: [k-gen], live: [bat]}",
        "{volts-below: {main: 20}, live: [bat]}",
        '{switches: {bat-switch: "on"}, dead: [main]}',
        f"[{BY_SWITCH.replace('on', 'off')}, {STANDBY}]",
    ],
)
def test_a_battery_that_waits_for_a_bus_to_die_is_no_mistake(closes: str) -> None:
    assert advice((BY_SWITCH, closes)) == []


def test_a_battery_whose_relay_follows_a_relay_that_waits_is_no_mistake() -> None:
    relay = f"  - {{id: k-low, name: Low volts relay, kind: relay, closes-when: {STANDBY}}}\n"
    used = (
        "[{bus: main, breaker: {name: AP,",
        "[{bus: main, through: [k-low], breaker: {name: AP,",
    )
    following = RELAY.replace(BY_SWITCH, "{closed: [k-low]}")
    assert advice((f"  - {RELAY}\n", f"  - {following}\n{relay}"), used) == []


def test_volts_that_a_bus_does_not_have_are_named() -> None:
    (said,) = advice((BY_SWITCH, '{switches: {bat-switch: "on"}, volts-above: {main: 30}}'))
    assert "k-bat is open, since of the volts of main" in said


def test_every_device_of_the_feeder_must_wait_or_be_closed() -> None:
    switched = '  - {id: k-arm, name: Arming relay, kind: relay, closes-when: {switches: {gen-switch: "off"}}}\n'  # noqa: E501
    (said,) = advice(
        (f"  - {RELAY}\n", f"  - {RELAY.replace(BY_SWITCH, STANDBY)}\n{switched}"),
        ("through: [k-bat]", "through: [k-bat, k-arm]"),
    )
    assert "k-arm is open, since the switch gen-switch is on" in said


def test_two_relays_that_wait_for_each_other_never_close() -> None:
    relay = "  - {id: k-low, name: Low relay, kind: relay, closes-when: {closed: [k-bat]}}\n"
    used = (
        "[{bus: main, breaker: {name: AP,",
        "[{bus: main, through: [k-low], breaker: {name: AP,",
    )
    following = RELAY.replace(BY_SWITCH, "{closed: [k-low]}")
    (said,) = advice((f"  - {RELAY}\n", f"  - {following}\n{relay}"), used)
    assert said.startswith("source bat: it is on line")


def test_a_battery_that_waits_for_a_source_that_is_off_is_said_to_feed_nothing() -> None:
    (said,) = advice(
        (BY_SWITCH, "{dead: [main], live: [ext]}"),
        (
            "buses:",
            "  - {id: ext, name: External, kind: external-power, volts: 28, amps: 9}\nbuses:",
        ),
        ("feeders:\n", "feeders:\n  - {from: ext, to: main}\n"),
    )
    assert said.startswith("source bat: it is on line")


def test_a_standby_battery_with_its_switch_off_is_said_to_feed_nothing() -> None:
    (said,) = advice(
        (BY_SWITCH, '{switches: {bat-switch: "on"}, dead: [main]}'),
        (CONDITION, 'sources: [gen, bat], switches: {gen-switch: "on"}'),
    )
    assert "k-bat is open, since the switch bat-switch is off" in said


def test_a_relay_that_only_its_own_contact_holds_in_was_pulled_in_before_power_had_spread() -> None:
    (said,) = advice((RELAY, PULLED_IN))
    assert said.startswith(
        "relay k-bat: in cruise on early and cruise on late it is closed with nothing failed only"
        " because it holds itself in"
    )


def test_a_condition_may_begin_with_it_closed() -> None:
    held = f"{CONDITION}, held-closed: [k-bat]"
    assert advice((RELAY, PULLED_IN), (CONDITION, held)) == []
