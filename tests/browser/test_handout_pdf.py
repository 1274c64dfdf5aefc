"""Real PDFs of the demo's handouts, read with poppler and looked at as pictures."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from datetime import date
from functools import cache
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner
from PIL import Image
from playwright.sync_api import Browser
from pypdf import PdfReader
from pypdf.generic import Destination

from sitegen.catalogue.read import read
from sitegen.cli import commands
from sitegen.output.pdf import print_pages
from sitegen.output.site import build_site
from sitegen.output.workers import processors
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build
from tests.browser.conftest import PHONE, chromium_path
from tests.conftest import Once, publish
from tests.pages.as_written import as_written
from tests.pages.pages_sample import sample

MADE = date(2026, 11, 28)
"""The demo's revision."""
PAPERS = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}
"""Points (ISO 216; ANSI/ASME Y14.1 A)."""

DOTS = 50
"""An inch, of the pictures that are looked at."""
FIRST_LINES = 300
"""Letters of a page's text that hold the lines at its head and foot and its first title."""
EDGE = 8 / 25.4 * DOTS
"""No ink nearer to the edge than this, 8 mm."""


@pytest.fixture(scope="module", params=PAPERS)
def printed(request: pytest.FixtureRequest, once: Once, site: Path) -> tuple[str, Path]:
    """A paper, and what is on it: one airframe's handouts, on A4 the others' courses too."""
    paper = request.param

    def print_on_paper(target: Path) -> None:
        if paper == "a4":
            shutil.copytree(site, target)
            courses, all_of_one = site.glob("*/handout.html"), site.glob("block-2/handout*.html")
            pages = sorted({p.relative_to(site).as_posix() for p in (*courses, *all_of_one)})
            assert len(pages) == 6
        else:
            pages = write_handouts(target, paper, "block-2")
        for path, content in print_pages(target, pages, chromium_path() or "", MADE, processors()):
            (target / path).write_bytes(content)

    return paper, once(f"printed-{paper}", print_on_paper)


def write_handouts(target: Path, paper: str, airframe: str) -> list[str]:
    """The handouts of an airframe of the demo for a paper, and what their pages load."""
    made = build_site(read(demo_catalogue()), paper=paper, airframe=airframe)
    for path in (*made.handouts, *made.shared):
        content = made.make(path)
        assert content is not None
        (target / path).parent.mkdir(parents=True, exist_ok=True)
        (target / path).write_bytes(content if isinstance(content, bytes) else content.encode())
    return list(made.handouts)


def info(pdf: Path, *more: str) -> str:
    return run("pdfinfo", *more, str(pdf))


def run(*command: str) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


@cache
def sheets(pdf: Path) -> list[str]:
    """The text of each page."""
    return run("pdftotext", "-raw", str(pdf), "-").split("\f")[:-1]


def pages(pdf: Path) -> int:
    return int(re.findall(r"Pages:\s+(\d+)", info(pdf))[0])


def text(pdf: Path) -> str:
    return " ".join(run("pdftotext", str(pdf), "-").split())


def test_publish_prints_every_handout_and_lists_the_pdfs_as_the_sites_own(tmp_path: Path) -> None:
    catalogue, target = tmp_path / "plover.yaml", tmp_path / "site"
    course = {"id": "course", "name": "Course", "sections": ["cover", "failures"]}
    card = {"id": "card", "name": "Card", "sections": ["failures"]}
    written = {**sample(), "handout": [course, card]}
    catalogue.write_text(yaml.safe_dump(written), encoding="utf-8")
    publish(str(catalogue), "--to", str(target), "--pdf", "--paper-size", "letter")
    found = {p.relative_to(target).as_posix() for p in target.rglob("*.pdf")}
    assert found == {
        f"{airframe}/handout{which}.pdf"
        for airframe in ("early", "late")
        for which in ("", "-card")
    }
    assert found <= set((target / ".made-by-sitegen").read_text().splitlines())
    for path in found:
        for page in PdfReader(target / path).pages:
            size = (float(page.mediabox.width), float(page.mediabox.height))
            assert size == pytest.approx(PAPERS["letter"], abs=1)


def test_the_card_has_two_pages_and_the_course_fifty_at_most(
    printed: tuple[str, Path],
) -> None:
    _, site = printed
    for card in site.rglob("handout-card.pdf"):
        assert pages(card) == 2
    for course in site.rglob("handout.pdf"):
        assert 20 <= pages(course) <= 50


def test_every_page_has_the_size_of_the_paper_upright_or_on_its_side(
    printed: tuple[str, Path],
) -> None:
    paper, site = printed
    for pdf in site.rglob("*.pdf"):
        sizes = [
            tuple(sorted((float(p.mediabox.width), float(p.mediabox.height))))
            for p in PdfReader(pdf).pages
        ]
        for size in sizes:
            assert size == pytest.approx(PAPERS[paper], abs=1)


def test_every_bus_and_every_named_failure_is_in_the_text(printed: tuple[str, Path]) -> None:
    paper, site = printed
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    courses = list(site.glob("*/handout.pdf"))
    assert len(courses) == (3 if paper == "a4" else 1)
    for course in courses:
        fitted = build(catalogue, course.parent.name).catalogue
        found = text(course)
        names = [r.name for r in (*fitted.buses, *fitted.failures, *fitted.functions)]
        names += [r.name for r in (*fitted.equipment, *fitted.indications)]
        assert [n for n in names if n not in found] == []


def test_every_page_says_whose_it_is_which_revision_and_what_to_be_careful_about(
    printed: tuple[str, Path],
) -> None:
    _, site = printed
    for pdf in (site / "block-2").glob("*.pdf"):
        count = pages(pdf)
        for number, sheet in enumerate(sheets(pdf), 1):
            words = " ".join(sheet.split())
            assert "Tarn 19, Serials 25 to 58" in words
            assert "Revision 8 of 28 Nov 2026" in words
            assert "approved manuals and local rules come first" in words
            assert f"Page {number} of {count}" in words


def test_no_ink_lies_in_the_outer_margin(printed: tuple[str, Path], tmp_path: Path) -> None:
    _, site = printed
    pdf = site / "block-2" / "handout.pdf"
    run("pdftoppm", "-gray", "-r", str(DOTS), "-png", str(pdf), str(tmp_path / "p"))
    pictures = sorted(tmp_path.glob("*.png"))
    assert len(pictures) == pages(pdf)
    for picture in pictures:
        with Image.open(picture) as page:
            dark = page.convert("L").point(lambda grey: 255 if grey < 200 else 0).getbbox()
            assert dark is not None
            left, top, right, bottom = dark
            assert min(left, top, page.width - right, page.height - bottom) >= EDGE - 1


def test_a_pdf_is_tagged_has_an_outline_and_links_within_itself_only(
    printed: tuple[str, Path],
) -> None:
    _, site = printed
    for pdf in (site / "block-2").glob("*.pdf"):
        assert re.search(r"Tagged:\s+yes", info(pdf))
        reader = PdfReader(pdf)
        titles = list(outline(reader.outline))
        last = (
            "Diagram to fill in" if "exercise" in pdf.name else "Which failure takes which function"
        )
        assert any(title.endswith(last) for title in titles)
        for page in reader.pages:
            for note in page.get("/Annots", []):
                action = note.get_object().get("/A", {})
                assert "/URI" not in action
    assert b"/tmp/" not in (site / "block-2" / "handout.pdf").read_bytes()
    course = PdfReader(site / "block-2" / "handout.pdf")
    assert any("Forward bus" in title for title in outline(course.outline))
    assert any(page.get("/Annots") for page in course.pages)


def outline(entries: list[Destination | list[Destination]]) -> Iterator[str]:
    for entry in entries:
        if isinstance(entry, list):
            yield from outline(entry)
        else:
            yield " ".join(str(entry.title).split())


def test_a_bus_or_a_failure_that_fits_on_a_page_is_not_split(printed: tuple[str, Path]) -> None:
    """Each block's first and last words are on one page."""
    _, site = printed
    page = as_written((site / "block-2" / "handout.html").read_text())
    blocks = re.findall(r'<article class="block[^>]*>(.*?)</article>', page, re.S)
    assert len(blocks) > 40
    texts = [squeezed(sheet) for sheet in sheets(site / "block-2" / "handout.pdf")]
    for block in blocks:
        # What is folded up on the screen has its title on the screen only.
        plain = re.sub(r"<svg.*?</svg>|<ul class=acts>.*?</ul>", " ", block, flags=re.S)
        plain = re.sub(r"<summary>.*?</summary>", " ", plain, flags=re.S)
        lines = [re.sub(r"<[^>]+>", "", t) for t in re.findall(r"<(?:h3|h4)>(.*?)</h", plain)]
        head = squeezed(lines[0])
        here = [k for k, text in enumerate(texts) if head in text]
        last = squeezed(re.sub(r"<[^>]+>", "", plain))[-25:]
        # Only what is longer than a page is split: it begins a page.
        assert any(last in texts[k] or head in texts[k][:FIRST_LINES] for k in here), head


def squeezed(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.replace("&#9679;", "").replace("&#9675;", ""))


def test_no_row_of_a_table_is_alone_on_a_sheet(browser: Browser, tmp_path: Path) -> None:
    """Four rows, begun at every third of a sheet's last 36 mm: parted two and two at most.

    On A4 265 mm are between the margins, and a row takes about 5 mm.
    """
    starts = range(229, 265, 3)
    cases = "".join(
        f'<div style="break-before: page; height: {start}mm"></div><table class="lines"><thead>'
        "<tr><th>Head</th></tr></thead><tbody>"
        + "".join(f"<tr><td>from{start}</td></tr>" for _ in range(4))
        + "</tbody></table>"
        for start in starts
    )
    style = (Path(__file__).parents[2] / "themes/workshop/handout.css").read_text()
    page = browser.new_page()
    page.set_content(f'<style>{style}</style><body class="page-handout"><main>{cases}</main>')
    page.pdf(path=tmp_path / "rows.pdf", format="A4", prefer_css_page_size=True)
    page.close()
    on_sheets = [re.findall(r"from\d+", sheet) for sheet in sheets(tmp_path / "rows.pdf")]
    counts = [rows.count(row) for rows in on_sheets for row in set(rows)]
    assert sum(counts) == 4 * len(starts)
    assert set(counts) == {2, 4}


def test_the_same_page_gives_the_same_pdf(printed: tuple[str, Path]) -> None:
    _, site = printed
    [(path, again)] = print_pages(site, ["block-2/handout-card.html"], chromium_path() or "", MADE)
    assert (site / path).read_bytes() == again


def test_without_a_browser_the_site_is_written_and_a_message_says_how_to_print(
    tmp_path: Path,
) -> None:
    catalogue, target = tmp_path / "plover.yaml", tmp_path / "site"
    catalogue.write_text(yaml.safe_dump(sample()), encoding="utf-8")
    call = ["publish", str(catalogue), "--to", str(target), "--pdf"]
    result = CliRunner().invoke(commands, [*call, "--browser", "no-such-browser"])
    assert result.exit_code == 1
    assert "there is no browser no-such-browser" in result.output
    assert "print it to a file" in result.output
    assert (target / "early" / "handout.html").is_file()
    assert not list(target.rglob("*.pdf"))


def test_a_blank_drawing_prints_on_one_sheet_and_its_key_on_the_next(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page()
    for name in ("blank", "blank-essential"):
        page.goto((site / "block-1" / f"{name}.html").as_uri())
        sheets = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
        first, second = (" ".join(sheet.extract_text().split()) for sheet in sheets)
        assert "Battery relay" not in first
        assert "Battery relay" in second
    page.close()


def test_on_a_phone_a_handout_has_a_button_to_print_and_its_contents_first(
    browser: Browser, site: Path
) -> None:
    page = browser.new_page(viewport=PHONE)
    page.add_init_script("window.print = () => { window.printed = true; }")
    address = (site / "block-1" / "handout.html").as_uri()
    page.goto(address)
    page.get_by_role("button", name="Print", exact=True).click()
    assert page.evaluate("window.printed")
    contents, block = (
        page.locator(part).first.bounding_box() for part in (".contents ol", ".cover-block")
    )
    assert contents
    assert block
    assert contents["y"] < PHONE["height"] / 2
    assert contents["y"] + contents["height"] <= block["y"]
    # The title once: on paper, where the page's own head is not printed, it is the cover's.
    title = page.inner_text("h1 .name")
    shown = page.get_by_text(title, exact=True).locator("visible=true")
    assert [one.evaluate("e => e.closest('footer') === null") for one in shown.all()].count(
        True
    ) == 1
    page.emulate_media(media="print")
    assert page.locator(".print-page").is_hidden()
    assert page.locator(".cover-name").is_visible()
    page.close()


def test_without_scripts_there_is_no_button_that_does_nothing(browser: Browser, site: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    page.goto((site / "block-1" / "handout.html").as_uri())
    assert page.locator("main button").count() == 0
    context.close()
