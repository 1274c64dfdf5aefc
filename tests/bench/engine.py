"""The scripts of the live drawing against the package: how many scenarios agree, and how fast.

Run by hand: `python -m tests.bench.engine [SCENARIOS] [SEED]`; without them, 100,000 from seed 1.
First every single failure of the demo, in every condition; then, round by round, random nets and
random combinations of up to six parts of the demo with what its crews do. It stops at the first
scenario in which the two differ.
"""

from __future__ import annotations

import random
import sys
import time
import warnings
from collections import Counter

from hypothesis import given, seed
from hypothesis import strategies as st

from sitegen.catalogue.model import BatteryTime, Then
from sitegen.solver.scenarios import every_single
from tests.engine.comparison import Comparison
from tests.engine.figured_nets import battery_times, figured
from tests.engine.figures import same_figures
from tests.engine.test_engine_against_solver import DEMO
from tests.random_nets import AIRFRAMES, Raw, crew_actions
from tests.samples import generated

NETS_IN_A_ROUND = 100
OF_EACH_NET = 40
OF_EACH_CREW = 60
FIGURES_EVERY = 4
"""One in this many scenarios of a random net or combination is compared in its figures too."""

# What a tap asks for, one scenario at a time.
_TAPS = """
function taps(scenarios) {
  for (const scenario of scenarios) {
    const outcome = engine.solve(net, [scenario]);
    engine.answer(outcome);
    for (const ask of ["amps", "overRating", "readings", "overloaded", "endurance"]) {
      figures[ask](outcome);
    }
  }
  return "null";
}
"""


def singles(compared: Comparison) -> None:
    """Every single failure of an airframe of the demo, with all of its figures."""
    conditions = [c.id for c in compared.network.catalogue.conditions]
    every = every_single(conditions, compared.network.faults)
    scenarios = [every.at(k) for k in range(every.count)]
    compared.same(scenarios)
    for start in range(0, len(scenarios), 256):
        same_figures(compared, scenarios[start : start + 256], word=32)


def combinations(compared: Comparison, chance: random.Random) -> None:
    """Random combinations, with nothing done about them and with what each crew does."""
    failures = compared.network.catalogue.failures
    crews = [(None, None), *((f.then, f.battery_time) for f in failures if f.then)]
    for then, asked in crews:
        scenarios = compared.random_sets(chance, OF_EACH_CREW)
        compared.same(scenarios, then)
        same_figures(compared, scenarios[::FIGURES_EVERY], then, asked)


def random_nets(number: int, counts: Counter[str]) -> None:
    """Nets of all kinds, each with and without a crew."""

    @seed(number)
    @generated(NETS_IN_A_ROUND)
    @given(figured(), st.sampled_from(AIRFRAMES), st.integers(0, 2**32), st.data())
    def compare(catalogue: Raw, airframe: str, chosen: int, data: st.DataObject) -> None:
        compared = Comparison.of(catalogue, airframe)
        scenarios = compared.random_sets(random.Random(chosen), OF_EACH_NET)
        crew = Then.model_validate(data.draw(crew_actions(catalogue)))
        asked = BatteryTime.model_validate(data.draw(battery_times()))
        for then in (None, crew):
            compared.same(scenarios, then)
            same_figures(compared, scenarios[::FIGURES_EVERY], then, asked)
            compared.same_because(scenarios[:2], then, overload=True)
        counts.update(compared.counts)
        counts["nets"] += 1

    compare()


def milliseconds_of_a_tap(compared: Comparison) -> float:
    """Processor time for a single failure: solved, answered, and all its figures."""
    conditions = [c.id for c in compared.network.catalogue.conditions]
    every = every_single(conditions, compared.network.faults)
    chosen = [every.at(k) for k in random.Random(1).sample(range(every.count), 400)]
    compared.engine.v8.eval(_TAPS)
    # The first hundred warm the machine up.
    compared.engine.call("taps", compared.engine.asked(chosen[:100]))
    started = time.process_time()
    compared.engine.call("taps", compared.engine.asked(chosen[100:]))
    return (time.process_time() - started) / len(chosen[100:]) * 1000


def main(scenarios: int = 100_000, first_seed: int = 1) -> None:
    warnings.simplefilter("ignore")
    started, counts = time.process_time(), Counter[str]()
    demo = [Comparison(network) for network in DEMO]

    def collect() -> None:
        for compared in demo:
            counts.update(compared.counts)
            compared.counts.clear()
        print(dict(counts), f"{time.process_time() - started:.0f} s", flush=True)

    for compared in demo:
        print(f"{compared.network.airframe}: a tap takes {milliseconds_of_a_tap(compared):.1f} ms")
        singles(compared)
    collect()
    number = first_seed
    while counts["scenarios"] < scenarios:
        random_nets(number, counts)
        for compared in demo:
            combinations(compared, random.Random(f"{number} {compared.network.airframe}"))
        number += 1
        collect()
    print(f"{counts.pop('scenarios')} scenarios agreed (seeds {first_seed} to {number - 1}):")
    for what, count in counts.items():
        print(f"  {count} {what}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
