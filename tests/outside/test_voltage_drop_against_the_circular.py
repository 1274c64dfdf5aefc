"""Voltage drop against FAA AC 43.13-1B (9/8/98, Change 1 9/27/01), chapter 11.

Checked against the circular: Table 11-9 (copper, tin-plated, ohms of 1,000 ft at 20 C), line by
line; the worked drops of Tables 11-7 and 11-8, which are printed rounded. From memory: the limits
of Table 11-6.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from sitegen.answers.drop_limits import allowed_drop
from sitegen.answers.loads.drawn import draws
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.answers.voltage_drop_records import VoltageDrops
from sitegen.catalogue.wire_chart import wire_resistances
from sitegen.quantities import rounded
from sitegen.solver.outcome import condition_states
from tests.nets import network

TABLE_11_9 = {
    # AN gauge: ohms of 1,000 ft
    24: "28.40",
    22: "16.20",
    20: "9.88",
    18: "6.23",
    16: "4.81",
    14: "3.06",
    12: "2.02",
    10: "1.26",
    8: "0.70",
    6: "0.44",
    4: "0.28",
    2: "0.18",
    1: "0.15",
    0: "0.12",
    "00": "0.09",
    "000": "0.07",
    "0000": "0.06",
}

WORKED = [
    # gauge, feet, amps, the drop as the circular prints it: Tables 11-7 and 11-8
    (6, 107, 20, "0.942"),
    (4, 90, 20, "0.504"),
    (12, 88, 20, "3.60"),  # so printed; the product is 3.555
    (14, 100, 20, "6.12"),
    (10, 39, 20, "0.98"),
    (10, 156, 20, "3.93"),
    (10, 273, 20, "6.88"),
]


def drops(net: str) -> VoltageDrops:
    """What drops in the one condition of a net."""
    return voltage_drops(draws(condition_states(network(net))).states[0])


def drop_of(gauge: int | str, length: str, amps: float) -> Fraction:
    """What drops along the supply of one piece of equipment, V."""
    wire = f'"{gauge}"' if isinstance(gauge, str) else gauge
    found = drops(f"""
    sources: {{gen: 28}}
    buses: [main]
    feeders: [gen > main]
    equipment:
      lamp: {{amps: {amps}, supplies: [{{bus: main, wire: {wire}, length: {length}}}]}}
    """)
    drop = found.supplies["lamp", 0].continuous
    assert drop is not None
    return drop.volts


def test_the_table_is_that_of_the_circular() -> None:
    # AC 43.13-1B, Table 11-9
    thick = {"00": -1, "000": -2, "0000": -3}
    expected = {thick.get(str(gauge), gauge): Fraction(ohms) for gauge, ohms in TABLE_11_9.items()}
    assert wire_resistances() == expected


@pytest.mark.parametrize(("gauge", "ohms"), TABLE_11_9.items())
def test_an_ampere_over_a_thousand_feet_drops_the_ohms_of_the_table(
    gauge: int | str, ohms: str
) -> None:
    # AC 43.13-1B, Table 11-9
    assert drop_of(gauge, "{feet: 1000}", 1) == Fraction(ohms)


@pytest.mark.parametrize(("gauge", "feet", "amps", "printed"), WORKED)
def test_the_worked_drops_of_the_circular_come_out_as_printed(
    gauge: int, feet: int, amps: int, printed: str
) -> None:
    # AC 43.13-1B, Tables 11-7 and 11-8
    exact = drop_of(gauge, f"{{feet: {feet}}}", amps)
    if (gauge, feet) == (12, 88):
        # The circular rounds 3.555 up to 3.60.
        assert exact == Fraction("3.5552")
        assert abs(exact - Fraction(printed)) < Fraction("0.05")
    else:
        places = len(printed.partition(".")[2])
        assert rounded(exact, places) == Fraction(printed)


def test_the_drop_beside_nineteen_and_a_half_feet_is_the_product_and_not_the_misprint() -> None:
    # AC 43.13-1B, Table 11-8 prints 0.366 beside 19.5 ft of No. 10 at 20 A; the product is 0.491.
    assert rounded(drop_of(10, "{feet: 19.5}", 20), 3) == Fraction("0.491")


@pytest.mark.parametrize("gauge", [22, 8, "0000"])
def test_feet_and_metres_of_one_length_drop_the_same(gauge: int | str) -> None:
    # A foot is 0.3048 m exactly (international yard and pound agreement, 1959).
    assert drop_of(gauge, "{metres: 3.048}", 7.5) == drop_of(gauge, "{feet: 10}", 7.5)


@pytest.mark.parametrize(
    ("current", "volts", "continuous", "intermittent"),
    [
        ("dc", 14, "0.5", "1"),
        ("dc", 28, "1", "2"),
        ("ac", 115, "4", "8"),
        ("ac", 200, "7", "14"),
    ],
)
def test_the_limits_are_those_of_the_circular(
    current: str, volts: float, continuous: str, intermittent: str
) -> None:
    # AC 43.13-1B, Table 11-6, from memory
    assert allowed_drop(current, volts) == (Fraction(continuous), Fraction(intermittent))


@pytest.mark.parametrize(("current", "volts"), [("ac", 26), ("ac", 28), ("dc", 115), ("dc", 60)])
def test_a_system_that_the_table_does_not_have_has_no_limit(current: str, volts: float) -> None:
    # AC 43.13-1B, Table 11-6, from memory
    assert allowed_drop(current, volts) is None
