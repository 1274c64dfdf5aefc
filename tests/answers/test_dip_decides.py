"""Which contactors decide whether the first answer to a short fits or the second; what is said."""

from __future__ import annotations

import pytest

from sitegen.answers.dip_decides import deciding
from sitegen.answers.drop import drop
from sitegen.catalogue.model import Then
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
    return deciding(on, "flight", SHORT)


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
        (with_hold(HELD, "rides-through: false"), False, ""),
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
            f"The catalogue does not say whether two does: {ASKED}",
        ),
        (
            TWO_HOLD_THEMSELVES,
            False,
            f"The catalogue does not say whether two does: {ASKED}",
        ),
    ],
)
def test_what_to_look_up_is_left_open_by_the_catalogue(net: str, is_dip: bool, line: str) -> None:
    assert said(net, is_dip) == line


@pytest.mark.parametrize(
    ("net", "lost", "if_dropping_out"),
    [
        (TWO_HOLD_THEMSELVES, ("radio",), ("lamp", "radio")),
        (TWO_BRINGS_ONE_BACK, (), ("radio",)),
        (HELD, (), ("lamp", "radio")),
        (with_hold(HELD, "rides-through: false"), ("lamp", "radio"), ("lamp", "radio")),
        (with_hold(HELD, "rides-through: true"), (), ()),
    ],
)
def test_what_drops_out_by_the_catalogue_does_so_in_every_answer(
    net: str, lost: tuple[str, ...], if_dropping_out: tuple[str, ...]
) -> None:
    on = network(net)
    answers = [drop(on, "flight", SHORT, dip=dip).lost for dip in (False, True)]
    assert answers == [lost, if_dropping_out]


# `k-1` is silent, `k-2` drops out; the crew's switch moves the radio from the one to the other.
MOVED_ONTO = """
sources: {gen: 28}
buses: [main, side, other, third, radio-bus]
switches: {s: [normal, alternate]}
devices:
  k-1: {kind: contactor, closes-when: {live: [main], closed: [k-1]}}
  k-2: {kind: contactor, rides-through: false, closes-when: {live: [main], closed: [k-2]}}
  normal: {kind: relay, rides-through: true, closes-when: {switches: {s: normal}}}
  alternate: {kind: relay, rides-through: true, closes-when: {switches: {s: alternate}}}
  cb: breaker
feeders: [gen > main, main > k-1 > side, main > k-2 > other, main > cb > third,
  side > normal > radio-bus, other > alternate > radio-bus]
equipment: {radio: radio-bus, fan: third}
conditions: {flight: {sources: [gen], held-closed: [k-1, k-2]}}
"""


def test_one_that_drops_out_is_open_later_whatever_another_does() -> None:
    """At once the radio is on k-1, of which nothing is said; moved, it is on k-2, which is open.

    Riding through and dropping out differ at once, and not after the crew's act.
    """
    on, then = network(MOVED_ONTO), Then(switches={"s": "alternate"})
    at_once = [drop(on, "flight", SHORT, dip=dip) for dip in (False, True)]
    assert [loss.lost for loss in at_once] == [("fan",), ("fan", "radio")]
    assert deciding(on, "flight", SHORT) == ("k-1",)
    acted = [drop(on, "flight", SHORT, then, dip=dip) for dip in (False, True)]
    assert [not loss.conducts["k-2"] for loss in acted] == [True, True]
    assert ["radio" in (*loss.lost, *loss.shed) for loss in acted] == [True, True]


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
    says = CLOSES_AGAIN.replace("ext-k: {", "ext-k: {rides-through: false, ")
    assert said(says) == ""
    on = network(says)
    assert drop(on, "flight", SHORT).lost == ("radio",)


# k-1 and k-2 in parallel feed ess; the tie k-3 has side, with generator 2, on main.
DIFFERENT_LOADS = """
sources:
  gen-1: {kind: generator, volts: 28, amps: 100}
  gen-2: {kind: generator, volts: 27, amps: 20}
buses: [main, ess, side, stub]
devices:
  k-1: {kind: contactor, closes-when: {live: [main], closed: [k-1]}}
  k-2: {kind: contactor, closes-when: {live: [main], closed: [k-2]}}
  k-3: {kind: contactor, closes-when: {live: [main], closed: [k-3]}}
  cb: {kind: breaker, amps: 20}
feeders: [gen-1 > main, main > k-1 > ess, main > k-2 > ess, main > k-3 > side, gen-2 > side,
  main > cb > stub]
equipment:
  radio: {supplies: [{bus: ess}], amps: 2}
  heater: {supplies: [{bus: side}], amps: 35}
  lamp: stub
conditions: {flight: {sources: [gen-1, gen-2], held-closed: [k-1, k-2, k-3]}}
"""


def test_what_decides_the_load_alone_is_to_be_looked_up_too() -> None:
    """With k-3 open generator 2 has the heater's 35 A, 175 % of its rating; ess goes with both."""
    on = network(DIFFERENT_LOADS)
    assert drop(on, "flight", [("stub", "shorted"), ("k-3", "open")]).over_rating.keys() == {
        "gen-2"
    }
    assert deciding(on, "flight", (("stub", "shorted"),)) == ("k-1", "k-2", "k-3")
