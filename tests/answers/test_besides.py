"""What a headline must say of a failure besides what is lost."""

from __future__ import annotations

import pytest

from sitegen.answers.besides import Besides, besides, differs
from sitegen.answers.drop import drop
from sitegen.catalogue.model import Then
from sitegen.terminal.headline_text import headline
from tests.nets import network

NET = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24, amps: 100}}
buses: [main, essential, side]
devices:
  cb-ess: {kind: breaker, amps: 20}
  cb-bat: {kind: breaker, amps: 40}
  d: diode
  hold: {kind: contactor, closes-when: {live: [main], closed: [hold]}}
  backup: {kind: contactor, closes-when: {open: [hold]}}
feeders: [gen > cb-ess > essential, gen > main, bat > cb-bat > d > essential, main > hold > side]
equipment:
  transponder: {supplies: [{bus: essential}], amps: %s}
  attitude: {supplies: [{bus: essential}, {bus: main}], amps: 1}
  clock: bat
  pump: side
  bell: {supplies: [{bus: bat, through: [backup]}]}
functions: {pumping: {provided-by: [pump]}, timing: {provided-by: [clock]}}
conditions: {flight: {sources: [gen, bat], held-closed: [hold]}}
"""


def said(failed: str, amps: float = 2, mode: str = "open") -> Besides:
    net = network(NET % amps)
    answers = [drop(net, "flight", [(failed, mode)], dip=dip) for dip in (False, True)]
    return besides(net, answers[0], drop(net, "flight", []), answers[1])


def test_what_only_the_battery_feeds_is_named_unless_it_was_so_before() -> None:
    opened = said("cb-ess")
    assert opened.newly_on_battery == ("transponder",)
    assert opened.overload is None
    assert not opened.nothing
    lost = said("gen", mode="lost")
    assert lost.newly_on_battery == ("attitude", "pump", "transponder")


def test_a_bus_that_stays_live_without_its_battery_has_no_reserve() -> None:
    # The battery feeds the generator's side backwards through the breaker of the essential bus.
    assert said("cb-bat").no_reserve == ("main", "essential", "side")
    assert said("bat", mode="lost").no_reserve == ("main", "essential", "side")
    assert said("cb-ess").no_reserve == ("main", "side")
    assert said("gen", mode="lost").no_reserve == ()


def test_a_function_is_lost_if_it_was_there_before() -> None:
    assert said("hold").functions_lost == ("pumping",)
    assert said("hold").comes_on == ("bell",)
    assert said("cb-ess").functions_lost == ()


def test_a_function_that_ends_with_what_the_crew_turns_off_is_not_lost() -> None:
    net = network(NET % 2)
    function, *_ = net.catalogue.functions
    then = Then(shed=function.equipment)
    normal = drop(net, "flight", [])
    off = besides(net, drop(net, "flight", [("cb-ess", "open")], then), normal)
    assert (off.functions_lost, off.functions_off) == ((), (function.id,))
    said_ = headline(net, drop(net, "flight", [("cb-ess", "open")], then), normal)
    assert f"Functions turned off: {function.name}." in said_
    # With the provider lost, the function is.
    lost = besides(net, drop(net, "flight", [("hold", "open")], then), normal)
    assert (lost.functions_lost, lost.functions_off) == ((function.id,), ())


def test_a_function_that_one_provider_still_gave_ends_with_what_turns_that_off() -> None:
    """Of two radios the failure takes one; the crew turns the other off."""
    net = network("""
sources: {gen: 28}
buses: [main, side]
devices: {cb: breaker}
feeders: [gen > main, main > cb > side]
equipment: {radio-1: main, radio-2: side}
functions:
  talk: {provided-by: [radio-1, radio-2]}
  both: {provided-by: [{all: [radio-1, radio-2]}]}
conditions: {flight: {sources: [gen]}}
""")
    normal, then = drop(net, "flight", []), Then(shed=["radio-1"])
    found = besides(net, drop(net, "flight", [("cb", "open")], then), normal)
    assert (found.functions_lost, found.functions_off) == (("both",), ("talk",))


def test_of_two_supplies_the_loss_of_one_leaves_an_item_reduced() -> None:
    assert said("main", mode="dead").reduced == ("attitude",)


def test_a_breaker_that_must_open_and_one_that_may_are_distinguished() -> None:
    assert (said("cb-ess", 90).must_open, said("cb-ess", 90).may_open) == (("cb-bat",), ())
    assert (said("cb-ess", 50).must_open, said("cb-ess", 50).may_open) == ((), ("cb-bat",))


def test_the_answer_if_it_opens_is_kept_where_more_is_lost() -> None:
    overload = said("cb-ess", 90).overload
    assert overload is not None
    assert overload.lost == ("transponder",)


def test_the_answer_if_contactors_drop_out_is_kept_where_it_differs() -> None:
    """The short holds the generator's terminals down until the breaker of its feeder trips."""
    short = said("essential", mode="shorted")
    assert short.dip is not None
    assert "pump" in short.dip.lost
    assert said("cb-ess").dip is None


# The short on aux drops kt out, if it does, and it stays so: then the second generator, which is a
# volt lower, has the essential bus alone.
LOADS_MORE = """
sources: {gen: {volts: 28, amps: 100}, gen-2: {volts: 27, amps: %s}}
buses: [main, ess, aux]
devices:
  kt: {kind: contactor, closes-when: {closed: [kt], live: [main]}}
  cba: {kind: breaker, amps: 30}
  cbb: {kind: breaker, amps: 25}
feeders: [gen > main, main > kt > ess, gen-2 > cbb > ess, main > cba > aux]
equipment: {com: {amps: %s, supplies: [{bus: ess}]}}
conditions: {flight: {sources: [gen, gen-2], held-closed: [kt]}}
"""
# The battery is behind a contactor that only what it feeds holds in.
NO_RESERVE = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, aux]
devices:
  kb: {kind: contactor, closes-when: {closed: [kb], live: [main]}}
  cba: {kind: breaker, amps: 30}
  cbb: {kind: breaker, amps: 30}
feeders: [gen > cbb > main, bat > kb > main, main > cba > aux]
equipment: {com: main}
conditions: {flight: {sources: [gen, bat], held-closed: [kb]}}
"""
LOADED = (
    (LOADS_MORE % (100, 36), "cbb must open by overload"),
    (LOADS_MORE % (30, 36), "cbb must open by overload and gen-2 will be over rating"),
    (LOADS_MORE % (100, 27), "cbb will be over rating"),
    (LOADS_MORE % (100, 25), ""),
    (NO_RESERVE, "main will have no battery left to take over"),
)


@pytest.mark.parametrize(("text", "follows"), LOADED)
def test_what_only_the_other_answer_loads_more_is_said(text: str, follows: str) -> None:
    """Nothing is lost, reduced or on battery in either. A breaker of 25 A must open at 34.5 A, and
    is over its rating with 27 A.
    """
    net = network(text)
    normal = drop(net, "flight", [])
    rides, drops = (drop(net, "flight", [("aux", "shorted")], dip=dip) for dip in (False, True))
    assert not differs(rides, drops)
    riding = headline(net, rides, normal, drops)
    if_dropping = [s for s in riding if s.startswith("If contactors drop out")]
    every = [f"If contactors drop out while the fault lasts, {follows}."]
    assert if_dropping == (every if follows else [])
    assert riding[0].startswith("Nothing is lost") is (not follows)
    # The radio hangs on what must open then.
    too = [s for s in riding if s.startswith("If what is overloaded")]
    opens = "If what is overloaded then has opened too, you lose 1 item."
    assert too == ([opens] if "must open" in follows else [])
    # What is said of the answer in which they drop out is not said again of the other.
    dropping = headline(net, drops, normal, rides, is_dip=True)
    assert not any("If contactors" in s for s in dropping)


OPENS_ONE = """
sources: {g-1: 28, g-2: {volts: 27, amps: 30}, g-3: 29}
buses: [main]
devices: {cb: {kind: breaker, amps: 20}, k: {kind: contactor, closes-when: {live: [g-3]}}}
feeders: [g-1 > cb > main, g-2 > main, g-3 > k > main]
equipment: {com: {amps: 40, supplies: [{bus: main}]}}
"""


def test_of_a_bus_that_is_dead_in_this_answer_no_battery_is_missed_in_the_other() -> None:
    """The battery's breaker trips on the short; kt, if it drops out, takes the essential bus. If it
    rides through, that bus is live without a battery, as main is in both.
    """
    net = network("""
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, ess, aux]
    devices:
      kt: {kind: contactor, closes-when: {closed: [kt], live: [main]}}
      cba: {kind: breaker, amps: 30}
      cbb: {kind: breaker, amps: 30}
    feeders: [gen > main, main > kt > ess, bat > cbb > aux, main > cba > aux]
    equipment: {com: ess}
    conditions: {flight: {sources: [gen, bat], held-closed: [kt]}}
    """)
    normal = drop(net, "flight", [])
    rides, drops = (drop(net, "flight", [("aux", "shorted")], dip=dip) for dip in (False, True))
    assert besides(net, drops, normal).no_reserve == ("main",)
    assert besides(net, rides, normal).no_reserve == ("main", "ess")
    [said_] = [s for s in headline(net, drops, normal, rides, is_dip=True) if "If contactors" in s]
    assert said_ == "If contactors ride through the fault, you lose no items."


def test_what_is_over_its_rating_once_what_is_overloaded_opens_is_said() -> None:
    """40 A through a breaker of 20 A; with that open the third has them, which is made for 30."""
    net = network(OPENS_ONE)
    loss, normal = drop(net, "flight", [("g-3", "lost")]), drop(net, "flight", [])
    assert loss.overload
    assert not differs(loss, loss.overload)
    assert headline(net, loss, normal) == (
        "Overloaded and must open: cb.",
        "If what is overloaded opens, g-2 will be over rating.",
        "No item is lost.",
    )


TWO_BATTERIES = """
sources:
  b1: {kind: battery, volts: 24, amp-hours: 20}
  b2: {kind: battery, volts: 24, amp-hours: 20}
buses: [ess, aux]
devices:
  f: {kind: fuse, amps: 50}
  k2: {kind: contactor, closes-when: {closed: [k2], live: [ess]}}
feeders: [b1 > ess, b2 > k2 > ess, ess > f > aux]
equipment: {big: {supplies: [{bus: ess}], amps: 40}, x: {supplies: [{bus: aux}], amps: 1}}
conditions: {flight: {sources: [b1, b2], held-closed: [k2]}}
"""


def test_a_battery_that_gives_more_if_contactors_drop_out_is_said_to_be_flat_sooner() -> None:
    """Riding through, the two share 40 A; with k2 out the first gives all of it, half as long."""
    net = network(TWO_BATTERIES)
    normal = drop(net, "flight", [])
    rides, drops = (drop(net, "flight", [("aux", "shorted")], dip=dip) for dip in (False, True))
    assert (rides.battery_amps, drops.battery_amps) == ({"b1": 20, "b2": 20}, {"b1": 40})
    assert headline(net, rides, normal, drops)[-2:] == (
        "If contactors drop out while the fault lasts, b1 will give more amps and be flat sooner.",
        "The catalogue does not say whether k2 does: look up if it is a ride-through type.",
    )
    dropping = headline(net, drops, normal, rides, is_dip=True)
    assert (
        "If contactors ride through the fault, b2 will give more amps and be flat sooner."
        in dropping
    )


OPENS_ELSEWHERE = """
sources:
  g1: {volts: 28, amps: 100}
  g2: {volts: 28, amps: 10}
  g3: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amp-hours: 20}
buses: [left, right, aux, ess]
devices:
  tie: {kind: breaker, amps: 20}
  k3: {kind: contactor, closes-when: {closed: [k3], live: [right]}}
  f: {kind: fuse, amps: 50}
  f2: {kind: fuse, amps: 50}
  cbe: {kind: breaker, amps: 5}
feeders: [g1 > left, g2 > right, g3 > k3 > right, right > tie > left, bat > left, right > f > aux,
  aux > f2 > ess, right > cbe > ess]
equipment:
  a: {supplies: [{bus: left}], amps: 5}
  r: {supplies: [{bus: right}], amps: 45}
  e: {supplies: [{bus: ess}], amps: 10}
conditions: {flight: {sources: [g1, g2, g3, bat], held-closed: [k3]}}
"""


def test_what_opens_in_the_other_answer_is_said_where_it_only_loads_more() -> None:
    """In both the short blows f and f2, then cbe has 10 A and opens: e is lost. Only with k3 out
    the tie opens, which has 49.5 A of 27.6 A, and g2 has 45 A of 10 A.
    """
    net = network(OPENS_ELSEWHERE)
    normal = drop(net, "flight", [])
    rides, drops = (drop(net, "flight", [("aux", "shorted")], dip=dip) for dip in (False, True))
    [said] = [s for s in headline(net, rides, normal, drops) if "has opened too" in s]
    assert "g2 will be over rating" in said
    assert "right will have no battery left to take over" in said


OPENED_AT_ONCE = """
sources:
  g1: {volts: 28, amps: 100}
  g2: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amp-hours: 20}
buses: [left, right, aux]
devices:
  f: {kind: fuse, amps: 50}
  k1: {kind: contactor, closes-when: {closed: [k1], live: [left]}}
  cb: {kind: breaker, amps: 20}
  d: diode
feeders: [g1 > k1 > left, g2 > right, right > cb > left, left > f > aux, bat > d > left]
equipment:
  big: {supplies: [{bus: left}], amps: 30}
  small: {supplies: [{bus: left}], amps: 10}
  r: {supplies: [{bus: right}], amps: 5}
  x: {supplies: [{bus: aux}], amps: 1}
conditions: {flight: {sources: [g1, g2, bat], held-closed: [k1]}}
"""


def test_what_opened_before_the_crew_acted_is_said_of_the_other_answer_too() -> None:
    """The crew turns the 30 A item off. Riding through, nothing was overloaded; with k1 out cb had
    40 A of 27.6 A at once: once it has opened, left is on battery.
    """
    net = network(OPENED_AT_ONCE)
    normal = drop(net, "flight", [])
    then = Then(shed=["big"])
    rides, drops = (
        drop(net, "flight", [("aux", "shorted")], then=then, dip=dip) for dip in (False, True)
    )
    [said] = [s for s in headline(net, rides, normal, drops) if s.startswith("If contactors")]
    assert said == (
        "If contactors drop out while the fault lasts and what is overloaded then has opened, right"
        " will have no battery left to take over, bat will give more amps and be flat sooner and 1"
        " item is left on battery only."
    )
