"""Which contactors decide whether the first answer to a short fits or the second; what is said."""

from __future__ import annotations

import pytest

from sitegen.answers.dip_decides import deciding, expected_to_drop_out
from sitegen.answers.drop import drop
from sitegen.terminal.headline_text import headline
from tests.nets import network

HELD = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, side, end, third, spare]
devices:
  hold: {kind: contactor, closes-when: {live: [main], closed: [hold]}}
  last: {kind: contactor, closes-when: {live: [side]}}
  backup: {kind: contactor, closes-when: {open: [hold]}}
  cb: breaker
  cb-3: breaker
feeders: [gen > cb > main, main > hold > side, side > last > end, main > cb-3 > third,
  bat > backup > spare]
equipment: {radio: side, lamp: end, pump: main, bell: spare}
conditions: {flight: {sources: [gen, bat], held-closed: [hold]}}
"""
"""`hold` keeps itself in; `last` and `backup` follow it."""
TWO_HOLD_EACH_OTHER = """
sources: {gen: 28}
buses: [main, side, third]
devices:
  one: {kind: contactor, closes-when: {live: [main], closed: [two]}}
  two: {kind: contactor, closes-when: {live: [main], closed: [one]}}
  cb: breaker
  cb-3: breaker
feeders: [gen > cb > main, main > one > two > side, main > cb-3 > third]
equipment: {radio: side}
conditions: {flight: {sources: [gen], held-closed: [one, two]}}
"""
TWO_HOLD_THEMSELVES = """
sources: {gen: 28}
buses: [main, side, far, third]
devices:
  one: {kind: contactor, rides-through: false, closes-when: {live: [main], closed: [one]}}
  two: {kind: contactor, closes-when: {live: [main], closed: [two]}}
  cb: breaker
  cb-3: breaker
feeders: [gen > cb > main, main > one > side, main > two > far, main > cb-3 > third]
equipment: {radio: side, lamp: far}
conditions: {flight: {sources: [gen], held-closed: [one, two]}}
"""
"""`one` drops out whatever `two` does: something is lost."""
TWO_BRINGS_ONE_BACK = TWO_HOLD_EACH_OTHER.replace("one: {", "one: {rides-through: false, ").replace(
    "closes-when: {live: [main], closed: [one]}",
    "closes-when: [{live: [main], closed: [one]}, {live: [main], closed: [two]}]",
)
"""`one` drops out: it closes again if `two` rides through."""
SHORT = (("third", "shorted"),)
ASKED = "look up if it is a ride-through type."


def decides(net: str) -> tuple[str, ...]:
    on = network(net)
    return deciding(on, *(drop(on, "flight", SHORT, dip=dip) for dip in (False, True)))


def said(net: str, is_dip: bool = False) -> str:
    on = network(net)
    rides, drops = (drop(on, "flight", SHORT, dip=dip) for dip in (False, True))
    one, other = (drops, rides) if is_dip else (rides, drops)
    lines = headline(on, one, drop(on, "flight", ()), other, is_dip)
    return " ".join(line for line in lines if line.startswith("The catalogue"))


def with_hold(net: str, rides: str) -> str:
    return net.replace("hold: {kind: contactor, ", f"hold: {{kind: contactor, {rides}, ")


def test_what_only_follows_another_contactor_decides_nothing() -> None:
    assert decides(HELD) == ("hold",)


def test_contactors_that_hold_each_other_in_decide_together() -> None:
    assert decides(TWO_HOLD_EACH_OTHER) == ("one", "two")
    riding = TWO_HOLD_EACH_OTHER.replace("one: {", "one: {rides-through: true, ")
    assert decides(riding) == ("two",)


@pytest.mark.parametrize(
    ("net", "is_dip", "line"),
    [
        (HELD, False, f"The catalogue does not say whether hold does: {ASKED}"),
        (HELD, True, f"The catalogue does not say whether hold does: {ASKED}"),
        (
            with_hold(HELD, "rides-through: false"),
            False,
            "The catalogue says that hold does: expect this.",
        ),
        (
            with_hold(HELD, "rides-through: false"),
            True,
            "The catalogue says that hold does not: do not expect this.",
        ),
        (with_hold(HELD, "rides-through: true"), False, ""),
        (
            TWO_HOLD_EACH_OTHER,
            False,
            "The catalogue does not say whether one and two do: look up if they are ride-through"
            " types.",
        ),
        (
            TWO_BRINGS_ONE_BACK,
            False,
            f"The catalogue says that one does, and does not say whether two does: {ASKED}",
        ),
        (
            TWO_HOLD_THEMSELVES,
            False,
            "The catalogue says that one does: expect this. It does not say whether two does:"
            f" {ASKED}",
        ),
        (
            TWO_HOLD_THEMSELVES,
            True,
            "The catalogue says that one does not: do not expect this. It does not say whether two"
            f" does: {ASKED}",
        ),
    ],
)
def test_which_answer_fits_is_the_catalogue_s_to_say(net: str, is_dip: bool, line: str) -> None:
    assert said(net, is_dip) == line


@pytest.mark.parametrize(
    ("net", "expected"),
    [
        (TWO_HOLD_THEMSELVES, ["one"]),
        (TWO_BRINGS_ONE_BACK, []),
        (HELD, []),
    ],
)
def test_what_drops_out_for_certain_rules_the_other_answer_out(
    net: str, expected: list[str]
) -> None:
    on = network(net)
    rides, drops = (drop(on, "flight", SHORT, dip=dip) for dip in (False, True))
    assert expected_to_drop_out(on, rides, drops) == expected


# The dip drops `ext`, which holds nothing and closes again; `tie` that it fed has let go by then.
CLOSES_AGAIN = """
sources: {ext: 28}
buses: [main, side, third]
devices:
  ext-k: {kind: contactor, closes-when: {live: [ext]}}
  tie: {kind: contactor, rides-through: true, closes-when: {live: [main], closed: [tie]}}
  cb: breaker
feeders: [ext > ext-k > main, main > tie > side, main > cb > third]
equipment: {radio: side, pump: main}
conditions: {flight: {sources: [ext], held-closed: [ext-k, tie]}}
"""


def test_a_contactor_that_has_closed_again_decides_if_something_has_let_go_meanwhile() -> None:
    assert decides(CLOSES_AGAIN) == ("ext-k",)
    assert said(CLOSES_AGAIN) == f"The catalogue does not say whether ext-k does: {ASKED}"
    told = CLOSES_AGAIN.replace("ext-k: {", "ext-k: {rides-through: false, ")
    assert said(told) == "The catalogue says that ext-k does: expect this."
