"""What must hold of every answer, whatever the net: in answers 1 and 2 to a fault."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.because import because
from sitegen.answers.drop import Loss, losses
from sitegen.answers.switching_changes import switching_changes
from sitegen.catalogue.model import Catalogue, Then
from sitegen.catalogue.read import read
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.random_nets import AIRFRAMES, Raw, catalogues, crew_actions
from tests.samples import sample_size, thorough

AT_ONCE = 8
"""Scenarios of a net that are solved together."""
DEMO_SCENARIOS = 200

nets = catalogues() | catalogues(busy=True)
airframes = st.sampled_from(AIRFRAMES)
seeds = st.integers(0, 2**32).map(random.Random)
answers = pytest.mark.parametrize("dip", [False, True], ids=["ride through", "drop out"])


def draw(network: Network, chance: random.Random, count: int = AT_ONCE) -> list[Scenario]:
    """Some failures of up to three components in any condition."""
    modes: dict[str, list[str]] = {}
    for component, mode in network.faults:
        modes.setdefault(component, []).append(mode)
    # A short decides most, and devices that should clear it: every other failure has both.
    shorts = [f for f in network.faults if f[1] == "shorted"]
    stuck = [f for f in network.faults if f[1] == "stuck-closed"]
    drawn = []
    for number in range(count):
        chosen = chance.sample(sorted(modes), min(len(modes), chance.randint(1, 3)))
        faults = {c: chance.choice(modes[c]) for c in chosen}
        if number % 2:
            faults |= dict([chance.choice(shorts), *chance.sample(stuck, min(2, len(stuck)))])
        condition = chance.choice(network.catalogue.conditions).id
        drawn.append(Scenario(condition, tuple(faults.items())))
    return drawn


def with_a_guarded_bus(catalogue: Raw, chance: random.Random) -> Raw:
    """The net with one more bus, which two breakers in series guard; see `INNER_BREAKER_STUCK`."""
    fitted = [b["id"] for b in catalogue["buses"] if "fitted-to" not in b]
    breakers = [{"id": b, "name": b, "kind": "breaker"} for b in ("outer", "inner")]
    feeder = {"from": chance.choice(fitted), "through": ["outer", "inner"], "to": "guarded"}
    return {
        **catalogue,
        "buses": [*catalogue["buses"], {"id": "guarded", "name": "Guarded"}],
        "devices": [*catalogue["devices"], *breakers],
        "feeders": [*catalogue["feeders"], feeder],
    }


INNER_BREAKER_STUCK = (("guarded", "shorted"), ("inner", "stuck-closed"))
"""The breaker nearest the short cannot open: the other one has to."""


def reset_all(network: Network) -> Then:
    """A crew that resets all that can be reset."""
    return Then(reset=[*network.sources, *network.components])


def a_crew_that_does_nothing_changes_nothing(
    network: Network, drawn: list[Scenario], dip: bool
) -> None:
    at_once = solve(network, scenarios_of(drawn), dip=dip)
    assert losses(after_the_crew(at_once, Then())) == losses(at_once)


def a_scenario_alone_is_as_in_a_batch(
    network: Network, drawn: list[Scenario], then: Then, dip: bool
) -> None:
    together = solve(network, scenarios_of(drawn), dip=dip)
    at_once, acted = losses(together), losses(after_the_crew(together, then))
    for k, scenario in enumerate(drawn):
        alone = solve(network, scenarios_of([scenario]), dip=dip)
        assert losses(alone) == [at_once[k]], scenario
        assert losses(after_the_crew(alone, then)) == [acted[k]], scenario


def each_scenario_may_have_a_crew_of_its_own(
    network: Network, drawn: list[Scenario], then: Then, dip: bool
) -> None:
    """Some crews act, some do nothing, some reset all that they can: each as it does alone."""
    crews = (then, Then(), reset_all(network))
    thens = [crews[k % 3] for k in range(len(drawn))]
    together = losses(after_the_crew(solve(network, scenarios_of(drawn), dip=dip), thens))
    for scenario, own, acted in zip(drawn, thens, together, strict=True):
        alone = solve(network, scenarios_of([scenario]), dip=dip)
        assert losses(after_the_crew(alone, own)) == [acted], scenario


def what_failed_does_not_move(
    network: Network, drawn: list[Scenario], then: Then, dip: bool
) -> Counter[str]:
    """Neither in what is reported nor in the state; returns how often each mode was seen."""
    outcome = solve(network, scenarios_of(drawn), dip=dip)
    normal = {
        c.id: losses(solve(network, scenarios_of([Scenario(c.id)])))[0]
        for c in network.catalogue.conditions
    }
    pulled = {c.id: {*c.pulled} for c in network.catalogue.conditions}
    seen: Counter[str] = Counter()
    for crew, answers in ((None, outcome), (then, after_the_crew(outcome, then))):
        for scenario, loss in zip(drawn, losses(answers), strict=True):
            failed = {component for component, _ in scenario.faults}
            said = {*loss.opened, *loss.stalled, *loss.chatter}
            events = because(network, scenario.condition, scenario.faults, crew, dip)
            said |= {event.id for event in events}
            if crew is None:
                said |= {d for d, _ in switching_changes(network, loss, normal[loss.condition])}
            assert not failed & said, (scenario, crew)
            for component, mode in scenario.faults:
                if mode != "stuck-closed" or component not in pulled[loss.condition]:
                    assert is_as_failed(loss, component, mode), (scenario, crew, component)
                    seen[mode] += 1
    return seen


def is_as_failed(loss: Loss, component: str, mode: str) -> bool:
    """Whether a component is in the state in which its failure has left it for good."""
    if component in loss.conducts:
        return loss.conducts[component] == (mode != "open")
    if mode == "lost":
        return not any(component in state.sources for state in loss.nodes.values())
    return not loss.nodes[component].live


def what_opened_stays_open_unless_reset(
    network: Network, drawn: list[Scenario], then: Then, dip: bool
) -> int:
    outcome = solve(network, scenarios_of(drawn), dip=dip)
    acted = losses(after_the_crew(outcome, then))
    opened = 0
    for first, second in zip(losses(outcome), acted, strict=True):
        assert not any(first.conducts[d] for d in first.opened)
        assert not any(second.conducts[d] for d in second.opened)
        stays = {d for d, how in first.opened.items() if how == "blown" or d not in then.reset}
        assert stays <= set(second.opened), first.failed
        assert {*first.stalled} - {*then.reset} <= {*second.stalled}, first.failed
        opened += len(stays)
    return opened


SECTIONS = (
    *("sources", "buses", "devices", "feeders", "equipment", "switches", "conditions"),
    *("indications", "functions", "airframes"),
)


def shuffled(catalogue: Raw, chance: random.Random) -> Raw:
    """The same records in another order."""
    return {
        section: chance.sample(records, len(records)) if section in SECTIONS else records
        for section, records in catalogue.items()
    }


def both_stages(network: Network, drawn: list[Scenario], then: Then, dip: bool) -> list[Loss]:
    outcome = solve(network, scenarios_of(drawn), dip=dip)
    return [*losses(outcome), *losses(after_the_crew(outcome, then))]


@answers
def test_a_crew_that_does_nothing_changes_nothing(dip: bool) -> None:
    @thorough(200)
    @given(nets, airframes, seeds)
    def check(catalogue: Raw, airframe: str, chance: random.Random) -> None:
        network = build(Catalogue.model_validate(catalogue), airframe)
        a_crew_that_does_nothing_changes_nothing(network, draw(network, chance), dip)

    check()


@answers
def test_a_scenario_alone_is_as_in_a_batch(dip: bool) -> None:
    @thorough(200)
    @given(nets, airframes, seeds, st.data())
    def check(catalogue: Raw, airframe: str, chance: random.Random, data: st.DataObject) -> None:
        network = build(Catalogue.model_validate(catalogue), airframe)
        then = Then.model_validate(data.draw(crew_actions(catalogue)))
        drawn = draw(network, chance)
        a_scenario_alone_is_as_in_a_batch(network, drawn, then, dip)
        each_scenario_may_have_a_crew_of_its_own(network, drawn, then, dip)

    check()


@answers
def test_a_failed_component_is_never_reported_as_moving(dip: bool) -> None:
    seen: Counter[str] = Counter()

    @thorough(200)
    @given(nets, airframes, seeds, st.data())
    def check(catalogue: Raw, airframe: str, chance: random.Random, data: st.DataObject) -> None:
        then = Then.model_validate(data.draw(crew_actions(catalogue)))
        guarded = Catalogue.model_validate(with_a_guarded_bus(catalogue, chance))
        network = build(guarded, airframe)
        drawn = draw(network, chance)
        drawn += [Scenario(c.id, INNER_BREAKER_STUCK) for c in guarded.conditions]
        seen.update(what_failed_does_not_move(network, drawn, then, dip))
        outer_opens = losses(solve(network, scenarios_of(drawn), dip=dip))
        seen["outer"] += sum("outer" in loss.opened for loss in outer_opens)

    check()
    assert seen["outer"]
    assert all(seen[mode] for mode in ("lost", "dead", "shorted", "open", "stuck-closed"))


@answers
def test_what_has_opened_or_stalled_stays_so_unless_it_is_reset(dip: bool) -> None:
    opened = blown = 0

    @thorough(200)
    @given(nets, airframes, seeds, st.data())
    def check(catalogue: Raw, airframe: str, chance: random.Random, data: st.DataObject) -> None:
        nonlocal opened, blown
        network = build(Catalogue.model_validate(catalogue), airframe)
        then = Then.model_validate(data.draw(crew_actions(catalogue)))
        drawn = draw(network, chance)
        opened += what_opened_stays_open_unless_reset(network, drawn, then, dip)
        # What has blown stays so whatever the crew tries.
        blown += what_opened_stays_open_unless_reset(network, drawn, reset_all(network), dip)

    check()
    assert blown
    assert opened


@answers
def test_the_order_of_records_does_not_matter(dip: bool) -> None:
    @thorough(200)
    @given(nets, airframes, seeds, st.data())
    def check(catalogue: Raw, airframe: str, chance: random.Random, data: st.DataObject) -> None:
        then = Then.model_validate(data.draw(crew_actions(catalogue)))
        one = build(Catalogue.model_validate(catalogue), airframe)
        other = build(Catalogue.model_validate(shuffled(catalogue, chance)), airframe)
        drawn = draw(one, chance)
        assert both_stages(one, drawn, then, dip) == both_stages(other, drawn, then, dip)

    check()


@pytest.mark.slow
@answers
def test_all_of_it_holds_of_the_demo(dip: bool) -> None:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    chance = random.Random(5)
    for network in (build(catalogue, a.id) for a in catalogue.airframes):
        drawn = draw(network, chance, sample_size(DEMO_SCENARIOS))
        a_crew_that_does_nothing_changes_nothing(network, drawn, dip)
        what_failed_does_not_move(network, drawn, Then(), dip)
        for failure in catalogue.failures:
            if failure.then:
                what_opened_stays_open_unless_reset(network, drawn, failure.then, dip)
                a_scenario_alone_is_as_in_a_batch(network, drawn[:4], failure.then, dip)
        raw: dict[str, Any] = catalogue.model_dump(by_alias=True, exclude_unset=True)
        other = build(Catalogue.model_validate(shuffled(raw, chance)), network.airframe)
        assert both_stages(network, drawn, Then(), dip) == both_stages(other, drawn, Then(), dip)
