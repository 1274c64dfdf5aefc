"""What is said beside minutes on battery. Where no source is named: by hand, from the rule."""

from __future__ import annotations

from fractions import Fraction

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.every_failure import endurances_by_scenario
from sitegen.answers.endurance.results import Endurance, Flat
from sitegen.catalogue.model import Failure, Then
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import Scenario
from sitegen.terminal.endurance_text import endurance_text, minutes_text
from tests.answers.test_battery_endurance import endurances
from tests.nets import network
from tests.random_nets import Raw

TWO_BATTERIES = """
aircraft: {load-volts: 28}
sources:
  gen: 28
  alternator: 28
  fore: {kind: battery, volts: 24, volts-range: [22, 25.2], amp-hours: 40}
  aft: {kind: battery, volts: 24, %samp-hours: 40}
buses: [main, side]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  d: {kind: diode, drop-volts: %s}
  link: {kind: fuse-link, amps: 10, opens-at: {may: 1.2, must: 1.5}}
feeders: [gen > k > main, fore > link > main, aft > d > main, alternator > side]
equipment:
  heater: {supplies: [{bus: main}], amps: %s}
  radio: {supplies: [{bus: main}], amps: 3, min-volts: %s}
  display: {supplies: [{bus: main}], amps: 1, requires: [radio]}
  printer: {supplies: [{bus: side}], requires: [{any: [radio]}]}
"""
"""Two batteries whose volts overlap behind a generator; the forward one's link opens at 15 A."""


def remarks(
    least: float = 23, amps: float = 40, drop: float = 0.7, span: str = "volts-range: [22, 25.2], "
) -> dict[str, Endurance]:
    return endurances(network(TWO_BATTERIES % (span, drop, amps, least)), "gen")


def test_what_needs_more_than_the_bottom_of_the_range_is_lost_before_the_battery_is_flat() -> None:
    assert remarks()["fore"].lost_at_low_volts == ("display", "printer", "radio")
    # At 22 V exactly it works.
    assert remarks(least=22)["fore"].lost_at_low_volts == ()
    assert remarks(least=22.001)["fore"].lost_at_low_volts == ("display", "printer", "radio")


def test_what_another_battery_holds_up_is_not_lost() -> None:
    """The aft one stays at 24 V: 23.3 V behind its diode."""
    assert remarks(23.3, span="")["fore"].lost_at_low_volts == ()
    assert remarks(23.4, span="")["fore"].lost_at_low_volts == ("display", "printer", "radio")


def test_it_is_said_of_the_battery_that_carries_it() -> None:
    """A fan of its own takes the aft one down first: it never carries the main bus by itself."""
    text = TWO_BATTERIES.replace("[main,", "[hot, main,").replace("aft > d", "aft > hot, hot > d")
    text += "  fan: {supplies: [{bus: hot}], amps: 60}\n"
    for drop, lost in ((0.7, ()), (0.5, ("display", "printer", "radio"))):
        found = endurances(network(text % ("volts-range: [22, 25.2], ", drop, 40, 23)), "gen")
        assert found["fore"].all_flat_before == ("aft",)
        assert found["aft"].lost_at_low_volts == lost


HELD_BACK = """
sources:
  one: {kind: battery, volts: 24, amp-hours: 10, volts-range: [23.6, 24.6]}
  two: {kind: battery, volts: 24, amp-hours: 20, volts-range: %s}
buses: [main, hot]
devices:
  d: diode
  k: {kind: relay, closes-when: {%s}}
feeders: [one > main, two > d > main, main > k > hot]
equipment:
  radio: {supplies: [{bus: main}], amps: 10, min-volts: %s}
  pump: {supplies: [{bus: hot}], amps: 20}
"""
"""The diode, of 0.7 V, holds the second battery back until the first, at 23.6 V or more, is flat.
"""


def test_what_moves_by_volts_once_another_battery_is_flat_leaves_the_minutes_not_known() -> None:
    """450 A-min at 10 A, then 900: 45 + 90 min; with the pump 45 + 30. From 23.2 V the bus has 22.5
    V, and the relay does not close.
    """
    for bottom, moves, verdict in ((23.1, (("k", "closes"),), "not-known"), (23.2, (), "enough")):
        net = network(HELD_BACK % ([bottom, 24], "volts-below: {main: 22.5}", 15))
        found = endurances(net)
        assert (found["two"].total, found["two"].verdict) == (135, verdict)
        assert found["two"].moves_at_low_volts == moves
        # The first is flat before the second goes down.
        assert (found["one"].moves_at_low_volts, found["one"].verdict) == ((), "enough")


def test_so_does_what_moves_at_more_volts_than_the_catalogue_has() -> None:
    """The relay holds until the first battery is flat: 450 A-min at 30 A, then 900 at 10. With the
    second at 24.3 V it still has 23.6 V, and the pump is on.
    """
    for top, moves in ((24.3, (("k", "closes"),)), (24.2, ())):
        two = endurances(network(HELD_BACK % ([23, top], "volts-above: {main: 23.5}", 15)))["two"]
        assert (two.total, two.moves_at_low_volts, two.moves_at_high_volts) == (105, (), moves)


def test_what_a_battery_takes_once_another_is_flat_is_lost_with_it() -> None:
    """At its bottom of 21 V the second leaves the bus 20.3 V."""
    for least, lost in ((22, ("radio",)), (20.3, ())):
        found = endurances(network(HELD_BACK % ([21, 24], "volts-below: {main: 15}", least)))
        assert found["two"].lost_at_low_volts == lost
        assert (found["one"].lost_at_low_volts, found["two"].verdict) == ((), "enough")


SENSED = """
sources:
  one: {kind: battery, volts: 24, amp-hours: 10, volts-range: [23.6, 24.6]}
  two: {kind: battery, volts: 24, amp-hours: 20, volts-range: [21, 24]}
buses: [left, right, sense, hot]
devices: {d: diode, e: diode, k: {kind: relay, closes-when: {volts-below: {sense: 22.5}}}}
feeders: [one > left, two > right, left > d > sense, right > e > sense, right > k > hot]
equipment:
  heater: {supplies: [{bus: left}], amps: 20}
  radio: {supplies: [{bus: right}], amps: 10}
  pump: {supplies: [{bus: hot}], amps: 20}
"""


def test_so_it_does_where_the_flat_battery_hands_it_no_load() -> None:
    """The first battery holds the relay off until it is flat."""
    two = endurances(network(SENSED))["two"]
    assert (two.flat_before, two.all_flat_before) == ((), ("one",))
    assert (two.moves_at_low_volts, two.verdict) == ((("k", "closes"),), "not-known")


THREE_ISLANDS = """
sources:
  one: {kind: battery, volts: 24, amp-hours: 10, volts-range: [21, 24]}
  two: {kind: battery, volts: 24, amp-hours: 20}
  three: {kind: battery, volts: 24, amp-hours: 40, volts-range: [21, 24]}
buses: [left, right, end, left-hot, right-hot, end-hot]
devices:
  k: {kind: relay, closes-when: {volts-below: {left: 22}}}
  p: {kind: relay, closes-when: {dead: [left]%s}}
  m: {kind: relay, closes-when: {dead: [left], volts-below: {end: 22}}}
feeders: [one > left, two > right, three > end, left > k > left-hot, right > p > right-hot,
  end > m > end-hot]
equipment:
  heater: {supplies: [{bus: left}], amps: 20}
  fan: {supplies: [{bus: left-hot}], amps: 20}
  radio: {supplies: [{bus: right}], amps: 10}
  pump: {supplies: [{bus: right-hot}], amps: 20}
  lamp: {supplies: [{bus: end}], amps: 1}
  sign: {supplies: [{bus: end-hot}], amps: 1}
"""
"""The pump comes on when the first battery is flat; the third then feeds the sign as well."""


def test_what_moves_counts_until_no_other_battery_changes_the_load_any_more() -> None:
    """The first is flat the sooner with the fan on: 450 A-min at 20 A, or at 40. After it the third
    changes nothing of the second, but where the pump is on only as long as it is live.
    """
    for term, moves in (
        ("", [("k", "closes")]),
        (", live: [end]", [("k", "closes"), ("m", "closes")]),
    ):
        two = endurances(network(THREE_ISLANDS % term))["two"]
        assert (two.all_flat_before, two.total) == (("one",), 45)
        assert [*two.moves_at_low_volts] == moves


def test_what_is_already_lost_or_turned_off_is_not_lost_later() -> None:
    # At the 24 V of the catalogue it does not work at all.
    assert remarks(24.5)["fore"].lost_at_low_volts == ()
    net = network(TWO_BATTERIES % ("", 0.7, 1, 23.5))
    shed = endurances(net, "gen", then={"shed": ["display"]})["fore"]
    assert shed.lost_at_low_volts == ("printer", "radio")


def test_batteries_of_unlike_charge_are_named_where_either_may_carry_the_load() -> None:
    assert remarks()["fore"].equally_charged == ("aft",)
    assert remarks()["aft"].equally_charged == ("fore",)
    # 25.2 V less 3.7 V is 21.5 V, half a volt under the bottom of the other: together by a hair.
    assert remarks(drop=3.7)["fore"].equally_charged == ("aft",)
    assert remarks(drop=3.701)["fore"].equally_charged == ()
    # Without a range the aft one offers 20.9 V.
    assert remarks(drop=3.1, span="")["fore"].equally_charged == ()
    assert remarks(drop=2.5, span="")["fore"].equally_charged == ("aft",)


def test_of_which_battery_is_written_first_it_does_not_depend() -> None:
    text = TWO_BATTERIES.replace("aft > d > main", "aft > main")
    text = text.replace("fore > link > main", "fore > link > d > main")
    for drop, others in ((3.7, ("fore",)), (3.701, ())):
        found = endurances(network(text % ("volts-range: [22, 25.2], ", drop, 40, 20)), "gen")
        assert found["aft"].equally_charged == others


def test_where_a_generator_carries_the_load_it_plays_no_part_which_battery_is_charged_higher() -> (
    None
):
    net = network("""
sources:
  gen: 28
  fore: {kind: battery, volts: 24, amp-hours: 40}
  aft: {kind: battery, volts: 24, amp-hours: 40}
buses: [hot, main]
devices: {d: diode, e: diode}
feeders: [gen > main, fore > hot, hot > d > main, aft > e > main]
equipment: {clock: {supplies: [{bus: hot}], amps: 1}, radio: {supplies: [{bus: main}], amps: 1}}
""")
    assert endurances(net)["fore"].equally_charged == ()
    assert endurances(net, "gen")["fore"].equally_charged == ("aft",)


def test_every_single_failure_has_them_too() -> None:
    net = network(TWO_BATTERIES % ("volts-range: [22, 25.2], ", 0.7, 40, 23))
    every = endurances_by_scenario(net, [("gen", "lost"), ("link", "open")], condition_states(net))
    [fore] = [one for one in every[Scenario("flight", (("gen", "lost"),))] if one.battery == "fore"]
    assert fore == endurances(net, "gen")["fore"]


def test_minutes_that_hold_only_while_an_overloaded_link_is_closed_say_so() -> None:
    assert remarks(amps=40)["fore"].still_closed == ("link",)
    # 11 + 3 + 1 A, at 22 V as at 28 V, since they do not follow volts: exactly the limit of 15 A.
    assert remarks(amps=11)["fore"].still_closed == ("link",)
    assert remarks(amps=10.9)["fore"].still_closed == ()


def test_overload_after_the_crew_has_acted_counts_too() -> None:
    net = network(TWO_BATTERIES % ("", 0.7, 40, 20))
    assert endurances(net, "gen", then={"shed": ["heater"]})["fore"].still_closed == ("link",)
    small = network(TWO_BATTERIES % ("", 0.7, 10, 20))
    assert endurances(small, "gen")["fore"].still_closed == ()
    # A pump that the crew turns on takes 9 A more.
    text = TWO_BATTERIES % ("", 0.7, 10, 20)
    text = text.replace(
        "devices:", "devices:\n  s: {kind: switch, closes-when: {switches: {p: 'on'}}}"
    )
    text = text.replace("buses: [main", "buses: [pump-bus, main").replace(
        "feeders: [", "feeders: [main > s > pump-bus, "
    )
    text += """  pump: {supplies: [{bus: pump-bus}], amps: 9}
switches: {p: ["off", "on"]}
conditions: {flight: {sources: [gen, fore, aft, alternator], switches: {p: "off"}}}
"""
    assert endurances(network(text), "gen")["fore"].still_closed == ()
    on = endurances(network(text), "gen", then={"switches": {"p": "on"}})
    assert on["fore"].still_closed == ("link",)


SMALL_AND_LARGE = """
sources:
  gen: 28
  small: {kind: battery, volts: 24, amp-hours: 10}
  large: {kind: battery, volts: 24, amp-hours: 40}
buses: [main]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  link-s: {kind: fuse-link, amps: 10, opens-at: {may: 1.2, must: 1.5}}
  link-l: {kind: fuse-link, amps: 10, opens-at: {may: 1.2, must: 1.5}}
feeders: [gen > k > main, small > link-s > main, large > link-l > main]
equipment:
  heater: {supplies: [{bus: main}], amps: %s}
  fan: {supplies: [{bus: main}], amps: 6}
"""
"""Each gives half; once the small one is flat the large one gives all of it through its link."""


def test_what_must_open_once_another_battery_is_flat_leaves_the_minutes_not_known() -> None:
    found = endurances(network(SMALL_AND_LARGE % 9), "gen")
    assert found["large"].opens_when_flat == (("link-l", "small", "must"),)
    assert found["large"].verdict == "not-known"
    assert found["small"].opens_when_flat == found["large"].still_closed == ()
    lines = [line.strip() for line in endurance_text(network(SMALL_AND_LARGE % 9), found["large"])]
    said = "Only if link-l holds once small is flat: it is then overloaded and must open."
    assert said in lines
    assert any(line.startswith("Whether it lasts the 30 min") for line in lines)
    # At 14.9 A it may open, as from 12 A on; below that it holds.
    net = network(SMALL_AND_LARGE % 8.9)
    may = endurances(net, "gen")["large"]
    assert (may.opens_when_flat, may.verdict) == ((("link-l", "small", "may"),), "not-known")
    said = "Only if link-l holds once small is flat: it is then overloaded and may open."
    assert said in [line.strip() for line in endurance_text(net, may)]
    assert endurances(network(SMALL_AND_LARGE % 5.9), "gen")["large"].opens_when_flat == ()
    # What opens at once is said so, and not again.
    at_once = endurances(network(SMALL_AND_LARGE % 24), "gen")["large"]
    assert at_once.still_closed == ("link-l", "link-s")
    assert at_once.opens_when_flat == ()


def test_what_the_crew_has_shed_is_not_drawn_once_another_battery_is_flat() -> None:
    net = network(SMALL_AND_LARGE % 9)
    assert endurances(net, "gen", then={"shed": ["fan"]})["large"].opens_when_flat == ()


def test_what_must_open_by_overload_is_neither_enough_nor_short_for_certain() -> None:
    """What opens takes its load with it: 5 A at 40 Ah last five hours and more, or nothing does."""
    assert remarks(amps=11)["fore"].verdict == "not-known"
    assert remarks(amps=200)["fore"].verdict == "not-known"


LANDING = """
load-columns: [cruise, landing]
battery-time: {landing-column: landing, landing-minutes: %s}
conditions: {flight: {sources: [gen, small, large], loads: cruise}}
"""


def landing(
    amps: str, minutes: float = 10, then: Raw | None = None, net: str = SMALL_AND_LARGE
) -> dict[str, Endurance]:
    return endurances(network(net % amps + LANDING % minutes), "gen", then=then)


def test_what_must_open_in_the_landing_is_named() -> None:
    # Each gives half of 6 + 24 A: 15 A, the limit of its link.
    found = landing("{cruise: 1, landing: 24}")
    assert found["small"].opens_in_landing == ("link-l", "link-s")
    assert found["small"].still_closed == found["small"].opens_when_flat == ()
    assert found["small"].verdict == "not-known"
    lines = [line.strip() for line in endurance_text(network(SMALL_AND_LARGE % 1), found["small"])]
    said = "Only if link-l and link-s hold in the landing: they are then overloaded and must open."
    assert said in lines
    assert landing("{cruise: 1, landing: 24}", minutes=0)["small"].opens_in_landing == ()
    # A battery that is flat before anything is shed does not land.
    tiny = SMALL_AND_LARGE.replace("amp-hours: 10}", "amp-hours: 0.1}")
    flat = landing("{cruise: 1, landing: 24}", net=tiny)
    assert flat["small"].reaches == "recognition"
    assert flat["small"].opens_in_landing == ()
    # What is open before then, or shed, does not open in the landing.
    assert landing("{cruise: 24, landing: 24}")["small"].opens_in_landing == ()
    shed = landing("{cruise: 1, landing: 23}", then={"shed": ["fan"]})
    assert shed["small"].opens_in_landing == ()
    # Half of 24 A may open it.
    net = network(SMALL_AND_LARGE % "{cruise: 1, landing: 24}" + LANDING % 10)
    found = endurances(net, "gen", then={"shed": ["fan"]})["small"]
    assert found.opens_in_landing == found.may_open_in_landing == ("link-l", "link-s")
    said = "Only if link-l and link-s hold in the landing: they are then overloaded and may open."
    assert said in [line.strip() for line in endurance_text(net, found)]


def test_the_landing_has_the_batteries_that_are_left_by_then() -> None:
    """The large one lands alone: 6 + 9 A through its link, where each would give 7.5 A."""
    found = landing("{cruise: 1, landing: 9}")
    assert found["large"].flat_before[0].battery == "small"
    assert found["large"].opens_in_landing == ("link-l",)
    assert found["small"].opens_in_landing == ()
    # The small one is flat in the landing: both states are in it.
    close = SMALL_AND_LARGE.replace("amp-hours: 40", "amp-hours: 10.5")
    assert landing("{cruise: 1, landing: 9}", net=close)["large"].opens_in_landing == ("link-l",)


def test_what_is_over_in_the_landing_of_a_healthy_aircraft_does_not_open() -> None:
    net = SMALL_AND_LARGE.replace("gen > k", "gen > link-s > k").replace(
        "small > link-s > main", "small > main"
    )
    found = landing("{cruise: 1, landing: 24}", net=net)
    assert found["small"].opens_in_landing == ("link-l",)


def test_every_single_failure_has_what_opens_in_the_landing_too() -> None:
    net = network(SMALL_AND_LARGE % "{cruise: 1, landing: 24}" + LANDING % 10)
    every = endurances_by_scenario(net, [("gen", "lost"), ("k", "open")], condition_states(net))
    for failed in (("gen", "lost"), ("k", "open")):
        found = {one.battery: one for one in every[Scenario("flight", (failed,))]}
        assert found["small"].opens_in_landing == ("link-l", "link-s")
        assert found["large"].opens_in_landing == ("link-l",)


FED_FROM_TWO = """
sources:
  gen: 28
  fore: {kind: battery, volts: 24, %samp-hours: 40}
  aft: {kind: battery, volts: %s, amp-hours: 40}
buses: [one, two]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
feeders: [gen > k > one, fore > one, aft > two]
equipment: {radio: {needs: %s, supplies: [{bus: one}, {bus: two}], amps: 4}}
"""


def test_batteries_that_share_only_what_has_two_supplies_are_named() -> None:
    def named(span: str, volts: float, needs: str = "any") -> tuple[str, ...]:
        return endurances(network(FED_FROM_TWO % (span, volts, needs)), "gen")[
            "fore"
        ].equally_charged

    assert named("", 24) == ("aft",)
    # It draws from the higher alone, unless the forward one may be as high as that.
    assert named("", 24.4) == ()
    assert named("volts-range: [22, 24.4], ", 24.4) == ("aft",)
    assert named("volts-range: [22, 24.3], ", 24.4) == ()
    # What needs both draws from both, whatever their volts.
    assert named("", 24, "all") == ()


def test_a_generator_at_the_other_supply_leaves_batteries_nothing_to_share() -> None:
    """The forward battery hangs on the generator's bus too, through a diode: the radio draws from
    there at 28 V, and no battery at 24 V gives it anything. A generator of 24.9 V is within half a
    volt of the 24.4 V that the battery may have, and so is one of 28 V that may have 24.9 V.
    """
    text = FED_FROM_TWO.replace("gen > k > one, fore > one", "gen > one, fore > d > one")
    text = text.replace("devices:", "devices:\n  d: {kind: diode, drop-volts: 0}")
    text = text.replace("equipment: {", "equipment: {lamp: {supplies: [{bus: two}], amps: 1}, ")

    def named(gen: float | str, *failed: str) -> tuple[str, ...]:
        written = text % ("volts-range: [22, 24.4], ", 24, "any")
        net = network(written.replace("gen: 28", f"gen: {gen}"))
        return endurances(net, *failed)["aft"].equally_charged

    assert named(28) == ()
    assert named(28, "gen") == ("fore",)
    assert (named(24.9), named(24.91)) == (("fore",), ())
    wide = "{volts: 28, volts-range: [%s, 28.5]}"
    assert (named(wide % 24.9), named(wide % 24.91)) == (("fore",), ())


FED_CONVERTER = """
sources:
  gen: 28
  fore: {kind: battery, volts: 24, amp-hours: 40}
  aft: {kind: battery, volts: 24, amp-hours: 40}
  inv:
    kind: converter
    volts: 115
    current: ac
    efficiency: 0.8
    fed-from: [{bus: one}, {bus: two, through: [r]}]
buses: {one: {}, two: {}, ac: {current: ac}}
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  r: breaker
feeders: [gen > k > one, fore > one, aft > two, inv > ac]
equipment:
  gyro: {supplies: [{bus: ac}], amps: 1}
  clock: {supplies: [{bus: one}], amps: 1}
  lamp: {supplies: [{bus: two}], amps: 1}
"""


def test_batteries_that_share_only_a_converter_are_named() -> None:
    net = network(FED_CONVERTER)
    assert endurances(net, "gen")["fore"].equally_charged == ("aft",)
    for off in ("inv", "r", "one"):
        assert endurances(net, "gen", off)["aft"].equally_charged == (), off


TAKES_ON_MORE = """
sources:
  gen: 28
  one: {kind: battery, volts: 24, amp-hours: 10, amps: 40}
  other: {kind: battery, volts: 24, amp-hours: 40, amps: 20, amps-5min: 25}
buses: [ess]
devices: {k: {kind: contactor, closes-when: {live: [gen]}}, d-1: diode, d-2: diode,
  cb-1: {kind: breaker, amps: 20}, cb-2: {kind: breaker, amps: 20}}
feeders: [gen > k > ess, one > cb-1 > d-1 > ess, other > cb-2 > d-2 > ess]
equipment: {radio: {supplies: [{bus: ess}], amps: {cruise: 24, landing: 27}}}
load-columns: [cruise, landing]
battery-time: {recognition-minutes: 0, landing-column: landing}
conditions: {flight: {sources: [gen, one, other], loads: cruise}}
"""


def test_what_may_open_and_a_battery_over_its_rating_once_another_is_flat_are_said() -> None:
    """The one is flat at minute 450 / 16; then the other, rated 20 A and 25 A for 5 minutes, gives
    24 A through a breaker of 20 A, 120 %, and in the landing 27 A, 135 %: it may open from 23 A on,
    and must from 27.6 A.
    """
    net = network(TAKES_ON_MORE)
    found = endurances(net, "gen")
    other = found["other"]
    assert other.flat_before == (Flat("one", Fraction(450, 16), Fraction(24), ()),)
    assert other.opens_when_flat == (("cb-2", "one", "may"),)
    assert (other.opens_in_landing, other.verdict) == ((), "not-known")
    lines = [line.strip() for line in endurance_text(net, other)]
    for said in (
        "Only if cb-2 holds once one is flat: it is then overloaded and may open.",
        "Over its rating once one is flat: 24.0\u00a0A, 120\u00a0%, allowed for 5 minutes.",
        "Over its rating in the landing: 27.0\u00a0A, 135\u00a0%, over its short-time ratings.",
        "Whether it lasts the 30 min that the catalogue requires is not known.",
    ):
        assert said in lines
    # In its own landing, at 18 A of 40, the one is not.
    assert found["one"].opens_when_flat == found["one"].opens_in_landing == ()
    assert found["one"].over_rating_later(40) == []


def test_what_is_overloaded_with_nothing_failed_is_a_condition_of_the_minutes_too() -> None:
    """36 A through a breaker of 25 A, 144 %: 900 A-min last 25 min, only if it holds; and less than
    30 min at the best.
    """
    net = network(
        """
        sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 20}}
        buses: [ess]
        devices: {k: {kind: contactor, closes-when: {live: [gen]}}, cb: {kind: breaker, amps: 25}}
        feeders: [gen > k > ess, bat > cb > ess]
        equipment: {radio: {supplies: [{bus: ess}], amps: 36}}
        conditions: {flight: {sources: [gen, bat]}, parked: {sources: [bat]}}
        """
    )
    for failed in ((), (("k", "stuck-closed"),)):
        [found] = battery_endurances(net, "parked", failed)
        assert (found.total, found.still_closed, found.verdict) == (25, ("cb",), "not-known")
        lines = [line.strip() for line in endurance_text(net, found)]
        assert "Only until cb opens: it is overloaded and must." in lines
        # With nothing failed it is so too: answer 3 opens nothing.
        assert found.if_it_opens == ()
        assert "Less than the 30 min that the catalogue requires." in lines
    [stuck] = battery_endurances(net, "parked", [("cb", "stuck-closed")])
    assert (stuck.still_closed, stuck.verdict) == ((), "short")


def test_every_single_failure_has_what_opens_later_too() -> None:
    net = network(SMALL_AND_LARGE % 9)
    every = endurances_by_scenario(net, [("gen", "lost"), ("k", "open")], condition_states(net))
    for failed in (("gen", "lost"), ("k", "open")):
        found = {one.battery: one for one in every[Scenario("flight", (failed,))]}
        assert found["large"].opens_when_flat == (("link-l", "small", "must"),)


def test_they_are_said_in_words() -> None:
    net = network(TWO_BATTERIES % ("volts-range: [22, 25.2], ", 0.7, 40, 23))
    lines = [line.strip() for line in endurance_text(net, endurances(net, "gen")["fore"])]
    assert {
        "If charged higher than aft, it is flat sooner.",
        "Only until link opens: it is overloaded and must.",
        "If it opens: carries nothing.",
        "Lost when it is down to 22\u00a0V: display, printer and radio.",
    } <= {*lines}


RELAY_BY_VOLTS = """
sources:
  gen: 28
  bat: {kind: battery, volts: 24, volts-range: [20, 25], amp-hours: 20}
buses: [main, avionics]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  shed: {kind: relay, closes-when: {volts-above: {main: %s}}}
  spare: {kind: relay, closes-when: {volts-below: {main: %s}}}
feeders: [gen > k > main, bat > main, main > shed > avionics]
equipment:
  radio: {supplies: [{bus: avionics}], amps: 5}
  horizon: {supplies: [{bus: main}], amps: 5}
"""


def test_what_moves_by_volts_on_the_way_down_ends_the_minutes_and_takes_what_it_feeds() -> None:
    net = network(RELAY_BY_VOLTS % (22, 21))
    endurance = endurances(net, "gen")["bat"]
    assert endurance.moves_at_low_volts == (("shed", "opens"), ("spare", "closes"))
    assert endurance.lost_at_low_volts == ("radio",)
    assert (endurance.verdict, endurance.total) == ("not-known", 90)
    lines = [line.strip() for line in endurance_text(net, endurance)]
    until = (
        "Only until shed opens and spare closes, as the volts go down: then the minutes are others."
    )
    assert until in lines
    assert "Whether it lasts the 30 min that the catalogue requires is not known." in lines
    # Both terms are strict: at 20 V neither relay has moved.
    sound = endurances(network(RELAY_BY_VOLTS % (19.9, 20)), "gen")["bat"]
    assert (sound.moves_at_low_volts, sound.verdict) == ((), "enough")


def test_what_moves_at_more_volts_than_the_catalogue_has_leaves_it_not_known() -> None:
    """A full battery, at 25 V, holds the relay in and feeds the radio too."""
    net = network(RELAY_BY_VOLTS % (24.5, 21))
    endurance = endurances(net, "gen")["bat"]
    assert endurance.moves_at_high_volts == (("shed", "closes"),)
    assert (endurance.verdict, endurance.total) == ("not-known", 180)
    lines = [line.strip() for line in endurance_text(net, endurance)]
    more = "With more volts than in the catalogue shed closes: then the minutes are others."
    assert more in lines
    assert endurances(network(RELAY_BY_VOLTS % (25, 20)), "gen")["bat"].verdict == "enough"


def test_one_battery_alone_may_be_low() -> None:
    """With both low the relay between them stays as it is: with one it closes."""
    net = network(TIED % "main > tie > other")
    found = endurances(net, "gen")
    assert {one.moves_at_low_volts for one in found.values()} == {(("tie", "closes"),)}
    assert {one.verdict for one in found.values()} == {"not-known"}


def test_what_moves_counts_only_for_a_battery_that_then_feeds_something_else() -> None:
    """Here the relay only joins a bus of nothing to one battery, or feeds a lamp from it."""
    found = endurances(network(TIED % "main > tie > spare"), "gen")
    assert {one.verdict for one in found.values()} == {"enough"}
    found = endurances(network(TIED_TO_A_LAMP), "gen")
    assert found["main-bat"].moves_at_low_volts == (("tie", "closes"),)
    assert (found["main-bat"].verdict, found["standby"].verdict) == ("not-known", "enough")


def test_what_moves_counts_where_a_flat_battery_hands_its_load_over() -> None:
    """A diode lets the standby battery hold the main bus up once the main battery is flat."""
    found = endurances(network(HANDED_OVER), "gen")
    assert found["standby"].moves_at_low_volts == (("tie", "closes"),)
    assert found["standby"].verdict == "not-known"


LATCHED = """
sources:
  gen: 28
  fore: {kind: battery, volts: 24, amp-hours: 20, volts-range: [22, 25.2]}
  aft: {kind: battery, volts: 24, amp-hours: 20, volts-range: [22, 25.2]}
  third: {kind: battery, volts: 24, amp-hours: 20, volts-range: [22, 25.2]}
buses: [main, fore-bus, aft-bus, mid, third-bus, end]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  tie: {kind: contactor, closes-when: [{live: [aft], volts-below: {aft: 22.5}}, {closed: [tie]}]}
  shed: {kind: relay, closes-when: {volts-above: {third: 23}}}
  d: diode
feeders: [gen > k > main, fore > fore-bus, aft > aft-bus, fore-bus > d > mid, mid > tie > aft-bus,
  third > third-bus, third-bus > shed > end]
equipment:
  radio: {supplies: [{bus: fore-bus}], amps: 1}
  pump: {supplies: [{bus: aft-bus}], amps: 30}
  horizon: {supplies: [{bus: third-bus}], amps: 1}
  lamp: {supplies: [{bus: end}], amps: 1}
"""


def test_what_is_low_may_hand_its_load_to_a_battery_that_is_not() -> None:
    """The tie closes with the aft battery below 22.5 V: the forward one, at 23.3 V behind the
    diode, then carries the pump.
    """
    found = endurances(network(LATCHED), "gen")
    assert found["fore"].moves_at_low_volts == (("tie", "closes"),)
    assert found["fore"].verdict == "not-known"
    # What moves on the island of another battery is nothing to it.
    assert found["third"].moves_at_low_volts == (("shed", "opens"),)


HELD_OFF = """
sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 40, volts-range: [22, 25.2]}}
buses: [main, hot]
switches: {heat: ["on", "off"]}
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  h: {kind: relay, closes-when: {switches: {heat: "on"}, volts-below: {bat: 23}}}
feeders: [gen > k > main, bat > main, main > h > hot]
equipment: {radio: {supplies: [{bus: main}], amps: 10}, heater: {supplies: [{bus: hot}], amps: 60}}
"""


def test_a_battery_lasts_as_long_shed_or_not_only_if_nothing_moves_meanwhile() -> None:
    """Below 23 V the heater comes on, unless its switch is off, or it is shed."""
    net = network(HELD_OFF)
    acted = endurances(net, "gen", then={"switches": {"heat": "off"}})["bat"]
    assert (acted.moves_by_volts, acted.moves_without_acts) == (False, True)
    assert "shed or not" not in "".join(endurance_text(net, acted))
    assert acted.verdict == "enough"
    shed = endurances(net, "gen", then={"shed": ["heater"]})["bat"]
    assert (shed.moves_by_volts, shed.verdict) == (False, "enough")
    left = endurances(net, "gen", then={"shed": ["radio"]})["bat"]
    assert (left.moves_by_volts, left.verdict) == (True, "not-known")


TIED = """
sources:
  gen: 28
  main-bat: {kind: battery, volts: 24, volts-range: [20, 25], amp-hours: 20}
  standby: {kind: battery, volts: 24, volts-range: [20, 25], amp-hours: 4}
buses: [main, other, spare]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  tie: {kind: relay, closes-when: {volts-below: {main-bat: 22}, volts-above: {standby: 22}}}
feeders: [gen > k > main, main-bat > main, standby > other, %s]
equipment: {radio: {supplies: [{bus: main}], amps: 5}, horizon: {supplies: [{bus: other}], amps: 1}}
"""
TIED_TO_A_LAMP = TIED.replace("radio:", "lamp: {supplies: [{bus: spare}], amps: 1}, radio:") % (
    "main > tie > spare"
)
HANDED_OVER = TIED_TO_A_LAMP.replace("devices:", "devices:\n  d: diode").replace(
    "standby > other", "standby > other, other > d > main"
)


def test_with_unknown_amps_there_is_one_bound() -> None:
    text = TWO_BATTERIES % ("volts-range: [22, 25.2], ", 0.7, 20, 22)
    text = text.replace("amps: 20}", "amps: 20, load: constant-power}")
    net = network(text + "  lamp: {supplies: [{bus: main}]}\n")
    endurance = endurances(net, "gen")["fore"]
    assert endurance.up_to is not None
    [first, *more] = [line for line in endurance_text(net, endurance) if line.strip()]
    assert first.strip() == f"fore: at most {int(endurance.up_to)} min"
    # The more the lamp draws, the less is saved by turning off the radio.
    saved = [line for line in more if "off as well" in line]
    assert saved
    assert all(": at most +" in line for line in saved)
    assert endurance.longest == endurance.up_to


def test_the_rule_is_named_with_the_minutes_that_it_asks_for_alone() -> None:
    net = network((TWO_BATTERIES % ("", 3, 100, 20)).replace("amps: 10,", "amps: 100,"))
    for required, rule in ((30, True), (20, False), (60, True)):
        [endurance] = [
            one
            for one in endurances(net, "gen", battery_time={"required-minutes": required}).values()
            if one.battery == "fore"
        ]
        text = "\n".join(endurance_text(net, endurance))
        assert f"Short of the {required} min that the catalogue requires" in text
        assert ("14 CFR 23.1353(h)" in text) == rule


LOW_ELSEWHERE = """
sources:
  gen: 28
  one: {kind: battery, volts: 24, amp-hours: 20, volts-range: [22, 25]}
  two: {kind: battery, volts: 24, amp-hours: 40, volts-range: [18, 25]}
buses: [left, right]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  shed: {kind: relay, closes-when: {volts-above: {right: 20}}}
feeders: [gen > k > left, one > left, two > right]
equipment:
  heater: {supplies: [{bus: left}], amps: 20}
  sensor: {supplies: [{bus: right}], amps: 5, min-volts: 19}
  display: {supplies: [{bus: left}], amps: 5, requires: [sensor]}
  fan: {supplies: [{bus: left, through: [shed]}], amps: 5}
"""


def test_what_is_lost_is_said_of_the_battery_whose_volts_take_it() -> None:
    """The first battery carries the display and the fan, the second one's volts take them."""
    found = endurances(network(LOW_ELSEWHERE), "gen")
    assert found["one"].lost_at_low_volts == ()
    assert found["two"].lost_at_low_volts == ("display", "fan", "sensor")


ISOLATED = """
sources:
  gen: 28
  one: {kind: battery, volts: 24, amp-hours: %s}
  two: {kind: battery, volts: 24, amp-hours: 10}
switches: {tie-switch: ["on", "off"]}
buses: [main, essential]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  tie: {kind: contactor, closes-when: {switches: {tie-switch: "on"}}}
feeders: [gen > k > main, one > main, two > essential, main > tie > essential]
equipment:
  heater: {supplies: [{bus: main}], amps: 30}
  gyro: {supplies: [{bus: essential}], amps: 6}
conditions: {flight: {sources: [gen, one, two], switches: {tie-switch: "on"}}}
battery-time: {recognition-minutes: 10, landing-minutes: 0}
"""


def after_the_tie_is_opened(amp_hours: float) -> dict[str, Endurance]:
    net = network(ISOLATED % amp_hours)
    return endurances(net, "gen", then={"switches": {"tie-switch": "off"}})


def test_batteries_that_share_until_the_crew_has_acted_are_equally_charged() -> None:
    found = after_the_tie_is_opened(20)
    assert found["one"].equally_charged == ("two",)
    assert found["two"].equally_charged == ("one",)


def test_a_battery_that_is_cut_off_gives_no_more_when_another_is_flat() -> None:
    """The first is flat in the cruise; since minute 10 the second has carried the gyro alone."""
    found = after_the_tie_is_opened(10)
    assert found["one"].total < found["two"].total
    assert found["two"].flat_before == ()


INVERTER_RANGE = """
aircraft: {load-volts: 28}
sources:
  gen: 28
  bat: {kind: battery, volts: 24, amp-hours: 20, usable: 0.75, volts-range: [20, 25]}
  inv: {kind: converter, volts: 115, current: ac, efficiency: 0.8, volts-range: [105, 125],
        fed-from: [{bus: main}]}
buses: {main: {}, ac: {current: ac}}
devices: {k: {kind: contactor, closes-when: {live: [gen]}}}
feeders: [gen > k > main, bat > main, inv > ac]
equipment: {gyro: {supplies: [{bus: ac}], amps: 4}}
"""


def test_the_shortest_time_has_a_converter_at_the_top_and_its_battery_at_the_bottom() -> None:
    """900 A-min at 4 x 125 / (0.8 x 20) = 31.25 A, up to 4 x 105 / (0.8 x 25) = 21 A."""
    bat = endurances(network(INVERTER_RANGE), "gen")["bat"]
    assert bat.total == Fraction(900 * 16, 500)
    assert bat.up_to == Fraction(900 * 20, 420)
    assert bat.at_volts == 20


OVER_IN_THE_LANDING = """
sources:
  gen: {volts: 28, amps: 100}
  one: {kind: battery, volts: 24, amp-hours: 40}
  two: {kind: battery, volts: 24, amp-hours: 10}
buses: [left, right]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  tie: {kind: breaker, amps: 20}
feeders: [gen > k > left, one > left, two > right, left > tie > right]
load-columns: [cruise, landing]
equipment:
  radio: {supplies: [{bus: left}], amps: 10}
  light: {supplies: [{bus: right}], amps: {cruise: 10, landing: 40}}
conditions: {flight: {sources: [gen, one, two], loads: cruise}}
battery-time: {landing-column: landing}
"""


def test_what_the_landing_overloads_is_said_though_it_would_be_with_nothing_failed_too() -> None:
    """The generator gives 10 A through the tie in cruise, and 40 A with the landing's figures."""
    found = endurances(network(OVER_IN_THE_LANDING), "gen")
    assert found["one"].opens_in_landing == ("tie",)


UNTIL_IT_OPENS = """
sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 20%s}}
buses: [main, hot]
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  cb: {kind: breaker, amps: 20}
  r: {kind: relay, closes-when: {dead: [main]}}
feeders: [gen > k > main, bat > cb > main, bat > r > hot]
equipment:
  heater: {supplies: [{bus: main}], amps: 30}
  lamp: {supplies: [{bus: hot}], amps: %s}
"""
"""30 A through a breaker of 20 A, which 27.6 A must open. The crew sheds all of it at minute 5, and
the battery has no limit; but with the breaker open the lamp is on.
"""


def until_it_opens(lamp: float, more: str = "") -> Endurance:
    net = network(UNTIL_IT_OPENS % (more, lamp))
    return endurances(net, "gen", then={"shed": ["heater"]})["bat"]


def test_no_limit_is_no_answer_where_something_must_open_before() -> None:
    """75 % of 20 Ah are 900 A-min: at the 6 A of the lamp 150 min, at 45 A 20 min."""
    found = until_it_opens(6)
    assert (found.reaches, found.must_open) == ("without-limit", ("cb",))
    [opened] = found.if_it_opens
    assert opened is not None
    assert (opened.total, opened.verdict, opened.must_open) == (150, "enough", ())
    net = network(UNTIL_IT_OPENS % ("", 6))
    lines = [line.strip() for line in endurance_text(net, found)]
    assert lines[:3] == [
        "bat: nothing draws from it after shedding, until cb opens; time not known.",
        "Only until cb opens: it is overloaded and must.",
        "If it opens: 150 min.",
    ]
    assert found.as_json()["if_it_opens"][0]["total"] == 150
    short = [line.strip() for line in endurance_text(net, until_it_opens(45))]
    assert short[2] == "If it opens: 20 min (short of 30 min)."
    assert minutes_text(found) == "150 min if what is overloaded opens"


def test_what_opens_may_take_all_load_from_a_battery() -> None:
    """Its only way out is the breaker."""
    text = UNTIL_IT_OPENS % ("", 6)
    net = network(text.replace(", bat > r > hot", ", gen > r > hot"))
    [found] = endurances(net, "gen", then={"shed": ["heater"]}).values()
    assert found.if_it_opens == (None,)
    lines = [line.strip() for line in endurance_text(net, found)]
    assert lines[2] == "If it opens: carries nothing."


def test_every_single_failure_has_its_minutes_if_what_is_overloaded_opens() -> None:
    """Nobody sheds: 30 A last 30 min, and with the breaker open 6 A last 150 min."""
    net = network(UNTIL_IT_OPENS % ("", 6))
    every = endurances_by_scenario(net, net.faults, condition_states(net))
    [one] = every[Scenario("flight", (("gen", "lost"),))]
    assert (one.total, [then and then.total for then in one.if_it_opens]) == (30, [150])
    assert [one] == battery_endurances(net, "flight", [("gen", "lost")])


TAKES_OVER_WHEN_IT_OPENS = """
sources: {one: 28, two: 28, bat: {kind: battery, volts: 24, amp-hours: %s}}
buses: [main]
devices:
  cb-one: {kind: breaker, amps: 50}
  cb-two: {kind: breaker, amps: 50}
feeders: [one > cb-one > main, two > cb-two > main, bat > main]
equipment:
  heater: {supplies: [{bus: main}], amps: 90}
"""
"""With one generator lost the other's breaker of 50 A has 90 A, which 69 A must open; then the
battery, which floated, gives the 90 A: 75 % of 20 Ah, 900 A-min, are 10 min.
"""


def test_a_battery_that_takes_over_when_something_must_open_has_its_minutes() -> None:
    net = network(TAKES_OVER_WHEN_IT_OPENS % 20)
    [found] = battery_endurances(net, "flight", [("one", "lost")])
    assert (found.reaches, found.must_open) == ("without-limit", ("cb-two",))
    assert (found.recognition.amps, found.cruise.amps) == (0, 0)
    assert [then and then.total for then in found.if_it_opens] == [10]
    assert [line.strip() for line in endurance_text(net, found)][:3] == [
        "bat: nothing draws from it, until cb-two opens; time not known.",
        "Only until cb-two opens: it is overloaded and must.",
        "If it opens: 10 min (short of 30 min).",
    ]
    every = endurances_by_scenario(net, net.faults, condition_states(net))
    assert every[Scenario("flight", (("one", "lost"),))] == (found,)
    assert Scenario("flight", (("bat", "lost"),)) not in every


def test_a_battery_takes_over_when_what_the_crew_does_makes_something_open() -> None:
    """The pump that the crew turns on at minute 5 makes 40 A of 20, through the only generator's
    breaker, which 27.6 A must open. 900 A-min at 40 A are 22.5 min from then on: 27.5 min.
    """
    net = network("""
sources: {gen: 28, other: 28, bat: {kind: battery, volts: 24, amp-hours: 20}}
buses: [main, side]
switches: {pump-switch: ['off', 'on']}
devices:
  cb: {kind: breaker, amps: 20}
  r: {kind: relay, closes-when: {switches: {pump-switch: 'on'}}}
feeders: [gen > cb > main, bat > main, other > side]
equipment:
  heater: {supplies: [{bus: main}], amps: 20}
  pump: {supplies: [{bus: main, through: [r]}], amps: 20}
""")
    then = {"switches": {"pump-switch": "on"}}
    acts = Failure.model_validate({"id": "x", "name": "x", "failed": ["other"], "then": then})
    [found] = battery_endurances(net, "flight", [("other", "lost")], acts)
    assert (found.reaches, found.must_open) == ("without-limit", ("cb",))
    [opened] = found.if_it_opens
    assert opened is not None
    assert (opened.recognition.amps, opened.cruise.amps, opened.total) == (0, 40, 27.5)
    assert found.by_acts == ("cb",)
    said = "Only until cb opens: it is overloaded and must, once the crew has acted."
    assert said in [line.strip() for line in endurance_text(net, found)]


def test_what_the_crew_has_shed_opens_nothing_in_answer_3() -> None:
    """The crew takes the 18 A heater off and puts the 18 A pump on: 18 A through a breaker that
    27.6 A must open, and would with both.
    """
    net = network("""
sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 20}}
buses: [main]
switches: {pump-switch: ['off', 'on']}
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  cb: {kind: breaker, amps: 20}
  r: {kind: relay, closes-when: {switches: {pump-switch: 'on'}}}
feeders: [gen > k > main, bat > cb > main]
equipment:
  heater: {supplies: [{bus: main}], amps: 18}
  pump: {supplies: [{bus: main, through: [r]}], amps: 18}
""")
    then = {"switches": {"pump-switch": "on"}, "shed": ["heater"]}
    acts = Failure.model_validate({"id": "x", "name": "x", "failed": ["gen"], "then": then})
    both = [
        battery_endurances(net, "flight", [("gen", "lost")], acts, overload=overload)
        for overload in (False, True)
    ]
    assert both[0] == both[1]
    assert [one.cruise.amps for one in both[1]] == [18]


IF_THE_TIE_OPENS = """
sources:
  g1: {volts: 28, amps: 100}
  g2: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, volts-range: [22, 25], %s}
buses: [hot, left, right]
devices: {tie: {kind: breaker, amps: %s}, d: diode}
feeders: [g1 > left, g2 > right, right > tie > left, bat > hot, hot > d > left]
equipment:
  big: {supplies: [{bus: left}], amps: 30, min-volts: 22.5}
  small: {supplies: [{bus: left}], amps: 10}
  clock: {supplies: [{bus: hot}], amps: %s}
"""
"""With the first generator lost 40 A go through the tie; one of 20 A must open from 27.6 A on. Then
the battery has 40 A besides the clock, and with the big item shed from minute 5 on 10 A.
"""


def if_the_tie_opens(
    clock: float, shed: bool = True, size: str = "amp-hours: 20", tie: int = 20
) -> Endurance:
    net = network(IF_THE_TIE_OPENS % (size, tie, clock))
    return endurances(net, "g1", then={"shed": ["big"]} if shed else None)["bat"]


def test_shedding_changes_something_where_it_does_once_something_has_opened() -> None:
    """6 A for 900 A-min are 150 min, shed or not. If the tie opens 46 A last 900 / 46 = 19.6 min;
    shed from minute 5 on, 5 min at 46 A and (900 - 230) / 16 = 41.9 min: 46.
    """
    shed, left = if_the_tie_opens(6), if_the_tie_opens(6, shed=False)
    assert (shed.total, left.total) == (150, 150)
    assert not shed.acts_change_nothing
    assert not shed.lasts_the_same(left)
    assert left.lasts_the_same(left)
    assert minutes_text(shed) == "150 min until something opens by overload, then 46 min"
    then = "then 19 min (short of 30 min)"
    assert minutes_text(left) == f"150 min until something opens by overload, {then}"


def test_what_is_said_of_minutes_is_said_of_those_if_something_opens_too() -> None:
    """With the range the battery is down to 22 V; the big item needs 22.5."""
    net = network(IF_THE_TIE_OPENS % ("amp-hours: 20", 20, 6))
    lines = [line.strip() for line in endurance_text(net, if_the_tie_opens(6, shed=False))]
    at = lines.index("Only until tie opens: it is overloaded and must.")
    assert lines[at + 1 : at + 3] == [
        "If it opens: 19 min (short of 30 min).",
        "If it opens: lost when it is down to 22\u00a0V: big.",
    ]


def test_too_few_minutes_are_said_to_be_so_also_where_something_else_may_open() -> None:
    """46 A through a breaker of 40 A, which may open from 46 A on."""
    text = IF_THE_TIE_OPENS.replace("bat > hot", "bat > cb > hot")
    text = text.replace("d: diode", "d: diode, cb: {kind: breaker, amps: 40}")
    found = endurances(network(text % ("amp-hours: 20", 20, 6)), "g1")["bat"]
    then = "19 min if nothing opens by overload (less than 30 min)"
    assert minutes_text(found) == f"150 min until something opens by overload, then {then}"


def test_a_battery_without_amp_hours_that_takes_over_when_something_opens_is_named() -> None:
    text = IF_THE_TIE_OPENS.replace("  clock: {supplies: [{bus: hot}], amps: %s}\n", "")
    net = network(text.replace(", %s}", "}") % 20)
    [found] = battery_endurances(net, "flight", [("g1", "lost")])
    assert (found.takes_over, found.capacity, found.reaches) == (True, None, "not-known")
    assert minutes_text(found) == "not known if what is overloaded opens"
    [line] = endurance_text(net, found)
    said = "bat: nothing draws from it until tie opens; then time not known; "
    assert line.strip() == f"{said}the catalogue has no amp-hours."


MAY_OPEN = """
sources:
  g1: {volts: 28, amps: 100}
  g2: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amp-hours: 20}
buses: [left, right]
switches: {t: ["off", "on"]}
devices:
  cb: {kind: breaker, amps: 20}
  tie: {kind: contactor, closes-when: {switches: {t: "on"}}}
  d: diode
feeders: [g1 > left, g2 > right, right > cb > tie > left, bat > d > left]
equipment: {big: {supplies: [{bus: left}], amps: %s}, fan: {supplies: [{bus: right}], amps: 5}}
"""
"""Once the crew has closed the tie the other generator takes the big item off the battery, through
a breaker of 20 A that may open from 23 A on, and must from 27.6.
"""


def test_what_may_open_once_the_crew_has_acted_leaves_no_limit_for_certain() -> None:
    for amps, may_open in ((23, ("cb",)), (22.9, ())):
        net = network(MAY_OPEN % amps)
        found = endurances(net, "g1", then={"switches": {"t": "on"}})["bat"]
        assert (found.reaches, found.may_open) == ("without-limit", may_open)
        assert found.verdict == ("not-known" if may_open else "enough")
    net = network(MAY_OPEN % 24)
    found = endurances(net, "g1", then={"switches": {"t": "on"}})["bat"]
    then = Then(switches={"t": "on"})
    assert [line.strip() for line in endurance_text(net, found, then)] == [
        "bat: nothing draws from it once the crew has acted; no limit if nothing opens by "
        "overload.",
        "Only if cb holds: it is overloaded and may open, once the crew has acted.",
    ]
    assert minutes_text(found) == "no limit if nothing opens by overload"


def test_what_may_open_with_nothing_failed_too_is_no_news() -> None:
    """The battery alone gives 24 A through a breaker of 20 A, parked as in the failure."""
    net = network("""
sources: {gen: 28, other: 28, bat: {kind: battery, volts: 24, amp-hours: 20}}
buses: [ess, side]
devices: {k: {kind: contactor, closes-when: {live: [gen]}}, cb: {kind: breaker, amps: 20}}
feeders: [gen > k > ess, bat > cb > ess, other > side]
equipment: {radio: {supplies: [{bus: ess}], amps: 24}, lamp: {supplies: [{bus: side}], amps: 1}}
conditions: {flight: {sources: [gen, other, bat]}, parked: {sources: [other, bat]}}
""")
    [flight] = battery_endurances(net, "flight", [("gen", "lost")])
    [parked] = battery_endurances(net, "parked", [("other", "lost")])
    assert (flight.may_open, flight.verdict) == (("cb",), "not-known")
    assert (parked.may_open, parked.verdict) == ((), "enough")


THREE_AFTER_ANOTHER = """
sources:
  bat: {kind: battery, volts: 24, amp-hours: 20}
  b2: {kind: battery, volts: 23, amp-hours: 20}
  b3: {kind: battery, volts: %s, amp-hours: 20}
buses: [left]
devices: {d: diode, d2: diode, d3: diode}
feeders: [bat > d > left, b2 > d2 > left, b3 > d3 > left]
equipment: {big: {supplies: [{bus: left}], amps: 40}}
"""


def test_batteries_that_share_once_another_is_flat_are_equally_charged_too() -> None:
    """The first alone lasts 900 / 40 = 22.5 min; then two share 40 A, for 45 more: 67.5 min. At
    0.6 V less the third waits until the second is flat, 22.5 min later.
    """
    found = endurances(network(THREE_AFTER_ANOTHER % 23.2))
    assert [(b, e.total, e.equally_charged) for b, e in found.items()] == [
        ("bat", 22.5, ()),
        ("b2", 67.5, ("b3",)),
        ("b3", 67.5, ("b2",)),
    ]
    found = endurances(network(THREE_AFTER_ANOTHER % 22.4))
    assert [(b, e.total, e.equally_charged) for b, e in found.items()] == [
        ("bat", 22.5, ()),
        ("b2", 45, ()),
        ("b3", 67.5, ()),
    ]
