"""How long a battery lasts, in which stage it ends, and what turning things off is worth.

Source of the rule: UK CAA, AIL/0194 (2004) (from memory), whose worked example stands in
tests/outside. Where no other source is named, the figures below follow from it by hand. How load is
shared is our own rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sitegen.answers.drop import fault, faults_of
from sitegen.answers.endurance.battery_draws import BatteryDraws
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.battery_load import Phase, scenarios_on_battery
from sitegen.answers.endurance.results import Endurance, Flat, Saving
from sitegen.answers.endurance.running_down import run_down
from sitegen.answers.loads.source_loads import loads
from sitegen.catalogue.model import BatteryTime, Catalogue, Failure, Then
from sitegen.catalogue.read import read
from sitegen.quantities import PLAIN, Fraction
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import after_the_crew, condition_states, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from sitegen.terminal.endurance_text import endurance_text, or_more
from tests.nets import expand
from tests.nets import network as short_net
from tests.random_nets import AIRFRAMES, Raw, catalogues, crew_actions
from tests.samples import thorough

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"

# 1 Ah of which 60 A-min count: a battery whose minutes are easily told.
ALONE = """
sources: {generator: 28, battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
buses: [main]
devices: {line: {kind: contactor, closes-when: {live: [generator]}}}
feeders: [generator > line > main, battery > main]
"""


def net(text: str, **sections: Any) -> Network:
    """A short net; `battery_time` and the like are whole sections."""
    columns = [{"id": i, "name": i} for i in ("cruise", "landing")]
    written = {name.replace("_", "-"): section for name, section in sections.items()}
    catalogue = {**expand(text), "load-columns": columns, **written}
    return build(Catalogue.model_validate(catalogue), "all")


def named(*failed: str, then: Raw | None = None, battery_time: Raw | None = None) -> Failure:
    """A named failure; without `then` nobody acts."""
    record: Raw = {"id": "named", "name": "Named", "failed": list(failed) or ["none"]}
    if then is not None:
        record["then"] = then
    if battery_time is not None:
        record["battery-time"] = battery_time
    return Failure.model_validate(record)


def endurances(
    network: Network,
    *failed: str,
    then: Raw | None = None,
    battery_time: Raw | None = None,
    condition: str = "flight",
) -> dict[str, Endurance]:
    """By battery, its clock after these have failed."""
    failure = named(*failed, then=then, battery_time=battery_time)
    faults = [fault(network, name) for name in failed]
    found = battery_endurances(network, condition, faults, failure)
    return {endurance.battery: endurance for endurance in found}


def loaded(text: str, **amps: Any) -> str:
    """A net with equipment on the main bus that draws these amps."""
    items = {
        name.replace("_", "-"): {"supplies": [{"bus": "main"}], **({"amps": a} if a != "?" else {})}
        for name, a in amps.items()
    }
    return text + f"equipment: {items}\n"


def minutes(savings: Iterable[Saving]) -> dict[str, float | None]:
    """By id, rounded minutes."""
    return {g.id: None if g.minutes is None else round(g.minutes, 6) for g in savings}


# Which battery has a clock


def test_a_battery_that_carries_nothing_has_no_clock() -> None:
    network = net(loaded(ALONE, radio=2))
    assert endurances(network) == {}
    assert endurances(network, "battery") == {}
    assert endurances(network, "generator", "main") == {}
    assert list(endurances(network, "generator")) == ["battery"]


def test_equipment_that_draws_nothing_starts_no_clock() -> None:
    assert endurances(net(loaded(ALONE, radio=0)), "generator") == {}


def test_a_condition_on_battery_alone_needs_no_failure() -> None:
    text = loaded(ALONE, radio=2) + "conditions: {parked: {sources: [battery]}}\n"
    assert endurances(net(text), condition="parked")["battery"].total == pytest.approx(30)


def test_a_battery_alone_on_its_bus_has_a_clock_while_a_generator_runs_elsewhere() -> None:
    network = net(
        """
        sources: {generator: 28, battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
        buses: [main, hot]
        devices: {link: fuse-link}
        feeders: [generator > main, main > link > battery, battery > hot]
        equipment:
          radio: {supplies: [{bus: main}], amps: 20}
          pump: {supplies: [{bus: hot}], amps: 2}
        """
    )
    assert endurances(network) == {}
    endurance = endurances(network, "link")["battery"]
    assert (endurance.cruise.amps, endurance.total) == (2, pytest.approx(30))


def test_a_battery_beside_a_generator_of_the_same_volts_is_not_run_down() -> None:
    text = loaded(ALONE.replace("volts: 24", "volts: 28"), radio=2)
    assert endurances(net(text)) == {}
    assert list(endurances(net(text), "generator")) == ["battery"]


def test_a_battery_beside_a_converter_is_run_down_only_if_batteries_are_behind_the_converter() -> (
    None
):
    text = """
    sources:
      alternator: {volts: 115, current: ac}
      other: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
      rectifier: {kind: converter, volts: 28, efficiency: 1, fed-from: {bus: input}}
      battery: {kind: battery, volts: 28, amp-hours: 1, usable: 1}
    buses: [input, main]
    feeders: [%s > input, rectifier > main, battery > main]
    equipment: {radio: {supplies: [{bus: main}], amps: 6}}
    """
    assert endurances(net(text % "alternator")) == {}
    shared = endurances(net(text % "other"))
    assert shared["battery"].cruise.amps == pytest.approx(3)
    assert shared["other"].cruise.amps == pytest.approx(3 * 28 / 24)


def test_what_a_battery_gives_through_a_converter_beside_a_generator_is_in_its_minutes() -> None:
    """Half of 6 A: 3 A x 28 V / (0.8 x 24 V) = 4.375 A of 60 A-min."""
    network = net(
        """
        sources:
          generator: 28
          battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
          converter: {kind: converter, volts: 28, fed-from: {bus: hot}}
        buses: [main, hot]
        feeders: [generator > main, converter > main, battery > hot]
        equipment: {radio: {supplies: [{bus: main}], amps: 6}}
        """
    )
    endurance = endurances(network)["battery"]
    assert (endurance.cruise.amps, endurance.total) == (4.375, Fraction(60 * 1000, 4375))
    assert endurances(network, "generator")["battery"].cruise.amps == 8.75


def test_a_battery_that_shares_with_a_generator_which_cannot_charge_it_is_run_down() -> None:
    """The generator is behind a diode at 24.3 V and the battery behind another: 2 A of 4 each, and
    1 A on the battery's own bus; 60 A-min at 3 A. Without the battery's diode it floats at 24.3 V.
    """
    text = """
    sources:
      generator: 25
      battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
    buses: [main, hot]
    devices: {d-1: diode, d-2: {kind: diode, drop-volts: 0}, link: fuse-link}
    feeders: [generator > d-1 > main, battery > hot, hot > %s > main]
    equipment:
      radio: {supplies: [{bus: main}], amps: 4}
      clock: {supplies: [{bus: hot}], amps: 1}
    """
    endurance = endurances(net(text % "d-2"))["battery"]
    assert (endurance.cruise.amps, endurance.total) == (3, 20)
    assert endurances(net(text % "link")) == {}
    # At less than its own volts, 23.8 V, nothing charges it: it gives 2.5 A of 5.
    lower = net((text % "link").replace("generator: 25", "generator: 24.5"))
    assert endurances(lower)["battery"].total == 24
    # More volts carry all but the battery's own bus.
    higher = net((text % "d-2").replace("generator: 25", "generator: 28"))
    assert endurances(higher)["battery"].total == 60


def test_what_needs_all_its_supplies_draws_nothing_while_one_is_dead() -> None:
    network = net(
        """
        sources: {battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
        buses: [main, other]
        devices: {cb: breaker}
        feeders: [battery > main, main > cb > other]
        equipment: {radio: {supplies: [{bus: main}, {bus: other}], needs: all, amps: 2}}
        """
    )
    assert endurances(network)["battery"].cruise.amps == pytest.approx(2)
    assert endurances(network, "cb") == {}


def test_the_mask_of_scenarios_on_batteries_leaves_out_those_without_a_clock() -> None:
    network = net(loaded(ALONE, radio=2))
    outcome = solve(
        network,
        scenarios_of([Scenario("flight"), Scenario("flight", (("generator", "lost"),))]),
    )
    assert scenarios_on_battery(outcome.after) == 0b10


# The three stages


def test_without_acts_of_the_crew_the_load_stays_as_it_is() -> None:
    endurance = endurances(net(loaded(ALONE, radio=2)), "generator")["battery"]
    assert [s.amps for s in (endurance.recognition, endurance.cruise, endurance.landing)] == [
        2,
        2,
        2,
    ]
    assert endurance.total == pytest.approx(30)
    assert endurance.cruise.minutes == pytest.approx(15)


def test_until_the_crew_has_acted_everything_draws() -> None:
    network = net(loaded(ALONE, radio=1, oven=5))
    endurance = endurances(network, "generator", then={"shed": ["oven"]})["battery"]
    # 5 min at 6 A leave 30 A-min, at 1 A 30 min.
    assert endurance.recognition.used == pytest.approx(30)
    assert (endurance.cruise.minutes, endurance.landing.minutes) == (
        pytest.approx(20),
        pytest.approx(10),
    )
    assert endurance.total == pytest.approx(35)


def test_the_landing_draws_by_its_own_column_whatever_the_condition_draws_by() -> None:
    conditions = "conditions: {flight: {sources: [generator, battery], loads: cruise}}\n"
    text = loaded(ALONE, pump={"cruise": 1, "landing": 3}) + conditions
    by_column = endurances(net(text, battery_time={"landing-column": "landing"}), "generator")
    assert by_column["battery"].landing.amps == 3
    assert by_column["battery"].total == pytest.approx(5 + (60 - 5 - 30) / 1 + 10)
    assert endurances(net(text), "generator")["battery"].landing.amps == 1


def test_a_battery_may_be_flat_before_the_crew_has_acted() -> None:
    network = net(loaded(ALONE, oven=20))
    endurance = endurances(network, "generator", then={"shed": ["oven"]})["battery"]
    assert (endurance.total, endurance.reaches) == (pytest.approx(3), "recognition")
    assert (endurance.cruise.minutes, endurance.landing.minutes) == (0, 0)
    assert endurance.verdict == "short"


def test_what_the_condition_has_off_is_not_in_the_landing_and_that_is_said() -> None:
    """The landing light is 4 A once its switch is on; in cruise it is off."""
    text = """
    sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 10}}
    buses: [main]
    switches: {light-switch: ["off", "on"]}
    devices: {s: {kind: switch, closes-when: {switches: {light-switch: "on"}}}}
    feeders: [gen > main, bat > main]
    equipment:
      radio: {supplies: [{bus: main}], amps: {cruise: 2, landing: 3}}
      light: {supplies: [{bus: main, through: [s]}], amps: 4}
    conditions:
      cruise: {sources: [gen, bat], loads: cruise}
      approach: {sources: [gen, bat], loads: landing, switches: {light-switch: "on"}}
    """
    network = net(text, battery_time={"landing-column": "landing"})
    lost = [("gen", "lost")]
    [cruise] = battery_endurances(network, "cruise", lost)
    [approach] = battery_endurances(network, "approach", lost)
    assert (cruise.cruise.amps, cruise.landing.amps, approach.landing.amps) == (2, 3, 7)
    said = (
        "The landing has what is on in this condition; what is turned on to land is not counted,"
        " and shortens the time."
    )
    assert said in "\n".join(endurance_text(network, cruise))


def test_what_is_shed_at_once_has_no_time_before_it() -> None:
    network = net(loaded(ALONE, pump=2, light=1))
    then = {"shed": ["light"]}
    for minutes, lines in ((0, 0), (5, 1)):
        asked = {"recognition-minutes": minutes, "landing-minutes": 0}
        found = endurances(network, "generator", then=then, battery_time=asked)["battery"]
        text = "\n".join(endurance_text(network, found))
        assert (text.count("before shedding"), text.count("landing")) == (lines, 0), minutes
        assert "after shedding at 2.0 A" in text


def test_a_battery_may_not_reach_through_the_landing() -> None:
    # 5 min at 6 A leave 30 A-min: at 6 A half of the landing.
    endurance = endurances(net(loaded(ALONE, radio=6)), "generator")["battery"]
    assert (endurance.total, endurance.reaches) == (pytest.approx(10), "landing")
    assert (endurance.cruise.minutes, endurance.landing.minutes) == (0, pytest.approx(5))
    assert endurance.landing.used == pytest.approx(30)


def test_a_battery_that_just_reaches_through_the_landing_has_no_cruise() -> None:
    endurance = endurances(net(loaded(ALONE, radio=4)), "generator")["battery"]
    assert (endurance.total, endurance.reaches) == (pytest.approx(15), "through")
    assert endurance.cruise.minutes == pytest.approx(0)


def test_with_all_load_shed_a_battery_lasts_without_limit() -> None:
    network = net(loaded(ALONE, radio=6))
    endurance = endurances(network, "generator", then={"shed": ["radio"]})["battery"]
    assert (endurance.total, endurance.cruise.minutes) == (None, None)
    assert (endurance.reaches, endurance.verdict) == ("without-limit", "enough")
    assert (endurance.recognition.minutes, endurance.recognition.used) == (5, pytest.approx(30))


def test_a_battery_without_limit_in_the_cruise_still_keeps_the_landing_reserve() -> None:
    conditions = "conditions: {flight: {sources: [generator, battery], loads: cruise}}\n"
    text = loaded(ALONE, light={"cruise": 0, "landing": 3}) + conditions
    endurance = endurances(net(text, battery_time={"landing-column": "landing"}), "generator")[
        "battery"
    ]
    assert (endurance.reaches, endurance.cruise.minutes) == ("without-limit", None)
    assert (endurance.landing.minutes, endurance.landing.used) == (10, pytest.approx(30))


def test_minutes_count_from_the_failure_where_the_crew_puts_the_load_on_the_battery() -> None:
    text = ALONE.replace("{live: [generator]}", "{live: [generator], switches: {gen: 'on'}}")
    text = loaded(text, radio=2) + (
        "switches: {gen: ['off', 'on']}\n"
        "conditions: {flight: {sources: [generator, battery], switches: {gen: 'on'}}}\n"
    )
    endurance = endurances(net(text), then={"switches": {"gen": "off"}})["battery"]
    assert (endurance.recognition.amps, endurance.cruise.amps) == (0, 2)
    assert endurance.total == pytest.approx(5 + 30)


# A short on the heater's bus stalls the generator, and its contactor, with its own sensing, trips.
HEATER_SHORTED = """
sources: {gen: 28, bat: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
buses: [main, heat]
switches: {heat: ['on', 'off']}
devices:
  k: {kind: contactor, protective: true, closes-when: {live: [gen]}}
  kh: {kind: contactor, closes-when: {switches: {heat: 'on'}}}
feeders: [gen > k > main, bat > main, gen > kh > heat]
equipment: {radio: {supplies: [{bus: main}], amps: 2}}
"""
# On battery alone: the same short trips the pump's breaker.
PUMP_SHORTED = """
sources: {bat: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
buses: [main, work, heat]
switches: {heat: ['on', 'off']}
devices:
  cb: {kind: breaker, amps: 20}
  kh: {kind: contactor, closes-when: {switches: {heat: 'on'}}}
feeders: [bat > main, main > cb > work, work > kh > heat]
equipment: {radio: {supplies: [{bus: main}], amps: 2}, pump: {supplies: [{bus: work}], amps: 4}}
"""


def test_a_generator_that_the_crew_resets_relieves_the_battery() -> None:
    isolated = {"switches": {"heat": "off"}}
    without = endurances(net(HEATER_SHORTED), "heat:shorted", then=isolated)["bat"]
    assert (without.cruise.amps, without.total) == (2, 30)
    reset = endurances(
        net(HEATER_SHORTED), "heat:shorted", then={**isolated, "reset": ["gen", "k"]}
    )["bat"]
    assert (reset.recognition.amps, reset.cruise.amps, reset.total) == (2, 0, None)


def test_a_breaker_that_the_crew_resets_gives_the_battery_its_load_back() -> None:
    isolated = {"switches": {"heat": "off"}}
    without = endurances(net(PUMP_SHORTED), "heat:shorted", then=isolated)["bat"]
    assert (without.recognition.amps, without.cruise.amps, without.total) == (2, 2, 30)
    reset = endurances(net(PUMP_SHORTED), "heat:shorted", then={**isolated, "reset": ["cb"]})["bat"]
    assert (reset.recognition.amps, reset.cruise.amps) == (2, 6)
    assert reset.total == 5 + Fraction(60 - 5 * 2, 6)
    # Onto a short that is still there it trips again.
    again = endurances(net(PUMP_SHORTED), "heat:shorted", then={"reset": ["cb"]})["bat"]
    assert (again.cruise.amps, again.total) == (2, 30)


def test_a_contactor_that_holds_itself_in_stays_in_while_the_crew_acts() -> None:
    text = """
    sources: {battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
    buses: [main, held]
    devices: {k: {kind: contactor, closes-when: {live: [held]}}}
    feeders: [battery > main, main > k > held]
    switches: {idle-switch: ['off', 'on']}
    equipment: {radio: {supplies: [{bus: held}], amps: 2}}
    conditions: {flight: {sources: [battery], held-closed: [k]}}
    """
    endurance = endurances(net(text), then={"switches": {"idle-switch": "on"}})["battery"]
    assert (endurance.recognition.amps, endurance.cruise.amps) == (2, 2)


@dataclass(frozen=True)
class Plain:
    """Batteries of some A-min each that go flat in turn."""

    capacities: dict[str, Fraction]
    amps: dict[frozenset[str], dict[str, tuple[int, int, int]]]
    """By what is flat: what each battery gives in the recognition, the cruise and the landing."""
    recognition: int
    landing: int

    def flat_at(self, battery: str, land: Fraction) -> tuple[Fraction | None, set[Fraction]]:
        """When it is flat if they land at this minute, and when others before it; None: not by the
        end of the landing.
        """
        others = set[Fraction]()
        left, minute, end = dict(self.capacities), Fraction(), land + self.landing
        while minute < end:
            stage = (minute >= self.recognition) + (minute >= land)
            next_stage = next(m for m in (self.recognition, land, end) if m > minute)
            amps = self.amps[frozenset(self.capacities.keys() - left.keys())]
            times = [left[b] / amps[b][stage] for b in left if amps[b][stage]]
            step = min([next_stage - minute, *times])
            minute += step
            left = {b: one - step * amps[b][stage] for b, one in left.items()}
            if not left[battery]:
                return minute, others
            if not all(left.values()):
                others.add(minute)
            left = {b: one for b, one in left.items() if one}
        return None, others

    def run_down(self, battery: str) -> tuple[list[Phase], Fraction | None]:
        """The same in the package."""
        asked = BatteryTime().model_copy(
            update={"recognition_minutes": self.recognition, "landing_minutes": self.landing}
        )
        cruise = {"first": Fraction(1), "cruise": Fraction(1), "landing": Fraction()}
        landing = {"first": Fraction(), "cruise": Fraction(), "landing": Fraction(1)}

        def phase(start: Fraction, flat: tuple[tuple[str, ...], ...]) -> Phase:
            amps = self.amps[frozenset(b for together in flat for b in together)]
            first = {b: {"first": (Fraction(one[0]), True)} for b, one in amps.items()}
            then = {
                b: {"cruise": (Fraction(one[1]), True), "landing": (Fraction(one[2]), True)}
                for b, one in amps.items()
            }
            return Phase(start, flat, first, [then], lambda _: [then])

        order = sorted(self.capacities, key=lambda b: b != battery)
        batteries = [
            BatteryDraws(
                b, asked, self.capacities[b], cruise, landing, "", frozenset(), frozenset()
            )
            for b in order
        ]
        return run_down(batteries, phase)


@thorough(2000)
@given(st.data())
def test_a_battery_is_flat_at_the_first_minute_to_which_no_landing_reaches(
    data: st.DataObject,
) -> None:
    """Whatever falls on it while others go flat, all in its own stages."""
    names = ["a", "b", "c"][: data.draw(st.integers(1, 3))]
    sets = [frozenset(some) for size in range(3) for some in combinations(names, size)]
    amps = st.tuples(st.integers(0, 4), st.integers(0, 4), st.integers(1, 4))
    plain = Plain(
        {b: Fraction(data.draw(st.sampled_from([7, 30, 31, 90]))) for b in names},
        {flat: {b: data.draw(amps) for b in names} for flat in sets},
        data.draw(st.sampled_from([0, 5])),
        data.draw(st.sampled_from([0, 5, 10])),
    )
    phases, end = plain.run_down("a")
    by_minute = data.draw(st.lists(st.integers(0, 99), min_size=3, max_size=3))
    last = Fraction(1000) if end is None else max(end - plain.landing, plain.recognition)
    if end is not None:
        assert plain.flat_at("a", last) == (end, {phase.start for phase in phases[1:]})
    for part in by_minute:
        sooner = plain.recognition + (last - plain.recognition) * part / 100
        if sooner < last:
            assert plain.flat_at("a", sooner)[0] is None


# What is asked


def test_the_defaults_are_thirty_minutes_five_to_recognise_and_ten_to_land() -> None:
    asked = endurances(net(loaded(ALONE, radio=2)), "generator")["battery"].asked
    assert (asked.required_minutes, asked.recognition_minutes) == (30, 5)
    assert (asked.landing_minutes, asked.landing_column) == (10, None)


def test_the_failure_asks_before_the_battery_and_the_battery_before_the_catalogue() -> None:
    text = loaded(
        ALONE.replace(
            "usable: 1", "usable: 1, battery-time: {recognition-minutes: 2, landing-minutes: 4}"
        ),
        radio=2,
    )
    network = net(
        text, battery_time={"recognition-minutes": 1, "required-minutes": 45, "landing-minutes": 1}
    )
    asked = endurances(network, "generator", battery_time={"landing-minutes": 3})["battery"].asked
    assert asked.landing_minutes == 3
    assert asked.recognition_minutes == 2
    assert asked.required_minutes == 45


@pytest.mark.parametrize(
    ("catalogue", "battery", "failure", "share"),
    [
        ({}, "", {}, 0.75),
        ({"usable": 0.5}, "", {}, 0.5),
        ({"usable": 0.5}, ", usable: 0.6", {}, 0.6),
        ({"usable": 0.5}, ", usable: 0.6, battery-time: {usable: 0.8}", {}, 0.8),
        ({"usable": 0.5}, ", usable: 0.6, battery-time: {landing-minutes: 4}", {}, 0.6),
        ({"usable": 0.5}, ", usable: 0.6", {"usable": 0.9}, 0.9),
        ({"usable": 0.5}, ", usable: 0.6", {"landing-minutes": 3}, 0.6),
    ],
)
def test_the_share_that_counts_is_asked_in_the_same_order(
    catalogue: Raw, battery: str, failure: Raw, share: float
) -> None:
    text = loaded(ALONE.replace(", usable: 1", battery), radio=1)
    endurance = endurances(net(text, battery_time=catalogue), "generator", battery_time=failure)[
        "battery"
    ]
    assert endurance.capacity == pytest.approx(60 * share)
    assert endurance.total == pytest.approx(60 * share)
    assert endurance.asked.usable == share


def test_a_time_of_exactly_what_is_required_is_enough() -> None:
    for amps in (1.2, 1.6, 2, 3.75):
        network = net(loaded(ALONE, radio=amps), battery_time={"required-minutes": 60 / amps})
        assert endurances(network, "generator")["battery"].verdict == "enough"
    assert endurances(net(loaded(ALONE, radio=2.01)), "generator")["battery"].verdict == "short"


# What has no figure


def test_equipment_without_figures_is_listed_and_no_time_is_called_enough() -> None:
    network = net(loaded(ALONE, radio=1, lamp="?"))
    endurance = endurances(network, "generator")["battery"]
    assert (endurance.unknown, endurance.cruise.unknown) == (("lamp",), ("lamp",))
    assert endurance.total == pytest.approx(60)
    assert endurance.verdict == "not-known"
    assert (
        endurances(net(loaded(ALONE, radio=3, lamp="?")), "generator")["battery"].verdict == "short"
    )


def test_equipment_without_figures_alone_starts_a_clock() -> None:
    endurance = endurances(net(loaded(ALONE, lamp="?")), "generator")["battery"]
    assert (endurance.total, endurance.verdict) == (None, "not-known")


def test_what_is_shed_is_unknown_only_until_it_is_shed() -> None:
    network = net(loaded(ALONE, radio=1, lamp="?"))
    endurance = endurances(network, "generator", then={"shed": ["lamp"]})["battery"]
    assert (endurance.recognition.unknown, endurance.cruise.unknown) == (("lamp",), ())
    assert endurance.unknown == ("lamp",)


def test_a_figure_may_be_missing_in_the_landing_column_alone() -> None:
    conditions = "conditions: {flight: {sources: [generator, battery], loads: cruise}}\n"
    text = loaded(ALONE, pump={"cruise": 1}) + conditions
    endurance = endurances(net(text, battery_time={"landing-column": "landing"}), "generator")[
        "battery"
    ]
    assert (endurance.cruise.unknown, endurance.landing.unknown) == ((), ("pump",))
    assert endurance.unknown == ("pump",)


def test_equipment_without_figures_may_fall_on_a_battery_when_another_is_flat() -> None:
    text = HELD.replace("{supplies: [{bus: right}], amps: 4}", "{supplies: [{bus: right}]}")
    text += "  pump: {supplies: [{bus: right}], amps: 4}\n"
    found = endurances(net(text))
    assert found["large"].cruise.unknown == ()
    assert found["large"].unknown == ("horizon",)


def test_what_the_first_feeds_without_a_figure_makes_the_time_of_the_next_unsure() -> None:
    # Through the diode nothing reaches the lamp but the small battery.
    text = """
    sources:
      large: {kind: battery, volts: 24, amp-hours: 2, usable: 1}
      small: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
    buses: [main, hot]
    devices: {one-way: {kind: diode, drop-volts: 0}}
    feeders: [large > main, small > hot, small > one-way > main]
    equipment:
      radio: {supplies: [{bus: main}], amps: 6}
      lamp: {supplies: [{bus: hot}]}
    """
    found = endurances(net(text))
    assert found["small"].unknown == ("lamp",)
    assert found["large"].flat_before == (Flat("small", pytest.approx(20), pytest.approx(6), ()),)
    assert (found["large"].unknown, found["large"].verdict) == (("lamp",), "not-known")
    # The lamp made the small one's time unsure; the large one itself does not carry it.
    assert [flat.unknown for flat in found["large"].flat_before] == [()]
    with_fan = text.replace("equipment:", "equipment:\n      fan: {supplies: [{bus: main}]}")
    [flat] = endurances(net(with_fan))["large"].flat_before
    assert (flat.unknown, or_more(PLAIN, flat)) == (("fan",), "6.0 A or more")
    assert or_more(PLAIN, replace(flat, amps=Fraction())) == "amps not known"
    known = endurances(net(text.replace("[{bus: hot}]}", "[{bus: hot}], amps: 0}")))
    assert (known["large"].unknown, known["large"].verdict) == ((), "enough")


def test_of_a_battery_without_amp_hours_only_the_load_is_known() -> None:
    network = net(loaded(ALONE.replace(", amp-hours: 1", ""), radio=2))
    endurance = endurances(network, "generator")["battery"]
    assert (endurance.capacity, endurance.total, endurance.cruise.amps) == (None, None, 2)
    assert (endurance.reaches, endurance.verdict) == ("not-known", "not-known")
    assert endurance.savings == ()


# Several batteries

PAIR = """
sources:
  large: {kind: battery, volts: 24, amp-hours: 2, usable: 1%s}
  small: {kind: battery, volts: 24, amp-hours: 1, usable: 1%s}
buses: [left, right]
feeders: [large > left, small > right%s]
equipment:
  radio: {supplies: [{bus: left}], amps: 2}
  horizon: {supplies: [{bus: right}], amps: 4}
"""


HELD = """
sources:
  large: {kind: battery, volts: 24, amp-hours: 2, usable: 1}
  small: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
buses: [left, right]
devices: {tie: {kind: relay, closes-when: {dead: [small]}}}
feeders: [large > left, small > right, left > tie > right]
equipment:
  radio: {supplies: [{bus: left}], amps: 1}
  horizon: {supplies: [{bus: right}], amps: 4}
"""


def test_two_batteries_on_their_own_islands_are_two_clocks() -> None:
    found = endurances(net(PAIR % ("", "", "")))
    assert (found["large"].cruise.amps, found["large"].total) == (2, pytest.approx(60))
    assert (found["small"].cruise.amps, found["small"].total) == (4, pytest.approx(15))
    assert found["large"].flat_before == ()


def test_batteries_that_share_an_island_share_its_load_and_the_last_carries_it_all() -> None:
    found = endurances(net(PAIR % ("", "", ", left > right")))
    assert (found["large"].cruise.amps, found["small"].cruise.amps) == (3, 3)
    # 3 A take 60 A-min from each in 20 min; the other 60 of the large one last 10 min at 6 A.
    assert found["small"].total == pytest.approx(20)
    assert found["large"].total == pytest.approx(30)
    assert found["large"].flat_before == (Flat("small", pytest.approx(20), pytest.approx(6), ()),)
    assert sum(
        s.used or 0
        for s in (found["large"].recognition, found["large"].cruise, found["large"].landing)
    ) == pytest.approx(120)


def test_batteries_with_ratings_share_in_their_proportion() -> None:
    found = endurances(net(PAIR % (", amps: 40", ", amps: 20", ", left > right")))
    assert (found["large"].cruise.amps, found["small"].cruise.amps) == (4, 2)
    assert found["large"].total == found["small"].total == pytest.approx(30)
    assert (found["large"].flat_before, found["small"].flat_before) == ((), ())


def test_through_a_diode_a_battery_helps_only_where_its_drop_is_small() -> None:
    text = (PAIR % ("", "", ", left > d > right")) + "devices: {d: {kind: diode, drop-volts: %s}}\n"
    within_half_a_volt = endurances(net(text % 0.5))
    assert (within_half_a_volt["large"].cruise.amps, within_half_a_volt["small"].cruise.amps) == (
        4,
        2,
    )
    more = endurances(net(text % 0.7))
    assert (more["large"].cruise.amps, more["small"].cruise.amps) == (2, 4)


def test_a_battery_without_amp_hours_that_shares_the_load_leaves_the_time_not_known() -> None:
    text = (PAIR % ("", "", ", left > right")).replace("amp-hours: 1, ", "")
    found = endurances(net(text))
    assert found["large"].unknown == ("small",)
    assert found["large"].verdict == "not-known"


def test_when_one_battery_is_flat_the_relay_it_held_lets_go() -> None:
    found = endurances(net(HELD))
    assert found["small"].total == pytest.approx(15)
    # 15 A-min by then, and 105 more at 5 A.
    assert found["large"].total == pytest.approx(15 + 105 / 5)
    assert found["large"].flat_before == (Flat("small", pytest.approx(15), pytest.approx(5), ()),)
    assert (found["large"].cruise.amps, found["large"].landing.amps) == (1, 5)


def test_what_a_battery_costs_is_counted_up_to_its_own_end() -> None:
    small = endurances(net(PAIR % ("", "", ", left > right")))["small"]
    # With the horizon off, 45 A-min after the recognition last 45 min at 1 A.
    assert minutes(small.savings)["horizon"] == pytest.approx(50 - 20)


def test_what_the_crew_has_done_still_holds_when_one_battery_is_flat() -> None:
    shared = PAIR % ("", "", ", left > right")
    shed = endurances(net(shared), then={"shed": ["horizon"]})
    with_breaker = shared.replace("{bus: right}", "{bus: right, breaker: {name: ATT, amps: 5}}")
    pulled = endurances(net(with_breaker), then={"pulled": ["horizon.breaker"]})
    # 15 A-min go from either in the recognition. At 1 A each the small one lasts 45 min more; the
    # large one then has 60 A-min, 30 min at 2 A.
    for found in (shed, pulled):
        assert found["small"].total == pytest.approx(50)
        assert found["large"].total == pytest.approx(80)


def test_the_last_of_three_batteries_carries_what_both_others_have_left() -> None:
    network = net(
        """
        sources:
          first: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
          second: {kind: battery, volts: 24, amp-hours: 2, usable: 1}
          third: {kind: battery, volts: 24, amp-hours: 4, usable: 1}
        buses: [main]
        feeders: [first > main, second > main, third > main]
        equipment: {radio: {supplies: [{bus: main}], amps: 6}}
        """
    )
    found = endurances(network)
    # 2 A each for 30 min; 3 A each until another 60 A-min are gone; the last 120 A-min at 6 A.
    assert [found[b].total for b in ("first", "second", "third")] == [
        pytest.approx(30),
        pytest.approx(50),
        pytest.approx(70),
    ]
    assert [(flat.battery, flat.amps) for flat in found["third"].flat_before] == [
        ("first", pytest.approx(3)),
        ("second", pytest.approx(6)),
    ]


def test_a_contactor_that_holds_itself_in_stays_in_when_another_battery_is_flat() -> None:
    text = (PAIR % ("", "", ", left > k > right")) + (
        "devices: {k: {kind: contactor, closes-when: {live: [right], closed: [k]}}}\n"
        "conditions: {flight: {sources: [large, small], held-closed: [k]}}\n"
    )
    assert endurances(net(text))["large"].total == pytest.approx(30)


# What turning things off is worth


def test_each_saving_is_the_time_with_that_piece_off_as_well() -> None:
    endurance = endurances(net(loaded(ALONE, radio=2, lamp=1)), "generator")["battery"]
    # In all 20 min at 3 A. After the recognition 45 A-min are left: 45 min at 1 A, 22.5 at 2 A.
    assert endurance.total == pytest.approx(20)
    assert minutes(endurance.savings) == {"radio": pytest.approx(30), "lamp": pytest.approx(7.5)}
    assert [(g.id, g.amps) for g in endurance.savings] == [("radio", 2), ("lamp", 1)]


def test_what_provides_a_function_is_not_offered_to_be_turned_off() -> None:
    """Nor what that requires; the lamp is."""
    text = loaded(ALONE, radio=2, unit=1, lamp=1) + "functions: {talk: {provided-by: [radio]}}"
    raw = expand(text)
    [radio] = [e for e in raw["equipment"] if e["id"] == "radio"]
    radio["requires"] = ["unit"]
    network = build(Catalogue.model_validate(raw), "all")
    assert minutes(endurances(network, "generator")["battery"].savings).keys() == {"lamp"}


def test_what_is_behind_a_converter_costs_what_the_converter_takes() -> None:
    network = net(
        """
        sources:
          battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
          inverter: {kind: converter, volts: 120, efficiency: 0.8, fed-from: {bus: main}}
        buses: [main, ac]
        feeders: [battery > main, inverter > ac]
        equipment:
          gyro: {supplies: [{bus: ac}], amps: 0.2}
          radio: {supplies: [{bus: main}], amps: 0.75}
        """
    )
    endurance = endurances(network)["battery"]
    # 120 V x 0.2 A / (0.8 x 24 V) = 1.25 A
    assert endurance.cruise.amps == pytest.approx(2)
    assert [(g.id, round(g.amps, 6)) for g in endurance.savings] == [
        ("gyro", 1.25),
        ("radio", 0.75),
    ]
    assert endurance.savings[0].minutes == pytest.approx(50 / 0.75 - 25)


def test_a_converter_with_two_feeds_from_one_bus_takes_all_of_its_input_there() -> None:
    network = net(
        """
        sources:
          battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}
          inverter:
            {kind: converter, volts: 120, efficiency: 0.8, fed-from: [{bus: main, through: [cb-1]},
            {bus: main, through: [cb-2]}]}
        buses: [main, ac]
        devices: {cb-1: breaker, cb-2: breaker}
        feeders: [battery > main, inverter > ac]
        equipment: {gyro: {supplies: [{bus: ac}], amps: 0.2}}
        """
    )
    assert endurances(network)["battery"].cruise.amps == pytest.approx(1.25)
    assert endurances(network, "cb-1")["battery"].cruise.amps == pytest.approx(1.25)


def test_the_costliest_eight_are_listed_most_minutes_first_and_then_by_id() -> None:
    items = {f"item_{letter}": 0.1 for letter in "jihgfedcba"}
    endurance = endurances(net(loaded(ALONE, zulu=1, **items)), "generator")["battery"]
    assert [g.id for g in endurance.savings] == [
        "zulu",
        *(f"item-{letter}" for letter in "abcdefg"),
    ]


def test_turning_off_the_last_load_makes_a_battery_last_without_limit() -> None:
    endurance = endurances(net(loaded(ALONE, radio=0.1 + 0.2)), "generator")["battery"]
    assert minutes(endurance.savings) == {"radio": None}


def test_what_is_off_for_the_landing_alone_costs_nothing_in_the_cruise() -> None:
    conditions = "conditions: {flight: {sources: [generator, battery], loads: cruise}}\n"
    text = loaded(ALONE, pump={"cruise": 1, "landing": 1}, light={"cruise": 0, "landing": 2})
    endurance = endurances(
        net(text + conditions, battery_time={"landing-column": "landing"}), "generator"
    )["battery"]
    assert [g.id for g in endurance.savings] == ["pump"]


def test_batteries_that_are_flat_together_gain_the_same_minutes() -> None:
    """Two of 9 A-min; after 5 min 6.5 A-min are left in each: 13 min at 0.5 A, 26 at 0.25 A."""
    text = """
    sources:
      first: {kind: battery, volts: 24, amp-hours: 0.2}
      second: {kind: battery, volts: 24, amp-hours: 0.2}
    buses: [main]
    feeders: [first > main, second > main]
    equipment:
      radio: {supplies: [{bus: main}], amps: {cruise: 0.5, landing: 0}}
      lamp: {supplies: [{bus: main}], amps: {cruise: 0.5, landing: 0}}
    conditions: {flight: {sources: [first, second], loads: cruise}}
    """
    for endurance in endurances(net(text, battery_time={"landing-column": "landing"})).values():
        assert endurance.total == pytest.approx(5 + 13 + 10)
        assert minutes(endurance.savings) == {"radio": 13, "lamp": 13}


def test_a_battery_takes_over_nothing_from_one_that_is_flat_in_the_same_minute() -> None:
    text = """
    sources:
      first: {kind: battery, volts: 24, amp-hours: 0.2}
      second: {kind: battery, volts: 24, amp-hours: 0.2}
    buses: [main]
    feeders: [first > main, second > main]
    equipment: {heater: {supplies: [{bus: main}], amps: 12}}
    """
    for endurance in endurances(net(text)).values():
        assert (endurance.total, endurance.reaches) == (pytest.approx(1.5), "recognition")
        assert endurance.cruise.amps == pytest.approx(6)


def test_what_is_off_keeps_the_other_battery_from_going_flat_as_well() -> None:
    """Each takes 3 A of 6; without the horizon, 1 A each, and the small one lasts 50 min.

    By then the large one has given as much, 60 A-min of its 120, and carries 2 A for 30 min.
    """
    large = endurances(net(PAIR % ("", "", ", left > right")))["large"]
    assert minutes(large.savings)["horizon"] == pytest.approx(80 - 30)


CREW = """
sources: {generator: 28, battery: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}
buses: [main, cabin]
devices:
  line: {kind: contactor, closes-when: {live: [generator]}}
  s-fan: {kind: switch, closes-when: {switches: {fan-switch: 'on'}}}
  cb-cabin: breaker
feeders: [generator > line > main, battery > main, main > cb-cabin > cabin]
switches: {fan-switch: ['off', 'on'], idle-switch: ['off', 'on']}
equipment:
  radio: {supplies: [{bus: main}], amps: 1}
  oven: {supplies: [{bus: main}], amps: 1}
  fan: {supplies: [{bus: main, through: [s-fan]}], amps: 2}
  lights: {supplies: [{bus: cabin}], amps: 0.5}
conditions:
  flight: {sources: [generator, battery], switches: {fan-switch: 'on', idle-switch: 'on'}}
"""
ACTS = {
    "switches": {"fan-switch": "off", "idle-switch": "off"},
    "shed": ["oven"],
    "pulled": ["cb-cabin"],
}


def test_each_act_of_the_crew_has_bought_the_time_lost_by_leaving_it_undone() -> None:
    endurance = endurances(net(CREW), "generator", then=ACTS)["battery"]
    # 22.5 A-min go in the recognition; 37.5 are left, at 1 A.
    assert endurance.total == pytest.approx(42.5)
    assert minutes(endurance.bought) == {
        "fan-switch": round(37.5 - 37.5 / 3, 6),
        "oven": round(37.5 - 37.5 / 2, 6),
        "cb-cabin": round(37.5 - 37.5 / 1.5, 6),
    }
    assert [(g.id, g.amps) for g in endurance.bought] == [
        ("fan-switch", 2),
        ("oven", 1),
        ("cb-cabin", 0.5),
    ]


def test_an_act_that_changes_nothing_has_bought_nothing() -> None:
    already = {"switches": {"fan-switch": "on"}, "shed": [], "pulled": ["cb-cabin"]}
    assert endurances(net(CREW), "generator", "cb-cabin", then=already)["battery"].bought == ()


def test_the_clock_as_json_is_of_plain_values() -> None:
    written = endurances(net(CREW), "generator", then=ACTS)["battery"].as_json()
    assert (written["battery"], written["verdict"], written["reaches"]) == (
        "battery",
        "enough",
        "through",
    )
    assert written["asked"]["required_minutes"] == 30
    assert written["bought"][0]["id"] == "fan-switch"


# The demo


@pytest.mark.parametrize("airframe", ["block-1", "block-2", "block-3"])
def test_the_demo_keeps_the_half_hour_that_its_shedding_list_promises(airframe: str) -> None:
    """The demo's own words: after these acts 30 minutes and more, the first 5 as it stands."""
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    network = build(catalogue, airframe)
    failure = next(f for f in network.catalogue.failures if f.id == "both-generators")
    found = battery_endurances(network, "cruise", faults_of(network, failure), failure)
    main = next(c for c in found if c.battery == "battery")
    assert (main.verdict, main.reaches, main.unknown) == ("enough", "through", ())
    undone = battery_endurances(network, "cruise", faults_of(network, failure))
    assert next(c for c in undone if c.battery == "battery").verdict == "short"


# Random nets

FIGURES = st.sampled_from([0.0, 0.5, 2.0, 7.0, None])


def with_figures(data: st.DataObject, catalogue: Raw) -> Network:
    """A random net with amps and amp-hours, on batteries alone after its machines are lost."""
    for item in catalogue["equipment"]:
        amps = data.draw(FIGURES)
        if amps is not None:
            item["amps"] = {"cruise": amps, "landing": data.draw(FIGURES) or 0.0}
    # Without batteries on line there is little to see, nor if they never share.
    first, *others = catalogue["sources"]
    first["kind"] = "battery"
    for source in others:
        if source["kind"] != "converter" and data.draw(st.booleans()):
            source.update(kind="battery", volts=first["volts"])
    for source in catalogue["sources"]:
        if source["kind"] == "battery":
            source["amp-hours"] = data.draw(st.sampled_from([0.2, 1.0, 5.0]))
    catalogue["load-columns"] = [{"id": i, "name": i} for i in ("cruise", "landing")]
    catalogue["battery-time"] = {"landing-column": "landing"}
    for condition in catalogue["conditions"]:
        condition["loads"] = "cruise"
        condition["sources"] = [s["id"] for s in catalogue["sources"] if s["kind"] != "converter"]
    return build(Catalogue.model_validate(catalogue), data.draw(st.sampled_from(AIRFRAMES)))


def on_battery_failure(data: st.DataObject, catalogue: Raw, network: Network) -> Failure:
    """Most machines lost and perhaps something else, and what the crew does."""
    machines = [s for s, r in network.sources.items() if r.kind in ("generator", "external-power")]
    lost = [s for s in machines if data.draw(st.integers(0, 4)) < 4]
    more = data.draw(st.lists(st.sampled_from(network.faults), max_size=2))
    failed = dict.fromkeys([*(f"{s}:lost" for s in lost), *(f"{c}:{m}" for c, m in more)])
    then = data.draw(st.none() | crew_actions(catalogue))
    return named(*(failed or ["none"]), then=then)


def answer(network: Network, condition: str, failure: Failure) -> dict[str, Endurance]:
    """By battery."""
    known = [f for f in failure.failed if f != "none"]
    faults = [fault(network, text) for text in known]
    return {c.battery: c for c in battery_endurances(network, condition, faults, failure)}


def changed(failure: Failure, **acts: Any) -> Failure:
    """The failure with other acts of the crew."""
    then = (failure.then or Then()).model_copy(update=acts)
    return failure.model_copy(update={"then": then})


def end(endurance: Endurance | None) -> float:
    """When a battery is flat; for ever without a clock."""
    return math.inf if endurance is None or endurance.total is None else endurance.total


@thorough(300)
@given(catalogues(), st.data())
def test_a_battery_gives_what_the_load_table_says_wherever_no_machine_runs(
    catalogue: Raw, data: st.DataObject
) -> None:
    network = with_figures(data, catalogue)
    condition = catalogue["conditions"][0]["id"]
    failure = on_battery_failure(data, catalogue, network)
    faults = tuple(fault(network, text) for text in failure.failed if text != "none")
    outcome = solve(network, scenarios_of([Scenario(condition, faults)]))
    crew = after_the_crew(outcome, failure.then) if failure.then else outcome
    machines = {s for s, r in network.sources.items() if r.kind in ("generator", "external-power")}
    assume(not any(crew.after.steady.produces[s] for s in machines))
    assume(not any(outcome.after.steady.produces[s] for s in machines))
    found = answer(network, condition, failure)
    at_once, shed = loads(outcome)[0].sources, loads(crew)[0].sources
    for battery, source in network.sources.items():
        if source.kind != "battery":
            continue
        if battery in found:
            endurance = found[battery]
            assert endurance.recognition.amps == pytest.approx(at_once.get(battery, 0.0))
            # With another flat by then it gives what that one leaves to it.
            if all(
                flat.minute > endurance.asked.recognition_minutes for flat in endurance.flat_before
            ):
                assert endurance.cruise.amps == pytest.approx(shed.get(battery, 0.0))
        else:
            assert at_once.get(battery, 0.0) == shed.get(battery, 0.0) == 0.0


@thorough(300)
@given(catalogues(), st.data())
def test_shedding_never_shortens_the_time(catalogue: Raw, data: st.DataObject) -> None:
    """Of the first battery to be flat, and of every other that takes over from none."""
    network = with_figures(data, catalogue)
    condition = catalogue["conditions"][0]["id"]
    failure = changed(on_battery_failure(data, catalogue, network))
    before = answer(network, condition, failure)
    item = data.draw(st.sampled_from(list(network.equipment)))
    assert failure.then
    after = answer(network, condition, changed(failure, shed=[*failure.then.shed, item]))
    not_shorter(before, after)


@thorough(300)
@given(catalogues(), st.data())
def test_adding_a_load_never_lengthens_the_time(catalogue: Raw, data: st.DataObject) -> None:
    """Of the first battery to be flat, and of every other that takes over from none."""
    network = with_figures(data, catalogue)
    condition = catalogue["conditions"][0]["id"]
    failure = on_battery_failure(data, catalogue, network)
    bus = data.draw(st.sampled_from(network.nodes))
    extra = {"id": "extra", "name": "Extra", "ata": "24", "supplies": [{"bus": bus}], "amps": 3.0}
    heavier = build(
        Catalogue.model_validate({**catalogue, "equipment": [*catalogue["equipment"], extra]}),
        network.airframe,
    )
    after = answer(network, condition, failure)
    before = answer(heavier, condition, failure)
    not_shorter(before, after)


def not_shorter(before: dict[str, Endurance], after: dict[str, Endurance]) -> None:
    """No battery is flat earlier with less load."""
    rounding = 1 - 1e-9
    first = min((end(c) for c in before.values()), default=math.inf)
    assert min((end(c) for c in after.values()), default=math.inf) >= first * rounding
    for battery, endurance in before.items():
        then = after.get(battery)
        if not endurance.flat_before and not (then and then.flat_before):
            assert end(then) >= end(endurance) * rounding


@thorough(300)
@given(catalogues(), st.data())
def test_what_a_thing_is_worth_is_the_difference_of_two_answers(
    catalogue: Raw, data: st.DataObject
) -> None:
    network = with_figures(data, catalogue)
    condition = catalogue["conditions"][0]["id"]
    failure = on_battery_failure(data, catalogue, network)
    found = answer(network, condition, failure)
    for battery, endurance in found.items():
        then = failure.then or Then()
        tried = [
            (saving, changed(failure, shed=[*then.shed, saving.id]), 1)
            for saving in endurance.savings
        ] + [(saving, without(then, saving.id, failure), -1) for saving in endurance.bought]
        for saving, other, sign in tried:
            again = answer(network, condition, other).get(battery)
            difference = math.inf if saving.minutes is None else saving.minutes
            if sign == 1:
                assert end(again) == pytest.approx(end(endurance) + difference)
            else:
                assert end(endurance) == pytest.approx(end(again) + difference)


def without(then: Then, act: str, failure: Failure) -> Failure:
    """The failure with one of the crew's acts left undone."""
    return changed(
        failure,
        switches={s: place for s, place in then.switches.items() if s != act},
        shed=[i for i in then.shed if i != act],
        pulled=[d for d in then.pulled if d != act],
    )


@thorough(200)
@given(catalogues(), st.data())
def test_a_battery_that_is_flat_has_given_its_capacity(catalogue: Raw, data: st.DataObject) -> None:
    network = with_figures(data, catalogue)
    failure = on_battery_failure(data, catalogue, network)
    found = answer(network, catalogue["conditions"][0]["id"], failure)
    for endurance in found.values():
        stages = (endurance.recognition, endurance.cruise, endurance.landing)
        if endurance.total is not None:
            assert sum(s.used or 0.0 for s in stages) == pytest.approx(endurance.capacity)
            assert sum(s.minutes or 0.0 for s in stages) == pytest.approx(endurance.total)


THREE_BATTERIES = """
aircraft: {load-volts: 24}
sources:
  first: {kind: battery, volts: 24, volts-range: [12, 36], amp-hours: 4}
  second: {kind: battery, volts: 24, amp-hours: 4}
  third: {kind: battery, volts: 24, amp-hours: 4}
buses: [one, two, three]
devices: {k-3: {kind: relay, closes-when: {dead: [one], live: [two]}}}
feeders: [first > one, second > two, third > k-3 > three]
equipment:
  radio: {supplies: [{bus: one}], amps: 4, load: constant-power}
  lamp: {supplies: [{bus: two}], amps: 4}
  fan: {supplies: [{bus: three}], amps: 12}
"""
"""At low volts the first battery is flat before the second: only then the third takes over."""


def test_a_battery_may_take_over_at_one_end_of_anothers_volts_only() -> None:
    """Each has 180 A-min. At 12 V the first gives 8 A and is flat at minute 22.5, the third at 12 A
    15 minutes after that; at 36 V the second, at 4 A, is flat before the first.
    """
    found = endurances(net(THREE_BATTERIES))
    assert {name: e.total for name, e in found.items()} == {
        "first": 22.5,
        "second": 45,
        "third": 37.5,
    }
    assert (found["first"].up_to, found["third"].up_to) == (67.5, None)
    assert found["first"].at_volts == 12


def test_a_battery_that_takes_over_when_another_is_flat_has_a_clock_of_its_own() -> None:
    """20 Ah at 75 % and 10 A: 90 minutes; then 10 Ah at 75 % and 10 A for 45 minutes more."""
    net = short_net("""
    sources:
      gen: {kind: generator, volts: 28, amps: 100}
      main: {kind: battery, volts: 24, amp-hours: 20}
      aux: {kind: battery, volts: 22, amp-hours: 10}
    buses: [bus]
    feeders: [gen > bus, main > bus, aux > bus]
    equipment: {radio: {supplies: [{bus: bus}], amps: 10}}
    """)
    found = {
        endurance.battery: endurance
        for endurance in battery_endurances(
            net, "flight", (("gen", "lost"),), before=condition_states(net)
        )
    }
    assert found["main"].total == pytest.approx(90)
    assert found["aux"].total == pytest.approx(135)
    assert found["aux"].flat_before == (Flat("main", pytest.approx(90), pytest.approx(10), ()),)


LANDS_LIGHT = """
sources:
  gen: {kind: generator, volts: 28, amps: 100}
  first: {kind: battery, volts: 25, amp-hours: 20%s}
  second: {kind: battery, volts: 24, amp-hours: 40}
buses: [ess]
devices: {k: {kind: contactor, closes-when: {live: [gen]}}, d-1: diode, d-2: diode}
feeders: [gen > k > ess, first > d-1 > ess, second > d-2 > ess]
equipment: {pump: {supplies: [{bus: ess}], amps: {cruise: 30, landing: 2}}}
load-columns: [cruise, landing]
battery-time: {landing-column: landing, recognition-minutes: 0, landing-minutes: 10}
conditions: {flight: {sources: [gen, first, second], loads: cruise}}
"""


def test_nobody_has_landed_before_a_battery_that_takes_over_lands() -> None:
    """The first, 900 A-min, lands for 10 min at 2 A: 880 / 30 + 10 min. But on the way to the
    second one's landing it is flat at minute 30; 1800 - 20 A-min then last 59 1/3 min, and 10.
    """
    found = endurances(short_net(LANDS_LIGHT % ""), "gen")
    assert found["first"].total == Fraction(880, 30) + 10
    assert found["second"].total == 30 + Fraction(1780, 30) + 10
    assert found["second"].flat_before == (Flat("first", Fraction(30), Fraction(30), ()),)
    given_in_all = 30 * (found["second"].total - 10) + 10 * 2
    assert given_in_all == 900 + 1800


def test_what_another_battery_is_asked_for_plays_no_part_in_when_the_crew_acts() -> None:
    """90 A until the crew has shed at minute 5, as the second has it, 30 A then: 900 A-min
    of the first are flat at minute 5 + 450 / 30 = 20, and 1800 - 20 of the second last 59 1/3 min,
    and 10. Its own record has the first shed at once: 880 / 30 + 10 min.
    """
    text = (LANDS_LIGHT % ", battery-time: {recognition-minutes: 0}").replace(
        "column: landing, recognition-minutes: 0", "column: landing"
    )
    heater = "amps: {cruise: 30, landing: 2}}, heater: {supplies: [{bus: ess}], amps: 60}}"
    text = text.replace("amps: {cruise: 30, landing: 2}}}", heater)
    found = endurances(short_net(text), "gen", then={"shed": ["heater"]})
    assert found["first"].total == Fraction(880, 30) + 10
    assert found["second"].total == 20 + Fraction(1780, 30) + 10


TWO_WINDINGS = """
sources: {gen: 28, left: {kind: battery, volts: 24, amp-hours: 20},
  right: {kind: battery, volts: 24, amp-hours: 20}}
buses: [x, y]
devices: {k: {kind: contactor, closes-when: {live: [gen]}}}
feeders: [gen > k > x, left > x, right > y]
equipment:
  pump:
    needs: all
    supplies: [{bus: x, amps: {cruise: 5, landing: 60}}, {bus: y, amps: {cruise: 5, landing: 0}}]
load-columns: [cruise, landing]
battery-time: {landing-column: landing, landing-minutes: 10}
conditions: {flight: {sources: [gen, left, right], loads: cruise}}
"""


def test_what_each_supply_draws_to_land_is_on_its_own_battery() -> None:
    """75 % of 20 Ah are 900 A-min: 10 min at 60 A, and 60 min at 5 A before. The right one gives
    nothing in the landing: it lasts 180 min at 5 A, and 10 more.
    """
    found = endurances(short_net(TWO_WINDINGS), "gen")
    assert (found["left"].landing.amps, found["left"].total) == (60, 70)
    assert (found["right"].landing.amps, found["right"].total) == (0, 190)
