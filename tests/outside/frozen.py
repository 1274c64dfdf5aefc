"""A net whose contactors do not move, for referees that know nothing of contactors.

Every contactor, relay and switch stays as one condition has it when nothing has failed: closed
ones can still fail open, open ones are gaps. A failure then only takes away, as in a plain fault
tree, while it is lost, dead or open (`WITHOUT_SHORTS`): what a short pulls down, and a contactor
stuck closed, are left out here.
"""

from __future__ import annotations

from dataclasses import dataclass

from sitegen.catalogue.kinds import SWITCHING
from sitegen.catalogue.model import Catalogue, Terms
from sitegen.solver.network import Network, build
from sitegen.solver.outcome import condition_states

WITHOUT_SHORTS = ("lost", "dead", "open")


def without_volts(catalogue: Catalogue) -> Catalogue:
    """The catalogue for referees that know whether a node is live, but not its volts.

    Equipment works at whatever volts its bus shows. A contactor that waits for volts above a limit
    waits for a live node, one that waits for volts below a limit for a dead one. They know no dip
    either: nothing is said to drop out in one.
    """
    return catalogue.model_copy(
        update={
            "equipment": [e.model_copy(update={"min_volts": None}) for e in catalogue.equipment],
            "devices": [
                d.model_copy(
                    update={
                        "closes_when": [_by_live(terms) for terms in d.closes_when],
                        "rides_through": None,
                    }
                )
                if d.closes_when
                else d
                for d in catalogue.devices
            ],
        }
    )


def _by_live(terms: Terms) -> Terms:
    return terms.model_copy(
        update={
            "live": [*terms.live, *terms.volts_above],
            "dead": [*terms.dead, *terms.volts_below],
            "volts_above": {},
            "volts_below": {},
        }
    )


@dataclass(frozen=True)
class Frozen:
    """One condition of one airframe, in which nothing moves."""

    network: Network
    condition: str
    on_line: frozenset[str]
    gaps: frozenset[str]
    """Devices that are open: contactors that do not close, and breakers that are pulled."""


def frozen(network: Network, condition: str) -> Frozen:
    """The net with its contactors held as they have settled in the condition."""
    catalogue = network.catalogue
    here = next(c for c in catalogue.conditions if c.id == condition)
    number = catalogue.conditions.index(here)
    conducts = condition_states(network).steady.conducts
    closed = {d for d in network.switching if conducts[d] >> number & 1}
    devices = [
        # No terms hold always; a contactor that waits for itself never closes.
        d.model_copy(update={"closes_when": [Terms() if d.id in closed else Terms(closed=[d.id])]})
        if d.kind in SWITCHING
        else d
        for d in catalogue.devices
    ]
    still = catalogue.model_copy(
        update={
            "devices": devices,
            "conditions": [here.model_copy(update={"held_closed": []})],
        }
    )
    return Frozen(
        build(still, network.airframe),
        condition,
        frozenset(here.sources),
        frozenset(here.pulled) | (network.switching.keys() - closed),
    )
