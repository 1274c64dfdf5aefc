"""What a headline must say of a failure besides what is lost."""

from __future__ import annotations

from sitegen.answers.besides import Besides, besides
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
