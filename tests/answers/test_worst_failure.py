"""Which failure loads a source or a feeder most, on the page and from the command."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace

from sitegen.answers.airframe_answers import AirframeAnswers
from sitegen.answers.drop import fault
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.load_table import LoadTable, load_table
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from sitegen.terminal.load_csv import load_csv
from sitegen.terminal.load_text import load_text
from tests.nets import network
from tests.pages.pages_sample import reading

# 180 A shared equally: 10 A pass the tie. Without `left` the right's 100 A come half over the tie.
TIED = """
sources: {gen-1: {volts: 28, amps: 100}, gen-2: {volts: 28, amps: 100}}
buses: [a, b]
devices:
  tie: {kind: breaker, amps: 30}
  k-tie: {kind: contactor, closes-when: {live: [gen-1, gen-2]}}
  cb-left: breaker
feeders: [gen-1 > a, gen-2 > b, a > k-tie > tie > b]
equipment:
  left: {supplies: [{bus: a, breaker: cb-left}], amps: 80}
  right: {supplies: [{bus: b}], amps: 100}
"""
# With `two` dead `shed` draws its 40 A from `ess`, and `mystery` comes on, of unknown amps.
UNKNOWN = """
sources: {gen: {volts: 28, amps: 100}}
buses: [main, ess, two]
devices:
  cb-ess: {kind: breaker, amps: 50}
  cb-two: {kind: breaker, amps: 50}
  k-on: {kind: relay, closes-when: {dead: [two]}}
feeders: [gen > main, main > cb-ess > ess, main > cb-two > two]
equipment:
  shed: {supplies: [{bus: ess}, {bus: two}], amps: 40}
  mystery: {supplies: [{bus: ess, through: [k-on]}]}
  heater: {supplies: [{bus: ess}], amps: 10}
"""


def tables(on: Network) -> Iterator[LoadTable]:
    """The command's, and the page's."""
    yield load_table(on, "flight")
    written = on.catalogue.model_dump(by_alias=True, exclude_unset=True)
    yield AirframeAnswers(reading(written), on).load_tables[0]


def test_an_item_that_draws_less_may_load_a_tie_more() -> None:
    on = network(TIED)
    for table in tables(on):
        assert (table.devices["tie"].most, table.worst_devices["tie"].amps) == (10, 50)
        assert table.worst_devices["tie"].failed == (("cb-left", "open"),)


def test_breakers_of_items_are_left_out_where_nothing_runs_against_anything() -> None:
    on = network(TIED.replace("gen-2 > b, ", "").replace("[gen-1, gen-2]", "[gen-1]"))
    [command, page] = tables(on)
    assert not command.load.amps.cancels
    assert command.worst_devices["tie"].failed == page.worst_devices["tie"].failed == ()


def test_what_comes_on_top_of_the_worst_is_not_known() -> None:
    on = network(UNKNOWN)
    for table in tables(on):
        worst = table.worst_sources["gen"]
        assert (worst.amps, worst.bounds.unknown) == (50, True)
        assert worst.failed == (("two", "dead"),)
        assert table.as_json(on)["sources"]["gen"]["worst"]["at_least"] is True
        assert table.as_json(on)["devices"]["cb-two"]["worst"]["at_least"] is False
        lines = [*load_text(on, table, "")]
        assert "    at worst at least 50.0 A, 50 %: two dead" in lines
        rows = csv.DictReader(io.StringIO(load_csv(on, [table])))
        bounds = {row["id"]: row["bound of the worst amps"] for row in rows}
        assert (bounds["gen"], bounds["cb-ess"], bounds["cb-two"]) == ("at least", "at least", "")


# Two inverters that do not synchronise; the relay between their buses may stick closed.
CONFLICT = """
sources:
  gen: {volts: 28, amps: 30}
  ia: {kind: converter, volts: 115, current: ac, amps: 5, fed-from: {bus: main}}
  ib: {kind: converter, volts: 115, current: ac, amps: 5, fed-from: {bus: main}}
buses: {main: {}, aca: {current: ac}, acb: {current: ac}}
devices: {k: {kind: relay, closes-when: {dead: [gen]}}, cb: {kind: breaker, amps: 5}}
feeders: [gen > main, ia > cb > aca, ib > acb, aca > k > acb]
equipment:
  xa: {supplies: [{bus: aca}], amps: 4}
  xb: {supplies: [{bus: acb}], amps: 4}
"""


def test_failures_after_which_amps_are_not_known_are_said_beside_the_worst() -> None:
    on = network(CONFLICT)
    for table in tables(on):
        [(case, components)] = table.not_known_after()
        assert case.failed == (("k", "stuck-closed"),)
        assert components == ["gen", "ia", "ib", "cb", "k"]
        found = table.as_json(on)
        assert found["sources"]["ia"]["worst"]["at_least"]
        assert found["devices"]["cb"]["worst"]["at_least"]
        rows = csv.DictReader(io.StringIO(load_csv(on, [table])))
        bounds = {row["id"]: row["bound of the worst amps"] for row in rows}
        assert (bounds["gen"], bounds["cb"]) == ("at least", "at least")
    said = "\n".join(load_text(on, load_table(on, "flight"), ""))
    line = "k stuck closed: what goes through gen, ia, ib and 2 devices"
    assert f"After a failure, not known\n  {line}" in said


def test_what_is_not_known_at_an_input_is_no_number_in_a_table() -> None:
    on = network(CONFLICT)
    table = load_table(on, "flight", (("k", "stuck-closed"),))
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(load_csv(on, [table])))}
    assert (rows["ia"]["amps"], rows["ia"]["input amps"]) == ("not known", "not known")


def test_what_branches_carry_as_the_difference_from_another_state_is_what_they_carry() -> None:
    """The pump draws 6 A of 10 A through the breaker; with its own open 4 A are left."""
    text = """
    sources: {gen: {volts: 28, amps: 100}}
    buses: [main, essential]
    devices: {cb: breaker}
    feeders: [gen > main, main > cb > essential]
    equipment:
      pump: {supplies: [{bus: essential, breaker: {name: PUMP, amps: 10}}], amps: 6}
      radio: {supplies: [{bus: essential}], amps: 4}
    """
    net = network(text)
    failed = [(), (fault(net, "pump.breaker"),)]
    power = solve(net, scenarios_of([Scenario("flight", faults) for faults in failed])).after
    normal, less = draws(power).states
    beside = replace(less, beside=normal)
    assert beside.branch_bounds == less.branch_bounds
    assert [current_bounds(net, a)["cb"].most for a in (normal, less, beside)] == [10, 4, 4]
