"""What opens and closes by itself when something fails."""

from __future__ import annotations

from sitegen.answers.switching_changes import switching_changes
from tests.nets import after, network

TIE = """
sources: {left-gen: 28, right-gen: 28}
buses: [left, right]
devices:
  k-left: {kind: contactor, closes-when: {live: [left-gen]}}
  k-tie: {kind: contactor, closes-when: {dead: [left-gen]}}
  fl-tie: fuse-link
feeders: [left-gen > k-left > left, right-gen > right, right > fl-tie > k-tie > left]
"""


def changes(*failed: str) -> list[tuple[str, str]]:
    net = network(TIE)
    return switching_changes(net, after(net, *failed), after(net))


def test_a_lost_generator_s_contactor_opens_and_the_bus_tie_closes() -> None:
    assert changes("left-gen") == [("k-left", "opens"), ("k-tie", "closes")]


def test_a_contactor_that_has_failed_itself_is_not_reported_as_switching() -> None:
    assert changes("k-left") == []


def test_the_fuse_link_next_to_a_shorted_bus_blows() -> None:
    assert changes("left-gen", "left:shorted") == [
        ("k-left", "opens"),
        ("k-tie", "closes"),
        ("fl-tie", "blows"),
    ]


def test_a_breaker_next_to_a_shorted_bus_trips() -> None:
    net = network("""
sources: {gen: 28}
buses: [main, side]
devices: {cb: breaker}
feeders: [gen > main, main > cb > side]
equipment: {lamp: side}
""")
    assert switching_changes(net, after(net, "side:shorted"), after(net)) == [("cb", "trips")]
