"""The page of the protection audit, and the page of loads, for the sample net (`pages_sample`)."""

from __future__ import annotations

import csv
import io
import re

from sitegen.output.site import build_site
from tests.pages.pages_sample import reading, sample


def words(page: str | bytes) -> str:
    apart = re.sub(r"</?(?:a|i)\b[^>]*>", "", str(page))
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", apart).replace("\u00a0", " "))


def test_a_breaker_below_the_load_behind_it_is_found_with_both_figures() -> None:
    catalogue = sample()
    catalogue["equipment"][0]["amps"] = 20
    files = dict(build_site(reading(catalogue)).files)
    audit = words(files["early/protection.html"])
    assert "RADIO 1: 20.0 A in Flight; it may carry 7.5 A." in audit
    assert "2 findings, against 2 of 9 rules" in audit
    assert (
        "Breakers and fuses too large for their wire" in audit.partition("Rules with no finding")[2]
    )
    assert "RADIO 1" not in audit.partition("Rules with no finding")[2]


def test_what_is_nearest_to_its_rating_and_to_the_drop_allowed_has_a_heading_each() -> None:
    catalogue = sample()
    catalogue["equipment"][1]["amps"] = 6
    catalogue["equipment"][1]["supplies"][0] |= {"wire": 14, "length": {"feet": 20}}
    page = str(dict(build_site(reading(catalogue)).files)["early/protection.html"])
    of_load, of_drop = page.partition("<h2>Nearest to a limit</h2>")[2].split("<h3 ")[1:3]
    assert "RADIO 2" in of_load
    assert "Voltage drop, of what is allowed" in of_drop
    assert "it may carry" not in of_drop
    assert "allowed." in of_drop


def test_the_loads_page_tells_the_least_where_figures_are_missing() -> None:
    catalogue = sample()
    catalogue["equipment"][2]["amps"] = 12
    files = dict(build_site(reading(catalogue)).files)
    page = words(files["early/loads.html"])
    assert "Generator 2 at least 12.0 A of 200 A, 6 %" in page
    assert "At least: 6 items have no figure." in page
    assert "Right bus at least 12.0 A at 28.5 V" in page
    assert "Computed from the catalogue's figures, not measured" in page.replace("&#39;", "'")
    rows = list(csv.reader(io.StringIO(str(files["early/loads.csv"]))))
    assert ["flight", "", "equipment", "heater", "Cabin heater", "12", "12", *[""] * 10] in [
        [c.removesuffix(".0") for c in row] for row in rows
    ]
    unknown = [row[2] for row in rows if row[0] == "flight" and row[5] == "not known"]
    assert unknown.count("equipment") == 6


def test_without_any_figure_there_is_no_page_of_loads() -> None:
    assert "early/loads.html" not in dict(build_site(reading(sample())).files)


def test_no_finding_says_of_how_many_devices_and_wires() -> None:
    audit = words(dict(build_site(reading(sample())).files)["early/protection.html"])
    judged = re.search(r"Judged by load, (\d+) of (\d+) breakers, fuses and links", audit)
    assert judged
    # No equipment of the sample has amps.
    assert judged[1] == "0"
    assert judged[2] != "0"
    assert "by voltage drop, 0 of" in audit
    assert "What is not judged lacks a figure" in audit
    assert "in what could be judged" in audit or "against" in audit.partition("rules")[0]
