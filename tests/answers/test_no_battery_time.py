"""Where a condition says so no endurance is computed, and a long one has no figure."""

from __future__ import annotations

from typing import Any

import pytest

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.drop import faults_of
from sitegen.answers.endurance.airframe_endurance import AirframeEndurance
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.loads.load_table import load_table
from sitegen.catalogue.model import BatteryTime
from sitegen.quiz.facts import Facts
from sitegen.quiz.kinds import ask_minutes
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.terminal.load_text import load_text
from tests.pages.pages_sample import context_of, reading, sample

AMPS = {"radio-1": 4.0, "clock": 0.5}


def catalogue(**parked: Any) -> dict[str, Any]:
    """The sample on battery: a radio and a clock draw from 24 Ah."""
    changed = sample()
    changed["conditions"][1] |= parked
    changed["failures"][0].pop("then")
    for item in changed["equipment"]:
        item["amps"] = AMPS.get(item["id"], 0.0)
    return changed


def facts_of(written: dict[str, Any]) -> Facts:
    network = context_of(written).answers.network
    return Facts(AirframeAnswers(reading(written), network), (network,))


def questions(written: dict[str, Any]) -> list[str]:
    facts = facts_of(written)
    made = [s.make(SeededRandom("1"), True) for s in ask_minutes.subjects(facts)]
    return [q.text for q in made if q]


def test_a_condition_without_battery_time_has_none_anywhere() -> None:
    fault = ("k-1", "open")
    for wanted in (True, False):
        written = catalogue(**{"battery-time": wanted})
        answers = facts_of(written).answers
        network = answers.network
        endurance = AirframeEndurance(answers)
        assert bool(battery_endurances(network, "parked", ())) is wanted
        assert bool(endurance.single[fault][1]) is wanted
        assert bool(endurance.of_named(network.catalogue.failures[0], 1)) is wanted
        assert bool(load_table(network, "parked").as_json(network)["batteries"]) is wanted
        text = "\n".join(load_text(network, load_table(network, "parked"), ""))
        assert ("Parked on battery: no time on battery is computed" in text) is not wanted
        assert any(q.startswith("Parked on battery") for q in questions(written)) is wanted
        # In flight, with both generators lost, it is always computed.
        assert endurance.of_named(network.catalogue.failures[0], 0)


def test_a_condition_asks_its_own_of_the_batteries() -> None:
    """1,440 ampere-minutes at 4.5 A: half of them are 160 minutes; a failure asks before it."""
    on_the_ground = {"usable": 0.5, "landing-minutes": 0}
    network = facts_of(catalogue(**{"battery-time": on_the_ground})).answers.network
    [parked] = battery_endurances(network, "parked", ())
    assert parked.total == 160
    assert (parked.asked.landing_minutes, parked.asked.required_minutes) == (0, 30)
    failure = network.catalogue.failures[0]
    [flight] = battery_endurances(network, "flight", faults_of(network, failure))
    assert (flight.asked.usable, flight.asked.landing_minutes) == (0.75, 10)
    asking = failure.model_copy(update={"battery_time": BatteryTime(usable=0.25)})
    [asked] = battery_endurances(network, "parked", (), asking)
    assert (asked.total, asked.asked.landing_minutes) == (80, 0)


@pytest.mark.parametrize(
    ("amps", "said"),
    # 24 Ah, three quarters usable: 1,080 ampere-minutes.
    [(4.0, "Battery: 240 min"), (3.9, "Battery: more than 4 hours")],
)
def test_more_than_four_hours_has_no_figure(amps: float, said: str) -> None:
    written = catalogue()
    for item in written["equipment"]:
        item["amps"] = {"radio-1": amps, "clock": 0.5}.get(item["id"], 0.0)
    context = context_of(written)
    network = context.answers.network
    text = "\n".join(load_text(network, load_table(network, "parked"), ""))
    assert said in text
    assert [q for q in questions(written) if q.startswith("Parked")] == (
        ["Parked on battery: nothing has failed. How long does Battery last, in whole minutes?"]
        if amps == 4.0
        else []
    )
