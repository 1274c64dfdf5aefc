"""What is overloaded: what must open, what may, and what is lost if it does."""

from __future__ import annotations

import json

import pytest

from sitegen.answers.because import because
from sitegen.answers.drop import drop, losses, named_failure
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.failure_changes import single_failure_changes
from sitegen.answers.find import find_observation
from sitegen.answers.function_status import function_status
from sitegen.answers.loads.load_table import load_table
from sitegen.answers.named_failures import NamedEffect
from sitegen.answers.overload import overloaded, what_is_overloaded_opens
from sitegen.answers.protection.protection_audit import protection
from sitegen.answers.signatures import signature_table
from sitegen.answers.single_failures import SingleFailure, single_failures
from sitegen.answers.trace import trace
from sitegen.answers.troubleshoot import troubleshoot
from sitegen.catalogue.model import Catalogue, Then
from sitegen.solver.network import build
from sitegen.solver.outcome import after_the_crew, condition_states, solve
from sitegen.solver.scenarios import every_single
from sitegen.terminal.headline_text import headline, in_every_answer
from sitegen.terminal.load_text import load_text
from tests.nets import expand, network

TWO_SIDES = """
sources: {gen-1: {kind: generator, volts: 28, amps: 200}, gen-2: {kind: generator, volts: 28}}
buses: [left, right]
devices: {cb-1: {kind: breaker, amps: 50}, cb-tie: {kind: breaker, amps: 40}}
feeders: [gen-1 > cb-1 > left, left > cb-tie > right, gen-2 > right]
equipment:
  heater: {supplies: [{bus: right}], amps: 60}
  radio: {supplies: [{bus: left}], amps: 5}
"""


def test_a_failure_that_overloads_a_tie_is_never_one_that_loses_nothing() -> None:
    net = network(TWO_SIDES)
    loss, normal = drop(net, "flight", [("gen-2", "lost")]), drop(net, "flight", [])
    assert loss.overloaded == {"cb-1": "may", "cb-tie": "must"}
    assert (loss.lost, loss.opened) == ((), {})
    text = headline(net, loss, normal)
    assert not any("Nothing is lost" in sentence for sentence in text)
    assert any("must open" in sentence for sentence in text)
    assert any(s.startswith("If what is overloaded opens, you lose 1 item") for s in text)
    opened = drop(net, "flight", [("gen-2", "lost")], overload=True)
    assert (opened.lost, opened.opened) == (("heater",), {"cb-tie": "tripped"})


def test_a_count_of_losses_has_what_is_lost_if_the_overloaded_breaker_opens() -> None:
    loss = drop(network(TWO_SIDES), "flight", [("gen-2", "lost")])
    assert in_every_answer("none lost", loss) == "none lost; 1 lost if what is overloaded opens"
    relieved = drop(
        network(TWO_SIDES.replace("amps: 60", "amps: 6")), "flight", [("gen-2", "lost")]
    )
    assert in_every_answer("none lost", relieved) == "none lost"


def test_what_is_over_its_limit_with_nothing_failed_does_not_open() -> None:
    net = network(TWO_SIDES.replace("amps: 40", "amps: 10"))
    assert drop(net, "flight", []).overloaded == {}
    opened = drop(net, "flight", [("gen-2", "lost")], overload=True)
    assert "cb-tie" not in opened.opened


def test_a_breaker_reset_onto_the_same_overload_trips_again() -> None:
    net = network(TWO_SIDES)
    then = Then.model_validate({"reset": ["cb-tie"]})
    opened = drop(net, "flight", [("gen-2", "lost")], then, overload=True)
    assert opened.opened == {"cb-tie": "tripped"}
    relieved = Then.model_validate({"reset": ["cb-tie"], "shed": ["heater"]})
    assert drop(net, "flight", [("gen-2", "lost")], relieved, overload=True).opened == {}


def test_one_failure_is_overloaded_as_it_is_among_all() -> None:
    net = network(TWO_SIDES)
    outcome = solve(net, every_single(["flight"], net.faults))
    together = losses(what_is_overloaded_opens(outcome))
    words = overloaded(outcome)
    for k, fault in enumerate(net.faults):
        alone = drop(net, "flight", [fault])
        assert alone.overloaded == words[k]
        opened = drop(net, "flight", [fault], overload=True)
        assert (opened.lost, opened.opened) == (together[k].lost, together[k].opened)


def test_a_crew_that_does_nothing_changes_nothing() -> None:
    net = network(TWO_SIDES)
    at_once = solve(net, every_single(["flight"], net.faults))
    idle = after_the_crew(at_once, Then())
    assert overloaded(idle) == overloaded(at_once)
    assert [a.opened for a in losses(what_is_overloaded_opens(at_once, Then()))] == [
        a.opened for a in losses(what_is_overloaded_opens(at_once))
    ]


STANDBY = """
sources: {gen: 28, bat: {kind: battery, volts: 24}, bat-2: {kind: battery, volts: 24}}
buses: [main, ess, stby]
switches: {s: [normal, standby]}
devices:
  k: {kind: contactor, closes-when: {live: [gen]}}
  normal: {kind: relay, closes-when: {switches: {s: normal}}}
  standby: {kind: relay, closes-when: {switches: {s: standby}}}
  cb: {kind: breaker, amps: 10}
feeders: [gen > k > main, bat > main, main > normal > ess, bat-2 > stby, stby > cb > standby > ess]
equipment:
  com: {amps: 12, supplies: [{bus: ess}]}
  adi: {amps: 4, supplies: [{bus: ess}, {bus: stby}]}
  heat: {amps: 10, supplies: [{bus: main}]}
functions: {talk: {provided-by: [com]}}
"""


def test_what_the_crew_s_act_overloads_takes_what_is_lost_and_not_turned_off() -> None:
    """The radio's 12 A and half of the horizon's 4 A pass the breaker: 14 A are over 1.38 x 10 A.

    Nobody has turned the radio off, only the heater: with the breaker closed it would work.
    """
    net, gen = network(STANDBY), [("gen", "lost")]
    then = Then(switches={"s": "standby"}, shed=["heat"])
    loss, normal = drop(net, "flight", gen, then), drop(net, "flight", [])
    assert (loss.lost, loss.shed, loss.overloaded) == ((), ("heat",), {"cb": "must"})
    assert "If what is overloaded opens, you lose 1 item and 1 more function (talk)." in headline(
        net, loss, normal
    )
    opened = drop(net, "flight", gen, then, overload=True)
    assert (opened.lost, opened.shed, opened.reduced) == (("com",), ("heat",), ("adi",))
    assert "You lose 1 of 3 working items and 1 function." in headline(net, opened, normal)


DROPS_OUT = """
sources: {gen: {volts: 28, amps: 100}, bat: {kind: battery, volts: 24}}
buses: [main, ess, aux]
devices:
  kt: {kind: contactor, rides-through: false, closes-when: {closed: [kt], live: [main]}}
  cba: {kind: breaker, amps: 30}
  cbb: {kind: breaker, amps: 25}
feeders: [gen > main, main > kt > ess, bat > cbb > ess, main > cba > aux]
equipment:
  com: {amps: 28, supplies: [{bus: ess}]}
  rad: {amps: 8, supplies: [{bus: ess}]}
  fan: {amps: 10, supplies: [{bus: aux}]}
conditions: {flight: {sources: [gen, bat], held-closed: [kt]}}
"""


def test_what_contactors_that_drop_out_leave_overloaded_must_open() -> None:
    """The short on aux drops kt out, and it stays so: cbb carries 28 + 8 A, over 1.38 x 25 A.

    The same amps as with kt open alone. If contactors ride through, cbb carries nothing.
    """
    net, short = network(DROPS_OUT), [("aux", "shorted")]
    normal, loss = drop(net, "flight", []), drop(net, "flight", short)
    assert drop(net, "flight", [("kt", "open")]).overloaded == loss.overloaded == {"cbb": "must"}
    assert loss.lost == ("fan",)
    said = headline(net, loss, normal)
    assert "Overloaded and must open: cbb." in said
    assert "If what is overloaded opens, you lose 3 items." in said
    opened = drop(net, "flight", short, overload=True)
    assert (opened.lost, opened.opened) == (
        ("com", "fan", "rad"),
        {"cba": "tripped", "cbb": "tripped"},
    )
    assert in_every_answer("1 lost", loss) == "1 lost; 3 lost if what is overloaded opens"
    events = because(net, "flight", short, overload=True)
    assert [e.causes for e in events if e.id == "cbb"] == [()]
    riding = network(DROPS_OUT.replace("through: false", "through: true"))
    assert drop(riding, "flight", short).overloaded == {}


def test_lists_have_what_is_lost_if_that_opens_which_the_dip_leaves_overloaded() -> None:
    """The same in every list: com goes with the short only if cbb opens, and rad with it."""
    raw = expand(DROPS_OUT)
    raw["functions"] = [{"id": "talk", "name": "Talk", "provided-by": ["com"]}]
    raw["failures"] = [{"id": "short", "name": "Short", "failed": ["aux:shorted"]}]
    raw["indications"] = [
        {"id": "ess-volts", "name": "Ess volts", "kind": "voltmeter", "at": "ess"},
        {"id": "aux-volts", "name": "Aux volts", "kind": "voltmeter", "at": "aux"},
    ]
    net = build(Catalogue.model_validate(raw), "all")
    by = SingleFailure(("aux", "shorted"), ("flight",), "overload")
    traced = trace(net, "com")
    assert [(c.by, c.also_lost) for c in traced.causes if c.by.fault == by.fault] == [
        (by, ("fan", "rad"))
    ]
    assert NamedEffect("short", "lost", ("flight",), "overload") in traced.named
    status = function_status(net, "talk")
    assert by in status.takes
    assert NamedEffect("short", "lost", ("flight",), "overload") in status.named
    table = signature_table(single_failures(net, condition_states(net)), "flight")
    [row] = [s for s in table.shown if by.fault in s.faults["overload"]]
    assert row.changed == ("ess-volts", "aux-volts")
    seen = [find_observation(net, "ess-volts", "0"), find_observation(net, "aux-volts", "0")]
    found = troubleshoot(net, "flight", seen)
    answers = dict(zip(found.candidates, found.answers, strict=True))
    assert answers[(by.fault,)] == "overload"
    # With cbb of 40 A the 36 A do not open it.
    larger = [{**d, "amps": 40} if d["id"] == "cbb" else d for d in raw["devices"]]
    was = build(Catalogue.model_validate(raw | {"devices": larger}), "all")
    _, changed = single_failure_changes(was, net)
    assert {(c.only_other, c.answer) for c in changed if c.fault == by.fault} == {
        (("com", "rad"), "overload")
    }


def test_the_answer_for_a_program_names_what_is_overloaded() -> None:
    net = network(TWO_SIDES)
    found = drop(net, "flight", [("gen-2", "lost")]).as_json(net)
    assert json.loads(json.dumps(found))["overloaded"] == {"cb-1": "may", "cb-tie": "must"}


WORST = """
sources:
  gen-1: {kind: generator, volts: 28.5, amps: 100}
  gen-2: {kind: generator, volts: 28, amps: 100}
buses: [left, right, cabin]
devices: {k-cabin: {kind: contactor, closes-when: {live: [left, right]}}}
feeders: [gen-1 > left, gen-2 > right, right > k-cabin > cabin]
equipment:
  galley: {supplies: [{bus: cabin}], amps: 50}
  pump: {supplies: [{bus: right}], amps: 30}
  radar:
    supplies:
      - {bus: left, breaker: {id: cb-radar-l, name: RADAR L, amps: 40}}
      - {bus: right, breaker: {id: cb-radar-r, name: RADAR R, amps: 40}}
    amps: 25
"""


def test_the_worst_load_may_come_from_a_breaker_that_feeds_only_equipment() -> None:
    """With its left breaker open the radar draws from generator 2: 80 A and its own 25 A.

    With generator 1 lost it does too, but then the cabin bus is dead.
    """
    table = load_table(network(WORST), "flight")
    worst = table.worst_sources["gen-2"]
    assert (worst.amps, worst.failed) == (105, (("cb-radar-l", "open"),))


def test_a_source_over_its_rating_with_nothing_failed_is_found() -> None:
    found = protection(network(WORST.replace("amps: 50", "amps: 147")), ())
    assert [(c, o.amps, o.rating) for c, _, o in found.ratings] == [("gen-2", 177, 100)]
    assert not protection(network(WORST), ()).ratings


def test_a_source_over_its_rating_has_a_short_time() -> None:
    text = TWO_SIDES.replace("amps: 200}", "amps: 50, amps-5min: 60, amps-5s: 100}")

    def allowed(text: str) -> dict[str, str]:
        net = network(text)
        return {
            s.source: s.allowed_for for s in load_table(net, "flight", [("gen-2", "lost")]).sources
        }

    assert allowed(text)["gen-1"] == "5 seconds"
    assert allowed(text.replace("amps: 60}", "amps: 52}"))["gen-1"] == "5 minutes"
    assert allowed(text.replace("amps: 60}", "amps: 10}"))["gen-1"] == ""
    assert allowed(text.replace("amps: 60}", "amps: 300}"))["gen-1"] == "no time"


def test_the_loads_of_a_device_say_whether_it_opens() -> None:
    net = network(TWO_SIDES)
    table = load_table(net, "flight", [("gen-2", "lost")])
    assert table.opens == {"cb-1": "may", "cb-tie": "must"}
    lines = "\n".join(load_text(net, table, ""))
    assert "60.0 A of 40 A, 150 %, opens" in lines
    assert "65.0 A of 50 A, 130 %, may open" in lines


def test_what_the_worst_failure_overloads_opens_where_it_must_and_may_where_it_may() -> None:
    net = network("""
    sources: {gen: 28, bat: {kind: battery, volts: 24}}
    buses: [main, ess]
    devices: {cb: {kind: breaker, amps: 10}, cb2: {kind: breaker, amps: 30}}
    feeders: [gen > main, main > cb > ess, bat > cb2 > ess]
    equipment:
      radio: {supplies: [{bus: ess}], amps: 9}
      fan: {supplies: [{bus: main}], amps: 5}
      heater: {supplies: [{bus: main}], amps: 25}
    """)
    # With the generator lost 30 A flow back through the small breaker, and 39 A from the battery.
    table = load_table(net, "flight")
    assert table.opens == {}
    assert table.opens_at_worst == {"cb": "must", "cb2": "may"}
    lines = {line.split(":")[0].strip(): line for line in load_text(net, table, "")}
    assert lines["cb"].endswith("gen lost, opens")
    assert lines["cb2"].endswith("gen lost, may open")


SAGGING = """
sources: {bat: {kind: battery, volts: 24, amp-hours: 20, usable: 1, volts-range: [20, 25]}}
buses: [main]
feeders: [bat > main]
equipment: {radio: {supplies: [{bus: main}], amps: 10, load: %s}}
aircraft: {load-volts: 25}
"""


def test_a_battery_whose_volts_have_a_range_lasts_from_the_shorter_time_on() -> None:
    """20 Ah are 1,200 A-min: 10 A at 25 V, and at 20 V 12.5 A of constant power, or 8 A."""

    def minutes(load: str) -> tuple[object, object]:
        net = network(SAGGING % load)
        [endurance] = battery_endurances(net, "flight", ())
        return endurance.total, endurance.up_to

    assert minutes("constant-power") == (96, 120)
    assert minutes("resistive") == (120, 150)
    assert minutes("constant-current") == (120, None)


def test_a_headline_says_how_far_a_source_is_over_its_rating_and_for_how_long_it_may_be() -> None:
    text = TWO_SIDES.replace("amps: 200}", "amps: 50, amps-5min: 70}").replace(
        "{kind: breaker", "{kind: fuse-link"
    )

    def headline_of(text: str, *failed: str) -> tuple[str, ...]:
        net = network(text)
        loss = drop(net, "flight", [(source, "lost") for source in failed])
        return headline(net, loss, drop(net, "flight", []))

    assert "Gives 130 % of rating, allowed for 5 minutes: gen-1." in headline_of(text, "gen-2")
    without = text.replace(", amps-5min: 70", "")
    assert "Gives 130 % of rating: gen-1." in headline_of(without, "gen-2")
    small = text.replace("amps-5min: 70", "amps-5s: 60")
    assert "Gives 130 % of rating, over its short-time ratings: gen-1." in headline_of(
        small, "gen-2"
    )
    unknown = text.replace(", amps: 5}", "}")
    assert any(s == "Gives at least 120 % of rating: gen-1." for s in headline_of(unknown, "gen-2"))


IN_RESERVE = """
sources:
  gen-1: {kind: generator, volts: %s, amps: 60, current: %s}
  gen-2: {kind: generator, volts: %s, amps: 60, current: %s}
  gen-3: {kind: generator, volts: 26.5, amps: 10}
  tru: {kind: converter, volts: 28, current: dc, amps: 200, fed-from: [{bus: side}]}
  bat: {kind: battery, volts: %s, amp-hours: 20}
buses: {side: {current: %s}, main: {}}
devices: {fl-bat: fuse-link, k-3: breaker, d-1: diode, d-2: diode}
feeders: [%s, gen-3 > k-3 > main, bat > fl-bat > main]
equipment: {heater: {supplies: [{bus: main}], amps: %s}}
"""
BEHIND_DIODES = "gen-1 > d-1 > main, gen-2 > d-2 > main"
BY_CONVERTER = "gen-1 > side, gen-2 > side, tru > main"


IN_RESERVE_HELPING = [
    (IN_RESERVE % (28, "dc", 28, "dc", 24, "dc", BEHIND_DIODES, 90), "gen-3 and bat"),
    (IN_RESERVE % (115, "ac", 115, "ac", 24, "ac", BY_CONVERTER, 400), "gen-3 and bat"),
    # A battery that shares the load is no reserve.
    (IN_RESERVE % (28, "dc", 28, "dc", 27.5, "dc", BEHIND_DIODES, 150), "gen-3"),
]


@pytest.mark.parametrize(("text", "helping"), IN_RESERVE_HELPING)
def test_what_an_overloaded_source_cannot_give_those_beside_it_may(text: str, helping: str) -> None:
    """Which sources carry goes by their volts, however much it is (the half-volt rule)."""

    def helps(*failed: tuple[str, str]) -> list[str]:
        net = network(text)
        loss = drop(net, "flight", failed)
        said = headline(net, loss, drop(net, "flight", []))
        assert any(s.startswith("Gives ") and s.endswith(": gen-1.") for s in said), said
        return [s for s in said if "cannot give" in s]

    assert helps(("gen-2", "lost")) == [
        f"What it cannot give, {helping} may: that is in no figure."
    ]
    if helping != "gen-3":
        assert helps(("gen-2", "lost"), ("fl-bat", "open"), ("k-3", "open")) == []


def test_a_source_that_is_as_far_over_its_rating_with_nothing_failed_is_not_in_the_headline() -> (
    None
):
    text = (
        TWO_SIDES.replace("amps: 200}", "amps: 4}") + "  lamp: {supplies: [{bus: right}], amps: 1}"
    )
    net = network(text)
    assert drop(net, "flight", []).over_rating == {}
    # Over it with nothing failed, and no more so without the lamp's own bus at all.
    alone = network(text.replace("left > cb-tie > right, ", ""))
    assert drop(alone, "flight", [("gen-2", "lost")]).over_rating == {}
    assert drop(net, "flight", [("gen-2", "lost")]).over_rating["gen-1"].percent > 1000


RING = """
sources: {gen-1: {kind: generator, volts: 28}, gen-2: {kind: generator, volts: 28}}
buses: [left, right]
devices:
  fl-1: {kind: fuse-link, amps: 60}
  fl-2: {kind: fuse-link, amps: 60}
  fl-3: {kind: fuse-link, amps: 63}
feeders: [gen-1 > left, left > fl-1 > right, left > fl-2 > fl-3 > right, gen-2 > right]
equipment: {heater: {supplies: [{bus: right}], amps: 65}}
"""


def test_a_headline_names_a_link_over_its_rating_though_a_link_has_no_limit_at_which_it_opens() -> (
    None
):
    net = network(RING)

    def headline_of(*failed: tuple[str, str]) -> tuple[str, ...]:
        return headline(net, drop(net, "flight", failed), drop(net, "flight", []))

    both_ways = headline_of(("gen-2", "lost"))
    assert "Carries up to 108 % of rating: fl-1 and fl-2." in both_ways
    assert "Carries up to 103 % of rating: fl-3." in both_ways
    assert not any("Nothing is lost" in sentence for sentence in both_ways)
    one_way = headline_of(("gen-2", "lost"), ("fl-2", "open"))
    assert "Carries 108 % of rating: fl-1." in one_way
    assert not any("rating" in sentence for sentence in headline_of(("gen-1", "lost")))


def test_a_breaker_that_may_open_is_not_said_to_carry_more_than_its_rating_besides() -> None:
    net = network(TWO_SIDES)
    said = headline(net, drop(net, "flight", [("gen-2", "lost")]), drop(net, "flight", []))
    assert not any("Carries" in sentence for sentence in said)


def test_drop_as_json_has_what_is_over_its_rating() -> None:
    text = TWO_SIDES.replace("amps: 200}", "amps: 50, amps-5min: 70}")
    net = network(text)
    answer = drop(net, "flight", [("gen-2", "lost")]).as_json(net)
    assert answer["over_rating"] == {
        "gen-1": {"percent": 130, "bound": None, "allowed_for": "5 minutes"},
        "cb-1": {"percent": 130, "bound": None, "allowed_for": None},
        "cb-tie": {"percent": 150, "bound": None, "allowed_for": None},
    }
    # The tie opens by overload, and the generator is relieved.
    opened = drop(net, "flight", [("gen-2", "lost")], overload=True).as_json(net)
    assert opened["over_rating"] == {}


def test_a_breaker_that_opens_and_overloads_the_one_beside_it_is_not_harmless() -> None:
    net = network("""
    sources: {gen: 28}
    buses: [left, right]
    devices: {cb-1: {kind: breaker, amps: 40}, cb-2: {kind: breaker, amps: 40}}
    feeders: [gen > left, left > cb-1 > right, left > cb-2 > right]
    equipment: {heater: {supplies: [{bus: right}], amps: 60}}
    indications: {volts: {kind: voltmeter, at: right}}
    """)
    assert drop(net, "flight", [("cb-1", "open")]).overloaded == {"cb-2": "must"}
    table = signature_table(single_failures(net, condition_states(net)), "flight")
    assert {("cb-1", "open"), ("cb-2", "open")} <= {*table.unseen["expected"]}
    # Then the other opens too, and the voltmeter shows it.
    [shown] = table.shown
    assert set(shown.faults["overload"]) == {("cb-1", "open"), ("cb-2", "open")}
    assert {*table.harmless} == {("cb-1", "stuck-closed"), ("cb-2", "stuck-closed")}


def test_loads_begin_with_whether_any_source_or_feeder_is_over_its_rating_in_any_condition() -> (
    None
):
    def line(text: str) -> str:
        net = network(text)
        return list(load_text(net, load_table(net, "both"), ""))[1]

    both = "conditions: {both: {sources: [gen-1, gen-2]}, one: {sources: [gen-2]}}"
    sound = "gen-2: {kind: generator, volts: 28, amps: 70}}"
    with_tie = TWO_SIDES.replace("gen-2: {kind: generator, volts: 28}}", sound) + both
    # Shared by rating, gen-1 gives 48 A: 5 A are for the radio, the rest crosses the tie.
    assert line(with_tie) == "Over its rating with nothing failed: cb-tie, 108 % in both."
    text = with_tie.replace("amps: 40", "amps: 80")
    said = (
        "With nothing failed, and every source at its own volts, no source or feeder is over its"
        " rating in any condition."
    )
    items = (
        " Breakers and fuses of items are judged under Protection (`inspect`), with nothing failed."
    )
    assert line(text) == said + items
    assert line(text.replace("amps: 70", "amps: 50")) == (
        "Over its rating with nothing failed: cb-1, 104 % in both; gen-2, 130 % in one."
    )
    assert line(text.replace(", amps: 70", "")) == (
        f"{said} No rating is given: gen-2. A load shared with it counts as divided equally; meters"
        f" may show otherwise.{items}"
    )
    unknown = line(text.replace("}], amps: 5}", "}]}"))
    assert unknown == f"{said.removesuffix('.')}, as far as amps are known.{items}"


def test_a_source_that_gives_at_least_so_much_is_allowed_no_time_for_it() -> None:
    net = network(
        TWO_SIDES.replace("amps: 200}", "amps: 50, amps-5min: 80}").replace(
            "  radio: {supplies: [{bus: left}], amps: 5}", "  radio: {supplies: [{bus: left}]}"
        )
    )
    loss = drop(net, "flight", [("gen-2", "lost")])
    assert loss.over_rating["gen-1"].allowed_for == ""
    text = headline(net, loss, drop(net, "flight", []))
    assert "Gives at least 120 % of rating: gen-1." in text
    [source] = load_table(net, "flight", [("gen-2", "lost")]).sources
    assert source.allowed_for == ""
    # What is known is more than it may give at all.
    small = network(
        TWO_SIDES.replace("amps: 200}", "amps: 50, amps-5min: 55}").replace(
            "  radio: {supplies: [{bus: left}], amps: 5}", "  radio: {supplies: [{bus: left}]}"
        )
    )
    assert drop(small, "flight", [("gen-2", "lost")]).over_rating["gen-1"].allowed_for == "no time"


def test_a_source_over_its_rating_has_nothing_to_spare_but_says_by_how_much() -> None:
    net = """
    sources: {gen: {volts: 28, amps: 50, amps-5min: 70}}
    buses: [main]
    feeders: [gen > main]
    equipment: {heater: {amps: 60, supplies: [{bus: main}]}%s}
    """
    for unknown, line in (
        ("", "  gen: 60.0 A of 50 A, 120 %, 10.0 A over its rating, allowed for 5 minutes"),
        (
            ", radio: {supplies: [{bus: main}]}",
            "  gen: at least 60.0 A of 50 A, 120 %, at least 10.0 A over its rating",
        ),
    ):
        built = network(net % unknown)
        assert line in list(load_text(built, load_table(built, "flight"), ""))


WORST_OVER = """
sources: {gen-1: {volts: 28, amps: 100}, gen-2: {volts: 28, amps: 100, amps-5min: 110}}
buses: [left, right, end]
devices:
  cb: {kind: breaker, amps: 40}
  way: {kind: breaker, amps: 30}
  d: {kind: diode, amps: 30}
  k: {kind: contactor, amps: 100, closes-when: {dead: [left]}}
feeders: [gen-1 > left, gen-2 > right, left > cb > end, right > k > d > way > end]
equipment: {heater: {amps: 35, supplies: [{bus: end}]}, fan: {amps: 70, supplies: [{bus: right}]}}
"""


EITHER_WAY = """
sources: {g1: {volts: 28, amps: 60}}
buses: [main, ess, aux]
devices:
  cb1: {kind: breaker, amps: 20}
  cb2: {kind: breaker, amps: 20}
  cba: {kind: breaker, amps: 30}
feeders: [g1 > main, main > cb1 > ess, main > cb2 > ess, main > cba > aux]
equipment:
  a: {supplies: [{bus: ess}], amps: 30}
  h: {supplies: [{bus: ess}, {bus: aux}], amps: 4}
"""


def test_what_may_carry_more_after_one_failure_does_not_hide_what_must_open_after_another() -> None:
    """With aux dead each breaker has up to 34 A, and perhaps none; with the other open, 32 A."""
    net = network(EITHER_WAY)
    table = load_table(net, "flight")
    assert {d: case.failed for d, case in table.must_open_after.items()} == {
        "cb1": (("cb2", "open"),),
        "cb2": (("cb1", "open"),),
    }
    lines = list(load_text(net, table, ""))
    assert "  cb1 open: cb2 32.0 A, 160 %, opens" in lines
    row = next(line for line in lines if line.startswith("  cb2: "))
    assert row.endswith("at worst up to 34.0 A, 170 %: aux dead; 32.0 A, 160 %: cb1 open, opens")


def test_what_opens_with_nothing_failed_is_not_said_to_open_at_worst() -> None:
    text = WORST_OVER.replace("cb: {kind: breaker, amps: 40}", "cb: {kind: breaker, amps: 20}")
    text = text.replace("heater: {amps: 35", "heater: {amps: 28")
    table = load_table(network(text), "flight")
    assert table.opens == {"cb": "must"}
    assert "cb" not in table.opens_at_worst
    # The other breaker carries nothing now.
    less = load_table(network(WORST_OVER.replace("amps: 35", "amps: 42")), "flight")
    assert (less.opens, less.opens_at_worst) == ({}, {"way": "must"})


def test_a_worst_case_of_several_faults_has_the_name_of_their_failure() -> None:
    catalogue = expand(WORST_OVER.replace("d: {kind: diode, amps: 30}", "d: {kind: diode}"))
    catalogue["sources"].append(
        {"id": "gen-3", "name": "gen-3", "kind": "generator", "volts": 28, "amps": 60}
    )
    catalogue["conditions"][0]["sources"].append("gen-3")
    catalogue["feeders"].append({"from": "gen-3", "to": "right"})
    both = {"id": "both", "name": "Both first generators", "failed": ["gen-1:shorted", "gen-2"]}
    net = build(Catalogue.model_validate({**catalogue, "failures": [both]}), "all")
    lines = list(load_text(net, load_table(net, "flight"), ""))
    assert any(line.startswith("  Both first generators: gen-3 105.0 A, 175 %") for line in lines)
    assert named_failure(net, [("gen-1", "lost")]) is None
    assert (
        named_failure(net, [("gen-2", "lost"), ("gen-1", "shorted")]) == net.catalogue.failures[0]
    )


def test_loads_list_what_a_failure_brings_over_its_rating_though_it_carries_nothing_now() -> None:
    net = network(WORST_OVER)
    table = load_table(net, "flight")
    [group] = table.over_at_worst(net)
    assert {component for component, *_ in group} == {"way", "d", "gen-2"}
    assert {worst.failed for *_, worst in group} == {(("gen-1", "shorted"),)}
    # The diode is listed since it has a rating and would be over it; the contactor is not over.
    assert list(table.listed_devices(net)) == ["cb", "way", "d"]
    lines = "\n".join(load_text(net, table, ""))
    first = lines.partition("\nSources")[0]
    assert "After a failure, over its rating" in first
    assert (
        "d 35.0 A, 117 %; way 35.0 A, 117 %, may open; gen-2 105.0 A, 105 %, allowed for" in first
    )
    assert "  way: 0.0 A of 30 A, 0 %; at worst 35.0 A, 117 %" in lines
    sound = network(WORST_OVER.replace("amps: 30", "amps: 35").replace("amps: 70", "amps: 60"))
    table = load_table(sound, "flight")
    assert table.over_at_worst(sound) == []
    assert "After a failure" not in "\n".join(load_text(sound, table, ""))


TWO_POLES = """
sources: {gen: {volts: 28, amps: 300}, gen-2: {volts: 28.9, amps: 300}}
buses: [main, one, two, three]
devices:
  k: {kind: contactor, amps: 50, opens-at: {may: 1.2, must: 1.5}, closes-when: {live: [gen]}}
  cb: {kind: breaker, amps: 100}
  k-on: {kind: relay, closes-when: {dead: [three]}}
feeders: [gen > main, main > k > one, main > cb > one, main > k > two, gen-2 > three]
equipment:
  radio: {supplies: [{bus: one}], amps: 30}
  heater: {supplies: [{bus: one, through: [k-on]}], amps: 35}
  fan: {supplies: [{bus: two}]}
"""


def test_each_pole_is_judged_by_itself() -> None:
    """One pole may carry 65 A, over 1.2 of 50; what the other carries is not known."""
    assert drop(network(TWO_POLES), "flight", [("three", "dead")]).overloaded == {"k": "may"}
    less = network(TWO_POLES.replace("amps: 35", "amps: 29"))
    assert drop(less, "flight", [("three", "dead")]).overloaded == {}
