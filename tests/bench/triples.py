"""All single, double and triple failures of a net of 150 devices: which buses are dead in which.

Run by hand: `python -m tests.bench.triples`.
"""

from __future__ import annotations

import resource
import time

from sitegen.solver.network import build
from sitegen.solver.outcome import condition_states, solve
from sitegen.solver.scenarios import every_set
from tests.bench.generate import net


def main() -> None:
    network = build(net(buses=80, devices=150), "all")
    faults = [(c.id, "open") for c in network.components.values() if c.kind == "breaker"]
    started = time.perf_counter()
    before = condition_states(network)
    scenarios = dead = 0
    for block in every_set("flight", faults, 3):
        live = solve(network, block, before).after.steady.live
        wanted = block.all if len(block.of_size) > 1 else block.of_size[3]
        scenarios += wanted.bit_count()
        dead += sum((wanted & ~mask).bit_count() for mask in live.values())
    seconds = time.perf_counter() - started
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{len(faults)} devices, {len(network.catalogue.buses)} buses")
    print(f"{scenarios} sets of one to three failures in {seconds:.2f} s, peak {peak:.0f} MB")
    print(f"{dead} buses dead in all of them together")


if __name__ == "__main__":
    main()
