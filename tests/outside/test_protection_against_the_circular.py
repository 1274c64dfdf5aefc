"""The audit of protection against FAA AC 43.13-1B (9/8/98, Change 1 9/27/01).

Checked against the circular: Table 11-3, DC wire and circuit protector chart, line by line; 11-35,
the 80 % rule; 11-48, as far as it is about the wire. Its other half, the sum of the ratings of the
loads, is not asked: a catalogue tells what equipment draws, not what it is rated for.
"""

from __future__ import annotations

import pytest

from sitegen.answers.protection.protection_audit import protection
from sitegen.answers.protection.protection_records import Protection
from sitegen.catalogue.wire_chart import wire_rows
from tests.nets import network

TABLE_11_3 = {
    # copper, AN gauge: (breaker A, fuse A)
    22: (5, 5),
    20: (7.5, 5),
    18: (10, 10),
    16: (15, 10),
    14: (20, 15),
    12: (30, 20),
    10: (40, 30),
    8: (50, 50),
    6: (80, 70),
    4: (100, 70),
    2: (125, 100),
    1: (None, 150),
    0: (None, 150),
}
LINES = [
    (gauge, kind, amps)
    for gauge, pair in TABLE_11_3.items()
    for kind, amps in zip(("breaker", "fuse"), pair, strict=True)
]


def audited(net: str) -> Protection:
    """What the audit finds in a short net."""
    return protection(network(net), wire_rows())


def on_a_wire(gauge: int, kind: str, amps: float) -> list[tuple[str, float]]:
    """What is rated too high for its wire, and what the table allows: in every place of a wire."""
    found = audited(f"""
    sources:
      gen: 28
      inv: {{kind: converter, volts: 115, fed-from: {{bus: main, through: [p-2], wire: {gauge}}}}}
    buses: [main]
    devices: {{p-2: {{kind: {kind}, amps: {amps}}}}}
    feeders: [gen > main]
    equipment:
      radio:
        supplies:
          - {{bus: main, {kind}: {{id: p-1, name: P, amps: {amps}}}, wire: {gauge}}}
    """)
    return [(w.component, w.allowed) for w in found.wires]


def test_the_table_is_that_of_the_circular() -> None:
    # AC 43.13-1B, Table 11-3
    assert {row.gauge: (row.breaker, row.fuse) for row in wire_rows()} == TABLE_11_3


@pytest.mark.parametrize(
    ("gauge", "kind", "amps"), [(g, k, a) for g, k, a in LINES if a is not None]
)
def test_a_protector_may_be_rated_as_high_as_its_line_and_no_higher(
    gauge: int, kind: str, amps: float
) -> None:
    # AC 43.13-1B, Table 11-3; 11-48: it must open before the wire's rating is exceeded.
    assert on_a_wire(gauge, kind, amps) == []
    assert on_a_wire(gauge, kind, amps + 0.5) == [("p-2", amps), ("p-1", amps)]


@pytest.mark.parametrize("gauge", [1, 0])
def test_where_the_table_has_no_breaker_none_is_judged(gauge: int) -> None:
    # AC 43.13-1B, Table 11-3
    assert on_a_wire(gauge, "breaker", 400) == []


def test_the_table_is_one_for_direct_current() -> None:
    # AC 43.13-1B, Table 11-3, by its title
    net = """
    sources: {alternator: {volts: 115%s}}
    buses: []
    feeders: []
    equipment: {radio: {supplies: [{bus: alternator, fuse: {name: F, amps: 20}, wire: 22}]}}
    """
    assert len(audited(net % "").wires) == 1
    assert audited(net % ", current: ac").wires == ()


GENERATOR = """
sources:
  gen: {volts: 28, amps: 50}
  battery: {kind: battery, volts: 24}
  ground-unit: {kind: external-power, volts: 28, amps: 50}
  inv: {kind: converter, volts: 115, fed-from: {bus: gen, through: [cb-inv]}}
buses: [main]
devices: {sh: shunt, cb-inv: breaker}
feeders: [gen > sh > main, battery > main, ground-unit > main]
equipment: {lights: {supplies: [{bus: main}], amps: %s}}
conditions: {day: {sources: [gen, battery]}, parked: {sources: [ground-unit]}}
"""


def test_continuous_load_stays_within_80_percent_of_the_rated_output() -> None:
    # AC 43.13-1B, 11-35
    assert audited(GENERATOR % 40).generators == ()
    (found,) = audited(GENERATOR % 40.5).generators
    assert (found.component, found.amps, found.limit) == ("gen", 40.5, 40)
    # The rule is one for generators: the ground unit on the same load is not asked.
    assert found.condition == "day"


@pytest.mark.parametrize(
    ("meter", "watches"),
    [
        ("{kind: loadmeter, at: gen}", True),
        ("{kind: ammeter, at: gen}", True),
        ("{kind: ammeter, at: sh}", True),
        ("{kind: voltmeter, at: gen}", False),
        ("{kind: ammeter, at: battery}", False),
        ("{kind: ammeter, at: cb-inv}", False),
    ],
)
def test_where_monitoring_limits_the_load_80_percent_does_not(meter: str, watches: bool) -> None:
    # AC 43.13-1B, 11-35: the rule is for where nothing watches the load
    net = GENERATOR % 45 + f"indications: {{meter: {meter}}}\n"
    assert (audited(net).generators == ()) is watches
