"""All single and double failures of the demo, on each airframe in each condition.

Run by hand: `python -m tests.bench.demo`.
"""

from __future__ import annotations

import time

from sitegen.catalogue.read import read
from sitegen.resources import demo_catalogue
from sitegen.solver.network import build
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import singles_and_pairs


def main() -> None:
    catalogue = read(demo_catalogue()).catalogue
    assert catalogue is not None
    scenarios = lost = 0
    started = time.perf_counter()
    for airframe in catalogue.airframes:
        network = build(catalogue, airframe.id)
        before = condition_states(network)
        for condition in network.catalogue.conditions:
            every = singles_and_pairs(condition.id, network.faults)
            outcome = solve(network, every, before)
            scenarios += every.count
            lost += sum(mask.bit_count() for mask in outcome.lost.values())
    seconds = time.perf_counter() - started
    print(f"{scenarios} scenarios of one or two failures in {seconds:.2f} s")
    print(f"{lost} losses of equipment in all of them together")


if __name__ == "__main__":
    main()
