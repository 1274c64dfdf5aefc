"""A fault whose dip makes a contactor drop out is reported in every list of single failures.

The contactor holds itself in from the bus that it is fed from. A short on another bus holds that
bus down until its breaker trips: if contactors drop out, this one stays open afterwards.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from sitegen.answers.drop import drop
from sitegen.answers.find import find_observation
from sitegen.answers.function_status import function_status
from sitegen.answers.signatures import signature_table
from sitegen.answers.single_failures import SingleFailure, SingleFailures, single_failures
from sitegen.answers.single_points import single_points
from sitegen.answers.trace import causes as causes_of
from sitegen.answers.trace import trace
from sitegen.answers.troubleshoot import Diagnosis, troubleshoot
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.read import read
from sitegen.output.site import build_site
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states
from sitegen.terminal.diagnosis_json import diagnosis_json
from sitegen.terminal.diagnosis_text import diagnosis_text
from sitegen.terminal.function_text import function_text
from sitegen.terminal.headline_text import in_every_answer, on_a_button
from sitegen.terminal.signatures_text import signatures_text
from sitegen.terminal.trace_text import trace_text
from tests.nets import expand
from tests.pages.pages_sample import reading
from tests.random_nets import Raw

NET = """
sources: {gen: 28, bat: {kind: battery, volts: 24}}
buses: [main, side, third, spare]
devices:
  hold: {kind: contactor, closes-when: {live: [main], closed: [hold]}}
  backup: {kind: contactor, closes-when: {open: [hold]}}
  cb: breaker
  cb-3: breaker
feeders: [gen > cb > main, main > hold > side, main > cb-3 > third, bat > backup > spare]
equipment: {radio: side, lamp: side, pump: main, fan: third, fire-bell: spare}
indications:
  main-volts: {kind: voltmeter, at: main}
  side-volts: {kind: voltmeter, at: side}
  third-volts: {kind: voltmeter, at: third}
functions:
  talk: {provided-by: [radio], essential: true, independent: [[radio, fan]]}
conditions: {flight: {sources: [gen, bat], held-closed: [hold]}}
"""
THIRD_SHORTED = ("third", "shorted")
SHORT_IF_DROPPING_OUT = SingleFailure(THIRD_SHORTED, ("flight",), "drop-out")


def catalogue(holds: str = "") -> Catalogue:
    return Catalogue.model_validate(expand(NET.replace("hold: {", f"hold: {{{holds}")))


def net(holds: str = "") -> Network:
    return build(catalogue(holds), "all")


RIDES = "rides-through: true, "


def test_a_function_is_taken_by_a_short_elsewhere_if_contactors_drop_out() -> None:
    points = single_points(both(net()))
    assert [w.by for w in points.essential if w.by.fault[0] == "third"] == [SHORT_IF_DROPPING_OUT]
    assert [w.by for w in points.independent if w.by.fault[0] == "third"] == [SHORT_IF_DROPPING_OUT]
    assert {w.by.fault for w in points.essential if w.by.answer == "expected"} >= {("hold", "open")}


def test_a_failure_that_takes_it_in_both_answers_is_listed_once() -> None:
    listed = [w.by.fault for w in single_points(both(net())).essential]
    assert ("side", "shorted") in listed
    assert len(listed) == len(set(listed))


def both(network: Network) -> SingleFailures:
    return single_failures(network, condition_states(network))


def test_nothing_is_added_where_the_contactor_rides_through() -> None:
    network = net(RIDES)
    assert not [w for w in single_points(both(network)).essential if w.by.answer != "expected"]
    assert not [c for c in trace(network, "radio").causes if c.by.answer != "expected"]
    assert not [by for by in trace(network, "fire-bell").comes_on_by if by.answer != "expected"]
    table = signature_table(both(network), "flight")
    assert not any(s.faults["drop-out"] for s in table.shown)
    assert not table.unseen["drop-out"]


DROPS = "rides-through: false, "


def test_what_drops_out_by_the_catalogue_needs_no_remark() -> None:
    network = net(DROPS)
    expected = SingleFailure(THIRD_SHORTED, ("flight",), "expected")
    status = function_status(network, "talk")
    assert expected in status.takes
    assert "third shorted" in "\n".join(function_text(network, status))
    assert expected in trace(network, "fire-bell").comes_on_by
    [cause] = [c for c in trace(network, "radio").causes if c.by == expected]
    assert not cause.by.as_json()["if_contactors_drop_out"]
    assert cause.also_lost == ("fan", "lamp")


def test_the_signature_of_a_short_is_that_of_what_drops_out() -> None:
    network = net(DROPS)
    table = signature_table(both(network), "flight")
    [row] = [s for s in table.shown if THIRD_SHORTED in s.faults["expected"]]
    assert set(row.changed) == {"side-volts", "third-volts"}
    said = [*signatures_text(network, table)]
    assert "    third shorted" in said
    assert not [line for line in said if "if contactors drop out" in line]


def test_the_diagnosis_has_no_remark_on_a_short_that_does_as_the_catalogue_says() -> None:
    seen = [("third-volts", "0"), ("side-volts", "0"), ("main-volts", "28")]
    for holds, answer in ((DROPS, "expected"), ("", "drop-out")):
        found = diagnosed(net(holds), *seen)
        by_failed = dict(zip(found.candidates, found.answers, strict=True))
        assert by_failed[THIRD_SHORTED,] == answer


def test_trace_says_what_takes_an_item_and_what_switches_one_on_if_contactors_drop_out() -> None:
    network = net()
    radio, bell = trace(network, "radio"), trace(network, "fire-bell")
    [cause] = [c for c in radio.causes if c.by == SHORT_IF_DROPPING_OUT]
    assert cause.also_lost == ("fan", "lamp")
    assert SHORT_IF_DROPPING_OUT in bell.comes_on_by
    assert SingleFailure(("hold", "open"), ("flight",), "expected") in bell.comes_on_by
    assert "third shorted (if contactors drop out)" in "\n".join(trace_text(network, radio))
    said = "\n".join(trace_text(network, bell))
    on = said.partition("Single failures that switch it on")[2]
    assert "  hold open\n" in on
    assert "  third shorted (if contactors drop out)\n" in on
    assert {
        "failed": {"id": "third", "mode": "shorted"},
        "conditions": ["flight"],
        "if_contactors_drop_out": True,
        "if_overload_opens": False,
        "not_known": False,
        "also_lost": ["fan", "lamp"],
    } in radio.as_json(network)["causes"]


def test_the_status_of_a_function_has_both_answers() -> None:
    network = net()
    status = function_status(network, "talk")
    assert SHORT_IF_DROPPING_OUT in status.takes
    assert "third shorted (if contactors drop out)" in "\n".join(function_text(network, status))


def diagnosed(network: Network, *seen: tuple[str, str]) -> Diagnosis:
    observations = [find_observation(network, *one) for one in seen]
    return troubleshoot(network, "flight", observations)


def test_a_short_explains_what_is_seen_if_one_of_its_answers_shows_all_of_it() -> None:
    seen = (("main-volts", "28"), ("side-volts", "0"), ("third-volts", "0"))
    network = net()
    found = diagnosed(network, *seen)
    assert found.candidates[0] == (THIRD_SHORTED,)
    assert [i for i, a in enumerate(found.answers) if a == "drop-out"] == [0]
    assert set(found.losses[0].lost) == {"fan", "lamp", "radio"}
    assert "  third shorted (if contactors drop out)" in diagnosis_text(network, found)
    assert diagnosis_json(network, found)["candidates"][0]["if_contactors_drop_out"]
    # No larger set with the short in it is an explanation any more.
    assert not [c for c in found.candidates[1:] if THIRD_SHORTED in c]
    riding = diagnosed(net(RIDES), *seen)
    assert "drop-out" not in riding.answers
    assert (THIRD_SHORTED,) not in riding.candidates


def test_a_short_that_explains_it_in_two_ways_is_two_explanations() -> None:
    found = diagnosed(net(), ("third-volts", "0"), ("main-volts", "28"))
    numbers = [i for i, c in enumerate(found.candidates) if c == (THIRD_SHORTED,)]
    assert len(numbers) == 2
    assert {found.answers[i] for i in numbers} == {"expected", "drop-out"}
    [side] = [c for c in found.next_checks if c.subject == "side-volts"]
    groups = [left for _, left in side.answers]
    assert not [left for left in groups if set(numbers) <= set(left)]


def test_a_named_failure_explains_it_if_contactors_drop_out() -> None:
    raw = expand(NET)
    raw["failures"] = [{"id": "two", "name": "Two", "failed": ["third:shorted", "backup:open"]}]
    network = build(Catalogue.model_validate(raw), "all")
    seen = (("side-volts", "0"), ("third-volts", "0"), ("main-volts", "28"))
    found = diagnosed(network, *seen)
    # The short alone explains it, so the two together are no smallest explanation.
    assert (THIRD_SHORTED, ("backup", "open")) not in found.candidates
    found = diagnosed(network, *seen, ("fire-bell", "dead"))
    dips = {frozenset(found.candidates[i]) for i, a in enumerate(found.answers) if a == "drop-out"}
    assert frozenset({THIRD_SHORTED, ("backup", "open")}) in dips


def test_a_named_failure_in_which_one_part_alone_explains_it_is_no_explanation() -> None:
    """With the third bus shorted as well the contactor would drop out, but nobody looked there."""
    raw = expand(NET)
    [pump] = [e for e in raw["equipment"] if e["id"] == "pump"]
    pump["supplies"] = [{"bus": "main", "breaker": {"id": "cb-pump", "name": "PUMP", "amps": 5}}]
    raw["failures"] = [{"id": "two", "name": "Two", "failed": ["third:shorted", "cb-pump:open"]}]
    found = diagnosed(build(Catalogue.model_validate(raw), "all"), ("pump", "dead"))
    assert (("cb-pump", "open"),) in found.candidates
    assert not [c for c in found.candidates if len(c) > 1 and ("cb-pump", "open") in c]


LAMP_LIT = [("lamp", "works"), ("radio", "dead"), ("fan", "dead")]


def test_a_near_miss_may_be_one_only_if_contactors_drop_out() -> None:
    """All but the lamp fits the short whose dip drops the contactor; no other failure is nearer."""
    seen = [("main-volts", "28"), ("side-volts", "0"), ("third-volts", "0"), *LAMP_LIT]
    network = net()
    found = diagnosed(network, *seen)
    assert not found.candidates
    [near] = found.near_misses
    assert (near.failed, near.answer) == ((THIRD_SHORTED,), "drop-out")
    assert [o.subject for o in near.against] == ["lamp"]
    said = [*diagnosis_text(network, found)]
    at = said.index("One failure, this explains all but 'lamp: works':")
    assert said[at + 1] == "  third shorted (if contactors drop out)"
    assert diagnosis_json(network, found)["near_misses"][0]["if_contactors_drop_out"]
    assert not [n for n in diagnosed(net(RIDES), *seen).near_misses if n.answer == "drop-out"]


def test_a_near_miss_that_is_one_in_both_answers_is_named_once() -> None:
    """The fan works on a bus that reads zero: nothing explains it, and the contactor held in."""
    seen = [("third-volts", "0"), ("third", "dead"), ("fan", "works"), ("main-volts", "28")]
    near = [n for n in diagnosed(net(), *seen).near_misses if n.failed == (THIRD_SHORTED,)]
    assert [n.answer for n in near] == ["expected"]


def test_the_signature_of_the_second_answer_has_its_own_row() -> None:
    network = net()
    table = signature_table(both(network), "flight")
    [row] = [s for s in table.shown if THIRD_SHORTED in s.faults["drop-out"]]
    assert {i: str(r) for i, r in row.readings}["side-volts"].startswith("0")
    assert set(row.changed) == {"side-volts", "third-volts"}
    [first] = [s for s in table.shown if THIRD_SHORTED in s.faults["expected"]]
    assert first.changed == ("third-volts",)
    assert "    third shorted (if contactors drop out)" in signatures_text(network, table)


def test_a_short_that_only_its_second_answer_hides_is_not_harmless() -> None:
    blind = replace(net(), catalogue=catalogue().model_copy(update={"indications": []}))
    table = signature_table(both(blind), "flight")
    assert THIRD_SHORTED in table.unseen["drop-out"] + table.unseen["expected"]
    assert THIRD_SHORTED not in table.harmless


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    raw = expand(NET)
    raw["failures"] = [{"id": "short", "name": "A short", "failed": ["third:shorted"]}]
    raw["airframes"] = [{"id": "all", "name": "All"}]
    [bell] = [e for e in raw["equipment"] if e["id"] == "fire-bell"]
    bell["if-it-comes-on"] = "Silence it."
    raw["handout"] = [
        {"id": "course", "name": "Course", "sections": ["functions", "indications"]},
    ]
    return {
        path.rpartition("/")[2]: " ".join(re.sub(r"<[^>]+>", " ", content).split())
        for path, content in build_site(reading(raw)).files
        if isinstance(content, str) and path.startswith("all/")
    }


COUNTS = "1 lost; 3 lost, 1 comes on if contactors drop out"


def test_the_list_of_failures_counts_the_losses_in_both_answers(pages: dict[str, str]) -> None:
    assert f"A short {COUNTS}" in pages["failures.html"]
    found = "1 lost in flight; 3 lost, 1 comes on if contactors drop out"
    assert found in pages["a-to-z.html"].partition("A short")[2][:200]
    # With one condition its page has no buttons, and says it in a sentence.
    said = (
        "If contactors drop out while the fault lasts, you lose 3 items and 1 more function (talk)"
        " and fire-bell will come on."
    )
    assert said in pages["named-failure-short.html"]


def test_a_count_that_is_the_same_in_both_answers_is_said_once() -> None:
    riding = net(RIDES)
    first, second = (drop(riding, "flight", [THIRD_SHORTED], dip=dip) for dip in (False, True))
    assert in_every_answer("1 lost", first, second) == "1 lost"
    assert on_a_button("1 lost", first, second) == "1 lost"


def test_a_button_has_the_counts_of_both_answers_alone() -> None:
    bell_off = network_without_bell()
    first, second = (drop(bell_off, "flight", [THIRD_SHORTED], dip=dip) for dip in (False, True))
    assert on_a_button("1 lost", first, second) == "1 or 3 lost"


def network_without_bell() -> Network:
    return build(Catalogue.model_validate(without_bell()), "all")


def without_bell() -> Raw:
    raw = expand(NET)
    raw["equipment"] = [e for e in raw["equipment"] if e["id"] != "fire-bell"]
    return raw


def test_a_meter_that_moves_only_if_contactors_drop_out_is_not_left_unsaid() -> None:
    raw = expand(NET)
    raw["indications"] = [i for i in raw["indications"] if i["id"] != "third-volts"]
    raw["airframes"] = [{"id": "all", "name": "All"}]
    files = dict(build_site(reading(raw)).files)
    line = (
        "No meter, lamp or flag of the catalogue clearly changes:"
        " only what is lost shows this failure."
        " What a dead instrument shows is false: see Lost."
    )
    text = str(files["all/failure-third.html"])
    assert f"{line} If contactors drop out, 1 changes.<" in text
    assert f"{line}<" in text  # the bus dead, without a short


@pytest.mark.parametrize(
    "page",
    [
        "audit.html",
        "function-talk.html",
        "equipment-radio.html",
        "which-failed.html",
        "handout.html",
    ],
)
def test_every_page_that_lists_what_takes_something_has_both_answers(
    pages: dict[str, str], page: str
) -> None:
    assert "third shorted (if contactors drop out)" in pages[page]


def test_the_page_of_an_item_says_what_switches_it_on(pages: dict[str, str]) -> None:
    section = pages["equipment-fire-bell.html"].partition("What alone switches it on")[2]
    assert section.index("hold open in flight") < section.index(
        "third shorted (if contactors drop out) in flight"
    )
    assert "Silence it." in section
    assert "switches it on" not in pages["equipment-radio.html"]


TAKES_MORE = """
sources: {gen: 28}
switches: {sw: ["off", "on"]}
buses: [main, side, shed]
devices:
  cb-side: {kind: breaker, amps: 20}
  k-shed:
    kind: contactor
    rides-through: false
    closes-when: {switches: {sw: "on"}, live: [main], closed: [k-shed]}
feeders: [gen > main, main > cb-side > side, main > k-shed > shed]
equipment: {radio: side, lamp: side, fan: shed, urn: shed}
conditions: {flight: {sources: [gen], switches: {sw: "on"}, held-closed: [k-shed]}}
"""


@pytest.mark.parametrize(
    ("item", "others"), [("radio", ["fan", "lamp", "urn"]), ("fan", ["lamp", "radio", "urn"])]
)
def test_what_else_a_short_takes_is_of_the_answer_to_expect(item: str, others: list[str]) -> None:
    """Worked by hand: the short takes its own bus, and the contactor drops out with the shed one.
    The radio goes in either answer; what goes with it does not.
    """
    causes = trace(build(Catalogue.model_validate(expand(TAKES_MORE)), "all"), item).causes
    [short] = [cause for cause in causes if cause.by.fault == ("side", "shorted")]
    assert list(short.also_lost) == others
    dead = [cause.also_lost for cause in causes if cause.by.fault == ("side", "dead")]
    assert dead == ([("lamp",)] if item == "radio" else [])


@pytest.mark.parametrize("airframe", ["block-1", "block-2", "block-3"])
def test_what_else_a_failure_takes_is_what_its_own_answer_says(airframe: str) -> None:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue
    network = build(catalogue, airframe)
    taken: dict[tuple[object, str], tuple[str, ...]] = {}
    failures = single_failures(network, condition_states(network))
    asked = {f for k, f in enumerate(network.faults) if f[1] == "shorted" or k % 20 == 0}
    for item in network.equipment:
        for cause in causes_of(failures, item):
            if cause.by.answer != "expected":
                continue
            if cause.by.fault not in asked:
                continue
            for condition in cause.by.conditions:
                key = cause.by.fault, condition
                if key not in taken:
                    taken[key] = tuple(sorted(drop(network, condition, [cause.by.fault]).lost))
                assert tuple(sorted((item, *cause.also_lost))) == taken[key], key
    assert len(taken) > 100
