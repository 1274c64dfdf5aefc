"""The bridge network's minimal cut sets.

Source of the check: Billinton and Allan, Reliability Evaluation of Engineering Systems, the bridge
network (from memory): elements 1 and 2 on the source's side, 3 after 1 and 4 after 2 on the load's,
and 5 between the two, both ways. Its minimal cut sets are {1, 2}, {3, 4}, {1, 4, 5} and {2, 3, 5}.

Here the elements are breakers, generator and buses are good: sets with these in them are left out.
"""

from __future__ import annotations

from tests.listed_cut_sets import cut_sets
from tests.nets import network

BRIDGE = """
sources: {generator: 28}
buses: [upper, lower, load]
devices: {cb-1: breaker, cb-2: breaker, cb-3: breaker, cb-4: breaker, cb-5: breaker}
feeders:
  - generator > cb-1 > upper
  - generator > cb-2 > lower
  - upper > cb-3 > load
  - lower > cb-4 > load
  - upper > cb-5 > lower
equipment: {lamp: load}
functions: {light: {provided-by: [lamp]}}
"""
PUBLISHED = [{1, 2}, {3, 4}, {1, 4, 5}, {2, 3, 5}]


def test_a_lamp_behind_a_bridge_of_breakers_is_taken_by_the_published_sets() -> None:
    found = cut_sets(network(BRIDGE), "flight", ["lamp"], ["light"])
    for target in ("lamp", "light"):
        by_component = [{component for component, _ in s} for s in found[target]]
        assert [
            {int(name.removeprefix("cb-")) for name in s}
            for s in by_component
            if all(name.startswith("cb-") for name in s)
        ] == PUBLISHED
