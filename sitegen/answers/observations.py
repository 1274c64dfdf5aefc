"""What a person sees, and in which scenarios it would be seen.

An observation is one reading or one item seen to work or not; it can be asked of any steady state.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations, product
from typing import Literal, NamedTuple

from sitegen.answers.cut_sets import closure_of, own_breakers
from sitegen.answers.indications import has_power, meter_directions, reading, unit_of
from sitegen.answers.loads.certain_flow import LEAST_SEEN
from sitegen.answers.loads.drawn import Draws, draws
from sitegen.answers.loads.meter_bands import Flow
from sitegen.answers.loads.metered import meter_at, metered
from sitegen.answers.loads.net_variations import Meter
from sitegen.answers.loads.possible_amps import charges, possible_amps
from sitegen.answers.readings import (
    BLANK,
    LIT,
    LIT_OR_UNLIT,
    LOAD,
    NO_LOAD,
    SCALE_READ,
    TOLERANCE_SHARE,
    TOLERANCE_VOLTS,
    UNLIT,
    Reading,
    as_seen,
)
from sitegen.catalogue.kinds import LOAD_METERS
from sitegen.catalogue.model import Indication
from sitegen.quantities import Fraction, exactly, whole
from sitegen.solver.network import Network
from sitegen.solver.power import Power
from sitegen.solver.scenarios import bits
from sitegen.solver.subset import narrowed, widened

MOST_ADDED = 5
"""Meters of sources of which any two or more are added up; of more, each two, and all."""

MOST_APART = 4096
"""Up to this many scenarios are taken apart from the rest."""

SMALLEST_SHARE = 2
"""A breaker that feeds less than this, in % of the rating or in A, is not tried as the cause of
the figure that a loadmeter or ammeter reads: a change as small as that is not seen."""


@dataclass(frozen=True)
class Observation:
    """One thing seen."""

    subject: str
    """An equipment, bus or indication id."""
    seen: Reading | Literal["works", "dead"]
    """`works` or `dead` of equipment and buses, else what the indication shows; a figure on an
    ammeter may leave out its direction."""


def holds(
    network: Network,
    observation: Observation,
    power: Power,
    tolerance: float = TOLERANCE_VOLTS,
    drawn: Draws | None = None,
) -> int:
    """The scenarios in which the observation would be made.

    Parameters
    ----------
    network, observation : what is seen, and where.
    power : the scenarios in steady state.
    tolerance : how far a meter may be off, V.
    drawn : what equipment draws in these scenarios, where the caller has it.
    """
    every = power.steady.setting.all
    subject = observation.subject
    seen = observation.seen
    # A bus, a source or a device may have the id of an indication.
    if not isinstance(seen, Reading):
        if subject in network.equipment:
            works = power.works[subject]
            # Of what is not known either may be seen.
            return works if seen == "works" else every & ~works | power.not_known[subject]
        live = power.steady.live[subject]
        return live if seen == "works" else every & ~live
    indication = indications_by_id(network)[subject]
    if reads_load(network, observation):
        return _load_holds(indication, seen, drawn or draws(power)) & has_power(indication, power)
    kind = indication.kind
    # Without power a flag may be seen either way.
    mask = every & ~has_power(indication, power) if kind == "flag" and seen in (LIT, UNLIT) else 0
    seen = as_seen(seen, kind)
    for shown, where in reading(indication, power):
        if agrees(as_seen(shown, kind), seen, tolerance):
            mask |= where
    return mask


def all_hold(
    network: Network,
    observations: Sequence[Observation],
    power: Power,
    tolerance: float = TOLERANCE_VOLTS,
    among: int | None = None,
) -> int:
    """The scenarios, of those asked about, in which all the observations would be made."""
    mask = power.steady.setting.all if among is None else among
    loads = [o for o in observations if reads_load(network, o)]
    for observation in observations:
        if mask and observation not in loads:
            mask &= holds(network, observation, power, tolerance)
    for observation in loads:
        if mask:
            mask &= load_may_hold(network, observation, power)
    if not mask or not loads:
        return mask
    if mask == power.steady.setting.all or bin(mask).count("1") > MOST_APART:
        drawn = draws(power)
        for observation in loads:
            mask &= holds(network, observation, power, tolerance, drawn)
        return mask & add_up(network, loads, drawn)
    # To add up the amps of every scenario costs much, and most are out already.
    left = bits(mask)
    few = narrowed(power, left)
    drawn = draws(few)
    agreeing = few.steady.setting.all
    for observation in loads:
        if agreeing:
            agreeing &= holds(network, observation, few, tolerance, drawn)
    if agreeing:
        agreeing &= add_up(network, loads, drawn)
    return widened(agreeing, left)


def add_up(network: Network, observations: Sequence[Observation], drawn: Draws) -> int:
    """The scenarios in which what meters of several sources read adds up.

    Each may be within what it may show, and all of them together no more, or less, than is drawn.
    """
    read = [r for o in observations for r in [_of_source(network, o)] if r]
    every = drawn.power.steady.setting.all
    for size in range(2, len(read) + 1) if len(read) <= MOST_ADDED else (2, len(read)):
        for several in combinations(read, size):
            if len({r.meter.source for r in several}) == size:
                found = metered(drawn, *(r.meter for r in several))
                every &= found.unsure | found.where(partial(_may_add_up, several))
    return every


class _OfSource(NamedTuple):
    """What a meter reads of the amps that one source gives, at its terminals or in a feeder."""

    meter: Meter
    spans: list[tuple[Fraction, Fraction]]
    """Amps from the first to the second; of two one, where it does not say in which direction."""


def _of_source(network: Network, observation: Observation) -> _OfSource | None:
    indication, seen = indications_by_id(network).get(observation.subject), observation.seen
    if indication is None or not isinstance(seen, Reading) or not reads_load(network, observation):
        return None
    source, along = next_to_meter(network, indication.at or "")
    if source is None or seen.kind not in ("figure", "no load"):
        return None
    meter = meter_at(network, indication.at or "", source, 1 if along else -1)
    _, share = unit_of(indication, network)
    figure = abs(exactly(seen.number))
    low, high = ((figure + by) / share for by in (-SCALE_READ, SCALE_READ))
    given, taken = (low, high), (-high, -low)
    if seen.direction:
        forwards = meter_directions(indication, network)[0] == seen.direction
        return _OfSource(meter, [given if forwards == along else taken])
    battery = network.sources[source].kind == "battery"
    return _OfSource(meter, [given, taken] if battery else [given])


def _may_add_up(several: Sequence[_OfSource], flow: Flow) -> bool:
    return any(
        sum(low for low, _ in ends) <= flow.most and flow.least <= sum(high for _, high in ends)
        for ends in product(*(read.spans for read in several))
    )


def reads_load(network: Network, observation: Observation) -> bool:
    """Whether it is a figure, or some load or none, on a loadmeter or ammeter."""
    if observation.seen == BLANK or not isinstance(observation.seen, Reading):
        return False
    return indications_by_id(network)[observation.subject].kind in LOAD_METERS


def agrees(shown: Reading, seen: Reading | str, tolerance: float) -> bool:
    """Whether what may be shown is what was seen, a voltmeter's tolerance allowed for."""
    if not isinstance(seen, Reading) or not shown.unit == seen.unit == "V":
        return shown == seen or (shown == LIT_OR_UNLIT and seen in (LIT, UNLIT))
    low, high = (max(tolerance, TOLERANCE_SHARE * end) for end in shown.span)
    return shown.span[0] - low <= seen.number <= shown.span[1] + high


def load_may_hold(network: Network, observation: Observation, power: Power) -> int:
    """Scenarios among which are all those in which a loadmeter or ammeter might be read so."""
    indication, seen = indications_by_id(network)[observation.subject], observation.seen
    every = power.steady.setting.all
    source, along = _metered_source(network, indication.at or "")
    if source is None or not isinstance(seen, Reading) or seen == LOAD:
        return every
    _, share = unit_of(indication, network)
    if seen == NO_LOAD or not seen.number:
        return possible_amps(power, source, Fraction(), 1 / share)
    figure = abs(exactly(seen.number))
    least, most = (max((figure + by) / share, Fraction()) for by in (-SCALE_READ, SCALE_READ))
    giving = possible_amps(power, source, least, most)
    if seen.direction and (meter_directions(indication, network)[0] == seen.direction) == along:
        return giving
    return giving | charges(power, source)


def _metered_source(network: Network, at: str) -> tuple[str | None, bool]:
    """The source whose amps are all that a meter there may show, and whether in its direction.

    That is the source itself, or one with no other conductor at its terminals.
    """
    source, along = next_to_meter(network, at)
    if source is None or source == at:
        return source, along
    conductors = [b for b in network.branches if source in (b.origin, b.target)]
    alone = len(conductors) == 1 and not network.on_bus[source]
    return (source, along) if alone else (None, True)


def next_to_meter(network: Network, at: str) -> tuple[str | None, bool]:
    """The source at which a meter is, or in a feeder of it; whether it reads in its direction.

    In the input of a converter it reads what the converter takes, not what a source gives.
    """
    if at in network.sources:
        return at, True
    through = [branch for branch in network.branches if at in branch.through]
    for branch in through if len(through) == 1 and not through[0].into_converter else ():
        for node, along in ((branch.origin, True), (branch.target, False)):
            if node in network.sources:
                return node, along
    return None, True


def _load_holds(indication: Indication, seen: Reading, drawn: Draws) -> int:
    """The scenarios in which a loadmeter or ammeter that has power might be read so."""
    power = drawn.power
    found = metered(drawn, meter_at(power.steady.network, indication.at or ""))
    _, share = unit_of(indication, power.steady.network)

    def reach(flow: Flow, sign: int) -> tuple[Fraction, Fraction]:
        """The least and the most that it shows one way; the most is below 0 if it never does."""
        ends = sorted((sign * flow.least * share, sign * flow.most * share))
        return max(ends[0], Fraction()), ends[1]

    def shows(flow: Flow, sign: int) -> bool:
        return reach(flow, sign)[1] > 0

    # Where the figure is not known, only load and no load are distinguished, if at all.
    if seen == NO_LOAD or (seen.is_load and not seen.number):
        always = found.where(lambda flow: any(whole(reach(flow, sign)[0]) > 0 for sign in (1, -1)))
        return power.steady.setting.all & ~always & ~found.some
    if seen == LOAD:
        return found.where(lambda flow: shows(flow, 1) or shows(flow, -1)) | found.unsure
    figure = abs(exactly(seen.number))
    signs = [1, -1]
    if seen.direction:
        forwards = meter_directions(indication, power.steady.network)[0] == seen.direction
        signs = [1 if forwards else -1]

    def close(flow: Flow) -> bool:
        return any(
            shows(flow, sign) and least - SCALE_READ <= figure <= most + SCALE_READ
            for sign in signs
            for least, most in [reach(flow, sign)]
        )

    return found.where(close) | found.unsure


def breakers_feeding(network: Network, observations: Sequence[Observation]) -> tuple[str, ...]:
    """The breakers that can change these observations and nothing else of the net."""
    owners: dict[str, None] = {}
    for observation in observations:
        if observation.subject in network.equipment:
            owners.update(dict.fromkeys(closure_of(network, (observation.subject,))))
        elif observation.subject in network.connections:
            owners[observation.subject] = None
        indication = indications_by_id(network).get(observation.subject)
        if indication is not None and reads_load(network, observation):
            least = LEAST_SEEN if _load_or_none(observation.seen) else SMALLEST_SHARE
            owners.update(dict.fromkeys(_drawing_enough_to_read(network, indication, least)))
    return own_breakers(network, owners)


def _load_or_none(seen: Reading | str) -> bool:
    """Whether what a loadmeter or ammeter reads is that there is load, or none."""
    return seen in (LOAD, NO_LOAD) or (isinstance(seen, Reading) and not seen.number)


def _drawing_enough_to_read(
    network: Network, indication: Indication, least: float | Fraction
) -> list[str]:
    """The equipment that draws at least this on a loadmeter or ammeter."""
    _, share = unit_of(indication, network)
    columns = {c.loads for c in network.catalogue.conditions}
    return [
        item
        for item in network.equipment
        if any((network.figures[column, False][item] or 0) * share >= least for column in columns)
    ]


def indications_by_id(network: Network) -> Mapping[str, Indication]:
    """Every indication of the airframe."""
    return {i.id: i for i in network.catalogue.indications}
