"""The amps on the demo's failure pages, view by view, against the loads of that scenario alone."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from sitegen.answers.drop import faults_of
from sitegen.answers.loads.load_table import load_table
from sitegen.answers.loads.source_loads import loads
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.catalogue.kinds import MODE_NOUNS
from sitegen.catalogue.read import read
from sitegen.pages import failure_page
from sitegen.resources import demo_catalogue
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import Outcome, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.nets import expand
from tests.pages.as_written import as_written
from tests.pages.expected_answer import expected_outcome
from tests.pages.pages_sample import context_of, element, modes, words

pytestmark = pytest.mark.slow

AIRFRAME = "block-2"
ROW = re.compile(
    r'<li(?: class="v((?: v\d+)+)")?><span><a [^>]*>([^<]*)</a>'
    r"(?: <abbr[^>]*>!</abbr>)?</span>(.*?)</li>"
)
VALUE = re.compile(
    r' <span(?: class="v((?: v\d+)+)")?><b>([^<]*)</b>'
    r'(?:<small(?: class="over")?>([^<]*)</small>)?</span>'
)
ALL = "Every source gives, and every live bus feeds, what it does with nothing failed."
OTHERS = "The other sources and live buses: as with nothing failed."
SAYS = re.compile(r'<p(?: class="v((?: v\d+)+)")?>([^<]*)</p>')

Rows = dict[str, tuple[str, str]]
"""By the name of a source or bus: its amps, and what is beside them."""


@pytest.fixture(scope="module")
def network() -> Network:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    return build(catalogue, AIRFRAME)


@pytest.fixture(scope="module")
def pages(site: Path) -> dict[str, str]:
    folder = site / AIRFRAME
    found = (*folder.glob("*failure-*.html"), folder / "loads.html")
    return {f"{AIRFRAME}/{p.name}": as_written(p.read_text(encoding="utf-8")) for p in found}


def shown(page: str, view: int) -> tuple[Rows, Rows, list[str]]:
    """What the section of loads says in one view: of the sources, of the buses, of all others."""
    section = element(page, "loads").replace("\u00a0", " ")
    found: list[Rows] = []
    said = [
        text for views, text in SAYS.findall(section) if not views or f"v{view}" in views.split()
    ]
    first, _, second = section.partition("<details>")
    for rows in (first, second):
        assert rows.count("<li") == len(ROW.findall(rows))
        found.append(
            {
                name: (amps, more)
                for anywhere, name, values in ROW.findall(rows)
                if not anywhere or f"v{view}" in anywhere.split()
                for views, amps, more in VALUE.findall(values)
                if not views or f"v{view}" in views.split()
            }
        )
    sources, buses = found
    return sources, buses, said


def expected(network: Network, outcome: Outcome, condition: str) -> tuple[Rows, Rows, list[str]]:
    """Of what this one scenario gives, that which is not as with nothing failed."""
    before = worked_out(network, solve(network, scenarios_of([Scenario(condition)])))
    now = worked_out(network, outcome)
    count = sum(map(len, now))
    sources, buses = (
        {name: words for name, words in rows.items() if was.get(name) != words}
        for rows, was in zip(now, before, strict=True)
    )
    same = count - len(sources) - len(buses)
    sources |= {name: ("gives nothing", "") for name in before[0] if name not in now[0]}
    return sources, buses, [] if not same else [ALL if same == count else OTHERS]


def worked_out(network: Network, outcome: Outcome) -> tuple[Rows, Rows]:
    """The same words, from the loads of this one scenario."""
    [load], [peak] = loads(outcome), loads(outcome, peak=True)
    assert not load.unknown  # the demo has all amps

    def a(amps: Fraction) -> str:
        return f"{int(amps * 10 + Fraction(1, 2)) / 10:.1f} A"

    sources: Rows = {}
    for source, amps in load.sources.items():
        if amps < 0.05:
            continue
        record = network.sources[source]
        words, more = a(amps), []
        # At the volts of the catalogue; a time on battery is computed at an end of the range.
        words += f" at {record.volts:g} V" if record.volts_range else ""
        if record.amps:
            words += f", {int(100 * amps / Fraction(str(record.amps)) + Fraction(1, 2))} %"
            over = amps > record.amps
            margin = a(abs(Fraction(str(record.amps)) - amps))
            more.append(f"{margin} {'over its rating' if over else 'spare'}")
            if over and record.amps_5min:
                allowed = amps <= record.amps_5min
                more.append("allowed for 5 minutes" if allowed else "over its short-time ratings")
        if peak.sources[source] > amps + 0.05:
            short = peak.sources[source]
            of = record.amps and int(100 * short / Fraction(str(record.amps)) + Fraction(1, 2))
            ratings = [r for r in (record.amps_5min, record.amps_5s) if r]
            over_it = bool(ratings) and short > max(ratings)
            rated = f", over its short-time rating of {max(ratings):g} A" if over_it else ""
            more.append(f"short-time load up to {a(short)}{f', {of} %' if of else ''}{rated}")
        if source in load.converters:
            more.append(f"takes {a(load.converters[source])} at its input")
        sources[network.names[source]] = words, ", ".join(more)
    buses: Rows = {}
    for bus in network.catalogue.buses:
        if load.nodes[bus.id].live:
            here, short = load.buses.get(bus.id, NO_AMPS), peak.buses.get(bus.id, NO_AMPS)
            more = [f"{a(short)} short-time"] if short > here + 0.05 else []
            buses[bus.name] = a(here), ", ".join(more)
    return sources, buses


def test_every_single_failure_shows_the_amps_of_its_sources_and_buses(
    network: Network, pages: dict[str, str]
) -> None:
    checked = 0
    c = network.catalogue
    for component in (*c.sources, *c.buses, *c.devices):
        page = pages[f"{AIRFRAME}/failure-{component.id}.html"]
        component_modes = list(network.components[component.id].modes)
        if len(component_modes) > 1:
            order = modes(page)
            component_modes.sort(key=lambda mode: order.index(MODE_NOUNS[mode]))
        faults = [(mode, condition) for mode in component_modes for condition in c.conditions]
        for view, (mode, condition) in enumerate(faults):
            scenario = Scenario(condition.id, ((component.id, mode),))
            outcome = expected_outcome(network, scenario)
            if outcome.after.conflicts:
                assert shown(page, view)[0]["Inverter 1"][0] == "not known"
                continue
            assert shown(page, view) == expected(network, outcome, condition.id), scenario
            checked += 1
    assert checked > 600


def test_every_named_failure_shows_them_at_once_and_after_the_crew_has_acted(
    network: Network, pages: dict[str, str]
) -> None:
    checked = 0
    for failure in network.catalogue.failures:
        page = pages[f"{AIRFRAME}/named-failure-{failure.id}.html"]
        for view, condition in enumerate(network.catalogue.conditions):
            scenario = Scenario(condition.id, faults_of(network, failure))
            outcome = expected_outcome(network, scenario)
            assert shown(page, view) == expected(network, outcome, condition.id), scenario
            if failure.has_acts:
                acted = view + len(network.catalogue.conditions)
                acted_on = expected_outcome(
                    network, scenario, failure.crew_does(scenario.condition)
                )
                assert shown(page, acted) == expected(network, acted_on, condition.id), scenario
                checked += 1
    assert checked > 20


def test_the_generator_that_a_failure_loads_more_is_in_the_answer(
    network: Network, pages: dict[str, str]
) -> None:
    page = pages[f"{AIRFRAME}/failure-gen-1.html"]
    answer = page[page.index('id="answer"') : page.index("</section>", page.index('id="answer"'))]
    said = re.findall(r'nearest v ([v\d ]+)"><a href="#loads"><b>(\d+)\u00a0%</b>', answer)
    conditions = [c.id for c in network.catalogue.conditions]
    percents = {int(view[1:]): int(percent) for views, percent in said for view in views.split()}
    for k, condition in enumerate(conditions):
        [load] = loads(solve(network, scenarios_of([Scenario(condition, (("gen-1", "lost"),))])))
        given = load.sources.get("gen-2", NO_AMPS)
        share = int(100 * given / Fraction(str(network.sources["gen-2"].amps)) + Fraction(1, 2))
        before = load_table(network, condition).sources
        was = next((s.percent for s in before if s.source == "gen-2"), None) or 0
        assert percents.get(k) == (share if share >= max(50, was + 5) else None)
    assert percents
    # What takes no load from a generator gives none to another.
    assert 'href="#loads"><b>' not in pages[f"{AIRFRAME}/failure-cb-avionics-1.html"]


def test_the_loads_page_lists_what_draws_most_and_says_where_the_rest_is(
    network: Network, pages: dict[str, str]
) -> None:
    page = pages[f"{AIRFRAME}/loads.html"]
    drawing = len(load_table(network, network.catalogue.conditions[0].id).load.drawn)
    assert f"{drawing - 24} items that draw less: in the table for a spreadsheet." in page
    assert page.count('href="loads.csv"') == 1
    first = page[page.index("What draws most") :]
    assert first[: first.index("</details>")].count('<li class="amount') == 24


TWO_GENERATORS = """
sources:
  gen-1: {volts: 28, amps: 100, amps-5min: 120}
  gen-2: {volts: 28, amps: 100, amps-5min: 120}
buses: [main]
feeders: [gen-1 > main, gen-2 > main]
equipment:
  radio: {supplies: [{bus: main}], amps: 60}
  pump: {supplies: [{bus: main}], amps: 10, peak-amps: 80}
conditions: {flight: {sources: [gen-1, gen-2]}}
"""


def test_the_headline_has_the_short_time_load_where_a_failure_takes_it_over_its_rating() -> None:
    """Together 70 A and 140 A for a short time: 35 % and 70 % each; alone 70 % and 140 %."""
    context = context_of(expand(TWO_GENERATORS), "all")
    pages = {p.path.split("/")[-1]: words(p.make()) for p in failure_page.SINGLE.pages(context)}
    said = "70 % gen-2, of its rating"
    more = "; with short-time loads up to 140 %, over its short-time rating"
    assert f"{said}{more}" in pages["failure-gen-1.html"]
    enough = expand(TWO_GENERATORS.replace("peak-amps: 80", "peak-amps: 60"))
    pages = {
        p.path.split("/")[-1]: words(p.make())
        for p in failure_page.SINGLE.pages(context_of(enough, "all"))
    }
    assert said in pages["failure-gen-1.html"]
    assert "short-time rating" not in pages["failure-gen-1.html"].partition("Loads")[0]
