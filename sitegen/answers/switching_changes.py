"""What opens or closes by itself when something fails: contactors, and what clears a short."""

from __future__ import annotations

from sitegen.answers.drop import Loss
from sitegen.solver.network import Branch, Network


def opened_by_a_short(network: Network, loss: Loss) -> dict[int, str]:
    """By number of the branch: the device in it that opens on a short at one of its ends.

    A current into the short is needed to open it: the other end of the branch must be live, and
    nothing between may block the current. A converter lets no short through to its input. The
    devices have not failed, and `Loss.conducts` does not count them as open: the short itself holds
    dead what is downstream of them.
    """
    # A bus that is only dead draws nothing.
    shorted = {n for n, s in loss.nodes.items() if s.down and (n, "dead") not in loss.failed}
    if not shorted:
        return {}
    opened = {n: _opened(branch, loss, shorted) for n, branch in enumerate(network.branches)}
    return {number: device for number, device in opened.items() if device is not None}


def _opened(branch: Branch, loss: Loss, shorted: set[str]) -> str | None:
    if (
        branch.into_converter
        or not branch.protective
        or not all(loss.conducts[d] for d in branch.through)
    ):
        return None
    if branch.target in shorted and loss.nodes[branch.origin].live:
        return branch.protective[-1]
    if branch.origin in shorted and loss.nodes[branch.target].live and not branch.one_way:
        return branch.protective[0]
    return None


def switching_changes(network: Network, loss: Loss, normal: Loss) -> list[tuple[str, str]]:
    """(device, `opens` or `closes`) of all that a failure switches, without what has failed itself.

    Parameters
    ----------
    network, loss : the airframe and what has failed.
    normal : the same condition with nothing failed.
    """
    failed = {component for component, _ in loss.failed}
    switched = [
        (device, "closes" if loss.conducts[device] else "opens")
        for device in network.switching
        if loss.conducts[device] != normal.conducts[device] and device not in failed
    ]
    return switched + [(device, "opens") for device in opened_by_a_short(network, loss).values()]
