"""What the first sentences of `drop` say, whichever of the answers is asked for."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner

from sitegen.answers.drop import drop
from sitegen.catalogue.model import Catalogue, Then
from sitegen.cli import commands
from sitegen.solver.network import build
from sitegen.solver.scenarios import Fault
from sitegen.terminal.headline_text import at_a_glance, headline, in_few_words
from tests.nets import NOT_SYNCHRONISED, expand, network

# The generator's contactor holds itself in by the volts of the main bus.
HELD = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, side]
switches: {start: ['off', 'on']}
devices:
  k: {kind: contactor, closes-when: [{switches: {start: 'on'}}, {closed: [k], live: [main]}]}
  kb: {kind: relay, closes-when: {live: [bat]}}
  cb: {kind: breaker, amps: 20}
feeders: [gen > k > main, bat > kb > main, main > cb > side]
equipment: {radio: {supplies: [{bus: main}], amps: 5}}
conditions: {flight: {sources: [gen, bat], held-closed: [k]}}
"""
WITHOUT_BATTERY = HELD.replace("bat > kb > main, ", "")
BATTERY_ALONE_IF_DIPPING = (
    "If contactors drop out while the fault lasts, bat will give more amps and be flat sooner and"
    " 1 item is left on battery"
)


def asked(net: str, folder: Path, *options: str) -> str:
    """What `drop` prints of the short on the side bus."""
    file = folder / "net.yaml"
    file.write_text(yaml.safe_dump(expand(net)), encoding="utf-8")
    result = CliRunner().invoke(commands, ["drop", str(file), "side:shorted", *options])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.parametrize("options", [(), ("--overload",)])
def test_what_is_on_battery_only_if_contactors_drop_out_is_said(
    options: tuple[str, ...], tmp_path: Path
) -> None:
    text = asked(HELD, tmp_path, *options)
    assert f"{BATTERY_ALONE_IF_DIPPING} only." in text
    assert "Nothing is lost" not in text


@pytest.mark.parametrize("options", [(), ("--overload",)])
def test_what_is_lost_if_contactors_drop_out_is_said(
    options: tuple[str, ...], tmp_path: Path
) -> None:
    text = asked(WITHOUT_BATTERY, tmp_path, *options)
    assert "If contactors drop out while the fault lasts, you lose 1 item." in text
    assert "Nothing is lost" not in text


def test_the_answer_if_they_drop_out_says_what_is_lost_if_they_ride_through(tmp_path: Path) -> None:
    text = asked(WITHOUT_BATTERY, tmp_path, "--dip")
    assert "If contactors ride through the fault, you lose no items." in text


def test_what_drops_out_by_the_catalogue_does_so_whether_or_not_it_is_asked(tmp_path: Path) -> None:
    says = WITHOUT_BATTERY.replace("k: {", "k: {rides-through: false, ", 1)
    expected = asked(says, tmp_path)
    assert "You lose 1 of 1 working item" in expected
    assert "If contactors" not in expected
    lost = [
        json.loads(asked(says, tmp_path, "--json", *options))["lost"]
        for options in ((), ("--dip",))
    ]
    assert lost == [["radio"], ["radio"]]


def test_where_the_answers_are_the_same_nothing_is_said_of_the_other(tmp_path: Path) -> None:
    riding = HELD.replace("k: {", "k: {rides-through: true, ", 1)
    for options in ((), ("--dip",), ("--overload",)):
        text = asked(riding, tmp_path, *options)
        assert "Nothing is lost: all 1 working items still work." in text
        assert "If contactors" not in text


def test_what_is_on_battery_only_if_what_is_overloaded_opens_is_said() -> None:
    net = network("""
    sources: {g-1: 28, g-2: 28, bat: {kind: battery, volts: 24}}
    buses: [left, right]
    devices:
      k: {kind: contactor, closes-when: {live: [g-2]}}
      tie: {kind: breaker, amps: 20}
    feeders: [g-1 > left, g-2 > k > right, left > tie > right, bat > right]
    equipment: {heater: {supplies: [{bus: right}], amps: 40}}
    """)
    loss, normal = drop(net, "flight", [("g-2", "lost")]), drop(net, "flight", [])
    assert headline(net, loss, normal) == (
        "Overloaded and must open: tie.",
        "If what is overloaded opens, left will have no battery left to take over, bat will give"
        " more amps and be flat sooner and 1 item is left on battery only.",
        "No item is lost.",
    )


def test_after_the_crew_has_turned_something_off_not_all_still_works() -> None:
    net = network("""
    sources: {g-1: 28, g-2: 28}
    buses: [main]
    devices: {k: {kind: contactor, closes-when: {live: [g-1]}}}
    feeders: [g-1 > k > main, g-2 > main]
    equipment: {radio: main, galley: main}
    """)
    normal = drop(net, "flight", [])
    acted = drop(net, "flight", [("g-1", "lost")], Then(shed=["galley"]))
    assert headline(net, acted, normal) == (
        "The crew turns off galley.",
        "No other item is lost.",
    )
    idle = drop(net, "flight", [("g-1", "lost")], Then())
    assert headline(net, idle, normal) == ("Nothing is lost: all 2 working items still work.",)


@pytest.mark.parametrize(
    ("differing", "words"),
    [
        ({"reduced": ("radio",)}, "1 item is left with one supply or alternative less"),
        ({"comes_on": ("radio",), "on_battery": ()}, "radio will come on"),
        (
            {"chatter": ("kb",), "driven": ("gen",)},
            "kb will chatter and gen may be driven by other sources",
        ),
        ({"not_known": ("radio",)}, "1 item is left in a state that is not known"),
        ({"functions": {"talk": "one-left"}}, "not all of this holds"),
    ],
)
def test_whatever_else_differs_is_named(differing: dict[str, object], words: str) -> None:
    net = network(HELD)
    loss = drop(net, "flight", [("side", "shorted")])
    other = replace(loss, **differing)  # type: ignore[arg-type]
    assert headline(net, loss, drop(net, "flight", []), other) == (
        f"If contactors drop out while the fault lasts, {words}.",
        "The catalogue does not say whether k does: look up if it is a ride-through type.",
        "No item is lost.",
    )


def test_items_of_which_it_is_not_known_in_the_condition_whether_they_work_are_counted() -> None:
    net = network("""
    sources:
      ac-1: {kind: generator, volts: 115, current: ac}
      ac-2: {kind: generator, volts: 115, current: ac}
    buses: [left, right]
    devices: {tie: {kind: breaker, amps: 20}}
    feeders: [ac-1 > left, ac-2 > right, left > tie > right]
    equipment: {fan: left, pump: right}
    """)
    loss, normal = drop(net, "flight", [("left", "dead")]), drop(net, "flight", [])
    assert normal.not_known == ("fan", "pump")
    assert headline(net, loss, normal)[0].startswith("You lose 1 of 2 working items")


def test_that_what_depends_on_what_is_not_known_is_shown_as_if_it_works_is_said() -> None:
    net = network(
        NOT_SYNCHRONISED
        + "equipment: {fan: left, pump: right}\n"
        + "functions: {cooling: {provided-by: [fan, pump]}}"
    )
    loss = drop(net, "flight", [("tie", "stuck-closed")])
    assert (loss.not_known, loss.functions) == (("fan", "pump"), {"cooling": "kept"})
    assert (
        "AC sources that are not synchronised meet on left and right: whether 2 items there work is"
        " not known; what depends on this, functions, meters and lamps too, is shown as if they"
        " do."
    ) in headline(net, loss, drop(net, "flight", []))


SPARE = """
sources: {gen: 28}
buses: [main, left, right]
devices:
  cb: {kind: breaker, amps: 20}
  k: {kind: contactor, closes-when: {live: [main]}}
  latch: {kind: contactor, closes-when: {closed: [latch], live: [main]}}
  horn-relay: {kind: relay, closes-when: {open: [latch]}}
feeders: [gen > main, main > cb > left, main > k > right]
equipment:
  radio: left
  fan: {supplies: [{bus: right, through: [latch]}]}
  horn: {supplies: [{bus: main, through: [horn-relay]}]}
conditions: {flight: {sources: [gen], held-closed: [latch]}}
"""


LOOK_UP = "The catalogue does not say whether latch does: look up if it is a ride-through type."


def said(net: str, *failed: Fault) -> tuple[str, ...]:
    """The headline of a failure in both answers."""
    built = network(net)
    loss, dip = (drop(built, "flight", failed, dip=dip) for dip in (False, True))
    return headline(built, loss, drop(built, "flight", ()), dip)


@pytest.mark.parametrize("device", ["cb", "k"])
def test_what_is_stuck_closed_no_longer_opens_though_nothing_else_changes(device: str) -> None:
    assert said(SPARE, (device, "stuck-closed")) == (
        f"No longer opens: {device}.",
        "No item is lost.",
    )


def test_what_comes_on_is_said_beside_what_is_lost_if_contactors_drop_out() -> None:
    _, *others = said(SPARE, ("left", "shorted"))
    assert others == [
        "If contactors drop out while the fault lasts, you lose 2 items and horn will come on.",
        LOOK_UP,
    ]


OTHERS = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, side, hot]
devices:
  cb: {kind: breaker, amps: 20}
  latch: {kind: contactor, closes-when: {closed: [latch], live: [main]}}
  back: {kind: relay, closes-when: {open: [latch]}}
feeders: [gen > main, main > cb > side, bat > hot]
equipment:
  radio: {supplies: [{bus: side}, {bus: hot, through: [back]}]}
  fan: {supplies: [{bus: main, through: [latch]}]}
conditions: {flight: {sources: [gen, bat], held-closed: [latch]}}
"""


def test_as_many_items_are_not_the_same_ones() -> None:
    assert said(OTHERS, ("side", "shorted")) == (
        "You lose 1 of 2 working items.",
        "If contactors drop out while the fault lasts, you lose other items.",
        LOOK_UP,
    )


SHORT = """
sources: {gen: 28, apu: 28}
buses: [main, left, far]
devices: {cb: {kind: breaker, amps: 20}, cb-2: {kind: breaker, amps: 20}}
feeders: [gen > main, main > cb > left, apu > far]
equipment: {radio: left, fan: far}
"""


def test_what_is_reset_onto_a_short_that_is_still_there_trips_or_stalls_again() -> None:
    net, failed = network(SHORT), (("left", "shorted"), ("far", "shorted"))
    then = Then.model_validate({"reset": ["cb", "apu"]})
    normal = drop(net, "flight", ())
    said = headline(net, drop(net, "flight", failed, then), normal)
    assert said[1:] == ("Stalls again once reset: apu.", "Trips again once reset: cb.")
    assert not drop(net, "flight", failed).failed_resets
    assert not drop(net, "flight", failed[1:], Then(reset=["cb"])).failed_resets


def test_what_is_not_known_is_counted_on_a_button_beside_what_is_lost() -> None:
    net = network(NOT_SYNCHRONISED + "equipment: {fan: left, pump: right}")
    normal, loss = (drop(net, "flight", f) for f in ((), (("tie", "stuck-closed"),)))
    assert in_few_words(loss) == "2 not known"
    assert at_a_glance(net, loss, normal) == "none lost, 2 not known"
    assert in_few_words(replace(loss, lost=("fan",))) == "1 lost, 2 not known"


def test_what_is_left_on_battery_is_said_beside_what_is_lost() -> None:
    net = "sources: {gen: 28, bat: {kind: battery, volts: 24}}\nbuses: [main, side]\n"
    net += "devices: {k: {kind: contactor, closes-when: {live: [gen]}}, d: diode}\n"
    net += (
        "feeders: [gen > main, main > d > side, bat > side]\nequipment: {radio: main, lamp: side}"
    )
    assert said(net, ("gen", "lost"))[:2] == (
        "You lose 1 of 2 working items.",
        "1 item is now on battery only.",
    )


def test_a_bus_that_has_power_now_is_said_though_nothing_on_it_works() -> None:
    net = "sources: {gen: 28}\nbuses: [main, side]\nswitches: {s: ['off', 'on']}\n"
    net += "devices: {k: {kind: contactor, closes-when: {switches: {s: 'on'}}}}\n"
    net += "feeders: [gen > main, main > k > side]\nequipment: {radio: main}"
    assert said(net, ("k", "stuck-closed")) == (
        "Power now, and none before: side.",
        "No longer opens: k.",
        "No item is lost.",
    )


# Neither the ground unit nor the spare generator is on line; each is behind a contactor.
OFF_LINE = """
sources: {gen: 28, spare: {kind: generator, volts: 28},
  unit: {kind: external-power, volts: 28, hazard: "Long pins live: lid shut."}}
buses: [main]
devices:
  k-spare: {kind: contactor, closes-when: {live: [spare]}}
  k-unit: {kind: contactor, closes-when: {live: [unit]}}
feeders: [gen > main, spare > k-spare > main, unit > k-unit > main]
equipment: {radio: main}
conditions: {flight: {sources: [gen]}}
"""


def test_of_a_source_that_is_off_live_terminals_are_said_with_their_hazard() -> None:
    assert said(OFF_LINE, ("k-unit", "stuck-closed")) == (
        "Power now, and none before: unit.",
        "Hazard, unit: Long pins live: lid shut.",
        "No longer opens: k-unit.",
        "No item is lost.",
    )
    assert said(OFF_LINE, ("k-spare", "stuck-closed"))[0] == (
        "Does not produce, though its terminals are live: spare. Other sources may drive it as a"
        " motor; what that takes is in no figure."
    )


def test_no_verb_that_has_a_plural_follows_a_name() -> None:
    """'Cabin lights' is the name of one item."""
    written = expand(SPARE)
    for record in written["equipment"] + written["devices"]:
        record["name"] = {"horn": "Cabin lights", "k": "Fan relays"}.get(record["id"], record["id"])
    built = build(Catalogue.model_validate(written), "all")
    normal = drop(built, "flight", ())
    on = headline(built, drop(built, "flight", (("horn-relay", "stuck-closed"),)), normal)
    assert on[:2] == ("Comes on: Cabin lights.", "No longer opens: horn-relay.")
    stuck = headline(built, drop(built, "flight", (("k", "stuck-closed"),)), normal)
    assert stuck[0] == "No longer opens: Fan relays."
    loss, dip = (drop(built, "flight", (("left", "shorted"),), dip=dip) for dip in (False, True))
    assert headline(built, loss, normal, dip)[1].endswith("and Cabin lights will come on.")


SERIES = """
sources: {gen: 28, apu: 28}
buses: [left, right]
devices: {k: {kind: contactor, closes-when: {live: [apu]}}, one: {kind: breaker, amps: 25},
  two: {kind: breaker, amps: 25}}
feeders: [gen > one > left, left > two > right, apu > k > right]
equipment:
  lamp: {supplies: [{bus: left}], amps: 1}
  heater: {supplies: [{bus: right}], amps: 59}
"""


def test_what_is_overloaded_may_open_in_another_order() -> None:
    """Two breakers in series, 60 A in one and 59 A in the other: one that opens relieves both."""
    net = network(SERIES)
    normal = drop(net, "flight", [])
    either = "Overloaded and must open: one or two, one first as the most overloaded."
    order = "That is if one opens first; if two does, it may be otherwise."
    for overload in (False, True):
        said = headline(net, drop(net, "flight", [("apu", "lost")], overload=overload), normal)
        assert (either in said, order in said) == (True, True)


def test_the_answer_to_overload_is_not_compared_with_contactors_that_drop_out() -> None:
    arguments = ["drop", "standby-diode", "--airframe", "block-2", "--overload"]
    text = CliRunner().invoke(commands, arguments).output
    assert "What is overloaded opens" in text or "what is overloaded opens" in text
    assert "If contactors" not in text


# The radio is on the bus that the held contactor feeds; a beacon on a battery of its own.
CREW_ENDS_IT = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, side, hot]
switches: {start: ['off', 'on']}
devices:
  k: {kind: contactor, closes-when: [{switches: {start: 'on'}}, {closed: [k], live: [main]}]}
  cb: {kind: breaker, amps: 20}
feeders: [gen > k > main, main > cb > side, bat > hot]
equipment: {radio: main, spare: main, beacon: hot}
functions: {talk: {provided-by: [radio]}, signal: {provided-by: [spare, beacon]}}
conditions: {flight: {sources: [gen, bat], held-closed: [k]}}
"""
CREW_ENDS = (
    (
        Then(shed=["radio"]),
        "you lose 2 items and 1 more function (talk)",
        "you lose no items and radio will be turned off",
    ),
    (
        Then(shed=["beacon"]),
        "you lose 2 items and 1 more function (talk) and what is turned off ends 1 more function"
        " (signal)",
        "you lose no items",
    ),
)


@pytest.mark.parametrize(("then", "if_dropping", "if_riding"), CREW_ENDS)
def test_a_function_that_the_crew_ends_in_one_answer_and_the_failure_in_the_other(
    then: Then, if_dropping: str, if_riding: str
) -> None:
    """The crew turns the radio off: talking ends with that, and is lost where the dip has taken the
    radio. It turns the beacon off: the spare still signals, unless the dip takes that; with the
    beacon it would go on, so it is not lost. `lost` is the state of the function in all of these.
    """
    net, failed = network(CREW_ENDS_IT), [("side", "shorted")]
    normal = drop(net, "flight", ())
    rides, drops = (drop(net, "flight", failed, then, dip) for dip in (False, True))
    riding = headline(net, rides, normal, drops)
    assert f"If contactors drop out while the fault lasts, {if_dropping}." in riding
    dropping = headline(net, drops, normal, rides, is_dip=True)
    assert f"If contactors ride through the fault, {if_riding}." in dropping
