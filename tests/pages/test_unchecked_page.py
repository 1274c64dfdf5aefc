"""The check sheet, and what other pages say of lines that nobody has checked."""

from __future__ import annotations

import re
from typing import Any

from sitegen.output.site import build_site
from tests.pages.pages_sample import reading, sample, words

CHECK = {"by": "M. Kerr", "on": "2026-11-20", "against": "Chart 23-12"}


def pages(**checked: tuple[str, int]) -> dict[str, str]:
    """The pages of the sample with these records checked: (section, index)."""
    catalogue: dict[str, Any] = sample()
    for section, index in checked.values():
        catalogue[section][index]["checked"] = CHECK
    return {path: str(text) for path, text in build_site(reading(catalogue)).files}


def test_the_check_sheet_has_a_row_for_each_line_that_is_not_checked_and_columns_to_sign() -> None:
    sheet = pages(radio=("equipment", 0), hot=("buses", 2))["early/unchecked.html"]
    (count, total) = re.search(r"<b>(\d+)</b> of (\d+) lines not checked", sheet).groups()  # type: ignore[union-attr]
    rows = re.findall(r"<tr><th><b>(.*?)</b>.*?</tr>", sheet)
    assert len(rows) == int(count) == int(total) - 3  # Radio 1, its supply, Hot bus
    assert "<th>Found</th><th>By</th><th>Date</th>" in sheet
    named = [words(row) for row in rows]
    assert not {"Radio 1", "Radio 1, from Essential bus", "Hot bus"} & set(named)
    order = ["Generator 1", "Left bus", "Left bus to Essential bus", "ESS FEED L", "Radio 2"]
    assert [n for n in named if n in order] == order
    assert "Checked: 3 by M. Kerr, the last on 20 Nov 2026." in words(sheet)


def test_a_check_sheet_of_a_catalogue_without_checks_has_every_line() -> None:
    made = pages()
    (count, total) = re.search(  # type: ignore[union-attr]
        r"<b>(\d+)</b> of (\d+) lines", made["early/unchecked.html"]
    ).groups()
    assert count == total
    assert "No line of this catalogue is marked as checked." in made["early/unchecked.html"]


def test_folded_a_part_names_its_first_lines_and_counts_the_rest() -> None:
    sheet = pages()["early/unchecked.html"]
    parts = re.findall(r"<small>(\d+)</small></h2><span class=\"named\">(.*?)</span>", sheet)
    assert any(int(count) > 8 for count, _ in parts)
    for count, named in parts:
        more = re.search(r" and (\d+) more$", named)
        assert (int(more[1]) if more else 0) == max(0, int(count) - 8), named


def test_pages_of_a_catalogue_without_checks_say_nothing_of_them() -> None:
    for path, text in pages().items():
        if path.endswith(".html") and not path.endswith("unchecked.html"):
            said = words(text).lower().replace("what has not been checked", "")
            assert "checked" not in said, path


def test_the_title_block_counts_the_lines_that_the_page_depends_on() -> None:
    made = pages(radio=("equipment", 0))
    item, other = made["early/equipment-radio-1.html"], made["early/equipment-radio-2.html"]
    assert "Lines of the catalogue that this page depends on" in words(item)
    of_item, of_other = (
        re.search(r'href="unchecked.html">(\d+) of (\d+) not checked<', page).groups()  # type: ignore[union-attr]
        for page in (item, other)
    )
    assert int(of_item[0]) == int(of_item[1]) - 2  # its record and its supply
    assert of_other[0] == of_other[1]
    assert "M. Kerr, 20 Nov 2026, against Chart 23-12" in words(item)
    assert "Checked not yet" in words(other)


def test_a_page_says_when_all_that_it_depends_on_is_checked() -> None:
    catalogue: dict[str, Any] = sample()
    for records in catalogue.values():
        for record in records if isinstance(records, list) else ():
            record["checked"] = CHECK
    made = {path: str(text) for path, text in build_site(reading(catalogue)).files}
    page = made["early/failure-left.html"]
    assert re.search(r"depends on</dt><dd>all \d+ checked", page)
    assert 'class="unchecked"' not in page
    assert re.search(r"All \d+ lines checked", words(made["early/unchecked.html"]))


def test_a_failure_s_page_depends_on_what_it_takes() -> None:
    counts = [
        int(re.search(r">(\d+) of \d+ not checked", pages(**checked)["early/failure-hot.html"])[1])  # type: ignore[index]
        for checked in ({"a": ("buses", 3)}, {"a": ("buses", 3), "b": ("equipment", 6)})
    ]
    assert counts[0] - counts[1] == 2  # the clock and its supply are lost with the hot bus
    other = {"a": ("buses", 3), "b": ("equipment", 2)}
    page = pages(**other)["early/failure-hot.html"]
    assert f">{counts[0]} of" in page  # the heater is not
