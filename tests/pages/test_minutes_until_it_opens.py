"""Minutes that hold only until something opens that must: on the page of a failure."""

from __future__ import annotations

from sitegen.output.site import build_site
from tests.answers.test_endurance_remarks import IF_THE_TIE_OPENS, MAY_OPEN, UNTIL_IT_OPENS
from tests.nets import expand
from tests.pages.pages_sample import element, reading
from tests.pages.test_other_answers import words
from tests.random_nets import Raw


def pages(lamp: float, shed: str = "heater") -> dict[str, str]:
    """By page its answer and its part about batteries, in words."""
    raw = {**expand(UNTIL_IT_OPENS % ("", lamp)), "airframes": [{"id": "all", "name": "All"}]}
    then = {"shed": [shed]}
    raw["failures"] = [{"id": "no-gen", "name": "No generator", "failed": ["gen"], "then": then}]
    files = dict(build_site(reading(raw)).files)
    return {
        f"{page} {part}": words(element(str(files[f"all/{page}.html"]), part))
        for page in ("named-failure-no-gen", "failure-gen")
        for part in ("answer", "battery-time")
    }


def test_the_answer_names_what_must_open_and_has_the_minutes_if_it_has() -> None:
    """As computed by hand there: no limit, or 30 min with nothing shed; 150 min if it opens."""
    found = pages(6)
    answer = found["named-failure-no-gen answer"]
    assert "150 min shed at minute 5, if what is overloaded opens" in answer
    until = "until cb opens: 30 min required"
    assert f"bat 30 min nothing shed, {until}; if it does: 150 min" in answer
    alone = found["failure-gen answer"]
    assert f"bat , {until} 30 min nothing shed; if it does: 150 min" in alone
    for text in found.values():
        assert "No limit" not in text
        assert "if nothing opens" not in text
    time = found["named-failure-no-gen battery-time"]
    assert "Not known nothing with a figure draws from it until cb opens" in time
    assert "Only until cb opens: it is overloaded and must. If it opens: 150 min." in time


def test_too_few_minutes_if_it_opens_are_said_to_be_so() -> None:
    """45 A: 900 A-min last 20 min."""
    assert "20 min (short of 30 min) shed at minute 5" in pages(45)["named-failure-no-gen answer"]


def test_the_page_of_the_battery_does_not_give_them_as_its_time() -> None:
    raw = {**expand(UNTIL_IT_OPENS % ("", 6)), "airframes": [{"id": "all", "name": "All"}]}
    raw["failures"] = [{"id": "no-gen", "name": "No generator", "failed": ["gen"]}]
    page = str(dict(build_site(reading(raw)).files)["all/failure-bat.html"])
    assert "No generator 30 min until cb opens, then 150 min" in words(page)


def test_a_clock_hides_no_minutes() -> None:
    """0.5 A last 30 hours, and 40.5 A if the tie opens 900 / 40.5 = 22.2 min. With the big item
    shed from minute 5 on (900 - 202.5) / 10.5 = 66.4 min more.
    """
    text = IF_THE_TIE_OPENS % ("amp-hours: 20", 20, 0.5)
    raw = {**expand(text), "airframes": [{"id": "all", "name": "All"}]}
    then = {"shed": ["big"]}
    raw["failures"] = [{"id": "no-gen", "name": "No generator", "failed": ["g1"], "then": then}]
    files = dict(build_site(reading(raw)).files)
    answer = words(element(str(files["all/named-failure-no-gen.html"]), "answer"))
    left = "if it does: 22 min (short of 30 min)"
    assert f"bat , until tie opens More than 4 hours nothing shed; {left}" in answer
    assert "More than 4 hours shed at minute 5; if it does: 71 min" in answer
    handout = words(str(files["all/handout.html"]))
    assert f"More than 4 hours bat, nothing shed, until tie opens; {left}" in handout


def test_hours_that_something_may_end_are_in_the_answer() -> None:
    """40 A may open a tie of 30 A, from 34.5 A on, and not one of 35 A, which goes to 40.25."""
    for tie, said in ((30, True), (35, False)):
        answer = answer_of(IF_THE_TIE_OPENS % ("amp-hours: 20", tie, 0.5), {"shed": ["small"]})
        hours = "bat , if nothing opens by overload More than 4 hours nothing shed"
        assert (hours in answer) == said
        assert ("More than 4 hours" in answer) == said


def answer_of(text: str, then: Raw) -> str:
    raw = {**expand(text), "airframes": [{"id": "all", "name": "All"}]}
    raw["failures"] = [{"id": "no-gen", "name": "No generator", "failed": ["g1"], "then": then}]
    files = dict(build_site(reading(raw)).files)
    return words(element(str(files["all/named-failure-no-gen.html"]), "answer"))


def test_no_limit_that_a_breaker_may_end_is_not_said_alone() -> None:
    """Nothing is shed: the crew closes the tie, and takes 24 A off the battery; 900 / 24 = 37.5."""
    answer = answer_of(MAY_OPEN % 24, {"switches": {"t": "on"}})
    assert "bat 37 min nothing shed: 30 min required" in answer
    assert "No limit the crew acting at minute 5, if nothing opens by overload" in answer
    sure = answer_of(MAY_OPEN % 22, {"switches": {"t": "on"}})
    assert "No limit the crew acting at minute 5" in sure
    assert "if nothing opens" not in sure


def test_a_battery_without_amp_hours_that_takes_over_then_is_in_the_answer() -> None:
    text = IF_THE_TIE_OPENS.replace("  clock: {supplies: [{bus: hot}], amps: %s}\n", "")
    answer = answer_of(text.replace(", %s}", "}") % 20, {"shed": ["small"]})
    assert "bat , if what is overloaded opens Not known nothing shed" in answer
