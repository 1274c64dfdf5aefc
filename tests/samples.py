"""How many random cases a check draws: a sample in the suite, all of them on request.

`SITEGEN_SAMPLES` in the environment is `quick`, `suite` (when it is not set) or `full`. The full
numbers are drawn by `python -m tests.bench.full_samples`. The cases are the same in every run, so
that what was green stays green, and a smaller sample is the beginning of a larger one.
"""

from __future__ import annotations

import math
import os
import random
from collections.abc import Callable, Hashable, Iterable
from itertools import zip_longest
from typing import TypeVar

from hypothesis import HealthCheck, Phase, settings

Case = TypeVar("Case")

SHARES = {"quick": 0.05, "suite": 0.2, "full": 1.0}


def sample_size(full: int) -> int:
    """How many of the full number of cases this run draws, at least five."""
    share = SHARES[os.environ.get("SITEGEN_SAMPLES", "suite")]
    return min(full, max(5, math.ceil(share * full)))


def thorough(full: int) -> settings:
    """Hypothesis's settings for a check of random nets with this many nets in full."""
    return settings(
        max_examples=sample_size(full),
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


def generated(nets: int) -> settings:
    """The same for a run by hand: this many nets, none tried again to find a smaller one."""
    return settings(
        max_examples=nets,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


def stratified(
    cases: Iterable[Case], kind: Callable[[Case], Hashable], full: int, seed: int
) -> list[Case]:
    """A sample of the cases that takes one of each kind in turn, so that rare kinds are in it."""
    kinds: dict[Hashable, list[Case]] = {}
    for case in cases:
        kinds.setdefault(kind(case), []).append(case)
    chance = random.Random(seed)
    for members in kinds.values():
        chance.shuffle(members)
    turns = zip_longest(*kinds.values())
    return [case for turn in turns for case in turn if case is not None][: sample_size(full)]
