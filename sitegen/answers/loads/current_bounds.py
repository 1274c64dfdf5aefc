"""What a breaker, link or contactor in a feeder carries.

A feeder carries all current that has no other path. Where current has several paths, the
resistances of the conductors decide, and the catalogue has none: the bounds are then what the
feeder carries for certain, and the most that it could carry.
"""

from __future__ import annotations

from sitegen.answers.loads.carried import CurrentBounds, worst_of
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.solver.network import Network


def current_bounds(network: Network, amps: Amps) -> dict[str, CurrentBounds]:
    """By device in a feeder that conducts: what it carries; of several poles, the one with most.

    Parameters
    ----------
    network, amps : the airframe, and the amps in one state of it.
    """
    bounds, nothing = dict[str, CurrentBounds](), CurrentBounds(NO_AMPS, NO_AMPS)
    for number in amps.net.conducting:
        here = amps.branch_bounds.get(number, nothing)
        for device in network.branches[number].through:
            bounds[device] = worst_of([here, bounds[device]]) if device in bounds else here
    return bounds
