"""Random nets with amps: what is overloaded, and answer 3, as the plain solver has them."""

from __future__ import annotations

import random
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.because import because
from sitegen.answers.drop import losses, with_overload
from sitegen.answers.overload import overloaded
from sitegen.answers.three_answers import must_open
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import build
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of
from tests import plain, plain_amps
from tests.answers.test_loads import loaded
from tests.random_nets import AIRFRAMES, Draw, Raw, crew_actions
from tests.samples import sample_size, thorough
from tests.solver.comparison import by_plain_names, one_mode_each
from tests.tied_nets import crews, tied_catalogues

SAMPLE = 150


@st.composite
def overloadable(draw: Draw) -> Raw:
    """A random net with amps and small ratings, most of which are known."""
    catalogue: Raw = draw(loaded())
    for item in catalogue["equipment"]:
        if item["amps"] is None and draw(st.integers(0, 3)):
            item["amps"] = draw(st.sampled_from([2, 11.5, 40]))
        item["load"] = draw(st.sampled_from(["constant-current", "constant-power", "resistive"]))
        if item.get("needs") == "all" and draw(st.booleans()):
            for supply in item["supplies"]:
                supply["amps"] = draw(st.sampled_from([1, 7.5, 30]))
    if draw(st.booleans()):
        catalogue["aircraft"]["load-volts"] = draw(st.sampled_from([24, 28]))
    for device in catalogue["devices"]:
        device["amps"] = draw(st.sampled_from([1, 5, 20, 40]))
        if device["kind"] != "breaker" and draw(st.integers(0, 2)) == 0:
            device["opens-at"] = draw(st.sampled_from([{}, {"may": 1, "must": 2}]))
    return catalogue


def test_what_is_overloaded_and_what_follows_is_as_the_plain_solver_has_it() -> None:
    counts: Counter[str] = Counter()

    @thorough(SAMPLE)
    @given(
        overloadable(),
        st.sampled_from(AIRFRAMES),
        st.integers(0, 2**32).map(random.Random),
        st.data(),
    )
    def compare(catalogue: Raw, airframe: str, chance: random.Random, data: st.DataObject) -> None:
        crew = data.draw(crew_actions(catalogue))
        counts.update(as_the_plain_solver_has_it(catalogue, airframe, chance, crew))

    compare()
    if sample_size(SAMPLE) >= SAMPLE:
        assert all(counts[event] for event in ("may", "must", "more lost", "events")), counts


def test_what_joining_buses_overloads_is_lost_as_the_plain_solver_has_it() -> None:
    counts: Counter[str] = Counter()

    @thorough(SAMPLE)
    @given(tied_catalogues(), st.integers(0, 2**32).map(random.Random), crews())
    def compare(catalogue: Raw, chance: random.Random, crew: Raw) -> None:
        counts.update(as_the_plain_solver_has_it(catalogue, "all", chance, crew))

    compare()
    assert counts["lost to what the crew overloaded"], counts


def as_the_plain_solver_has_it(
    catalogue: Raw, airframe: str, chance: random.Random, crew: Raw
) -> Counter[str]:
    """Compare some failures, at once and after the crew has acted; how often what was there."""
    counts: Counter[str] = Counter()
    network = build(Catalogue.model_validate(catalogue), airframe)
    conditions = [c["id"] for c in catalogue["conditions"]]
    drawn = [
        Scenario(chance.choice(conditions), tuple(chance.sample(network.faults, size)))
        for size in (1, 1, 1, 1, 2)
    ]
    drawn = [scenario for scenario in drawn if one_mode_each(scenario.faults)]
    before = {c: plain.settled_condition(catalogue, c, airframe) for c in conditions}
    at_once = solve(network, scenarios_of(drawn))
    then = Then.model_validate(crew)
    acted = after_the_crew(at_once, then)
    for raw, found in (
        (None, with_overload(losses(at_once), at_once, at_once)),
        (crew, with_overload(losses(acted), acted, at_once, then)),
    ):
        for loss in found:
            normal = before[loss.condition]
            failure = plain.after_failure(normal, loss.failed)
            words, answer = plain_amps.overload_answer(normal, failure, raw)
            case = loss.condition, loss.failed, raw
            assert loss.overloaded == words, case
            opened = by_plain_names(network, loss.overload or loss)
            for key in ("lost", "opened", "stalled", "comes_on", "nodes", "shed", "kept"):
                assert opened[key] == answer[key], (key, case)
            asked = None if raw is None else then
            events = because(network, loss.condition, loss.failed, asked, overload=True)
            rows = [(e.step, e.kind, e.id, e.change) for e in events]
            assert rows == answer["because"], case
            counts["events"] += bool(rows) and bool(loss.overload)
            counts["may"] += "may" in words.values()
            counts["must"] += "must" in words.values()
            counts["more lost"] += answer["lost"] != list(loss.lost)
            kept = {*loss.kept, *loss.reduced}
            counts["lost to what the crew overloaded"] += (
                raw is not None and "must" in words.values() and not kept.isdisjoint(answer["lost"])
            )
    return counts


def test_the_quick_bound_leaves_out_no_failure_that_makes_something_open() -> None:
    counts: Counter[str] = Counter()

    @thorough(SAMPLE)
    @given(overloadable(), st.sampled_from(AIRFRAMES))
    def compare(catalogue: Raw, airframe: str) -> None:
        network = build(Catalogue.model_validate(catalogue), airframe)
        conditions = [c["id"] for c in catalogue["conditions"]]
        outcome = solve(network, every_single(conditions, network.faults))
        must = {
            k: tuple(device for device, word in words.items() if word == "must")
            for k, words in enumerate(overloaded(outcome))
            if "must" in words.values()
        }
        assert must_open(outcome) == must
        counts["must"] += bool(must)

    compare()
    if sample_size(SAMPLE) >= SAMPLE:
        assert counts["must"] > SAMPLE / 5, counts
