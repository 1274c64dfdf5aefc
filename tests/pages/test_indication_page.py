"""The page of a meter, lamp or flag: what it shows, and which single failures change it."""

from __future__ import annotations

import re
from pathlib import Path

from sitegen.answers.drop import losses
from sitegen.catalogue.read import read
from sitegen.solver.network import build
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, every_single, scenarios_of
from tests.answers.test_both_answers_to_a_fault import NET
from tests.pages.test_other_answers import page_of

DEMO = Path(__file__).parents[2] / "data" / "tarn-19"


def section(site: Path, indication: str, shows: str) -> str:
    """What the page lists below one reading, without tags."""
    text = (site / "block-1" / f"indication-{indication}.html").read_text(encoding="utf-8")
    after = text.split(f"<h3>{shows}</h3>")[1].split("<h3>")[0].split("</section>")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", after).split())


def test_a_lamp_s_page_names_every_single_failure_that_lights_it(site: Path) -> None:
    catalogue = read(DEMO).catalogue
    assert catalogue is not None
    network = build(catalogue, "block-1")
    conditions = [c.id for c in network.catalogue.conditions]
    every = every_single(conditions, network.faults)
    normal = losses(solve(network, scenarios_of([Scenario(c) for c in conditions])))
    found = losses(solve(network, every))
    lighting = {
        network.names[loss.failed[0][0]]
        for k, loss in enumerate(found)
        if loss.readings["low-volts"].kind == "lit"
        and normal[conditions.index(every.at(k).condition)].readings["low-volts"].kind != "lit"
    }
    assert "Essential bus" in lighting
    listed = section(site, "low-volts", "Lit")
    assert all(name in listed for name in lighting)
    others = {network.names[c] for c in network.components} - lighting
    longer = {o for o in others if not any(o in name for name in lighting)}
    assert not [name for name in longer if re.search(rf"\b{re.escape(name)}\b", listed)]


def test_a_lamp_without_power_comes_after_what_lights_it_and_is_not_blank(site: Path) -> None:
    page = (site / "block-1" / "indication-gen-2-off.html").read_text(encoding="utf-8")
    assert re.findall(r"<h3>(.*?)</h3>", page) == ["Lit", "Unlit", "Unlit, without power"]


def test_find_leads_to_it(site: Path) -> None:
    index = (site / "block-1" / "search.js").read_text(encoding="utf-8")
    assert '"indication-*.html","low-volts"' in index


def test_what_lights_it_is_in_words(site: Path) -> None:
    page = (site / "block-1" / "indication-low-volts.html").read_text(encoding="utf-8")
    assert "shows less than 26" in page


def test_a_reading_keeps_its_unit_as_the_trade_writes_it(site: Path) -> None:
    page = (site / "block-1" / "indication-forward-volts.html").read_text(encoding="utf-8")
    assert "<h3>0\u00a0V</h3>" in page or "<h3>0 V</h3>" in page


def test_a_lamp_s_page_names_the_named_failures_that_light_it(site: Path) -> None:
    page = (site / "block-2" / "indication-gen-2-off.html").read_text(encoding="utf-8")
    named = re.split(r'id="?named\b', page)[1].split("</details>")[0]
    both = next(row for row in named.split("<li>") if "Both generators" in row)
    assert "named-failure-both-generators.html" in both
    assert "<b>lit</b> in Cruise, Approach and Gen 2 only" in " ".join(both.split())
    # In which it is lit with nothing failed, or nothing changes, is not listed.
    assert "Both inverters" not in named


def test_a_named_failure_s_other_answer_is_listed_as_that_of_the_single_failure_is() -> None:
    """The catalogue does not say whether the contactor to the side bus rides through."""
    page = page_of(NET, "indication-side-volts")
    named = re.split(r'id="?named\b', page)[1].split("</details>")[0]
    [short] = [row for row in named.split("<li>") if "A short" in row]
    said = " ".join(re.sub(r"<[^>]+>", " ", short).split())
    assert said.endswith("0 V in flight (if contactors drop out)")


def test_an_ammeter_s_range_is_rounded_outwards(site: Path) -> None:
    """Generator 1 lost on generator 1 only: its page has 103 to 117 A."""
    failure = (site / "block-1" / "named-failure-generator-1-lost.html").read_text(encoding="utf-8")
    assert "103 to 117 A discharge" in failure
    page = (site / "block-1" / "indication-battery-amps.html").read_text(encoding="utf-8")
    assert "<h3>100 to 120 A discharge</h3>" in page
    assert "105 to 115 A" not in page
