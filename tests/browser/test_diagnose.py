"""The diagnosis by taps: what is seen is said, the causes follow, a check narrows them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from sitegen.answers.find import find_observation
from sitegen.answers.observations import Observation
from sitegen.answers.troubleshoot import troubleshoot
from tests.browser.conftest import PHONE, phone_without_complaints
from tests.browser.test_board import network


@pytest.fixture
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    with phone_without_complaints(browser) as page:
        page.goto((site / "block-1" / "diagnose.html").as_uri() + "#c=cruise")
        yield page


def causes(page: Page) -> list[str]:
    """The causes once the search has ended."""
    page.wait_for_selector(".results .hint")
    page.wait_for_function("() => document.querySelector('.diagnose [role=status]').textContent")
    return page.locator(".causes button b").all_inner_texts()


def test_a_dead_item_is_named_and_a_check_that_is_tapped_narrows_the_causes(phone: Page) -> None:
    phone.fill(".items input", "com 1")
    phone.click("button[aria-label='VHF COM 1: dead']")
    before = causes(phone)
    assert "COM 1 open" in before
    phone.wait_for_selector(".look-next button")
    name = phone.inner_text(".look-next .check b >> nth=0").removeprefix("Look at ")
    reads = phone.inner_text(".look-next .check button b >> nth=0")
    phone.click(".look-next .check button >> nth=0")
    after = causes(phone)
    assert 0 < len(set(after) & set(before)) < len(before)
    # What was tapped is now among what is seen.
    assert reads in phone.inner_text(f".meter.read:has-text('{name}')")
    expected = troubleshoot(
        network(),
        "cruise",
        [Observation("com-1", "dead"), find_observation(network(), "ac-volts", reads.split()[0])],
    )
    assert len([c for c in expected.candidates if len(c) == 1]) == int(
        phone.inner_text(".results .first b")
    )


def test_what_is_not_read_can_be_said_to_be_normal_by_one_tap(phone: Page) -> None:
    assert phone.locator(".rest-normal").is_hidden()
    phone.click("button:has-text('GEN 2 OFF')")
    phone.click(".rest-normal")
    assert phone.locator(".rest-normal").is_hidden()
    assert phone.locator(".lamp-unread").count() == 0
    assert phone.inner_text(".lamp.read:has-text('GEN 1 OFF') small") == "out"
    assert "28.5" in phone.inner_text(".meter.read:has-text('Forward voltmeter') .stepper b")
    assert phone.evaluate("document.documentElement.scrollWidth") == PHONE["width"]


def test_a_cause_is_shown_on_the_drawing_and_leads_to_the_board(phone: Page) -> None:
    phone.get_by_role("button", name="Aft voltmeter: 0 V").click()
    causes(phone)
    phone.click(".causes button:has-text('Aft bus dead')")
    assert phone.get_attribute("[data-part=aft].bus, [data-part=aft]", "class")
    assert phone.inner_text(".drawn-cause b") == "Aft bus dead"
    assert "f=aft:dead" in (phone.get_attribute(".drawn-cause a", "href") or "")
    phone.click("button:has-text('Clear')")
    assert phone.inner_text(".results .first").startswith("Tap a meter")
