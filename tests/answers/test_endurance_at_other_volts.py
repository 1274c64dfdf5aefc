"""Minutes with each battery elsewhere in its volts-range. Where no source is named: by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.every_failure import endurances_by_scenario
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.range_end import battery_places
from sitegen.catalogue.model import Failure
from sitegen.quantities import LONGEST_MINUTES, duration
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import Scenario
from sitegen.terminal.endurance_text import endurance_text
from tests.answers.test_battery_endurance import endurances
from tests.nets import network
from tests.random_nets import Draw
from tests.samples import thorough

BOTH_NEEDED = """
aircraft: {load-volts: 24}
sources:
  gen: 28
  left: {kind: battery, volts: 24, amp-hours: 20, usable: 0.75, volts-range: [20, 25]}
  right: {kind: battery, volts: 24, amp-hours: 20, usable: 0.75, volts-range: [18, 25]}
buses: [a, b, main]
feeders: [gen > main, left > a, right > b]
equipment:
  pump: {needs: all, supplies: [{bus: a, amps: 20}, {bus: b, amps: 2}], load: constant-power}
  clock: {supplies: [{bus: a}], amps: 0.1}
  radio: {supplies: [{bus: b}], amps: 16.25, load: constant-power}
  lamp: {supplies: [{bus: main}], amps: 1}
"""
"""The pump needs both batteries: once either is flat, the other gives less."""


def test_the_shortest_time_has_the_battery_low_and_the_other_high() -> None:
    """900 A-min each. The left one at 20 V gives 24.1 A, and is flat at minute 37.3; with the right
    one at 25 V, and not at 18 V, the pump draws until then. At 25 V, with the right one at 18 V,
    the pump stops at minute 37, and the clock goes on for more than a day.
    """
    left, right = endurances(network(BOTH_NEEDED), "gen").values()
    assert left.total == Fraction(9000, 241)
    assert left.at_volts == 20
    assert left.up_to is not None
    assert left.up_to > LONGEST_MINUTES
    # At 18 V: 18.25 x 24 / 18 A. At 25 V 17.52 A, and 15.6 A from when the left one is flat.
    assert right.total == 900 / (Fraction("18.25") * 24 / 18)
    assert right.at_volts == 18
    flat = Fraction(9000, 241)
    assert right.up_to == flat + (900 - flat * Fraction("17.52")) / Fraction("15.6")


def test_a_range_of_volts_never_lengthens_the_shortest_time() -> None:
    """Both at 24 V, as the catalogue has them: 20.1 A for 44.8 minutes."""
    without = BOTH_NEEDED.replace(", volts-range: [20, 25]", "").replace(
        ", volts-range: [18, 25]", ""
    )
    left = endurances(network(without), "gen")["left"]
    assert (left.total, left.up_to) == (Fraction(9000, 201), None)


def test_what_is_short_at_some_volts_is_short() -> None:
    """Of 13.2 Ah 594 A-min: 24.6 minutes."""
    net = network(BOTH_NEEDED.replace("amp-hours: 20", "amp-hours: 13.2"))
    left = endurances(net, "gen")["left"]
    assert left.total == Fraction(5940, 241)
    assert left.verdict == "short"


BETWEEN = """
aircraft: {load-volts: 24}
sources: {bat: {kind: battery, volts: 24, amp-hours: 20, usable: 0.75, volts-range: [12, 48]}}
buses: [main]
feeders: [bat > main]
equipment:
  radio: {supplies: [{bus: main}], amps: 12, load: constant-power}
  heater: {supplies: [{bus: main}], amps: 12, load: resistive}
"""


def test_the_volts_of_the_catalogue_count_too() -> None:
    """24 A at 24 V; 24 + 6 A at 12 V, 6 + 24 A at 48 V."""
    bat = endurances(network(BETWEEN))["bat"]
    assert (bat.total, bat.up_to, bat.at_volts) == (30, Fraction(75, 2), 12)


def test_what_has_no_limit_at_some_volts_lasts_more_than_4_hours_there() -> None:
    """Without the clock nothing draws from the left one once the right one is flat."""
    net = network("\n".join(line for line in BOTH_NEEDED.splitlines() if "clock" not in line))
    left = endurances(net, "gen")["left"]
    assert left.total == Fraction(900, 24)
    [_, first, *_] = "\n".join(endurance_text(net, left)).split("\n")
    assert first == "left: 37 min, up to more than 4 hours depending on battery volts"


def test_of_more_than_four_batteries_one_at_a_time_is_at_the_other_end() -> None:
    sources = {
        f"b-{i}": "{kind: battery, volts: 24, amp-hours: 1, volts-range: [20, 25]}"
        for i in range(5)
    }
    written = "".join(f"  {name}: {record}\n" for name, record in sources.items())
    net = network(
        f"aircraft: {{load-volts: 24}}\nsources:\n{written}buses: [main]\nfeeders: [b-0 > main]\n"
        "equipment: {lamp: {supplies: [{bus: main}], amps: 1, load: resistive}}"
    )
    every = frozenset(sources)
    ones = [frozenset([one]) for one in sources]
    expected = [frozenset[str](), every, *ones, *(every - one for one in ones), None]
    assert battery_places(net) == tuple(expected)


# ---- Against a plain run-down, one set of volts after the other

LOADS = ("constant-current", "constant-power", "resistive")
Item = tuple[list[tuple[int, int]], str]
"""(battery, amps) of each supply, all of which it needs; and what its amps do with the volts."""


@dataclass(frozen=True)
class Batteries:
    """Every battery has 24 V, and a bus of its own; equipment may need two of them."""

    ranges: list[tuple[int, int]]
    hours: list[int]
    items: list[Item]

    @property
    def as_text(self) -> str:
        """The catalogue."""
        sources = [
            f"  b{i}: {{kind: battery, volts: 24, amp-hours: {hours}, usable: 1,"
            f" volts-range: [{low}, {high}]}}"
            for i, ((low, high), hours) in enumerate(zip(self.ranges, self.hours, strict=True))
        ]
        equipment = []
        for i, (supplies, load) in enumerate(self.items):
            each = ", ".join(f"{{bus: n{battery}, amps: {amps}}}" for battery, amps in supplies)
            equipment.append(f"  i{i}: {{needs: all, load: {load}, supplies: [{each}]}}")
        numbers = range(len(self.ranges))
        buses = ", ".join(f"n{i}" for i in numbers)
        feeders = ", ".join(f"b{i} > n{i}" for i in numbers)
        lines = "aircraft: {load-volts: 24}", "sources:", *sources, f"buses: [{buses}]"
        return "\n".join([*lines, f"feeders: [{feeders}]", "equipment:", *equipment])

    def run_down(self, volts: Sequence[int]) -> dict[int, Fraction | None]:
        """By battery that gives something, the minute at which it is flat; None: never."""
        left = dict(enumerate(Fraction(60 * each) for each in self.hours))
        ends: dict[int, Fraction | None] = {}
        now = Fraction()
        while left:
            draws = dict.fromkeys(left, Fraction())
            for supplies, load in self.items:
                if all(battery in left for battery, _ in supplies):
                    for battery, amps in supplies:
                        there = Fraction(volts[battery], 24)
                        factor = {"constant-power": 1 / there, "resistive": there}.get(load, 1)
                        draws[battery] += amps * factor
            ends |= {battery: None for battery, amps in draws.items() if amps}
            minutes = [left[battery] / amps for battery, amps in draws.items() if amps]
            if not minutes:
                break
            now += min(minutes)
            left = {battery: left[battery] - amps * min(minutes) for battery, amps in draws.items()}
            ends |= {battery: now for battery, rest in left.items() if not rest}
            left = {battery: rest for battery, rest in left.items() if rest}
        return ends


@st.composite
def isolated_batteries(draw: Draw) -> Batteries:
    """One to three, with one to five pieces of equipment."""
    count = draw(st.integers(1, 3))
    ranges = [(draw(st.integers(15, 24)), draw(st.integers(24, 30))) for _ in range(count)]
    hours = [draw(st.integers(1, 40)) for _ in range(count)]
    items: list[Item] = []
    for _ in range(draw(st.integers(1, 5))):
        fed = draw(st.sets(st.integers(0, count - 1), min_size=1, max_size=2))
        supplies = [(battery, draw(st.integers(1, 20))) for battery in sorted(fed)]
        items.append((supplies, draw(st.sampled_from(LOADS))))
    return Batteries(ranges, hours, items)


@given(isolated_batteries())
@thorough(200)
def test_the_times_are_the_least_and_the_most_of_a_plain_run_down(batteries: Batteries) -> None:
    found = endurances(network(batteries.as_text))
    every = product(*((*ends, 24) for ends in batteries.ranges))
    runs = [batteries.run_down(volts) for volts in every]
    for battery in range(len(batteries.hours)):
        times = [run[battery] for run in runs if battery in run]
        assert (f"b{battery}" in found) == bool(times)
        if times:
            one = found[f"b{battery}"]
            known = [t for t in times if t is not None]
            assert one.total == min(known, default=None)
            most = Fraction(LONGEST_MINUTES + 1) if None in times else max(known)
            differs = known and duration(most) != duration(min(known))
            assert one.up_to == (most if differs else None)


# ---- What must open once another battery is flat, in any order in which they may be

SHARED = """
aircraft: {load-volts: 24}
sources:
  gen: {volts: 28, amps: 200}
  left: {kind: battery, volts: 24, amp-hours: 20, amps: 20, volts-range: [20, 25]}
  right: {kind: battery, volts: 24, amp-hours: 20, amps: 20}
buses: [main, a, b, ess]
devices: {da: diode, db: diode, cl: {kind: breaker, amps: 20}, cr: {kind: breaker, amps: 20}}
feeders: [gen > main, left > a, right > b, a > da > cl > ess, b > db > cr > ess]
equipment:
  lamp: {supplies: [{bus: main}], amps: 1}
  bench: {supplies: [{bus: ess}], amps: 30}
  fan: {supplies: [{bus: a}], amps: 6, load: constant-power}
  light: {supplies: [{bus: b}], amps: 6.4}
"""
"""They share 30 A. At 24 V the left one gives 21 A, at 20 V 22.2 A; the right one 21.4 A."""


def test_what_must_open_is_named_whichever_may_be_flat_first() -> None:
    """At 20 V the left one is flat first, at 24 V the right one: 30 A through 20 A either way."""
    found = endurances(network(SHARED), "gen")
    assert found["left"].at_volts == 20
    assert found["left"].all_flat_before == ()
    assert found["left"].opens_when_flat == (("cl", "right", "must"),)
    assert found["right"].opens_when_flat == (("cr", "left", "must"),)
    assert {one.verdict for one in found.values()} == {"not-known"}


def test_nothing_opens_that_would_in_no_order() -> None:
    """At 22 V at the least the left one gives 21.5 A, a light of 7 A is always flat later."""
    always = SHARED.replace("[20, 25]", "[22, 25]").replace("amps: 6.4", "amps: 7")
    found = endurances(network(always), "gen")
    assert found["left"].opens_when_flat == (("cl", "right", "must"),)
    assert found["right"].opens_when_flat == ()


def test_so_it_is_in_every_single_failure() -> None:
    net = network(SHARED)
    by_scenario = endurances_by_scenario(net, [("gen", "lost")], condition_states(net))
    found = by_scenario[Scenario("flight", (("gen", "lost"),))]
    assert {one.battery: one.opens_when_flat for one in found} == {
        "left": (("cl", "right", "must"),),
        "right": (("cr", "left", "must"),),
    }


def test_the_other_orders_are_in_no_json() -> None:
    one = endurances(network(SHARED), "gen")["left"]
    assert one.elsewhere
    assert "elsewhere" not in one.as_json()


SAVED_FOR_LANDING = (
    SHARED.replace("amps: 30}", "amps: {cruise: 10, landing: 30}}")
    + """
load-columns: [cruise, landing]
conditions: {flight: {sources: [gen, left, right], loads: cruise}}
battery-time: {landing-column: landing, landing-minutes: 10}
"""
)


def test_so_it_is_in_the_landing() -> None:
    """Of the last ten minutes each may carry the end alone, at 30 A; before these it is 10 A."""
    found = endurances(network(SAVED_FOR_LANDING), "gen")
    assert found["left"].all_flat_before == ()
    assert {name: one.opens_in_landing for name, one in found.items()} == {
        "left": ("cl",),
        "right": ("cr",),
    }


TAKES_ON = """
aircraft: {load-volts: 24}
sources:
  first: {kind: battery, volts: 24, amp-hours: 4, usable: 0.75, volts-range: [12, 36]}
  second: {kind: battery, volts: 24, amp-hours: 4, usable: 0.75}
buses: [one, two, three]
devices: {k: {kind: relay, closes-when: {dead: [one]}}}
feeders: [first > one, second > two, two > k > three]
equipment:
  heater: {supplies: [{bus: one}], amps: 4, load: resistive}
  lamp: {supplies: [{bus: two}], amps: 4}
  fan: {supplies: [{bus: three}]}
"""


def test_what_is_not_known_at_some_volts_is_not_known() -> None:
    """180 A-min each, 45 minutes at 4 A. At 36 V the first one gives 6 A: from minute 30 on the
    second has the fan too, of which there is no figure.
    """
    second = endurances(network(TAKES_ON))["second"]
    assert (second.total, second.unknown, second.verdict) == (45, ("fan",), "not-known")


HANDED_OVER = """
aircraft: {load-volts: 24}
sources:
  gen: 28
  one: {kind: battery, volts: 24, amp-hours: 10}
  two: {kind: battery, volts: 24, amp-hours: 6.6667, volts-range: [20, 24]}
buses: [main, side]
devices:
  k-gen: {kind: contactor, closes-when: {live: [gen]}}
  d-1: diode
  d-2: diode
  d-3: diode
  d-4: diode
  d-5: diode
  d-6: diode
feeders:
  - gen > k-gen > main
  - one > main
  - two > side
  - main > d-1 > d-2 > d-3 > d-4 > d-5 > d-6 > side
equipment:
  radio: {supplies: [{bus: main}], amps: 10}
  pump: {supplies: [{bus: main}], amps: 10}
  probe: {supplies: [{bus: side}], amps: 10, load: resistive}
conditions: {flight: {sources: [gen, one, two]}}
battery-time: {usable: 1, recognition-minutes: 0, landing-minutes: 0}
"""


def test_what_an_item_saves_is_the_least_at_any_volts() -> None:
    """The main battery lasts 30 min, wherever the other is in its range. With the radio off as well
    that depends on when the other is flat and hands the probe on: the least is the answer.
    """
    net = network(HANDED_OVER)
    shed = Failure.model_validate(
        {"id": "x", "name": "x", "failed": ["gen"], "then": {"shed": ["radio"]}}
    )

    def of_one(failure: Failure | None) -> Endurance:
        found = battery_endurances(net, "flight", [("gen", "lost")], failure)
        return next(one for one in found if one.battery == "one")

    plain, without = of_one(None), of_one(shed)
    assert plain.total == 30
    assert without.total is not None
    assert without.up_to
    assert without.up_to > without.total + 2
    [saved] = [s.minutes for s in plain.savings if s.id == "radio"]
    assert saved == without.total - 30
