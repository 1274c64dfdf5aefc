"""Amps and minutes are exact: no order of adding them up changes a digit."""

from __future__ import annotations

import random
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.source_loads import load_pairs
from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import every_single
from tests.answers.test_loads import loaded
from tests.nets import network
from tests.random_nets import AIRFRAMES, Raw
from tests.samples import thorough


def figures(catalogue: Raw, airframe: str) -> list[tuple[object, ...]]:
    net = build(Catalogue.model_validate(catalogue), airframe)
    conditions = sorted(c["id"] for c in catalogue["conditions"])
    outcome = solve(net, every_single(conditions, sorted(net.faults)))
    return [
        (load.drawn, load.buses, load.sources, load.converters, current_bounds(net, load.amps))
        for pair in load_pairs(outcome)
        for load in pair
    ]


@thorough(60)
@given(loaded(), st.sampled_from(AIRFRAMES), st.integers(0, 2**32).map(random.Random))
def test_the_order_of_equipment_changes_no_figure(
    catalogue: Raw, airframe: str, chance: random.Random
) -> None:
    shuffled = {**catalogue, "equipment": list(catalogue["equipment"])}
    chance.shuffle(shuffled["equipment"])
    assert figures(catalogue, airframe) == figures(shuffled, airframe)


def test_tenths_add_up_to_a_whole() -> None:
    """Ten times 0.1 A are 1 A; added up as floats they are 0.9999999999999999."""
    items = "\n".join(f"  e-{k}: {{supplies: [{{bus: main}}], amps: 0.1}}" for k in range(10))
    net = network(
        "sources: {bat: {kind: battery, volts: 24, amp-hours: 1, usable: 1}}\n"
        f"buses: [main]\nfeeders: [bat > main]\nequipment:\n{items}"
    )
    [endurance] = battery_endurances(net, "flight", ())
    assert endurance.cruise.amps == Fraction(1)
    assert endurance.total == Fraction(60)
