"""Real PDFs of the demo's handouts, read with poppler and looked at as pictures."""

from __future__ import annotations

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
from pypdf import PdfReader
from pypdf.generic import Destination

from sitegen.catalogue.read import read
from sitegen.cli import commands
from sitegen.output.pdf import find_browser, print_pages
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build
from tests.conftest import Once, publish
from tests.pages.pages_sample import sample

PAPERS = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}
"""Points (ISO 216; ANSI/ASME Y14.1 A)."""

DOTS = 50
"""An inch, of the pictures that are looked at."""
FIRST_LINES = 300
"""Letters of a page's text that hold the lines at its head and foot and its first title."""
EDGE = 8 / 25.4 * DOTS
"""No ink nearer to the edge than this, 8 mm."""


@pytest.fixture(scope="module", params=PAPERS)
def printed(request: pytest.FixtureRequest, once: Once) -> tuple[str, Path]:
    """A paper, and the demo's site printed on it."""
    paper = request.param

    def publish_on_paper(target: Path) -> None:
        publish("--to", str(target), "--pdf", "--paper-size", paper)

    return paper, once(f"printed-{paper}", publish_on_paper)


def info(pdf: Path, *more: str) -> str:
    return run("pdfinfo", *more, str(pdf))


def run(*command: str) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


@cache
def sheets(pdf: Path) -> list[str]:
    """The text of each page."""
    return [page.extract_text() for page in PdfReader(pdf).pages]


def pages(pdf: Path) -> int:
    return int(re.findall(r"Pages:\s+(\d+)", info(pdf))[0])


def text(pdf: Path) -> str:
    return " ".join(run("pdftotext", str(pdf), "-").split())


def test_every_handout_is_there_and_listed_as_the_sites_own(printed: tuple[str, Path]) -> None:
    _, site = printed
    found = {p.relative_to(site).as_posix() for p in site.rglob("*.pdf")}
    blocks = ("block-1", "block-2", "block-3")
    assert found == {
        f"{b}/handout{which}.pdf" for b in blocks for which in ("", "-exercise", "-table", "-card")
    }
    assert found <= set((site / ".made-by-sitegen").read_text().splitlines())


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


@pytest.mark.parametrize("airframe", ["block-1", "block-2", "block-3"])
def test_every_bus_and_every_named_failure_is_in_the_text(
    printed: tuple[str, Path], airframe: str
) -> None:
    _, site = printed
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    fitted = build(catalogue, airframe).catalogue
    found = text(site / airframe / "handout.pdf")
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
    pdf = site / "block-3" / "handout.pdf"
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
    for pdf in (site / "block-1").glob("*.pdf"):
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
    assert b"/tmp/" not in (site / "block-1" / "handout.pdf").read_bytes()
    course = PdfReader(site / "block-1" / "handout.pdf")
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
    page = (site / "block-2" / "handout.html").read_text()
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


def test_the_same_page_gives_the_same_pdf(printed: tuple[str, Path]) -> None:
    _, site = printed
    pages = ["block-1/handout-card.html", "block-2/handout-card.html"]
    again = print_pages(site, pages, find_browser(), date(2026, 11, 28))
    for path, content in again:
        assert (site / path).read_bytes() == content


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
    site: Path, tmp_path: Path
) -> None:
    chromium = shutil.which("chromium") or "google-chrome"
    for name in ("blank", "blank-essential"):
        out = tmp_path / f"{name}.pdf"
        subprocess.run(
            [
                chromium,
                "--headless",
                "--no-sandbox",
                "--no-pdf-header-footer",
                f"--user-data-dir={tmp_path / name}",
                f"--print-to-pdf={out}",
                (site / "block-1" / f"{name}.html").as_uri(),
            ],
            check=True,
            capture_output=True,
        )
        first, second = (" ".join(p.extract_text().split()) for p in PdfReader(out).pages)
        assert "Battery relay" not in first
        assert "Battery relay" in second
