"""Where nothing is lost, a page names the functions that one more failure would take."""

from __future__ import annotations

import re

from sitegen.output.site import build_site
from tests.pages.pages_sample import reading, sample, words


def said(*functions: dict[str, object]) -> dict[str, str]:
    """By page of a failure what it says of one failure more, in flight."""
    changed = sample()
    changed["functions"] = list(functions)
    # The essential bus is left with its two infeeds, each behind a breaker and a diode.
    feeders = changed["feeders"]
    changed["feeders"] = [f for f in feeders if f.get("through") != ["k-battery"]]
    pages = build_site(reading(changed)).files
    found = {}
    for path, page in pages:
        name = path.removeprefix("early/failure-").removesuffix(".html")
        lines = re.findall(r'class="one-more(| v v0[^"]*)">(.*?)</p>', str(page))
        if path.startswith("early/failure-") and lines:
            found[name] = words(lines[0][1])
    return found


def function(name: str, *items: str, essential: bool = False) -> dict[str, object]:
    return {"id": name, "name": name.title(), "provided-by": [*items], "essential": essential}


def test_each_of_two_infeeds_says_what_goes_with_the_other() -> None:
    found = said(function("steering", "autopilot", essential=True), function("time", "clock"))
    line = "One failure more takes Steering essential ."
    assert found == dict.fromkeys(("cb-left", "cb-right", "d-left", "d-right"), line)


def test_a_failure_that_takes_something_says_nothing_of_one_more() -> None:
    """Without the left bus radio 2 is lost, and with the right bus the rest."""
    assert "left" not in said(function("steering", "autopilot"))


def test_of_many_functions_the_essential_come_first_and_the_rest_are_counted() -> None:
    functions = [function(f"f{i}", "autopilot", essential=i > 3) for i in range(6)]
    assert said(*functions)["cb-left"] == (
        "One failure more takes F4 essential , F5 essential , F0 , F1 and 2 functions more."
    )


def test_a_breaker_that_has_stuck_says_what_a_short_then_takes() -> None:
    """A shorted battery takes the essential bus with it, and the breaker is to cut that off from
    the left bus: with the breaker stuck, what is there goes too.
    """
    page = str(dict(build_site(reading(sample())).files)["early/failure-cb-left.html"])
    lines = [words(line) for line in re.findall(r'class="one-more[^"]*">(.*?)</p>', page)]
    [stuck] = [line for line in lines if line.startswith("With ")]
    assert stuck == (
        "With Battery shorted as well, 5 items and 1 function are lost; 1 item and 1 function of"
        " these would be kept if it opened."
    )
