"""A failure of what is not in use makes no difference, and its page says why."""

from __future__ import annotations

import pytest

from sitegen.pages.failure_page import SINGLE
from sitegen.pages.fragments.failure_view import views_of
from sitegen.pages.page_context import PageContext
from tests.pages.pages_sample import context_of, modes, sample


@pytest.fixture(scope="module")
def context() -> PageContext:
    return context_of(sample())


@pytest.mark.parametrize(
    ("component", "mode", "in_flight", "parked"),
    [
        # In flight the generators are on line and both line contactors are closed.
        ("k-1", "stuck-closed", "Already closed", ""),
        ("k-1", "open", "", "Already open"),
        ("k-battery", "stuck-closed", "Already closed", "Already closed"),
        ("gen-1", "lost", "", "Not on line"),
        ("left", "dead", "", "Already dead"),
        ("left", "shorted", "", "Already dead"),
        ("essential", "dead", "", ""),
    ],
)
def test_what_is_not_in_use_already_is_what_the_failure_makes_it(
    context: PageContext, component: str, mode: str, in_flight: str, parked: str
) -> None:
    fault = (component, mode)
    views = views_of(context, "", (fault,), context.answers.single[fault])
    assert [view.already for view in views] == [in_flight, parked]


@pytest.mark.parametrize(
    ("component", "reason"),
    [("k-battery", "Already closed"), ("left", "Already dead"), ("gen-1", "Not on line")],
)
def test_the_page_and_its_buttons_say_so(context: PageContext, component: str, reason: str) -> None:
    [page] = [p for p in SINGLE.pages(context) if p.path == f"early/failure-{component}.html"]
    text = page.make()
    assert f">{reason}</p>" in text
    assert f"<small>{reason.lower()}</small>" in text


def test_where_it_makes_no_difference_the_page_says_where_it_makes_one(
    context: PageContext,
) -> None:
    """Parked the generators are off line; the battery's contactor is closed in both conditions."""
    pages = {p.path: p.make for p in SINGLE.pages(context)}
    said = '<p class="also v v1">It makes a difference in <a href="#view-0">Flight</a>.</p>'
    assert said in pages["early/failure-gen-1.html"]()
    assert "It makes a difference" not in pages["early/failure-k-battery.html"]()


def test_a_page_opens_on_a_mode_that_makes_a_difference() -> None:
    catalogue = sample()
    # In no condition does anything close it: that it opens makes no difference.
    spare = {"id": "k-spare", "name": "Spare", "kind": "contactor"}
    spare["closes-when"] = {"live": ["gen-1"], "dead": ["gen-1"]}
    catalogue["devices"].append(spare)
    catalogue["equipment"][0]["supplies"].append({"bus": "hot", "through": ["k-spare"]})
    pages = {p.path: p.make for p in SINGLE.pages(context_of(catalogue))}

    def of(component: str) -> list[str]:
        return modes(pages[f"early/failure-{component}.html"]())

    assert of("k-spare") == ["Stuck closed", "Open"]
    assert of("k-1") == ["Open", "Stuck closed"]
