"""The board: any combination of failures and acts, on the live drawing, and what follows."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
import yaml
from playwright.sync_api import Browser, Page

from sitegen.answers.drop import drop
from sitegen.catalogue.model import Failure, Then
from sitegen.catalogue.read import read
from sitegen.output.site import build_site
from sitegen.solver.network import Network, build
from tests.answers.test_besides import TWO_BATTERIES
from tests.answers.test_endurance_remarks import (
    IF_THE_TIE_OPENS,
    MAY_OPEN,
    TAKES_OVER_WHEN_IT_OPENS,
    UNTIL_IT_OPENS,
)
from tests.browser.conftest import DESK, PHONE, phone_without_complaints
from tests.nets import expand
from tests.pages.pages_sample import reading

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"


@cache
def network() -> Network:
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    return build(catalogue, "block-1")


@pytest.fixture
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    with phone_without_complaints(browser) as page:
        yield page


def open_board(page: Page, site: Path, state: str = "") -> None:
    page.goto("about:blank")
    page.goto((site / "block-1" / "board.html").as_uri() + (f"#{state}" if state else ""))
    page.wait_for_selector(".board-more .fold")


def first(page: Page) -> str:
    return page.inner_text(".board-answer .first")


def press(page: Page, name: str) -> None:
    page.click(f".board-part .buttons button:has-text('{name}')")


def test_a_tap_chooses_a_part_and_a_second_fails_it(phone: Page, site: Path) -> None:
    open_board(phone, site)
    assert first(phone) == "Nothing has failed"
    phone.click("[data-part=aft]:not(.wire)")
    press(phone, "Dead")
    lost = drop(network(), "cruise", [("aft", "dead")]).lost
    assert first(phone) == f"{len(lost)} lost"
    assert phone.inner_text(".set-list").startswith("Aft bus dead")
    assert "state-failed" in (phone.get_attribute("[data-part=aft]:not(.wire)", "class") or "")
    phone.wait_for_function("() => location.hash === '#c=cruise&f=aft:dead'")


def test_the_battery_ammeter_points_left_for_discharge_and_right_for_charge(
    phone: Page, site: Path
) -> None:
    tip = """() => [...document.querySelectorAll('.meter')]
      .filter(e => e.innerText.includes('Battery ammeter'))
      .map(e => e.querySelector('.needle').getPointAtLength(1e6).x - 52)[0]"""
    for condition, side in (("battery-only", -1), ("cruise", 1)):
        open_board(phone, site, f"c={condition}")
        assert phone.evaluate(tip) * side > 0, condition


def test_the_frame_of_what_is_chosen_does_not_strike_through_its_state(
    phone: Page, site: Path
) -> None:
    """A name of two lines and its amps leave the word below the symbol."""
    open_board(phone, site)
    phone.click("[data-part=k-gen-1]:not(.wire)")
    press(phone, "Stuck closed")
    lower = "s => document.querySelector(`.part.chosen ${s}`).getBoundingClientRect().bottom"
    assert 0 < phone.evaluate(lower, ".w-stuck") <= phone.evaluate(lower, ".hit") + 1
    press(phone, "Not failed")
    assert first(phone) == "Nothing has failed"


@pytest.mark.parametrize(
    ("state", "condition", "faults", "then", "dip"),
    [
        ("f=forward:shorted", "cruise", [("forward", "shorted")], None, False),
        ("f=forward:shorted&a=dip", "cruise", [("forward", "shorted")], None, True),
        ("f=gen-1:lost,gen-2:lost&c=cruise", "cruise", [("gen-1", "lost"), ("gen-2", "lost")],
         None, False),
        ("f=aft:dead&p=cb-beacons,cb-inverter-1", "cruise", [("aft", "dead")],
         Then(pulled=["cb-beacons", "cb-inverter-1"]), False),
    ],
)  # fmt: skip
def test_a_link_shows_what_drop_answers(
    phone: Page,
    site: Path,
    state: str,
    condition: str,
    faults: list[tuple[str, str]],
    then: Then | None,
    dip: bool,
) -> None:
    open_board(phone, site, state)
    loss = drop(network(), condition, faults, then, dip)
    expected = f"{len(loss.lost)} lost" if loss.lost else "No item is lost"
    assert first(phone).startswith(expected)
    for title, items in (("Lost", loss.lost), ("Turned off", loss.shed)):
        shown = phone.locator(".fold", has_text=f"{title}: ")
        assert shown.count() == bool(items)
        if items:
            assert f"{title}: {len(items)}" in shown.inner_text()


def test_what_comes_on_is_said_with_its_hazard(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=battery-only&f=k-start-1:stuck-closed")
    assert first(phone) == "1 item comes on"
    assert phone.locator(".board-answer .hazard").all_inner_texts() == [
        f"Hazard: Engine 1 starter: {network().hazard_in_short('starter-1')}"
    ]
    open_board(phone, site, "c=cruise&f=k-external:stuck-closed")
    assert phone.locator(".board-answer .hazard").all_inner_texts() == [
        f"Hazard: External power: {network().hazard_in_short('external-power')}"
    ]
    # The pump comes on too, and nobody is hurt by it.
    open_board(phone, site, "c=cruise&f=k-hydraulic:stuck-closed")
    assert first(phone) == "2 items come on"
    assert phone.locator(".board-answer .hazard").count() == 0


def test_a_source_that_failed_is_lost_and_short_minutes_say_of_what(
    phone: Page, site: Path
) -> None:
    open_board(phone, site, "c=cruise&f=gen-1:lost,gen-2:lost")
    assert phone.inner_text(".sources li:has-text('Generator 1')").split("\n")[-1] == "lost"
    assert phone.inner_text(".sources li:has-text('External power')").split("\n")[-1] == "off"
    assert "less than the 30\u00a0min required" in phone.inner_text(".batteries")


def test_without_an_assumption_the_answer_is_the_one_to_expect(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise&f=aft:shorted")
    besides = phone.locator(".board-answer .besides").all_inner_texts()
    assert first(phone).startswith("57 lost")
    assert not [said for said in besides if said.startswith("If contactors")]
    phone.get_by_label("Assume").select_option("dip")
    phone.get_by_text("Assumed: contactors drop out. Here it makes no difference.").wait_for()
    assert first(phone).startswith("57 lost")
    # Where no contactor decides anything, nothing is said of it.
    open_board(phone, site, "c=cruise&f=gen-1:lost")
    assert phone.locator(".board-answer").get_by_text("The catalogue").count() == 0
    assert phone.locator(".board-answer").get_by_text("y the catalogue").count() == 0


def test_undo_and_clear_and_going_back(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise&f=aft:dead,k-ring:open")
    phone.click(".set-list button >> nth=0")
    assert phone.locator(".set-list button").count() == 1
    phone.click(".board-bar button:has-text('Undo')")
    assert phone.locator(".set-list button").count() == 2
    phone.click(".board-bar button:has-text('Clear')")
    assert first(phone) == "Nothing has failed"
    # The address is written once the answer has been painted.
    phone.wait_for_function("() => !location.hash.includes('f=')")
    phone.reload()
    phone.wait_for_selector(".board-more .fold")
    assert first(phone) == "Nothing has failed"


def test_what_a_link_names_and_this_airframe_lacks_is_said(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise&f=aft:dead,no-such-bus:dead,aft-2:x")
    assert "no-such-bus:dead, aft-2:x" in phone.inner_text(".notice")
    assert phone.locator(".set-list button").count() == 1


def test_a_state_is_kept_by_name(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise&f=aft:dead")
    phone.click("#board-keep summary")
    phone.fill("#board-keep input", "Aft out")
    phone.click("#board-keep button:has-text('Keep')")
    open_board(phone, site)
    phone.click("#board-keep summary")
    phone.click("#board-keep button:has-text('Aft out')")
    phone.wait_for_function("() => location.hash === '#c=cruise&f=aft:dead'")


def test_as_yaml_is_an_entry_of_the_catalogue(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise&f=aft:dead,gen-2:lost&p=cb-beacons&x=cabin-air-blower")
    phone.click("#board-keep summary")
    phone.click("#board-keep button:has-text('As YAML')")
    [entry] = yaml.safe_load(phone.inner_text("#board-keep pre"))["failures"]
    failure = Failure.model_validate(entry)
    assert failure.failed == ["aft:dead", "gen-2:lost"]
    assert failure.then is not None
    assert failure.then.pulled == ["cb-beacons"]


def test_by_keyboard_alone(phone: Page, site: Path) -> None:
    open_board(phone, site)
    phone.focus("svg.diagram [tabindex='0']")
    phone.keyboard.press("Enter")
    assert phone.locator(".board-part h2").count() == 1
    phone.focus(".board-part .buttons button >> nth=0")
    phone.keyboard.press("Enter")
    assert phone.locator(".set-list button").count() == 1
    assert phone.inner_text(".board [role=status]")


def test_an_item_is_found_and_turned_off(phone: Page, site: Path) -> None:
    open_board(phone, site)
    phone.click("#board-find summary")
    phone.fill("#board-find input", "upper beacon")
    phone.click("#board-find li button >> nth=0")
    assert "beacon" in phone.inner_text(".board-part h2").lower()
    press(phone, "Turned off")
    phone.wait_for_selector(".fold:has-text('Turned off: ')")


def test_several_are_found_by_typing_alone_once_the_search_is_opened(
    phone: Page, site: Path
) -> None:
    """What was sought before is not in the way of the next."""
    open_board(phone, site)
    for sought in ("upper beacon", "lower beacon"):
        phone.click("#board-find summary")
        phone.wait_for_selector("#board-find input:focus")
        phone.keyboard.type(sought)
        phone.click("#board-find li button >> nth=0")
        assert phone.inner_text(".board-part h2").lower().startswith(sought)
        assert phone.locator("#board-find[open]").count() == 0


def test_a_breaker_s_panel_says_how_open_and_pulled_differ(phone: Page, site: Path) -> None:
    open_board(phone, site)
    phone.click("#board-find summary")
    phone.fill("#board-find input", "com 1")
    phone.click("#board-find li button:has-text('COM 1') >> nth=0")
    breaker = phone.locator(".board-part button:has-text('Breaker ')")
    if breaker.count():
        breaker.first.click()
    assert phone.locator(".board-part button").all_inner_texts()[0] == "Open"
    assert phone.inner_text(".board-part .hint") == (
        "Open, Stuck closed: the breaker itself has failed. Pulled: the crew opens it afterwards."
    )


IN_VIEW = """id => {
  const pan = document.querySelector('.pan').getBoundingClientRect();
  return [...document.querySelectorAll(`[data-part=${id}]:not(.wire)`)].some(part => {
    const box = part.getBoundingClientRect();
    return box.left >= pan.left - 1 && box.right <= pan.right + 1
      && box.top >= pan.top && box.bottom <= pan.bottom;
  });
}"""


def test_on_a_phone_the_board_opens_with_the_generators_in_view(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise")
    assert all(phone.evaluate(IN_VIEW, g) for g in ("gen-1", "gen-2"))


def test_at_a_desk_no_bus_lies_under_the_lower_edge(browser: Browser, site: Path) -> None:
    page = browser.new_page(viewport={"width": DESK["width"], "height": DESK["height"]})
    open_board(page, site, "c=cruise")
    edge, bars = page.evaluate(
        """() => [document.querySelector('.pan').getBoundingClientRect().bottom,
        [...document.querySelectorAll('.pan .bar')].map(b => b.getBoundingClientRect())
        .map(b => [b.top, b.bottom])]"""
    )
    assert sum(bottom < edge for _, bottom in bars) > 5
    assert not [top for top, bottom in bars if top < edge < bottom]
    page.close()


def test_chips_are_whole_and_the_hint_is_there_until_something_has_failed(
    phone: Page, site: Path
) -> None:
    open_board(phone, site, "c=cruise")
    hint = phone.locator(".board-picture .hint")
    assert hint.is_visible()
    open_board(phone, site, "c=cruise&f=gen-1:lost,aft:shorted,essential:dead&p=com-2.breaker")
    assert not hint.is_visible()
    chips = phone.locator(".set-list button").evaluate_all(
        "all => all.map(b => b.getBoundingClientRect().right)"
    )
    assert len(chips) == 4
    assert max(chips) <= 360 - 14
    # The small map is within the bar below the drawing.
    map_top, bar_top = phone.evaluate(
        """() => ['.pan-map', '.board-picture figcaption']
        .map(s => document.querySelector(s).getBoundingClientRect().top)"""
    )
    assert map_top > bar_top


def test_what_was_found_is_shown_with_all_of_its_drawing_below_the_strip(
    phone: Page, site: Path
) -> None:
    open_board(phone, site, "c=cruise")
    phone.click("#board-find summary")
    phone.fill("#board-find input", "essential bus")
    phone.click("#board-find li button >> nth=0")
    strip, picture, part = phone.evaluate(
        """() => ['.strip', '.board-picture', '.board-part']
        .map(s => document.querySelector(s).getBoundingClientRect())
        .map((box, i) => i ? box.top : box.bottom)"""
    )
    assert strip - 1 <= picture <= strip + 2
    assert part < 740 - 100


def test_the_answer_is_said_at_the_bottom_while_it_is_out_of_view(phone: Page, site: Path) -> None:
    open_board(phone, site)
    bar = phone.locator(".answer-bar")
    assert bar.is_hidden()
    open_board(phone, site, "c=cruise&f=aft:dead,gen-1:lost,k-ring:open&p=cb-beacons")
    bar.wait_for()
    box = bar.bounding_box()
    assert box
    assert box["y"] + box["height"] == PHONE["height"]
    assert box["height"] >= 44
    assert bar.inner_text().split("\n")[0] == first(phone)
    bar.click()
    bar.wait_for(state="hidden")
    answer = phone.locator(".board-answer .first").bounding_box()
    strip = phone.locator(".strip").bounding_box()
    assert answer
    assert strip
    assert strip["height"] <= answer["y"] < strip["height"] + 32
    # Further down it leads back up.
    phone.evaluate("scrollTo(0, document.body.scrollHeight)")
    bar.wait_for()
    assert bar.inner_text().split("\n")[-1] == "\N{UPWARDS ARROW}"
    # It lies over nothing that cannot be scrolled to, and paper has no use for it.
    caution, box = phone.locator(".caution").bounding_box(), bar.bounding_box()
    assert caution
    assert box
    assert box["y"] + box["height"] <= caution["y"]
    phone.emulate_media(media="print")
    assert bar.is_hidden()


@pytest.mark.parametrize("part", ["cb-beacons", "k-gen-1", "aft", "gen-1", "battery-master"])
def test_a_button_that_is_chosen_keeps_its_place_and_moves_no_other(
    phone: Page, site: Path, part: str
) -> None:
    boxes = """() => ({
      buttons: [...document.querySelectorAll('.board-part .buttons button')].map(button => {
        const { x, width, height } = button.getBoundingClientRect();
        const top = button.offsetTop - button.parentElement.offsetTop;
        return [button.textContent, x, top, width, height].join(' ');
      }), part: document.querySelector('.board-part').offsetHeight })"""
    if part == "battery-master":
        open_board(phone, site, "c=cruise")
        phone.click("#board-find summary")
        phone.fill("#board-find input", "battery switch")
        phone.click("#board-find li button:has-text('Battery switch')")
    else:
        open_board(phone, site, "c=cruise&f=aft:dead")
        phone.evaluate("id => { location.hash = `c=cruise&f=${id}` }", part)
        phone.locator(".set-list button").first.wait_for()
        press(phone, "Not failed")
    before = phone.evaluate(boxes)
    names = phone.locator(".board-part .buttons button").all_inner_texts()
    assert len(names) > 1
    for name in names:
        button = phone.get_by_role("button", name=name, exact=True)
        if button.is_enabled():
            button.click()
        assert phone.evaluate(boxes) == before, name


def test_what_has_failed_open_cannot_be_pulled_besides(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise&f=cb-beacons:open")
    pulled = phone.get_by_role("button", name="Pulled", exact=True)
    assert pulled.is_disabled()
    press(phone, "Not failed")
    pulled.click()
    assert phone.inner_text(".set-list").startswith("BEACON pulled")


def test_lamps_have_their_names_and_states_as_on_every_page(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=cruise&f=gen-2:lost")
    shown = dict(tile.split("\n") for tile in phone.locator(".lamp").all_inner_texts())
    assert shown["GEN 2 OFF lamp"] == "lit"
    assert shown["GEN 1 OFF lamp"] == "unlit"


def test_it_finds_in_the_order_of_every_page(phone: Page, site: Path) -> None:
    open_board(phone, site)
    phone.click("#board-find summary")
    found = phone.locator("#board-find li")
    phone.fill("#board-find input", "com 1")
    phone.wait_for_function(
        "() => document.querySelector('#board-find li')?.textContent === 'VHF COM 1item'"
    )
    assert found.all_inner_texts()[1] == "COM 1\nbreaker"
    # There is a voltmeter, but none that could be chosen here.
    phone.fill("#board-find input", "voltmeter beacon")
    found.get_by_text("With \u2018beacon\u2019").wait_for()
    assert "BEACON\nbreaker" in found.all_inner_texts()
    phone.fill("#board-find input", "zzz")
    found.get_by_text("No match.").wait_for()


DROPS_OUT = """
sources:
  gen: {volts: 28, amps: 100}
  bat: {kind: battery, volts: 24, amp-hours: 20, usable: 0.75}
buses: [main, essential, aux, hot]
switches: {tie-switch: [norm, reset]}
devices:
  k-tie:
    kind: contactor
    rides-through: false
    closes-when: [{switches: {tie-switch: reset}}, {closed: [k-tie], live: [main]}]
  cb-aux: breaker
  d: {kind: diode, drop-volts: 0}
feeders:
  - gen > main
  - main > k-tie > essential
  - bat > hot
  - hot > d > essential
  - main > cb-aux > aux
equipment:
  radio: {supplies: [{bus: essential}], amps: 36}
  clock: {supplies: [{bus: hot}], amps: 1}
conditions: {flight: {sources: [gen, bat], held-closed: [k-tie]}}
"""


def board_of(net: str, folder: Path) -> Path:
    """The board of a small net, published into a folder."""
    for path, content in build_site(reading(expand(net))).files:
        file = folder / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
    [board] = folder.rglob("board.html")
    return board


def first_battery(page: Page, board: Path, address: str) -> str:
    """The first row of the batteries, on one line, of a board with this set."""
    page.goto("about:blank")
    page.goto(f"{board.as_uri()}#{address}")
    page.wait_for_selector(".board-more .fold")
    return page.inner_text(".batteries li").replace("\n", " ")


def test_minutes_are_those_of_the_answer_that_is_shown(browser: Browser, tmp_path: Path) -> None:
    """If the short drops the tie out, the battery has 37 A: 15 Ah last 24 min."""
    board = board_of(DROPS_OUT.replace("    rides-through: false\n", ""), tmp_path)
    with phone_without_complaints(browser) as page:
        for assumed, said in (("&a=dip", "24\u00a0min bat"), ("", "More than 4 hours bat")):
            address = f"c=flight&f=aux:shorted{assumed}"
            assert first_battery(page, board, address).startswith(said)


def test_minutes_that_are_fewer_if_contactors_drop_out_make_a_difference(
    browser: Browser, tmp_path: Path
) -> None:
    """Two of 15 Ah usable share 40 A; with the contactor out one has all of it: 22 min."""
    board = board_of(TWO_BATTERIES, tmp_path)
    with phone_without_complaints(browser) as page:
        row = first_battery(page, board, "c=flight&f=aux:shorted&a=dip")
        assert row.startswith("22\u00a0min b1")
        answer = page.inner_text(".board-answer")
        assert "contactors drop out" in answer
        assert "no difference" not in answer


def test_minutes_that_something_that_must_open_ends_are_not_given_as_the_time(
    browser: Browser, tmp_path: Path
) -> None:
    """With the heater off the battery gives nothing; with the breaker open 6 A for 150 min."""
    board = board_of(UNTIL_IT_OPENS % ("", 6), tmp_path)
    with phone_without_complaints(browser) as page:
        for acts, said in (
            ("&x=heater", "Not known bat nothing draws from it; until cb opens by overload, as it"),
            ("", "30\u00a0min bat until cb opens by overload, as it"),
        ):
            text = first_battery(page, board, f"c=flight&f=gen{acts}")
            assert text.startswith(f"{said} must; if what is overloaded opens: 150\u00a0min")


def test_a_battery_that_takes_over_when_something_must_open_has_its_minutes(
    browser: Browser, tmp_path: Path
) -> None:
    """90 A through the generator breaker of 50 A; 75 % of 20 Ah then last 10 min."""
    board = board_of(TAKES_OVER_WHEN_IT_OPENS % 20, tmp_path)
    with phone_without_complaints(browser) as page:
        assert first_battery(page, board, "c=flight&f=one") == (
            "10\u00a0min bat if what is overloaded opens, as it must; nothing draws from it before;"
            " less than the 30\u00a0min required; nothing shed"
        )


def test_what_goes_with_minutes_goes_with_those_if_something_opens_too(
    browser: Browser, tmp_path: Path
) -> None:
    """46 A last 900 / 46 = 19.6 min, and at 22 V the big item is lost; with 24 A through a breaker
    of 20 A nothing draws from the battery, but it may open.
    """
    board = board_of(IF_THE_TIE_OPENS % ("amp-hours: 20", 20, 6), tmp_path / "tie")
    may_open = board_of(MAY_OPEN % 24, tmp_path / "may")
    with phone_without_complaints(browser) as page:
        assert first_battery(page, board, "c=flight&f=g1") == (
            "150\u00a0min bat until tie opens by overload, as it must; if what is overloaded opens:"
            " 19\u00a0min, less than the 30\u00a0min required, lost as its volts go down: big;"
            " nothing shed"
        )
        row = first_battery(page, may_open, "c=flight&f=g1&s=t:on")
        assert row.startswith(
            "No limit bat with cb still closed, which may open; you acting as set"
        )


def test_what_the_amps_of_the_sources_leave_out_is_said(phone: Page, site: Path) -> None:
    open_board(phone, site, "c=approach&f=gen-1:lost")
    phone.get_by_text("For a short time: if all starts and motors draw at once.").wait_for()
    given = phone.inner_text(".sources li:has-text('Generator 2')")
    assert "up to 479.8\u00a0A for a short time, over its short-time rating of 375\u00a0A" in given
