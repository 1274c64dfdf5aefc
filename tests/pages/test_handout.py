"""The handouts as pages: their parts, their numbers, their links, their names."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from sitegen.catalogue.model import WHOLE_HANDOUT, Handout
from sitegen.output.pdf import NotPrinted, find_browser, print_pages
from sitegen.output.publish import write_site
from sitegen.output.site import build_site
from sitegen.pages.handout.handout_context import HandoutContext
from sitegen.pages.handout.handout_parts import parts
from sitegen.pages.handout.page_setup import SIZES, drawn_height, landscape, quoted
from tests.pages.pages_sample import context_of, reading, sample, words

NOTES = {"fuel": "# Fuel notes\n\nThe [left bus](left) first.", "oil": "# Oil notes\n\nNone."}


def site(**changes: Any) -> dict[str, str]:
    files = build_site(reading({**sample(), **changes}, NOTES)).files
    return {p: c if isinstance(c, str) else c.decode(errors="replace") for p, c in files}


def handout(*sections: str, **more: Any) -> dict[str, Any]:
    return {"id": "course", "name": "Course", "sections": list(sections), **more}


def test_without_a_handout_in_the_catalogue_every_part_is_there() -> None:
    page = site()["early/handout.html"]
    for part in ("cover", "diagram", "buses", "equipment-losses", "failures", "notes", "index"):
        assert f'id="{part}"' in page
    assert "blank-diagram" not in page


def test_parts_are_those_that_the_author_chose_in_that_order() -> None:
    page = site(handout=[handout("index", "buses", "cover")])["early/handout.html"]
    assert re.findall(r'<section class="topic topic-([a-z-]+)', page) == ["index", "buses", "cover"]


def test_the_first_handout_has_the_plain_name_and_the_others_their_own() -> None:
    card = {"id": "card", "name": "Card", "sections": ["diagram"]}
    files = site(handout=[handout("buses"), card])
    assert "early/handout.html" in files
    assert "early/handout-card.html" in files
    assert "early/handout-course.html" not in files
    assert 'href="handout-card.html"' in files["early/paper.html"]


def test_the_conditions_are_below_the_first_drawing_or_after_all_sections() -> None:
    for sections, before, after in (
        (("blank-diagram",), "Write in the names", "Key to the diagram"),
        (("diagram", "blank-diagram"), "drawn", "Write in the names"),
        (("buses",), 'id="buses"', "</main>"),
    ):
        page = site(handout=[handout(*sections)])["early/handout.html"]
        explained = page.index(">The conditions<")
        assert page.count(">The conditions<") == 1
        assert page.index(before) < explained < page.index(after, page.index(before))


def test_a_drawing_of_a_handout_is_below_its_heading() -> None:
    page = site(handout=[handout("diagram", "blank-diagram")])["early/handout.html"]
    drawn = [text for text in page.split("<section") if 'class="drawn"' in text]
    assert len(drawn) == 2
    assert all(text.index("<h2") < text.index('class="drawn"') for text in drawn)


def test_a_handout_for_one_airframe_leaves_the_others_theirs() -> None:
    files = site(handout=[handout("buses", **{"fitted-to": ["late"]})])
    assert "topic-cover" in files["early/handout.html"]
    assert "topic-cover" not in files["late/handout.html"]


def test_only_the_chosen_notes_are_printed_in_their_order() -> None:
    page = site(handout=[handout("notes", notes=["oil"])])["early/handout.html"]
    assert "Oil notes" in page
    assert "Fuel notes" not in page
    page = site(handout=[handout("notes", notes=["oil", "fuel"])])["early/handout.html"]
    assert page.index("Oil notes") < page.index("Fuel notes")


def test_a_link_on_paper_stays_within_the_paper() -> None:
    page = site()["early/handout.html"]
    main = page[page.index("<main>") : page.index("</main>")]
    places = set(re.findall(r'\bid="([a-z0-9-]+)"', main))
    targets = re.findall(r'href="([^"]+)"', main)
    assert targets
    assert all(t.startswith("#") and t[1:] in places for t in targets)
    # The note's link to the left bus leads to the block of that bus.
    assert '<a href="#bus-left">left bus</a>' in page


EVERY = WHOLE_HANDOUT.sections


@pytest.mark.parametrize("sections", [EVERY, *([s] for s in EVERY), *([s, "index"] for s in EVERY)])
def test_links_lead_to_every_block_that_is_printed_and_to_no_other(sections: list[str]) -> None:
    record = Handout.model_validate(handout(*sections, conditions=["flight", "parked"]))
    printed = HandoutContext(context_of(sample(), notes=NOTES), record)
    text = "".join(part.body for part in parts(printed))
    anchors = set(re.findall(r'\bid="([a-z0-9-]+)"', text))
    assert anchors | set(sections) == printed.places
    links = re.findall(r'href="([^"]*)"', text)
    assert {link for link in links if link[0] != "#" or link[1:] not in printed.places} == set()


def test_a_name_whose_block_is_printed_is_a_link_and_another_is_not() -> None:
    alone = site(handout=[handout("indications")])["early/handout.html"]
    assert "Generator 1 lost" in alone
    both = site(handout=[handout("indications", "failures")])["early/handout.html"]
    assert '<a href="#failure-gen-1">Generator 1</a> lost' in both
    assert '<a href="#equipment-' not in both


def test_the_left_bus_takes_what_is_on_it_alone() -> None:
    # Radio 2 has no other supply; the fan has one from the right bus; radio 1 is fed from both.
    page = site(handout=[handout("failures")])["early/handout.html"]
    block = page[page.index('id="failure-left"') :]
    block = words(block[: block.index("</article>")])
    assert "Left bus dead 1 item lost" in block
    assert "23 Communications: Radio 2." in block
    assert "21 Air conditioning: Avionics fan." in block[block.index("Reduced, still works") :]


def test_a_failure_with_the_consequences_of_an_earlier_one_refers_to_it() -> None:
    failures = [{"id": "one", "name": "Left side out", "failed": ["left"]}]
    page = site(handout=[handout("failures")], failures=failures)["early/handout.html"]
    block = page[page.index('id="failure-left"') :]
    assert "Takes the same as 1.1 Left side out" in words(block[: block.index("</article>")])


def test_the_matrix_marks_what_a_failure_takes_and_what_it_leaves_less_of() -> None:
    page = site(handout=[handout("equipment-losses")])["early/handout.html"]
    columns = [words(h) for h in re.findall(r"<th scope=col.*?</th>", page)]
    left = columns.index("Left bus dead")

    def marks(name: str) -> list[str]:
        (row,) = re.findall(rf"<tr><th scope=row>(?:<a[^>]*>)?{name}(?:</a>)?</th>(.*?)</tr>", page)
        return [words(cell) for cell in re.findall(r"<td.*?</td>", row)]

    assert marks("Radio 2")[left] == "\u25cf"
    assert marks("Avionics fan")[left] == "\u25cb"
    assert marks("Cabin heater")[left] == ""
    assert {len(marks(n)) for n in ("Radio 1", "Radio 2", "Autopilot")} == {len(columns)}


def test_more_failures_than_fit_make_several_tables() -> None:
    failures = [{"id": f"f-{k}", "name": f"Failure {k}", "failed": ["left"]} for k in range(40)]
    page = site(handout=[handout("equipment-losses")], failures=failures)["early/handout.html"]
    tables = re.findall(r'<table class="matrix">.*?</table>', page, re.S)
    heads = [len(re.findall("<th scope=col[ >]", table)) for table in tables]
    assert len(tables) == 2
    assert max(heads) - min(heads) <= 1


def test_the_caution_is_at_the_foot_of_every_page_and_no_text_can_end_its_css_string() -> None:
    page = site()["early/handout.html"]
    style = page[page.index("@page{size:A4") :]
    assert "@bottom-left{content:" in style
    assert "approved manuals and local rules come first" in style
    hostile = quoted('"}</style><script>alert(1)</script>\\')
    assert "<" not in hostile
    assert hostile.count('"') == 2
    assert "\\5c " in hostile


def test_a_drawing_is_in_landscape_if_that_makes_it_larger() -> None:
    assert landscape(1600, 1000, "a4")
    assert not landscape(600, 1100, "a4")
    # As large as it can be on either: nobody has to turn the page.
    assert not landscape(186, 176, "a4")
    for paper, (short, long) in SIZES.items():
        assert drawn_height(1600, 1000, paper) < short
        assert drawn_height(600, 1100, paper) < long


def test_a_blank_drawing_has_a_number_for_every_name_and_gives_none_away() -> None:
    page = site()["early/blank.html"]
    svg = page[page.index('<svg class="diagram') : page.index("</svg>", page.index("numbers"))]
    assert "<title>" not in svg
    assert "data-part" not in svg
    numbers = {int(n) for n in re.findall(r">(\d+)</text>", svg[svg.index('class="numbers"') :])}
    key = page[page.index('class="lines key"') :]
    assert numbers == {int(n) for n in re.findall(r'<th scope="row">(\d+)</th>', key)}
    assert "Essential bus" not in words(re.sub(r"<text class=\"label.*?</text>", "", svg))
    assert "Essential bus" in words(key)


def test_every_bus_has_a_drawing_to_fill_in() -> None:
    files = site()
    for bus in ("left", "right", "hot", "essential", "ac"):
        assert f"early/blank-{bus}.html" in files
        assert f'href="blank-{bus}.html"' in files[f"early/bus-{bus}.html"]


def test_further_files_are_part_of_the_site_or_none_of_it_is(tmp_path: Path) -> None:
    target = tmp_path / "site"

    def more(folder: Path) -> list[tuple[str, str | bytes]]:
        assert (folder / "a.html").read_text() == "a"
        return [("a.pdf", b"%PDF")]

    assert write_site(target, [("a.html", "a")], more=more) == 2
    assert "a.pdf" in (target / ".made-by-sitegen").read_text().split()

    def fails(folder: Path) -> list[tuple[str, str | bytes]]:
        raise RuntimeError

    with pytest.raises(RuntimeError):
        write_site(target, [("b.html", "b")], more=fails)
    assert (target / "a.html").exists()
    assert [p.name for p in tmp_path.iterdir()] == ["site"]


def program(folder: Path, text: str) -> str:
    made = folder / "browser"
    made.write_text(f"#!/bin/sh\n{text}\n")
    made.chmod(0o755)
    return str(made)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("sleep 60", "took longer than 0.5 seconds"),
        ("exit 3", "exit code 3"),
        ("exit 0", "wrote no PDF"),
        ("kill -SEGV $$", "failed over page.html"),
    ],
)
def test_a_browser_that_hangs_or_crashes_is_reported_once(
    tmp_path: Path, text: str, says: str
) -> None:
    (tmp_path / "page.html").write_text("page")
    browser = program(tmp_path, text)
    with pytest.raises(NotPrinted, match=says) as report:
        print_pages(
            tmp_path,
            ["page.html"],
            browser,
            date(2026, 11, 20),
            seconds=0.5 if "sleep" in text else 30,
        )
    assert "print it to a file" in str(report.value)


def test_a_browser_that_is_not_there_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(NotPrinted, match="there is no browser nowhere"):
        find_browser("nowhere")
    monkeypatch.setattr("sitegen.output.pdf.BROWSERS", ("nowhere",))
    with pytest.raises(NotPrinted, match="no Chromium or Chrome was found"):
        find_browser()
