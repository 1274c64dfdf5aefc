"""By which volts a switching device has moved: what its cause has, and what it closes at."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.answers.because import Event
from sitegen.answers.drop import Loss
from sitegen.quantities import PLAIN
from sitegen.solver.network import Network
from sitegen.words import join_words


def closing_volts(network: Network, event: Event, loss: Loss) -> str:
    """`at 24 V, closes at more than 26 V`: what `Forward bus` as a cause leaves open.

    Parameters
    ----------
    event : one of `because`.
    loss : the answer that it leads to; the volts are those at its end.

    Returns
    -------
    Empty where no cause is live, or none is one whose volts the device goes by.
    """
    found = []
    for node in event.causes:
        state, limits = loss.nodes.get(node), set(_limits(network, event.id, node))
        if state and state.live and len(limits) == 1:
            [(side, limit)] = limits
            has_closed = state.volts > limit if side == "more" else state.volts < limit
            if has_closed is (event.change == "closed"):
                name = f"{network.names[node]} " if len(event.causes) > 1 else ""
                volts, at = PLAIN.volts(state.volts), PLAIN.volts(limit)
                found.append(f"{name}at {volts}, closes at {side} than {at}")
    return join_words(found)


def _limits(network: Network, device: str, node: str) -> Iterator[tuple[str, float]]:
    for terms in network.switching.get(device, ()):
        for side, limits in (("more", terms.volts_above), ("less", terms.volts_below)):
            if node in limits:
                yield side, limits[node]
