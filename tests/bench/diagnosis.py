"""The diagnosis in the browser against `troubleshoot`: how many sets of observations agree.

Run by hand: `python -m tests.bench.diagnosis [OBSERVATIONS] [SEED]`; else 2,000 from seed 1.
One in twenty is of the demo, the others are of random nets. It stops at the first set in which
candidates, checks or near misses differ.
"""

from __future__ import annotations

import random
import sys
import time
import warnings

from hypothesis import given, seed
from hypothesis import strategies as st

from sitegen.catalogue.model import Catalogue
from sitegen.solver.network import build
from tests.engine.comparison import DEMO
from tests.engine.test_diagnosis_against_troubleshoot import compare
from tests.engine.v8 import Engine
from tests.random_nets import AIRFRAMES, Raw, catalogues, hard_catalogues
from tests.samples import generated

NETS_IN_A_ROUND = 16
OF_EACH_NET = 6


def random_nets(number: int) -> int:
    """A round of random nets; how many sets of observations agreed."""
    agreed = 0

    @seed(number)
    @generated(NETS_IN_A_ROUND)
    @given(
        catalogues() | catalogues(busy=True) | hard_catalogues(),
        st.sampled_from(AIRFRAMES),
        st.integers(0, 2**32),
    )
    def agree(catalogue: Raw, airframe: str, chosen: int) -> None:
        nonlocal agreed
        network = build(Catalogue.model_validate(catalogue), airframe)
        agreed += compare(network, Engine(network), random.Random(chosen), OF_EACH_NET)

    agree()
    return agreed


def main(observations: int = 2_000, first_seed: int = 1) -> None:
    warnings.simplefilter("ignore")
    started, of_nets, of_demo, number = time.process_time(), 0, 0, first_seed
    demo = [(network, Engine(network)) for network in DEMO]
    while of_nets + of_demo < observations:
        of_nets += random_nets(number)
        while 19 * of_demo < of_nets:
            network, engine = demo[of_demo % len(demo)]
            of_demo += compare(network, engine, random.Random(f"{number} {of_demo}"), 1)
        number += 1
        print(of_nets, of_demo, f"{time.process_time() - started:.0f} s", flush=True)
    print(f"{of_nets + of_demo} sets of observations agreed, {of_demo} of them of the demo")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
