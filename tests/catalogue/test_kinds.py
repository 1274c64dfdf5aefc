"""The table of kinds, and the format that an author writes, say the same."""

from __future__ import annotations

from typing import get_args

import pytest

from sitegen.catalogue.kinds import (
    BLOWS,
    COIL_OPERATED,
    KINDS,
    LOAD_METERS,
    METERS,
    MODE_NOUNS,
    OVERCURRENT,
    SWITCHING,
    DeviceKind,
    IndicationKind,
    SourceKind,
)


@pytest.mark.parametrize(
    ("role", "written"),
    [("source", SourceKind), ("device", DeviceKind), ("indication", IndicationKind)],
)
def test_what_an_author_may_write_is_in_the_table(role: str, written: object) -> None:
    assert {k.id for k in KINDS.values() if k.role == role} == set(get_args(written))


def test_each_failure_mode_has_a_noun() -> None:
    assert {mode for kind in KINDS.values() for mode in kind.modes} == set(MODE_NOUNS)


@pytest.mark.parametrize(
    ("kinds", "expected"),
    [
        (COIL_OPERATED, {"contactor", "relay"}),
        (SWITCHING, {"contactor", "relay", "switch"}),
        (OVERCURRENT, {"breaker", "fuse", "fuse-link"}),
        (METERS, {"voltmeter", "ammeter", "loadmeter"}),
        (LOAD_METERS, {"ammeter", "loadmeter"}),
    ],
)
def test_sets_of_kinds_are_those_of_the_trade(
    kinds: frozenset[str], expected: set[str]
) -> None:  # common practice, no source
    assert kinds == expected


def test_only_what_has_contacts_sticks_closed() -> None:
    sticking = {k.id for k in KINDS.values() if "stuck-closed" in k.modes}
    assert sticking == {*COIL_OPERATED, "breaker", "switch"}


def test_only_a_fuse_or_link_is_blown_and_not_reset() -> None:  # common practice, no source
    assert {"fuse", "fuse-link"} == BLOWS
