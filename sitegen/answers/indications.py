"""What each meter, lamp and flag shows, in every scenario at once."""

from __future__ import annotations

from collections.abc import Mapping

from sitegen.answers.loads.drawn import Draws, draws
from sitegen.answers.loads.meter_bands import Flow
from sitegen.answers.loads.metered import meter_at, metered
from sitegen.answers.readings import (
    BLANK,
    LIT,
    LIT_OR_UNLIT,
    LOAD,
    NOT_KNOWN,
    UNLIT,
    Direction,
    Reading,
    Unit,
    banded,
)
from sitegen.answers.volts_bands import lamp_bounds, volts_bands
from sitegen.catalogue.kinds import LOAD_METERS
from sitegen.catalogue.model import Indication
from sitegen.quantities import Fraction, whole
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits

Directions = tuple[Direction, Direction] | tuple[None, None]

Readings = tuple[tuple[Reading, int], ...]
"""(what is shown, mask of the scenarios in which it is); each scenario is in one of the masks."""


def readings(power: Power) -> dict[str, Readings]:
    """By indication: what it shows, each reading with its scenarios.

    A voltmeter shows the volts of its node; a loadmeter percent of the rating; an ammeter, or a
    loadmeter where there is no rating, amps, in a battery's feeder with their direction; each has a
    band where a healthy aircraft may show more or less (`volts_bands`, `meter_bands`), and a lamp
    or flag whose limit in volts is within such a band is lit or unlit. Where the
    amps are not known (`metered.Metered.unsure`) it shows some load, or what it shows is not
    known. Each shows nothing without its own power.
    """
    indications = power.steady.network.catalogue.indications
    loads = any(i.kind in LOAD_METERS for i in indications)
    drawn = draws(power) if loads else None
    return {i.id: reading(i, power, drawn) for i in indications}


def readings_by_scenario(shown: Mapping[str, Readings], count: int) -> list[dict[str, Reading]]:
    """By scenario, by indication: what it shows."""
    found: list[dict[str, Reading]] = [{} for _ in range(count)]
    for indication, alternatives in shown.items():
        for one, mask in alternatives:
            for k in bits(mask):
                found[k][indication] = one
    return found


def reading(indication: Indication, power: Power, drawn: Draws | None = None) -> Readings:
    """What one indication shows; `drawn` is what equipment draws, where the caller has it."""
    powered = has_power(indication, power)
    shown = [(BLANK, power.steady.setting.all & ~powered)]
    rest = powered
    for alternative, mask in _when_powered(indication, power, drawn):
        shown.append((alternative, mask & rest))
        rest &= ~mask
    return tuple((alternative, mask) for alternative, mask in shown if mask)


def has_power(indication: Indication, power: Power) -> int:
    """The scenarios in which an indication has the power that it needs itself."""
    if not indication.supplies:
        return power.steady.setting.all
    powered = 0
    for fed in power.fed[indication.id]:
        powered |= fed
    return powered


def unit_of(indication: Indication, network: Network) -> tuple[Unit, Fraction]:
    """The unit that a meter shows and, of a loadmeter or ammeter, how much of it one amp is."""
    if indication.kind == "voltmeter":
        return "V", Fraction(1)
    at = indication.at or ""
    rated = network.rating(at)
    if indication.kind == "loadmeter" and rated:
        return "%", 100 / exact(rated)
    return "A", Fraction(1)


def meter_directions(indication: Indication, network: Network) -> Directions:
    """What an ammeter at a battery or in its feeder shows: of current along it, and against it."""
    at = network.sources.get(indication.at or "")
    if indication.kind == "ammeter" and at is not None and at.kind == "battery":
        return "discharge", "charge side"
    branches = [branch for branch in network.branches if indication.at in branch.through]
    if indication.kind != "ammeter" or len(branches) != 1:
        return None, None
    ends = [network.sources.get(node) for node in (branches[0].origin, branches[0].target)]
    is_battery = [end is not None and end.kind == "battery" for end in ends]
    if is_battery == [True, False]:
        return "discharge", "charge side"
    return ("charge side", "discharge") if is_battery == [False, True] else (None, None)


def not_metered(indication: Indication, network: Network) -> list[str]:
    """The nodes that the battery of an ammeter always feeds by other feeders than the ammeter's."""
    if meter_directions(indication, network) == (None, None):
        return []
    own = [branch for branch in network.branches if indication.at in branch.through]
    ends = {n for b in own for n in (b.origin, b.target) if n in network.sources}
    return [
        branch.target if branch.origin in ends else branch.origin
        for branch in network.branches
        if branch not in own
        and ends & {branch.origin, branch.target}
        and network.switching.keys().isdisjoint(branch.through)
    ]


def _when_powered(
    indication: Indication, power: Power, drawn: Draws | None
) -> list[tuple[Reading, int]]:
    every = power.steady.setting.all
    if indication.kind in ("lamp", "flag"):
        certain, possible = lamp_bounds(power, indication.lit_when or ())
        return [(LIT, certain), (LIT_OR_UNLIT, possible), (UNLIT, every)]
    at = indication.at or ""
    unit, share = unit_of(indication, power.steady.network)
    if indication.kind == "voltmeter":
        levels = [
            (banded(band.shown / 1000, (band.least / 1000, band.most / 1000), unit), mask)
            for band, mask in volts_bands(power, at).items()
        ]
        return [*levels, (Reading("figure", 0, unit), every)]
    current = metered(drawn or draws(power), meter_at(power.steady.network, at))
    directions = meter_directions(indication, power.steady.network)
    figures: dict[Reading, int] = {}
    for flow, mask in current.flows.items():
        figure = _figure(Flow(*(amps * share for amps in flow)), unit, directions)
        figures[figure] = figures.get(figure, 0) | mask
    return [(LOAD, current.some), (NOT_KNOWN, current.unsure), *figures.items()]


def _figure(flow: Flow, unit: Unit, directions: Directions) -> Reading:
    """What a loadmeter or ammeter shows of a current, in its unit."""
    number, least, most = (whole(abs(amps)) for amps in flow)
    if flow.least < 0 < flow.most:
        return banded(number, (0, max(least, most)), unit)
    direction = directions[0 if flow.most > 0 else 1] if least or most else None
    return banded(number, (min(least, most), max(least, most)), unit, direction)
