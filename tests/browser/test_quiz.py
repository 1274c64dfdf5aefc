"""Questions in a real browser: practised with a thumb and with keys, printed, cut out."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image
from playwright.sync_api import Browser, Page

from sitegen.cli import commands
from tests.browser.conftest import DESK, PHONE
from tests.browser.test_published_site import open_page
from tests.conftest import Once

COUNT = 20
MM = 72 / 25.4
"""Points in a millimetre."""
SHEETS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


@pytest.fixture(scope="module")
def written(once: Once) -> Path:
    """A page to practise, and papers and cards of both sizes, of the same questions."""
    return once("questions", write_questions)


def write_questions(folder: Path) -> None:
    folder.mkdir()
    for size in SHEETS:
        call = ["quiz", "--airframe", "block-3", "--count", str(COUNT), "--paper-size", size]
        for name in ("paper", "cards"):
            call += [f"--{name}", str(folder / f"{name}-{size}.html")]
        result = CliRunner().invoke(
            commands, [*call, "--practise", str(folder / "practise.html"), "--json"]
        )
        assert result.exit_code == 0, result.output
        (folder / "questions.json").write_text(result.stdout, encoding="utf-8")


@pytest.fixture(scope="module")
def printed(written: Path, browser: Browser, once: Once) -> Path:
    def print_all(folder: Path) -> None:
        shutil.copytree(written, folder)
        for path in folder.glob("*-*.html"):
            page = browser.new_page()
            page.goto(path.as_uri())
            page.pdf(path=path.with_suffix(".pdf"), prefer_css_page_size=True)
            page.close()

    return once("printed-questions", print_all)


def questions_of(written: Path) -> list[dict[str, object]]:
    found = json.loads((written / "questions.json").read_text(encoding="utf-8"))
    questions: list[dict[str, object]] = found["questions"]
    return questions


# Practise


def right_of(page: Page) -> int:
    return int(page.locator(".ask.now").get_attribute("data-right") or "")


def test_with_keys_alone_one_goes_from_the_first_question_to_the_result(
    browser: Browser, written: Path
) -> None:
    page, complaints = open_page(browser, DESK, written / "practise.html")
    for _ in range(COUNT):
        page.keyboard.press("abcd"[right_of(page)])
        assert page.locator(".ask.now .verdict").inner_text() == "Right."
        page.keyboard.press("Enter")
    assert page.locator(".ask.now").count() == 0
    assert page.locator(".done h2").inner_text() == f"{COUNT} of {COUNT} right at once"
    page.keyboard.press("Enter")
    assert page.locator(".ask.now").get_attribute("id") == "question-1"
    assert complaints == []
    page.close()


def test_what_is_missed_comes_back_until_it_is_right(browser: Browser, written: Path) -> None:
    page, complaints = open_page(browser, PHONE, written / "practise.html")
    shown: list[str] = []
    answers: dict[str, list[tuple[str, str]]] = {}
    while page.locator(".ask.now").count():
        ask = page.locator(".ask.now")
        name = str(ask.get_attribute("id"))
        right = right_of(page)
        # The first question is missed twice, the third once.
        misses = shown.count(name) < {"question-1": 2, "question-3": 1}.get(name, 0)
        shown.append(name)
        again = ask.locator(".again").count()
        assert again == (shown.count(name) > 1)
        buttons = ask.locator(".choices button")
        # The right answer has another letter each time, and is the same.
        text = buttons.nth(right).locator(".choice").inner_text()
        answers.setdefault(name, []).append((text, "ABCD"[right]))
        assert buttons.nth(right).locator(".abc").inner_text() == "ABCD"[right]
        assert ask.locator(".key .abc").text_content() == "ABCD"[right]
        wrong = (right + 1) % buttons.count()
        buttons.nth(wrong if misses else right).click()
        verdict = ask.locator(".verdict").inner_text()
        assert verdict == ("Wrong. It comes back." if misses else "Right.")
        assert ask.locator(".is-right .mark").inner_text().endswith("right")
        assert ask.locator(".is-wrong").count() == misses
        assert ask.locator(".key").get_attribute("open") is not None
        page.locator(".go-on").click()
    for asked in answers.values():
        assert len({text for text, _ in asked}) == 1
        assert len({letter for _, letter in asked}) == len(asked)
    assert shown.count("question-1") == 3
    assert shown.count("question-3") == 2
    assert len(shown) == COUNT + 3
    assert shown.index("question-1", 1) > 3
    assert page.locator(".done h2").inner_text() == f"{COUNT - 2} of {COUNT} right at once"
    assert page.locator(".done li").count() == 2
    assert complaints == []
    page.close()


def test_on_a_phone_everything_is_large_enough_and_the_next_step_is_in_sight(
    browser: Browser, written: Path
) -> None:
    page, _ = open_page(browser, PHONE, written / "practise.html")
    for _ in range(COUNT):
        for target in page.locator(".ask.now .choices button").all():
            box = target.bounding_box()
            assert box is not None
            assert box["height"] >= 44
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= PHONE["width"]
        page.locator(".ask.now .choices button").nth(right_of(page)).click()
        box = page.locator(".go-on").bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE["height"]
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        page.locator(".go-on").click()
    page.close()


def test_an_answer_cannot_be_changed(browser: Browser, written: Path) -> None:
    page, _ = open_page(browser, DESK, written / "practise.html")
    right = right_of(page)
    page.locator(".ask.now .choices button").nth((right + 1) % 3).click()
    # One may still touch it, though it says that it is not to be used.
    page.locator(".ask.now .choices button").nth(right).click(force=True)
    page.keyboard.press("abcd"[right])
    assert page.locator(".ask.now .verdict").inner_text() == "Wrong. It comes back."
    page.close()


def test_without_a_script_all_questions_stand_there_with_folded_answers(
    browser: Browser, written: Path
) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((written / "practise.html").as_uri())
    assert page.locator(".ask:visible").count() == COUNT
    assert page.locator(".key:visible").count() == COUNT
    first = page.locator(".ask").first
    assert not first.locator(".key p").first.is_visible()
    first.locator("summary").click()
    assert first.locator(".key p").first.is_visible()
    context.close()


def test_on_paper_no_question_to_practise_gives_its_answer_away(
    browser: Browser, written: Path
) -> None:
    """With the script and without: only the answer that was opened is printed."""
    for script in (True, False):
        context = browser.new_context(java_script_enabled=script)
        page = context.new_page()
        page.goto((written / "practise.html").as_uri())
        page.emulate_media(media="print")
        assert page.locator(".ask:visible").count() == COUNT
        assert page.locator(".key p:visible").count() == 0
        page.emulate_media(media="screen")
        first = page.locator(".ask").first
        first.locator(".choices button" if script else "summary").first.click()
        page.emulate_media(media="print")
        assert page.locator(".key:visible").count() == 1
        context.close()


def test_the_site_has_a_page_to_practise_one_tap_from_the_front(
    browser: Browser, site: Path
) -> None:
    page, complaints = open_page(browser, PHONE, site / "block-2" / "index.html")
    page.get_by_role("link", name="Practise").click()
    page.wait_for_url("**/practise.html")
    assert page.locator(".ask.now").count() == 1
    page.keyboard.press("abcd"[right_of(page)])
    read = page.locator(".ask.now .read a")
    assert (site / "block-2" / str(read.get_attribute("href"))).is_file()
    assert complaints == []
    page.close()


# Print


def info(path: Path) -> tuple[int, tuple[float, float]]:
    said = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    pages = re.search(r"Pages:\s+(\d+)", said)
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", said)
    assert pages
    assert size
    return int(pages[1]), (float(size[1]) / MM, float(size[2]) / MM)


def sheets(path: Path) -> list[str]:
    """The text of every page, each on one line."""
    said = subprocess.run(
        ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True
    ).stdout
    return [" ".join(page.split()) for page in said.split("\f")[:-1]]


def squeezed(text: object) -> str:
    return re.sub(r"\s", "", str(text))


@pytest.mark.parametrize("size", SHEETS)
@pytest.mark.parametrize("name", ["paper", "cards"])
def test_a_sheet_has_its_size_the_caution_and_no_ink_at_its_edge(
    printed: Path, tmp_path: Path, name: str, size: str
) -> None:
    path = printed / f"{name}-{size}.pdf"
    count, found = info(path)
    assert found == pytest.approx(SHEETS[size], abs=0.5)
    texts = sheets(path)
    assert len(texts) == count
    for text in texts:
        assert "approved manuals" in text
        assert "licensed people" in text
    subprocess.run(["pdftoppm", "-gray", "-r", "72", path, tmp_path / "page"], check=True)
    for picture in sorted(tmp_path.glob("page*")):
        with Image.open(picture) as image:
            dark = image.convert("L").point(lambda v: 255 if v < 200 else 0)
            left, top, right, bottom = dark.getbbox() or (0, 0, 0, 0)
            assert min(left, top, image.width - right, image.height - bottom) >= 5 * MM


@pytest.mark.parametrize("size", SHEETS)
def test_the_paper_holds_every_question_and_the_key_has_sheets_of_its_own(
    printed: Path, size: str
) -> None:
    texts = sheets(printed / f"paper-{size}.pdf")
    key = next(k for k, text in enumerate(texts) if "Page to read" in text)
    asked = squeezed(" ".join(texts[:key]))
    for question in questions_of(printed):
        # Pages may part a question's lines only where -layout sets two columns side by side.
        assert squeezed(question["text"]) in asked, question["text"]
        assert squeezed(question["reason"])[:20] not in asked
    answers = " ".join(texts[key:])
    assert len(re.findall(r"\b[A-D] ", answers)) >= COUNT
    assert "Which of these" not in answers


@pytest.mark.parametrize("size", SHEETS)
def test_no_question_is_parted_by_the_edge_of_a_sheet(printed: Path, size: str) -> None:
    texts = [squeezed(text) for text in sheets(printed / f"paper-{size}.pdf")]
    for question in questions_of(printed):
        [page] = [text for text in texts if squeezed(question["text"]) in text]
        choices = question["choices"]
        assert isinstance(choices, list)
        for choice in choices:
            assert squeezed(choice["text"].split()[0]) in page


def places(path: Path, label: str) -> list[tuple[int, float, float]]:
    """Where a word is: (sheet, the middle across, the top down), mm."""
    said = subprocess.run(
        ["pdftotext", "-bbox", path, "-"], capture_output=True, text=True, check=True
    ).stdout
    found = []
    for number, sheet in enumerate(said.split("<page ")[1:]):
        for box in re.finditer(
            rf'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="[\d.]+">{label}<', sheet
        ):
            left, top, right = (float(v) / MM for v in box.groups())
            found.append((number, (left + right) / 2, top))
    return found


@pytest.mark.parametrize("size", SHEETS)
def test_every_back_falls_on_its_front_within_a_millimetre(printed: Path, size: str) -> None:
    path = printed / f"cards-{size}.pdf"
    count, (width, _) = info(path)
    # Each condition that a question names has a card after them.
    conditions = len(places(path, "Condition")) // 2
    assert conditions
    assert count == 2 * -(-(COUNT + conditions) // 8)
    for number in range(1, COUNT + 1):
        (front, across, down), (back, across_back, down_back) = places(path, f"{number}/{COUNT}")
        assert (front % 2, back) == (0, front + 1)
        # Turned over the long edge, left and right change places and the top stays up.
        assert abs(across - (width - across_back)) < 1
        assert abs(down - down_back) < 1


@pytest.mark.parametrize("size", SHEETS)
def test_the_cut_marks_of_both_sides_lie_on_each_other(
    printed: Path, tmp_path: Path, size: str
) -> None:
    path = printed / f"cards-{size}.pdf"
    per_mm = 8
    subprocess.run(
        ["pdftoppm", "-gray", "-r", str(25.4 * per_mm), "-l", "2", path, tmp_path / "side"],
        check=True,
    )
    marks = []
    for picture in sorted(tmp_path.glob("side*")):
        with Image.open(picture) as image:
            # A strip in the margin above the cards, with nothing in it but the marks' ends.
            top = (SHEETS[size][1] - 4 * 62) / 2
            strip = image.crop((0, int((top - 3) * per_mm), image.width, int((top - 2) * per_mm)))
            columns = strip.convert("L").resize((strip.width, 1), Image.Resampling.BOX)
            dark = [x / per_mm for x in range(columns.width) if columns.getpixel((x, 0)) < 160]
            marks.append((dark, image.width / per_mm))
    (front, width), (back, _) = marks
    assert front
    for x in front:
        assert min(abs((width - x) - other) for other in back) < 1


@pytest.mark.parametrize("size", SHEETS)
def test_no_card_holds_more_than_it_shows(written: Path, browser: Browser, size: str) -> None:
    page = browser.new_page()
    page.goto((written / f"cards-{size}.html").as_uri())
    page.emulate_media(media="print")
    over = page.evaluate(
        "[...document.querySelectorAll('.card')]"
        ".filter(c => c.scrollHeight > c.clientHeight + 1 || c.scrollWidth > c.clientWidth + 1)"
        ".map(c => c.textContent)"
    )
    assert over == []
    page.close()


def test_even_the_longest_questions_fit_on_their_cards(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "cards.html"
    for kind in ("function", "cause", "readings", "minutes"):
        CliRunner().invoke(
            commands,
            [
                "quiz",
                "--airframe",
                "block-3",
                "--count",
                "55",
                "--kind",
                kind,
                "--cards",
                str(path),
            ],
        )
        page = browser.new_page()
        page.goto(path.as_uri())
        over = page.evaluate(
            "[...document.querySelectorAll('.card')]"
            ".filter(c => c.scrollHeight > c.clientHeight + 1).map(c => c.textContent)"
        )
        assert over == [], kind
        page.close()
