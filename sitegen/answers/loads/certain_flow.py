"""Whether current that a meter shows flows there for certain, where it is not known how much.

What surely flows has to be enough to be seen. What has no figure is, but on the way to a battery
that others hold up, where a lamp on its hot bus may be all.

What may draw from several nodes may take nothing through the meter: it is left out, and none of it
may flow there the other way.
"""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.answers.loads.meter_bands import AtVolts, Variations
from sitegen.answers.loads.net_variations import Meter
from sitegen.answers.loads.sharing import Parts
from sitegen.quantities import Fraction

LEAST_SEEN = Fraction(1, 2)
"""From here on a meter shows that there is load, and not none, A or %: however little it is."""


def flows_for_certain(varying: Variations, *meters: Meter) -> bool:
    """Whether some flows, in one direction in all states in which a healthy aircraft may be."""
    if len(meters) > 1 or varying.nominal.amps.net.not_shared:
        return False
    directions = {_direction(state, meters[0]) for state in varying.states}
    return len(directions) == 1 and 0 not in directions


def _direction(state: AtVolts, meter: Meter) -> int:
    """1 along the meter, -1 against it; 0 where neither is certain."""
    sharing, amps = state.of_net.net.sharing, state.amps
    converters = dict(_converters(state))
    left_out, elsewhere = set[str](), set[str]().union(*converters.values())
    for item, live in amps.powered.items():
        if amps.figures[item] == 0:
            continue
        nodes = sharing.any_supply(item, live)
        elsewhere.update(nodes)
        buses = {sharing.network.connections[item][i].bus for i in live}
        if nodes or any(converters.keys() & sharing.source_amps(bus).keys() for bus in buses):
            left_out.add(item)
    rest = amps.with_supplies(dict.fromkeys(left_out))
    _, direction = (
        rest.through(meter.branches, LEAST_SEEN)
        if meter.branches
        else rest.given_by(meter.at, LEAST_SEEN)
    )
    passing = [meter.measured(state.of_net.one_amp(node)) for node in elsewhere]
    same = (d == direction or (found is not None and not d) for found, d in passing)
    return direction if all(same) else 0


def _converters(state: AtVolts) -> Iterator[tuple[str, Parts]]:
    """(converter, what it takes at each node) of those that may take all from any of several."""
    sharing = state.of_net.net.sharing
    for converter in sharing.inputs:
        gives = state.amps.sources[converter] or converter in state.amps.short_sources
        nodes = sharing.any_input(converter) if gives else {}
        if nodes:
            yield converter, nodes
