"""What each meter, lamp and flag shows, in every scenario at once."""

from __future__ import annotations

from sitegen.catalogue.model import Indication
from sitegen.network.outcome import Power

BLANK = "blank"
"""What an indication shows when its own power is gone."""

Readings = tuple[tuple[str, int], ...]
"""(what is shown, mask of the scenarios in which it is), the masks apart and complete."""


def readings(power: Power) -> dict[str, Readings]:
    """By indication: what it shows, each reading with its scenarios.

    A voltmeter shows its node's volts: `28.5 V`, `0 V`. A loadmeter or ammeter shows `load` or
    `no load`. A lamp or flag shows `lit` or `unlit`. Each shows `blank` without its own power.
    """
    return {i.id: reading(i, power) for i in power.settled.network.catalogue.indications}


def reading(indication: Indication, power: Power) -> Readings:
    """What one indication shows."""
    every = power.settled.setting.all
    rest = 0 if indication.supplies else every
    for fed in power.fed[indication.id]:
        rest |= fed
    shown = [(BLANK, every & ~rest)]
    for text, mask in _when_powered(indication, power):
        shown.append((text, mask & rest))
        rest &= ~mask
    return tuple((text, mask) for text, mask in shown if mask)


def _when_powered(indication: Indication, power: Power) -> list[tuple[str, int]]:
    every = power.settled.setting.all
    if indication.kind in ("lamp", "flag"):
        lit = power.settled.terms_hold(indication.lit_when or ())
        return [("lit", lit), ("unlit", every)]
    at = indication.at or ""
    if indication.kind == "voltmeter":
        levels = [(f"{volts:g} V", mask) for volts, mask in power.volts[at]]
        return [*levels, ("0 V", every)]
    return [("load", _carrying(at, power)), ("no load", every)]


def _carrying(at: str, power: Power) -> int:
    """Whether current flows through a source, or through the run in which a device stands."""
    settled = power.settled
    if at in settled.network.sources:
        return power.carries[at]
    flowing = 0
    for run, mask in zip(settled.network.runs, settled.run_masks, strict=True):
        if at in run.through:
            # Into a bus that is dead or shorted nothing flows: the short has opened the run.
            flowing |= mask & settled.live[run.origin] & settled.live[run.target]
    return flowing
