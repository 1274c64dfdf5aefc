"""The semantics over random nets: how many scenarios agree, and how much happened in them.

Run by hand: `python -m tests.bench.semantics [SCENARIOS] [SEED]`; without them, a million from
seed 1. It stops at the first scenario in which the package and the plain solver differ.
"""

from __future__ import annotations

import random
import sys
import time
import warnings
from collections import Counter

from hypothesis import given, seed
from hypothesis import strategies as st

from tests.random_nets import AIRFRAMES, Raw, catalogues, crew_actions, hard_catalogues
from tests.samples import generated
from tests.solver.comparison import Comparison

NETS_IN_A_ROUND = 200


def one_round(number: int, counts: Counter[str]) -> None:
    """Compare a few hundred nets, each in all three of the suite's manners."""

    @seed(number)
    @generated(NETS_IN_A_ROUND)
    @given(
        catalogues() | catalogues(busy=True) | hard_catalogues(),
        st.sampled_from(AIRFRAMES),
        st.integers(0, 2**32),
        st.data(),
    )
    def compare(catalogue: Raw, airframe: str, chosen: int, data: st.DataObject) -> None:
        crews = data.draw(st.lists(crew_actions(catalogue), min_size=3, max_size=3))
        chance = random.Random(chosen)
        compared = Comparison(catalogue, airframe)
        compared.singles()
        compared.pairs(chance, 40)
        compared.sets(chance, crews, 20)
        counts.update(compared.counts)
        counts["nets"] += 1

    compare()


def main(scenarios: int = 1_000_000, first_seed: int = 1) -> None:
    warnings.simplefilter("ignore")
    counts: Counter[str] = Counter()
    started, number = time.process_time(), first_seed
    while counts["scenarios"] < scenarios:
        one_round(number, counts)
        number += 1
        print(dict(counts), f"{time.process_time() - started:.0f} s", flush=True)
    print(f"{counts.pop('scenarios')} scenarios agreed (seeds {first_seed} to {number - 1}):")
    for what, count in counts.items():
        print(f"  {count} {what}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
