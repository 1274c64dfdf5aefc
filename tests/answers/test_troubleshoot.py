"""Backwards: from what is seen to what has failed."""

from __future__ import annotations

import random
import re
from functools import cache
from itertools import combinations

import pytest

from sitegen.answers.cut_sets import own_breakers
from sitegen.answers.device_ends import ALWAYS_LIVE
from sitegen.answers.drop import Loss, drop, faults_of, losses
from sitegen.answers.explanations import Explanation, meaning_of
from sitegen.answers.find import find_observation
from sitegen.answers.next_checks import HEALTHY
from sitegen.answers.observations import Observation, holds
from sitegen.answers.readings import (
    BLANK,
    LIT,
    LOAD,
    NO_LOAD,
    NOT_KNOWN,
    UNLIT,
    Reading,
    as_seen,
    reads_the_same,
)
from sitegen.answers.signatures import signature_table
from sitegen.answers.single_failures import single_failures
from sitegen.answers.troubleshoot import Diagnosis, troubleshoot
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import read
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of
from sitegen.terminal.diagnosis_json import diagnosis_json
from sitegen.terminal.diagnosis_text import check_text, diagnosis_text
from sitegen.terminal.drop_text import loss_text
from tests.nets import NOT_SYNCHRONISED, expand, network
from tests.samples import stratified

TWO_LINKS = """
sources:
  left-gen: 28
  right-gen: 28
  external: {kind: external-power, volts: 28}
  battery: {kind: battery, volts: 24}
buses: [left, centre, right]
devices: {left-link: fuse-link, right-link: fuse-link}
feeders:
  - left-gen > left
  - right-gen > right
  - external > right
  - battery > centre
  - left > left-link > centre
  - centre > right-link > right
equipment: {lamp: centre}
indications:
  left-volts: {kind: voltmeter, at: left}
  right-volts: {kind: voltmeter, at: right}
conditions:
  left-generator: {sources: [left-gen, battery]}
  battery-only: {sources: [battery]}
  external: {sources: [left-gen, external, battery]}
"""


def links_named(condition: str, left: str, right: str) -> set[tuple[str, ...]]:
    """The explanations made of links alone, for two readings."""
    net = network(TWO_LINKS)
    seen = [find_observation(net, *one) for one in (("left-volts", left), ("right-volts", right))]
    found = troubleshoot(net, condition, seen).candidates
    links = ("left-link", "right-link")
    return {tuple(c for c, _ in s) for s in found if all(c in links for c, _ in s)}


ON_LEFT = TWO_LINKS.replace("lamp: centre", "lamp: {supplies: [{bus: left, breaker: cb}]}").replace(
    "devices: {", "devices: {cb: breaker, "
)
LINK_AND_LAMP = [("left-volts", "28"), ("right-volts", "0"), ("lamp", "dead")]


def test_single_failures_that_explain_all_but_one_observation_are_beside_the_pairs() -> None:
    """A link is open, and a lamp on a bus with power is dead: by its breaker, or its own failure.

    What leaves the lamp unexplained are the 8 that explain the rest, as many pairs have its breaker
    besides; the breaker alone leaves the volts. 8 + 8 + 1 are compared.
    """
    net = network(ON_LEFT)
    seen = [find_observation(net, *one) for one in LINK_AND_LAMP]
    found = troubleshoot(net, "left-generator", seen)
    rest = troubleshoot(net, "left-generator", seen[:2], order=1)
    assert len(rest.candidates) == 8
    near = {o: [n.failed for n in found.near_misses if n.against == (o,)] for o in seen}
    assert near == {seen[0]: [], seen[1]: [(("cb", "open"),)], seen[2]: [*rest.candidates]}
    assert [(g.size, g.against) for g in found.groups] == [
        (2, ()),
        (1, (seen[2],)),
        (1, (seen[1],)),
        (3, ()),
    ]
    assert [len(g.numbers) for g in found.groups[:3]] == [8, 8, 1]
    assert len(found.likely) == 17
    said = [*diagnosis_text(net, found)]
    at = said.index("One failure: 8 explain all but 'lamp: dead'")
    assert said[at + 1] == "  right-gen shorted"
    at = said.index("One failure, this explains all but 'right-volts reads 0':")
    assert said[at + 1] == "  cb open"
    [check] = [c for c in found.next_checks if c.subject == "cb"]
    left = {answer: {*numbers} for answer, numbers in check.answers}
    assert left["closed"] == {*found.groups[1].numbers}
    assert "closed, 8 of these 17 stay" in "\n".join(said)
    # Alone it is dead by its breaker, a single failure.
    assert troubleshoot(net, "left-generator", seen[2:]).near_misses == ()


def test_what_explains_all_but_one_observation_is_before_sets_of_three() -> None:
    """With what it leaves unexplained it is two failures; the next check is about these alone."""
    net = demo_block(2)
    seen = [Observation("com-1", "dead"), Observation("battery-off", LIT)]
    found = troubleshoot(net, "cruise", seen)
    groups = [(g.size, [o.subject for o in g.against]) for g in found.groups]
    assert groups == [(1, ["com-1"]), (3, [])]
    alone = troubleshoot(net, "cruise", seen[1:], order=1).candidates
    assert {n.failed for n in found.near_misses} == {*alone}
    assert [*found.likely] == [*found.groups[0].numbers]
    compared = {n for c in found.next_checks for _, left in c.answers for n in left}
    assert compared == {*found.likely}
    said = "\n".join(diagnosis_text(net, found))
    explain = "7 single failures that explain all but 'VHF COM 1: dead'"
    assert len(alone) == 7
    assert f"  Compared: {explain}." in said
    assert diagnosis_json(net, found)["near_misses"][0]["against"] == [
        {"of": "com-1", "seen": "dead"}
    ]


@pytest.mark.parametrize("requires", ["", ", requires: [lamp]"])
def test_what_requires_an_item_that_may_itself_have_failed_is_not_tried(requires: str) -> None:
    """The fan on the lamp's breaker is dead if that is open; if the lamp has failed by itself, it
    works unless it requires the lamp.
    """
    fan = f"\n  fan: {{supplies: [{{bus: left, breaker: cb}}]{requires}}}"
    net = network(
        ON_LEFT.replace("equipment: {lamp:", "equipment:\n  lamp:").replace(
            "breaker: cb}]}}", "breaker: cb}]}" + fan
        )
    )
    seen = [find_observation(net, *one) for one in LINK_AND_LAMP]
    checks = troubleshoot(net, "left-generator", seen).next_checks
    assert [c.subject for c in checks if c.effort == "try it"] == ([] if requires else ["fan"])


# Common practice, no source: how two voltmeters show which link is open.
@pytest.mark.parametrize(
    ("condition", "left", "right", "link"),
    [
        ("left-generator", "28", "24", "left-link"),
        ("left-generator", "28", "0", "right-link"),
        ("battery-only", "24", "0", "right-link"),
        ("battery-only", "0", "24", "left-link"),
    ],
)
def test_two_voltmeters_name_the_open_link(
    condition: str, left: str, right: str, link: str
) -> None:
    assert links_named(condition, left, right) == {(link,)}


def test_external_power_leaves_both_links_undecided_and_taking_it_off_decides() -> None:
    assert links_named("external", "28", "28") == {("left-link",), ("right-link",)}
    net = network(TWO_LINKS)
    seen = [find_observation(net, meter, "28") for meter in ("left-volts", "right-volts")]
    diagnosis = troubleshoot(net, "external", seen)
    assert diagnosis.nothing_failed_fits
    reading_right = ("right-volts", "external")
    off = [c for c in diagnosis.next_checks if (c.subject, c.source_off) == reading_right]
    # With external power off, the right meter reads 28, 24 or 0 by the links.
    left = diagnosis.candidates.index((("left-link", "open"),))
    right = diagnosis.candidates.index((("right-link", "open"),))
    answers = {k: str(shown) for shown, members in off[0].answers for k in members}
    assert answers[left] == "24 V"
    assert answers[right] == "0 V"
    # No check leaves fewer, and none with external power on distinguishes the links.
    assert off[0].leaves == min(c.leaves for c in diagnosis.next_checks)
    for check in diagnosis.next_checks:
        if check.source_off is None and check.effort != "open a panel":
            assert not any(
                {left, right} & {*m} and not {left, right} <= {*m} for _, m in check.answers
            )


def test_what_the_failure_has_blown_is_still_open_when_a_source_is_taken_off_line() -> None:
    """A shorted ground unit has blown both links: then the left bus has no way to the battery."""
    text = TWO_LINKS.replace(
        "sources: [left-gen, external, battery]", "sources: [external, battery]"
    )
    net = network(text.replace("left > left-link > centre", "left > left-link > right"))
    shorted = Explanation((("external", "shorted"),))
    airframes = {0: (net, condition_states(net))}
    [at_once] = meaning_of(airframes, "external", [shorted])
    assert at_once.opened == {"right-link": "blown"}
    [then] = meaning_of(airframes, "external", [shorted], source_off="external")
    assert then.opened == {"right-link": "blown"}
    assert not then.nodes["left"].live
    [healthy] = meaning_of(airframes, "external", [Explanation(())], source_off="external")
    assert healthy.nodes["left"].live


def test_a_ground_unit_off_line_mends_no_link_that_its_short_has_blown() -> None:
    demo = demo_block(1)
    found = troubleshoot(demo, "on-external-power", [Observation("survey-radio", "dead")])
    shorted = found.candidates.index((("external-power", "shorted"),))
    off = [c for c in found.next_checks if c.source_off == "external-power"]
    reading = [
        (c.subject, str(shown))
        for c in off
        for shown, left in c.answers
        if shorted in left and c.subject in ("forward-volts", "mid-volts", "aft-volts")
    ]
    assert reading
    assert all(shown == "0 V" for _, shown in reading), reading


def demo_block(number: int) -> Network:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    return build(catalogue, f"block-{number}")


def test_a_breaker_that_only_one_of_the_failures_trips_is_looked_at() -> None:
    net = demo_block(3)
    seen = [find_observation(net, lamp, "lit") for lamp in ("standby-on", "low-volts")]
    found = troubleshoot(net, "cruise", seen)
    assert found.candidates[:2] == ((("essential", "dead"),), (("essential", "shorted"),))
    first, *others = found.next_checks
    assert (first.effort, first.answers) == ("breaker panel", (("in", (0,)), ("popped", (1,))))
    assert check_text(net, first) == "Breaker ESS FWD, Pedestal panel A1: in or popped?"
    # Nothing says that one is on the ground, where what is no breaker could be reached.
    assert {c.effort for c in others} == {"on the ground"}


def test_a_link_that_only_one_of_the_failures_blows_is_looked_at_on_the_ground() -> None:
    net = demo_block(2)
    lamps = [find_observation(net, lamp, "lit") for lamp in ("battery-off", "utility-off")]
    seen = [*lamps, find_observation(net, "battery-volts", "0")]
    found = troubleshoot(net, "cruise", seen)
    first = found.next_checks[0]
    place = "Battery fuse link (Battery bay fuse block A1)"
    assert check_text(net, first) == f"On the ground, power off, open the panel: is {place} open?"
    named = {str(answer): found.candidates[number] for answer, (number,) in first.answers}
    assert named == {
        "closed": (("hot-battery", "shorted"),),
        "open": (("battery", "shorted"),),
    }
    there = troubleshoot(net, "on-external-power", seen)
    words = {
        check_text(net, c).split(":")[0]
        for c in there.next_checks
        if " open?" in check_text(net, c)
    }
    assert words <= {"Power off, open the panel"}


def test_nobody_is_asked_to_try_a_coil_a_control_unit_or_what_can_hurt() -> None:
    """They would distinguish most here."""
    net = demo_block(1)
    found = troubleshoot(net, "on-external-power", [Observation("com-1", "dead")], order=1)
    tried = {c.subject for c in found.next_checks if c.effort == "try it"}
    assert tried
    assert not tried & net.hazards.keys()
    assert not {item for item in tried if net.equipment[item].ata.startswith("24")}
    assert {"fire-bottle-left", "generator-control-1"} <= net.equipment.keys()


CHAPTERS = """
sources: {gen: 28, external: {kind: external-power, volts: 28}}
buses: [main, out]
feeders: [gen > main, external > main, main > out]
equipment:
  lamp: out
  radio: out
%s
conditions: {flight: {sources: [gen]}, ground: {sources: [external]}}
"""


def test_nobody_is_asked_to_work_controls_gear_doors_or_engines_in_flight() -> None:
    """Each item would distinguish a bus from the one before it; some are tried on the ground."""
    sections = {"fan": "21-58", "recorder": "31-31", "voice": "23-71", "beacon": "33-44"}
    numbers = {**{str(n): f"{n}-10" for n in range(21, 81)}, **sections}
    items = "\n".join(
        f'  of-{name}: {{ata: "{ata}", supplies: [{{bus: main}}]}}' for name, ata in numbers.items()
    )
    net = network(CHAPTERS % items)
    tried = {}
    for condition in ("flight", "ground"):
        checks = troubleshoot(net, condition, [Observation("lamp", "dead")], order=1).next_checks
        tried[condition] = {c.subject for c in checks if c.effort == "try it"} - {"radio"}
    on_ground = {"of-22", "of-27", "of-28", "of-52", "of-beacon"}
    no_sign = {"of-24", "of-30", "of-36", "of-fan", "of-recorder", "of-voice"}
    not_worked = {"of-26", "of-29", "of-32", "of-61", *(f"of-{n}" for n in range(71, 81))}
    assert tried["ground"] - tried["flight"] == on_ground
    assert tried["flight"] == {f"of-{n}" for n in numbers} - on_ground - no_sign - not_worked


def test_in_cruise_nobody_is_asked_to_try_the_flaps() -> None:
    net = demo_block(2)
    shown = {"gen-2-off": "lit", "utility-off": "lit", "mid-volts": "28.5", "survey-radio": "dead"}
    found = troubleshoot(net, "cruise", [find_observation(net, *one) for one in shown.items()])
    # It would distinguish as well as the meter beside it.
    assert any(c.subject == "aft-volts" for c in found.next_checks)
    assert not any(c.subject == "flap-motor" for c in found.next_checks)


def test_nobody_is_asked_to_do_what_says_no_more_than_a_reading() -> None:
    net = demo_block(2)
    seen = [find_observation(net, f"{bus}-volts", "24") for bus in ("forward", "mid", "aft")]
    seen += [find_observation(net, lamp, "lit") for lamp in ("low-volts", "utility-off")]
    found = troubleshoot(net, "on-external-power", seen)
    split = {(c.effort, frozenset(left for _, left in c.answers)) for c in found.next_checks}
    readings = {parts for effort, parts in split if effort == "in view"}
    done = {parts for effort, parts in split if effort in ("try it", "source off")}
    assert "external-available" in {c.subject for c in found.next_checks}
    assert readings
    assert not readings & done


def test_the_item_its_breaker_and_what_takes_least_come_first() -> None:
    net = demo_block(1)
    found = troubleshoot(net, "cruise", [Observation("windshield-left", "dead")], order=1)
    lines = [*diagnosis_text(net, found)]
    assert [lines[i] for i in (4, 6, 8)] == [
        "  Left windshield heat relay open",
        "  WSHLD L open",
        "  Forward bus dead",
    ]
    found = troubleshoot(net, "cruise", [Observation("com-2", "dead")], order=1)
    assert [*diagnosis_text(net, found)][3] == (
        "VHF COM 2 may itself have failed: check it and its own breaker first:"
        " COM 2 (Right side wall panel D3)."
    )
    # What is off anyway may not itself have failed.
    off = troubleshoot(net, "cruise", [Observation("starter-1", "dead")], order=1)
    assert not any(
        "may itself" in line for line in diagnosis_text(net, off) if "A dead" not in line
    )


@pytest.mark.parametrize(
    ("condition", "lamp", "cause", "on"),
    [
        ("battery-only", "starter-1-lamp", "k-start-1", ["starter-1"]),
        ("cruise", "hydraulic-lamp", "k-hydraulic", ["hydraulic-pump", "nose-steering"]),
    ],
)
def test_a_cause_says_what_comes_on_with_its_hazard(
    condition: str, lamp: str, cause: str, on: list[str]
) -> None:
    net = demo_block(1)
    found = troubleshoot(net, condition, [find_observation(net, lamp, "lit")], order=1)
    number = found.candidates.index(((cause, "stuck-closed"),))
    lines = [*diagnosis_text(net, found)]
    at = lines.index(f"  {net.names[cause]} stuck closed")
    come = f"{len(on)} come{'s' if len(on) == 1 else ''} on"
    assert lines[at + 1] == f"    would take nothing else; {come}: " + ", ".join(
        net.names[item] for item in on
    )
    assert [line for line in lines if "Hazard" in line] == [
        f"    Hazard: {net.names[item]}: {net.hazards[item]}." for item in on if item in net.hazards
    ]
    assert ("starter-1" in net.hazards) > ("hydraulic-pump" in net.hazards)
    assert diagnosis_json(net, found)["candidates"][number]["comes_on"] == on


def test_a_failure_that_explains_it_in_two_answers_is_counted_once() -> None:
    """The demo without what it says of its contactors."""
    catalogue = demo_block(1).catalogue
    devices = [d.model_copy(update={"rides_through": None}) for d in catalogue.devices]
    net = build(catalogue.model_copy(update={"devices": devices}), "block-1")
    seen = [Observation("com-1", "dead"), Observation("com-2", "dead")]
    found = troubleshoot(net, "cruise", seen, order=1)
    shorted = [i for i, c in enumerate(found.candidates) if c == (("essential", "shorted"),)]
    assert [found.answers[i] for i in shorted] == ["expected", "drop-out"]
    singles = [failed for failed in found.candidates if len(failed) == 1]
    count = len(set(singles))
    assert count < len(singles)
    lines = [*diagnosis_text(net, found)]
    assert f"One failure: {count} explain it" in lines
    at = lines.index("  Essential bus shorted")
    assert lines[at + 2].startswith("    also (if contactors drop out): would ")
    assert [line for line in lines if line.startswith("  Essential bus shorted")] == [lines[at]]
    # An answer of a check is given by as many failures, too.
    answers = [line for line in lines if line.startswith("    lit") or line.startswith("    unlit")]
    assert answers
    assert all(line.count(";") == count / 2 - 1 for line in answers[:2])
    assert sum(len(left) for _, left in found.next_checks[0].answers) > count


def test_it_is_said_where_no_check_distinguishes_the_failures_of_the_fewest() -> None:
    net = demo_block(2)
    shown = {"gen-2-off": "lit", "utility-off": "lit", "mid-volts": "28.5", "survey-radio": "dead"}
    seen = [find_observation(net, *one) for one in shown.items()]
    lines = [*diagnosis_text(net, troubleshoot(net, "cruise", seen))]
    said = (
        "\nNo reading and no item distinguishes these first 3: the checks below are for sets of"
        " more."
    )
    assert lines[lines.index(said) + 1] == "\nLook next"
    # Of single failures alone there is nothing below, and where some are distinguished, no word.
    alone = [*diagnosis_text(net, troubleshoot(net, "cruise", seen, order=1))]
    assert "\nNo reading and no item distinguishes these." in alone
    singles = troubleshoot(net, "cruise", [Observation("com-2", "dead")])
    assert "distinguishes" not in "".join(diagnosis_text(net, singles))


OUT_OF_REACH = [Observation("hydraulic-pump", "dead")]


def test_a_breaker_out_of_reach_in_flight_is_looked_at_on_the_ground_and_last() -> None:
    net = demo_block(2)
    checks = {
        condition: [
            (c.effort, check_text(net, c))
            for c in troubleshoot(net, condition, OUT_OF_REACH, order=1).next_checks
        ]
        for condition in ("approach", "on-external-power")
    }
    place = "Power distribution box B3"
    asked = f"On the ground, power off, open the panel: is HYD PUMP ({place}) open?"
    flight = checks["approach"]
    assert ("on the ground", asked) in flight
    efforts = [effort for effort, _ in flight]
    assert efforts == sorted(efforts, key=lambda effort: effort == "on the ground")
    assert efforts[0] != "on the ground"
    asked = f"Breaker HYD PUMP, {place}: in or popped?"
    assert ("breaker panel", asked) in checks["on-external-power"]


def test_a_breaker_out_of_reach_in_flight_is_not_checked_first() -> None:
    net = demo_block(2)
    own = "Hydraulic pump motor may itself have failed:"
    where = "HYD PUMP (Power distribution box B3)"
    said = {
        condition: [*diagnosis_text(net, troubleshoot(net, condition, OUT_OF_REACH, order=1))]
        for condition in ("approach", "on-external-power")
    }
    last = said["approach"].index(f"{own} on the ground, check it and its own breaker: {where}.")
    assert said["approach"][last + 1] == "\nLook next"
    assert f"{own} check it and its own breaker first: {where}." == said["on-external-power"][3]
    # Of several it is said at the breaker that is out of reach.
    seen = [*OUT_OF_REACH, Observation("com-2", "dead")]
    found = troubleshoot(net, "approach", seen, order=1)
    assert (
        "Each dead item may itself have failed: check it and its own breaker first:"
        f" {where}, on the ground; COM 2 (Right side wall panel D3)."
    ) in [*diagnosis_text(net, found)]


def test_the_text_says_how_many_of_those_that_a_check_compares_stay() -> None:
    net = demo_block(1)
    found = troubleshoot(net, "cruise", [Observation("com-1", "dead")])
    said = "\n".join(diagnosis_text(net, found))
    singles = len({failed for failed in found.candidates if len(failed) == 1})
    compared = f"{singles} single failures and 1 named failure"
    assert f"\nLook next\n  Compared: {compared}.\n  Read " in said
    answer, numbers = found.next_checks[0].answers[0]
    left = {found.candidates[number] for number in numbers}
    more = len(left) - 3
    assert more > 0
    assert f"    {answer}, {len(left)} of these {singles + 1} stay: " in said
    assert f" and {more} more\n" in said
    # Where all that is listed is compared there is nothing to add, and a healthy aircraft is named.
    small = network(COIL)
    alone = troubleshoot(small, "flight", [Observation("radio", "dead")], order=1)
    assert alone.next_checks
    assert "Compared" not in "\n".join(diagnosis_text(small, alone))
    fits = troubleshoot(small, "flight", [Observation("radio", "works")], order=1)
    assert f"  Compared: nothing failed and {len(set(fits.candidates))} single failures." in [
        *diagnosis_text(small, fits)
    ]


def test_an_open_link_is_not_put_down_to_one_bus_where_a_named_failure_opens_it() -> None:
    """One bus without volts: shorted, or cut off by two links and a generator, which has a name."""
    net = demo_block(2)
    seen = [
        Observation("mid-volts", Reading("figure", 0, "V")),
        Observation("gen-2-load", Reading("figure", 0, "%")),
        Observation("gen-2-off", LIT),
        Observation("com-2", "dead"),
        Observation("com-1", "works"),
    ]
    found = troubleshoot(net, "cruise", seen)
    cut_off = faults_of(net, next(f for f in net.catalogue.failures if f.id == "mid-isolated"))
    short = (("mid", "shorted"),)
    names = {number: found.candidates[number] for number in found.likely}
    assert set(map(frozenset, (short, cut_off))) <= set(map(frozenset, names.values()))
    links = [c for c in found.next_checks if c.subject in {id for id, mode in cut_off}]
    assert links
    for check in links:
        (left,) = (left for answer, left in check.answers if answer == "open")
        assert {frozenset(names[i]) for i in left} == {frozenset(short), frozenset(cut_off)}
    said = [line.strip() for line in diagnosis_text(net, found)]
    assert "0 V: Ring dead, diode shorted" in said


def test_a_named_failure_is_a_cause_beside_a_pair_of_its_own_that_would_do() -> None:
    """Whoever named it expects all of it; it is left out where one of its own would do alone."""
    catalogue = expand("""
sources: {left: 28, right: 28}
buses: [main, side]
devices: {side-cb: breaker, radio-cb: breaker}
feeders: [left > main, right > main, main > side-cb > side]
equipment: {radio: {supplies: [{bus: main, breaker: radio-cb}]}, fan: side}
""")
    catalogue["failures"] = [
        {"id": "all", "name": "All three", "failed": ["left", "right", "side-cb"]},
        {"id": "own", "name": "With its own breaker", "failed": ["left", "radio-cb"]},
    ]
    net = build(Catalogue.model_validate(catalogue), "all")
    found = troubleshoot(net, "flight", [Observation("radio", "dead")])
    assert [group.size for group in found.groups] == [1, 0, 2]
    three = [(name, net.components[name].modes[0]) for name in ("left", "right", "side-cb")]
    named = found.groups[1].numbers
    assert [set(found.candidates[i]) for i in named] == [{*three}]
    assert [*found.likely] == [*range(named[-1] + 1)]
    assert {frozenset(three[:2])} < set(map(frozenset, found.candidates))


def test_a_panel_is_opened_last_where_nothing_says_that_one_is_on_the_ground() -> None:
    """A look at the switch leaves half of the causes, a try of the fan nearly all of them."""
    control, line = ([f"{way}-{number}" for number in range(30)] for way in "cl")
    net = network(f"""
sources: {{gen: 28, external: {{kind: external-power, volts: 28}}}}
buses: [main, control, tap, out]
devices:
  k: {{kind: switch, closes-when: {{live: [control]}}}}
  {"; ".join(f"{link}: fuse-link" for link in control + line).replace("; ", chr(10) + "  ")}
feeders: [gen > main, external > main, main > {" > ".join(control)} > control,
  main > {line[0]} > tap, tap > {" > ".join(line[1:])} > k > out]
equipment: {{lamp: out, fan: tap}}
conditions: {{flight: {{sources: [gen]}}, ground: {{sources: [external]}}}}
""")
    seen = [Observation("lamp", "dead"), Observation("main", "works")]
    flight, ground = (
        [(c.effort, c.subject) for c in troubleshoot(net, condition, seen, order=1).next_checks]
        for condition in ("flight", "ground")
    )
    assert ground[0] == ("open a panel", "k")
    assert flight[:2] == [("try it", "fan"), ("on the ground", "k")]


def test_a_meter_may_be_a_volt_and_a_half_off() -> None:
    assert links_named("battery-only", "0", "22.5") == {("left-link",)}
    assert links_named("battery-only", "0", "25.5") == {("left-link",)}
    assert links_named("battery-only", "0", "22.4") == set()


def test_when_nothing_explains_it_all_the_near_misses_name_what_contradicts_them() -> None:
    net = network(TWO_LINKS + "functions: {}\n")
    seen = [
        find_observation(net, "left-volts", "24"),
        find_observation(net, "right-volts", "24"),
        Observation("lamp", "dead"),
    ]
    diagnosis = troubleshoot(net, "battery-only", seen)
    assert diagnosis.candidates == ()
    assert diagnosis.near_misses
    for miss in diagnosis.near_misses:
        assert miss.against == (Observation("lamp", "dead"),)


@cache
def demo() -> Network:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    return build(catalogue, catalogue.airframes[0].id)


def everything_seen(net: Network, loss: Loss) -> list[Observation]:
    """All meters, lamps and items of a scenario, as a patient person would write them down; not
    those of which nothing is known.
    """
    dead = {*loss.lost, *loss.not_powered}
    items = [Observation(e, "dead" if e in dead else "works") for e in net.equipment]
    shown = loss.readings.items()
    return items + [Observation(i, reading) for i, reading in shown if reading != NOT_KNOWN]


def same_signature(one: Loss, other: Loss) -> bool:
    """The same items may be dead, and nobody could read a difference off any indication."""
    dead = [{*loss.lost, *loss.not_powered} for loss in (one, other)]
    kinds = {i.id: i.kind for i in demo().catalogue.indications}

    def may_read_the_same(both: tuple[Reading, Reading]) -> bool:
        some_load = LOAD in both and all(shown.kind == "load" or shown.number for shown in both)
        return NOT_KNOWN in both or some_load or reads_the_same(*both)

    return dead[0] ^ dead[1] <= {*one.not_known, *other.not_known} and all(
        may_read_the_same((as_seen(shown, kinds[i]), as_seen(other.readings[i], kinds[i])))
        for i, shown in one.readings.items()
    )


def are_found_again(net: Network, condition: str, failures: list[Loss], normal: Loss) -> None:
    """Troubleshooting what each failure shows names it, or one with the same signature.

    All are of one size. Failures that show the very same are diagnosed once.
    """
    diagnoses: dict[tuple[Observation, ...], Diagnosis] = {}
    for loss in failures:
        seen = tuple(everything_seen(net, loss))
        if seen not in diagnoses:
            diagnoses[seen] = troubleshoot(net, condition, seen, order=len(loss.failed))
        diagnosis = diagnoses[seen]
        if same_signature(loss, normal):
            assert diagnosis.nothing_failed_fits
            continue
        smallest = len(diagnosis.candidates[0])
        assert smallest <= len(loss.failed)
        first = [c for c in diagnosis.candidates if len(c) == smallest]
        for meaning in diagnosis.losses[: len(first)]:
            assert same_signature(meaning, loss)
        assert loss.failed in first or smallest < len(loss.failed) or not first


@pytest.mark.slow
def test_every_single_failure_of_the_demo_is_found_again_from_all_that_it_shows() -> None:
    net = demo()
    scenarios = [Scenario("cruise"), *(Scenario("cruise", (f,)) for f in net.faults)]
    normal, *after = losses(solve(net, scenarios_of(scenarios)))
    are_found_again(net, "cruise", after, normal)


def kind_of(net: Network, fault: Fault) -> tuple[str, str]:
    """The kind of component that failed, and how."""
    return net.components[fault[0]].kind, fault[1]


def test_random_double_failures_of_the_demo_are_found_again_from_all_that_they_show() -> None:
    net = demo()
    every_pair = [p for p in combinations(net.combined_faults, 2) if p[0][0] != p[1][0]]
    pairs = stratified(
        every_pair, lambda pair: frozenset(kind_of(net, f) for f in pair), full=2000, seed=23
    )
    normal, *after = losses(
        solve(net, scenarios_of([Scenario("cruise"), *(Scenario("cruise", p) for p in pairs)]))
    )
    are_found_again(net, "cruise", after, normal)


def test_a_cause_says_where_it_is_not_known_whether_what_is_seen_dead_works() -> None:
    """The tie joins two AC sources that are not synchronised: the fan on them may work or not."""
    net = network(NOT_SYNCHRONISED + "equipment: {fan: left}")
    lines = list(diagnosis_text(net, troubleshoot(net, "flight", [Observation("fan", "dead")])))
    assert "  tie stuck closed (whether fan works then is not known)" in lines
    assert "  left shorted" in lines


def test_three_random_looks_never_exclude_the_true_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    # What each explanation would mean, and how to distinguish them, plays no part here.
    monkeypatch.setattr("sitegen.answers.troubleshoot.MOST_JUDGED", 0)
    net = demo()
    chance = random.Random(24)
    # A breaker of an item that sticks closed changes nothing, and is no cause of anything.
    harmless = {(b, "stuck-closed") for b in own_breakers(net, net.connections)} - {
        (device, "stuck-closed") for device in net.switching
    }
    tried = [fault for fault in net.faults if fault not in harmless]
    faults = stratified(tried, lambda f: kind_of(net, f), full=len(tried), seed=24)
    for loss in losses(solve(net, scenarios_of([Scenario("cruise", (f,)) for f in faults]))):
        seen = chance.sample(everything_seen(net, loss), 3)
        assert loss.failed in troubleshoot(net, "cruise", seen, order=1).candidates


COIL = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, hot]
devices:
  k-gen: {kind: contactor, closes-when: {live: [gen], closed: [cb-control]}}
  cb-control: breaker
  shunt: shunt
  fl-bat: fuse-link
feeders: [gen > k-gen > main, bat > shunt > fl-bat > main, bat > hot]
equipment: {control: {supplies: [{bus: hot, breaker: cb-control}]}, radio: main, clock: hot}
indications:
  gen-off: {kind: lamp, lit-when: {open: [k-gen]}}
  bat-amps: {kind: ammeter, at: shunt}
  main-volts: {kind: voltmeter, at: main}
"""


def test_a_contactor_that_its_coil_has_let_go_is_found_open_like_one_that_failed() -> None:
    net = network(COIL)
    found = troubleshoot(net, "flight", [Observation("gen-off", LIT)])
    causes = {c[0] for c in found.candidates if len(c) == 1}
    assert {("gen", "lost"), ("k-gen", "open"), ("cb-control", "open")} <= causes
    # It is open whichever of them it was: a look at it distinguishes nothing.
    assert "k-gen" not in {c.subject for c in found.next_checks}


TWO_RELAYS = """
sources: {gen: 28}
buses: [main, out]
switches: {pump-switch: ["off", "on"]}
devices:
  k-1: {kind: relay, closes-when: {switches: {pump-switch: "on"}}}
  k-2: {kind: relay, closes-when: {switches: {pump-switch: "on"}}}
  cb: breaker
feeders: [gen > main, main > cb > k-1 > out, main > k-2 > out]
equipment: {pump: out}
conditions:
  "off": {sources: [gen]}
  "on": {sources: [gen], switches: {pump-switch: "on"}}
"""


def test_whether_a_relay_is_open_is_no_question_where_the_power_is_off() -> None:
    """Its coil is dead: a sound one is open too. One that has stuck closed is found closed."""
    net = network(TWO_RELAYS)
    dead = troubleshoot(net, "on", [Observation("pump", "dead"), Observation("main", "works")])
    assert {("k-1", "open"), ("k-2", "open")} in [set(c) for c in dead.candidates]
    assert {("cb", "open"), ("k-2", "open")} in [set(c) for c in dead.candidates]
    assert {c.subject for c in dead.next_checks} == {"cb"}
    runs = troubleshoot(net, "off", [Observation("pump", "works")], order=1)
    assert {c[0] for c in runs.candidates} == {("k-1", "stuck-closed"), ("k-2", "stuck-closed")}
    assert {c.subject for c in runs.next_checks} == {"k-1", "k-2"}
    [check] = [c for c in runs.next_checks if c.subject == "k-1"]
    assert [(a, [runs.candidates[k][0][0] for k in left]) for a, left in check.answers] == [
        ("closed", ["k-1"]),
        ("open", ["k-2"]),
    ]


def test_what_is_always_live_at_a_device_is_said_before_its_panel_is_opened() -> None:
    net = network(COIL)
    seen = [find_observation(net, "bat-amps", "0"), find_observation(net, "main-volts", "28")]
    text = "\n".join(diagnosis_text(net, troubleshoot(net, "flight", seen)))
    at = text.index("is fl-bat open?")
    assert text[at:].split("\n")[1] == f"    Hazard: bat side and main side: {ALWAYS_LIVE}."


def test_a_named_failure_of_more_than_are_tried_is_a_cause() -> None:
    """Ring dead, diode shorted: four failures, and no three of them take all that is dead."""
    net = demo_block(2)
    shown = {"forward-volts": "0", "mid-volts": "0", "aft-volts": "0"}
    seen = [find_observation(net, *one) for one in shown.items()]
    found = troubleshoot(net, "cruise", [*seen, Observation("display-left", "works")])
    [named] = [f for f in net.catalogue.failures if f.id == "standby-diode"]
    assert [set(c) for c in found.candidates] == [set(faults_of(net, named))]
    lines = [*diagnosis_text(net, found)]
    at = lines.index("A named failure, this explains it:")
    assert lines[at + 1].startswith("  Ring dead, diode shorted: Generator 1 lost, with ")
    # With less seen sets of three explain it too, some of them part of it: it stays.
    less = [seen[0], seen[2], Observation("com-2", "dead"), Observation("com-1", "works")]
    many = {frozenset(c) for c in troubleshoot(net, "cruise", less).candidates}
    assert frozenset(faults_of(net, named)) in many
    fewer = troubleshoot(net, "cruise", [*seen[:2], Observation("display-left", "works")])
    said = [line for line in diagnosis_text(net, fewer) if re.match(r"\S.* explain", line)]
    assert [line.split(",")[0].split(":")[0] for line in said] == [
        "Two failures",
        *["One failure"] * 2,
        "A named failure",
        "Three failures",
    ]


def test_a_cause_that_has_a_name_is_called_by_it() -> None:
    net = demo_block(1)
    seen = [find_observation(net, f"gen-{n}-off", "lit") for n in (1, 2)]
    lines = [*diagnosis_text(net, troubleshoot(net, "cruise", seen))]
    assert [t for t in lines if t.startswith("  Both generators: Generator 1 lost, with Gen")]


def test_no_current_passes_the_battery_shunt_into_a_shorted_bus() -> None:
    net = network(COIL)
    # A clock alone may be too little to be seen.
    assert str(drop(net, "flight", []).readings["bat-amps"]) == "not known"
    assert str(drop(net, "flight", [("main", "shorted")]).readings["bat-amps"]) == "0 A"
    assert str(drop(net, "flight", [("fl-bat", "open")]).readings["bat-amps"]) == "0 A"


def test_a_bus_that_is_seen_live_is_not_one_that_has_failed() -> None:
    net = network(COIL)
    scenarios = scenarios_of([Scenario("flight"), Scenario("flight", (("main", "dead"),))])
    power = solve(net, scenarios).after
    assert holds(net, Observation("main", "works"), power) == 0b01
    assert holds(net, Observation("main", "dead"), power) == 0b10


def test_an_ammeter_may_be_reported_in_the_words_that_the_pages_use() -> None:
    net = network(COIL)
    assert find_observation(net, "bat-amps", "No load").seen == NO_LOAD
    assert find_observation(net, "bat-amps", "load").seen == LOAD


THREE_FEEDERS = """
sources: {gen: 28}
buses: [main, a, b, c]
devices: {cb-a: breaker, cb-b: breaker, cb-c: breaker}
feeders: [gen > main, main > cb-a > a, main > cb-b > b, main > cb-c > c]
equipment: {radio: {supplies: [{bus: a}, {bus: b}, {bus: c}], needs: all}, light: a}
indications:
  main-volts: {kind: voltmeter, at: main}
  c-tripped: {kind: lamp, lit-when: {open: [cb-c]}}
"""


def test_the_check_that_leaves_fewest_candidates_comes_first() -> None:
    net = network(THREE_FEEDERS)
    seen = [Observation("radio", "dead"), find_observation(net, "main-volts", "28")]
    found = troubleshoot(net, "flight", seen, order=1)
    # Each of the three breakers open, and each of the three buses dead or shorted.
    assert len(found.candidates) == 9
    leaves = {c.subject: c.leaves for c in found.next_checks}
    # Bus a, or not: 3 of the 9 put the light out. Breakers a and c are open in two each: it has
    # failed, or its bus is shorted; the lamp shows it of breaker c.
    assert leaves["light"] == pytest.approx((3 * 3 + 6 * 6) / 9)
    assert leaves["c-tripped"] == pytest.approx((2 * 2 + 7 * 7) / 9)
    assert leaves["cb-a"] == pytest.approx((2 * 2 + 7 * 7) / 9)
    # Trying the light is more work than a look at the lamp, and still the better check.
    assert [c.subject for c in found.next_checks][:2] == ["c-tripped", "light"]


def test_the_next_check_distinguishes_the_candidates_of_the_fewest_failures() -> None:
    net = network("""
sources: {gen-1: 28, gen-2: 28}
buses: [main, a]
devices: {cb-a: breaker}
feeders: [gen-1 > main, gen-2 > main, main > cb-a > a]
equipment: {radio: main, light: a}
""")
    found = troubleshoot(net, "flight", [Observation("light", "dead")])
    sizes = [len(failed) for failed in found.candidates]
    singles = sizes.count(1)
    assert 1 < singles < len(sizes)
    assert found.next_checks
    for check in found.next_checks:
        assert {number for _, left in check.answers for number in left} == set(range(singles))


def test_a_voltmeter_leaves_what_a_diagnosis_with_its_reading_leaves() -> None:
    """The meter is to be 1.5 V off at most: 28.5 V and 27.3 V may be the same, 26.1 V may not."""
    net = network("""
sources: {gen-1: 28.5, gen-2: 27.3, gen-3: 26.1}
buses: [left, main, side]
devices: {cb-1: breaker, cb-left: breaker, cb-side: breaker}
feeders: [gen-1 > cb-1 > left, gen-2 > left, left > cb-left > main, gen-3 > main,
  main > cb-side > side]
equipment: {fan: main, lamp: side}
indications:
  main-volts: {kind: voltmeter, at: main}
  side-volts: {kind: voltmeter, at: side}
  tripped: {kind: lamp, lit-when: [{open: [cb-1]}, {open: [cb-left]}, {open: [cb-side]}]}
""")
    seen = [find_observation(net, "tripped", "lit"), Observation("fan", "works")]
    found = troubleshoot(net, "flight", seen, order=1)
    at_28, at_27, at_26 = (
        {k for k, loss in enumerate(found.losses) if loss.readings["main-volts"].number == volts}
        for volts in (28.5, 27.3, 26.1)
    )
    assert all((at_28, at_27, at_26))
    [volts] = [c for c in found.next_checks if c.subject == "main-volts"]
    named = {str(reading): {*left} for reading, left in volts.answers}
    assert named == {
        "28.5 V": at_28 | at_27,
        "27.3 V": at_28 | at_27 | at_26,
        "26.1 V": at_27 | at_26,
    }
    total = len(found.candidates)
    missing = 2 * len(at_28) * len(at_26)
    assert volts.leaves == pytest.approx((total**2 - missing) / total)
    for reading, left in volts.answers:
        assert isinstance(reading, Reading)
        then = troubleshoot(net, "flight", [*seen, Observation("main-volts", reading)], order=1)
        assert then.candidates == tuple(found.candidates[k] for k in left)
    # A meter that may be 3 V off is no check.
    coarse = {c.subject for c in troubleshoot(net, "flight", seen, 3, order=1).next_checks}
    assert "main-volts" not in coarse
    assert "side-volts" in coarse


def test_a_check_leaves_the_healthy_aircraft_too_where_it_fits() -> None:
    net = network(THREE_FEEDERS)
    seen = [find_observation(net, "main-volts", "28")]
    found = troubleshoot(net, "flight", seen, order=1)
    assert found.nothing_failed_fits
    [light] = [c for c in found.next_checks if c.subject == "light"]
    works = dict(light.answers)["works"]
    others = len(found.candidates) + 1 - len(works)
    assert HEALTHY in works
    assert HEALTHY not in dict(light.answers)["dead"]
    assert light.leaves == pytest.approx(
        (len(works) ** 2 + others**2) / (len(found.candidates) + 1)
    )
    said = list(diagnosis_text(net, found))
    assert any("works, " in line and "nothing has failed" in line for line in said)
    answers = diagnosis_json(net, found)["next_checks"][0]["answers"]
    assert any(None in left for left in answers.values())


def test_a_lamp_is_seen_lit_or_unlit() -> None:
    net = network(THREE_FEEDERS)
    assert find_observation(net, "c-tripped", "lit") == Observation("c-tripped", LIT)
    assert find_observation(net, "c-tripped", "unlit") == Observation("c-tripped", UNLIT)


LAMPS = """
sources: {gen: 28, battery: {kind: battery, volts: 24}}
buses: [main, warning]
devices: {cb: breaker, k: {kind: contactor, closes-when: {live: [gen]}}}
feeders: [gen > k > main, main > cb > warning]
equipment: {radio: main}
indications:
  live: {kind: lamp, lit-when: {live: [main]}, supplies: [{bus: warning}]}
  dark: {kind: lamp, lit-when: {dead: [main]}, supplies: [{bus: warning}]}
  flag: {kind: flag, lit-when: {dead: [main]}, supplies: [{bus: warning}]}
"""


def explaining(net: Network, **seen: str) -> set[Fault]:
    """The single failures that explain what is seen."""
    observed = [find_observation(net, *one) for one in seen.items()]
    found = troubleshoot(net, "flight", observed, order=1)
    return {fault for (fault,) in found.candidates}


def test_a_lamp_without_power_is_seen_unlit() -> None:
    net = network(LAMPS)
    assert drop(net, "flight", [("cb", "open")]).readings["live"] == BLANK
    assert explaining(net, live="unlit", radio="works") == {
        ("warning", "dead"),
        ("warning", "shorted"),
        ("cb", "open"),
    }
    assert explaining(net, live="unlit") > explaining(net, live="unlit", radio="works")
    assert ("cb", "open") not in explaining(net, live="lit")
    # The lamp that is dark in good health is dark without power as well.
    assert ("cb", "open") in explaining(net, dark="unlit")


def test_a_flag_without_power_may_be_seen_either_way() -> None:
    net = network(LAMPS)
    assert ("cb", "open") in explaining(net, flag="lit") & explaining(net, flag="unlit")
    # With power it is out of view while the bus is live, and no check goes by what it may be.
    assert ("battery", "lost") not in explaining(net, flag="lit")
    seen = [find_observation(net, "radio", "works")]
    assert "flag" not in {c.subject for c in troubleshoot(net, "flight", seen).next_checks}


def test_a_lamp_that_is_dark_for_want_of_power_distinguishes_nothing_from_one_that_is_unlit() -> (
    None
):
    net = network(LAMPS)
    seen = [find_observation(net, "radio", "works")]
    checks = {c.subject: c.answers for c in troubleshoot(net, "flight", seen).next_checks}
    assert "dark" not in checks
    assert {shown for shown, _ in checks["live"]} == {LIT, UNLIT}
    table = signature_table(single_failures(net, condition_states(net), ["flight"]), "flight")
    shown = {reading for s in table.shown for i, reading in s.readings if i in ("live", "dark")}
    assert shown == {UNLIT}


def test_volts_that_change_by_less_than_a_meter_s_error_show_no_failure() -> None:
    """The drop of a diode, 0.7 V, is not seen; the battery's 24 V in place of the bus's 28 V is."""
    net = network("""
sources: {gen: 28, battery: {kind: battery, volts: 24}}
buses: [main, essential]
devices: {d: {kind: diode, drop-volts: 0.7}, d-battery: {kind: diode, drop-volts: 0.7}, \
cb-spare: breaker}
feeders: [gen > main, main > d > essential, battery > d-battery > essential,
  main > cb-spare > essential]
equipment: {radio: essential}
indications: {essential-volts: {kind: voltmeter, at: essential}}
""")
    table = signature_table(single_failures(net, condition_states(net), ["flight"]), "flight")
    seen = {fault for signature in table.shown for fault in signature.faults["expected"]}
    assert ("gen", "lost") in seen
    assert ("cb-spare", "open") not in seen
    small, large = (
        drop(net, "flight", [failed]) for failed in (("cb-spare", "open"), ("gen", "lost"))
    )
    assert str(small.readings["essential-volts"]) == "27.3 V"
    normal = drop(net, "flight", [])
    texts = ["\n".join(loss_text(net, loss, normal, None, False)) for loss in (small, large)]
    assert ["Readings that clearly change" in text for text in texts] == [False, True]


def test_a_failure_of_what_has_no_power_anyway_takes_nothing() -> None:
    net = network("""
sources: {gen: 28, external: {kind: external-power, volts: 28}}
buses: [main, spare]
devices: {k: {kind: contactor, closes-when: {live: [external]}}}
feeders: [gen > main, external > k > main, external > spare]
equipment: {radio: main, lamp: spare}
conditions: {flight: {sources: [gen]}, ground: {sources: [external]}}
""")
    failures = single_failures(net, condition_states(net), ["flight", "ground"])
    flight, ground = (signature_table(failures, c) for c in ("flight", "ground"))
    off = {("external", "lost"), ("external", "shorted"), ("spare", "dead"), ("spare", "shorted")}
    assert off <= {*flight.harmless}
    assert off <= {*ground.unseen["expected"]}


def test_a_meter_of_which_nothing_is_known_shows_no_failure() -> None:
    """Two inverters on one bus: what each takes is not known, so any reading may be as before."""
    net = build(read(demo_catalogue()).catalogue, "block-1")
    fault = ("k-inverter-2", "stuck-closed")
    table = signature_table(single_failures(net, condition_states(net), ["cruise"]), "cruise")
    assert drop(net, "cruise", [fault]).readings["gen-1-load"] == NOT_KNOWN
    assert fault in table.unseen["expected"]


def test_a_cause_says_where_it_is_not_known_what_a_meter_reads_that_was_read() -> None:
    """Two inverters on one bus: any amps are explained, so the cause explains little."""
    net = build(read(demo_catalogue()).catalogue, "block-1")
    seen = [find_observation(net, i, n) for i, n in (("gen-1-load", "0"), ("aft-volts", "28.5"))]
    found = troubleshoot(net, "generator-1-alone", seen, order=1)
    assert (("k-inverter-2", "stuck-closed"),) in found.candidates
    [line] = [t for t in diagnosis_text(net, found) if "Inverter 2 output relay stuck" in t]
    assert "(what Generator 1 loadmeter reads then is not known)" in line


def test_what_is_dead_with_nothing_failed_is_named() -> None:
    text = TWO_LINKS.replace(
        "right-link: fuse-link}",
        'right-link: fuse-link, s: {kind: switch, closes-when: {switches: {p: "on"}}}}',
    ).replace("{lamp: centre}", "{lamp: centre, fan: {supplies: [{bus: centre, through: [s]}]}}")
    text += 'switches: {p: ["off", "on"]}\n'
    seen = [Observation(i, "dead") for i in ("fan", "lamp", "right")]
    net = network(text)
    found = troubleshoot(net, "left-generator", seen)
    assert found.not_powered == ("fan",)
    lines = [*diagnosis_text(net, found)]
    assert lines[2] == "Dead in this condition with nothing failed: fan."
    assert diagnosis_json(net, found)["not_powered"] == ["fan"]
    without = troubleshoot(net, "left-generator", seen[1:])
    assert not any("with nothing failed" in line for line in diagnosis_text(net, without))


SMALL_LOADS = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, hot]
devices: {cb: breaker}
feeders: [gen > main, bat > hot]
equipment:
  clock: {supplies: [{bus: hot, through: [cb]}], amps: %s}
  heater: {supplies: [{bus: main}], amps: 20}
indications: {amps: {kind: ammeter, at: bat}}
"""


@pytest.mark.parametrize("seen", ["0.4 discharge", "2", "0", "load", "no load"])
def test_an_ammeter_may_show_a_little_load_or_none(seen: str) -> None:
    """0.4 A is read as load or as none, and to 5 A: nothing need have failed."""
    net = network(SMALL_LOADS % 0.4)
    found = troubleshoot(net, "flight", [find_observation(net, "amps", seen)])
    assert found.nothing_failed_fits


def test_what_takes_a_little_load_away_explains_a_meter_at_zero() -> None:
    """1 A is seen to be gone, though a change of 1 A in 20 is not."""
    net = network(SMALL_LOADS % 1)
    found = troubleshoot(net, "flight", [find_observation(net, "amps", "0")])
    assert not found.nothing_failed_fits
    assert (("cb", "open"),) in found.candidates
    assert found.near_misses == ()


def test_of_one_meter_that_cannot_be_right_it_is_the_meter_that_is_doubted() -> None:
    """What leaves all alone explains nothing; what explains another reading is still near."""
    net = network("""
    sources: {gen: 28}
    buses: [main, side, spare]
    devices: {fl: fuse-link, cb: {kind: breaker, amps: 20}}
    feeders: [gen > fl > main, main > cb > side, main > spare]
    equipment: {fan: side, radio: main, lamp: spare}
    indications:
      main-volts: {kind: voltmeter, at: main}
      side-volts: {kind: voltmeter, at: side}
    """)
    odd = [
        find_observation(net, "main-volts", "17"),
        Observation("radio", "works"),
        Observation("fan", "works"),
    ]
    near = troubleshoot(net, "flight", odd).near_misses
    assert [(n.failed, [o.subject for o in n.against]) for n in near] == [((), ["main-volts"])]
    said = "\n".join(diagnosis_text(net, troubleshoot(net, "flight", odd)))
    assert "But for 'main-volts reads 17', nothing need have failed." in said
    dead_fan = [odd[0], odd[1], Observation("fan", "dead")]
    near = troubleshoot(net, "flight", dead_fan).near_misses
    assert near
    assert all(n.failed and {f for f, _ in n.failed} & {"cb", "side"} for n in near)


def test_a_short_on_which_a_contactor_drops_out_does_not_explain_what_that_takes() -> None:
    """The utility contactor drops out on a short: a live survey bus speaks for a dead aft bus."""
    demo = build(read(demo_catalogue()).catalogue, "block-1")
    seen = [find_observation(demo, "aft-volts", "0"), Observation("survey-computer", "works")]
    diagnosis = troubleshoot(demo, "cruise", seen, order=1)
    said = "\n".join(diagnosis_text(demo, diagnosis))
    assert "  Aft bus dead\n" in said
    assert "Aft bus shorted" not in said


SPRUNG = """
sources: {gen: 28}
buses: [main, out]
devices:
  fl: fuse-link
  k-out: {kind: relay, closes-when: [{dead: [main]}, {live: [gen]}]}
feeders: [gen > main, main > fl > k-out > out]
equipment: {radio: out}
"""


def test_a_relay_that_a_spring_closes_is_sound_where_it_is_found_closed() -> None:
    """A panel is opened with the power off: a sound one is closed then, a failed one open."""
    net = network(SPRUNG)
    found = troubleshoot(net, "flight", [Observation("radio", "dead")], order=1)
    [check] = [c for c in found.next_checks if c.subject == "k-out"]
    by_answer = {
        answer: {found.candidates[i] for i in numbers} for answer, numbers in check.answers
    }
    assert by_answer["open"] == {(("k-out", "open"),)}
    by_coil = network(SPRUNG.replace("[{dead: [main]}, {live: [gen]}]", "{live: [gen]}"))
    found = troubleshoot(by_coil, "flight", [Observation("radio", "dead")], order=1)
    assert not [c for c in found.next_checks if c.subject == "k-out"]
