"""Short-time amps after a failure, against what a source may give for a short time."""

from __future__ import annotations

import pytest

from sitegen.answers.loads.load_table import load_table
from sitegen.terminal.load_text import load_text
from tests.nets import network

STARTS = """
sources:
  one: {volts: 28, amps: 100, amps-5min: 120, amps-5s: 150}
  two: {volts: 28, amps: 100, amps-5s: %s}
buses: [main]
feeders: [one > main, two > main]
equipment:
  fan: {supplies: [{bus: main}], amps: 60}
  pump: {supplies: [{bus: main}], amps: 30, peak-amps: 110}
"""
"""Together 90 A, and 170 A while the pump starts: 85 A each; the one that is left, all of it."""


@pytest.mark.parametrize(("rating", "over"), [(170, ["one"]), (169, ["one", "two"])])
def test_what_one_source_cannot_start_alone_is_listed(rating: float, over: list[str]) -> None:
    table = load_table(network(STARTS % rating), "flight")
    found = table.short_time_over_at_worst(network(STARTS % rating))
    assert [(source, worst.amps) for source, _, worst in found] == [(s, 170) for s in over]
    assert table.over_at_worst(network(STARTS % rating)) == []


def test_it_is_said_with_the_failure() -> None:
    net = network(STARTS % 170)
    lines = list(load_text(net, load_table(net, "flight"), ""))
    assert "  two lost: one up to 170.0 A; allowed are 150 A" in lines


def test_what_is_over_with_nothing_failed_is_not_put_down_to_a_failure() -> None:
    """Two cannot lose what it alone carries."""
    net = network("""
    sources: {one: 28, two: {volts: 28, amps: 100, amps-5s: 150}}
    buses: [main, side]
    feeders: [one > main, two > side]
    equipment: {pump: {supplies: [{bus: side}], amps: 30, peak-amps: 160}}
    """)
    assert load_table(net, "flight").short_time_over_at_worst(net) == []
