"""What a short opens and stalls, and what switching devices do while it lasts: stage by stage.

A stage is a failure, or what the crew does about it. It runs in passes, for all scenarios at once:

1. The *shorted part* is every node that the short reaches against the flow of sound diodes,
   through conducting devices of which none is a protective device that can open. With the
   shorted part at no volts, and no switching device moving, the protective device nearest the
   short opens in every branch through which a live node feeds it, all together; every source in
   the shorted part that would produce but for the short stalls.
2. The *dip*, where switching devices drop out: in a pass that opens or stalls something, every
   node that the short reaches through conducting devices, protective or not, has no volts while
   they follow their closing conditions. Only then the devices of step 1 open, and everything else
   returns.
3. The switching devices follow their closing conditions until nothing changes. The shorted part
   of step 1 has no volts until the pass ends.

If nothing opened, stalled or moved, the stage is over; else it goes on with the next pass. If a
pass begins in a state in which an earlier one began, the devices whose positions differ among the
passes since then chatter.

What opened and what stalled is remembered, and so is what chatters; nothing else is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from sitegen.catalogue.kinds import BLOWS
from sitegen.solver.graph import MaskedArcs, backwards, branch_mask, branch_masks, spread
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Masks, union
from sitegen.solver.setting import Positions, Setting
from sitegen.solver.steady_state import (
    Recorder,
    SteadyState,
    conducting,
    powered,
    switch_until_steady,
)


def run_stage(
    network: Network,
    setting: Setting,
    start: Positions,
    dip: bool = False,
    record: Recorder | None = None,
) -> SteadyState:
    """Run one stage in every scenario.

    Parameters
    ----------
    network, setting : the wiring and what is set from outside.
    start : where the switching devices are, and what has opened, stalled or chattered before.
    dip : devices of which the catalogue does not say whether they ride through drop out while a
        fault holds their coil voltage down; else they ride through.
    record : notified of every step, where there is one scenario.
    """
    at = start.copy()
    with_short = union(setting.shorted.values())
    part = _with_dead(setting, network, {})
    passes = _Passes(network, keep_all=record is not None)
    while True:
        if with_short and passes.begin(network, setting, at) and record:
            record.step(setting, at, part)
        before = conducting(network, setting, at)
        acted = 0
        if with_short:
            part = _with_dead(setting, network, _shorted_part(network, setting, before))
            opening, stalling = _opens_and_stalls(network, setting, before, part, at.stalled)
            acted = union(opening.values()) | union(stalling.values())
            if acted and (dropping := network.dropping_out[dip]):
                zone = _with_dead(setting, network, _zone(network, setting, before))
                zone = {n: part[n] | (mask & acted) for n, mask in zone.items()}
                if record:
                    record.in_dip = True
                    record.step(setting, at, zone)
                switch_until_steady(network, setting, at, zone, acted, dropping, record)
                if record:
                    record.in_dip = False
            for device, mask in opening.items():
                at.opened[device] = at.opened.get(device, 0) | mask
            for source, mask in stalling.items():
                at.stalled[source] = at.stalled.get(source, 0) | mask
        if record:
            record.step(setting, at, part)
        switch_until_steady(network, setting, at, part, setting.all, record=record)
        after = conducting(network, setting, at)
        moved = union(after[d] ^ before[d] for d in network.switching)
        passes.end(acted)
        # Without a short the next pass would only find the same again.
        if not (acted | moved) & with_short:
            break
    live, produces = powered(network, setting, after, part, at.stalled)
    return SteadyState(
        network, setting, live, produces, after, at.chatters, at.opened, at.stalled, part
    )


def can_be_reset(steady: SteadyState, names: Iterable[str]) -> dict[str, int]:
    """Of these components, those that a person can reset, each with the scenarios: masks.

    A tripped device or a stalled source can be reset; what has blown, or is pulled, cannot.
    """
    found = {}
    for name in names:
        tripped = steady.stalled.get(name, 0)
        if name in steady.opened and steady.network.components[name].kind not in BLOWS:
            tripped = steady.opened[name] & ~steady.setting.open[name]
        found[name] = tripped
    return found


def reset(at: Positions, tripped: Masks) -> Positions:
    """Where things are once these devices and sources have been reset.

    A reset contactor starts open and obeys its closing conditions.
    """
    opened = {i: mask & ~tripped.get(i, 0) for i, mask in at.opened.items()}
    stalled = {i: mask & ~tripped.get(i, 0) for i, mask in at.stalled.items()}
    closed = {i: mask & ~tripped.get(i, 0) for i, mask in at.closed.items()}
    return replace(at, opened=opened, stalled=stalled, closed=closed)


@dataclass
class _Begun:
    """The state in which a pass began."""

    conducts: Masks
    chatters: Masks
    differ: dict[str, int]
    """By switching device: the scenarios in which its position has differed since."""
    fresh: int = 0
    """The scenarios in which something has opened or stalled since."""


class _Passes:
    """Finds passes that begin in a state in which an earlier pass began.

    For many scenarios at once one earlier state is kept (Brent 1980): it finds a repetition late,
    but the same one. The order of events depends on when it is found, so then all are kept.
    """

    def __init__(self, network: Network, keep_all: bool) -> None:
        self.switching = list(network.switching)
        self.keep_all = keep_all
        self.earlier: list[_Begun] = []
        self.window, self.steps = 1, 0

    def begin(self, network: Network, setting: Setting, at: Positions) -> bool:
        """At the beginning of a pass: adds to `at` what chatters over passes; whether anything."""
        now, chatters, any_chatter = conducting(network, setting, at), dict(at.chatters), 0
        for old in self.earlier:
            same = setting.all & ~old.fresh
            for device in self.switching:
                difference = now[device] ^ old.conducts[device]
                old.differ[device] |= difference
                same &= ~difference & ~(chatters[device] ^ old.chatters[device])
            for device, mask in old.differ.items():
                at.chatters[device] |= mask & same
                any_chatter |= mask & same
                old.differ[device] = mask & ~same
        if self.keep_all or self.steps == self.window or not self.earlier:
            self.window = self.window * 2 if self.earlier else 1
            if not self.keep_all:
                self.earlier.clear()
            now = conducting(network, setting, at)
            self.earlier.append(_Begun(now, dict(at.chatters), dict.fromkeys(self.switching, 0)))
            self.steps = 0
        self.steps += 1
        return bool(any_chatter)

    def end(self, acted: int) -> None:
        """At the end of a pass in which something opened or stalled in these scenarios."""
        for old in self.earlier:
            old.fresh |= acted


def _with_dead(setting: Setting, network: Network, joined: Masks) -> dict[str, int]:
    return {n: setting.dead.get(n, 0) | joined.get(n, 0) for n in network.nodes}


def _reached_by_the_short(network: Network, setting: Setting, masks: list[int]) -> dict[str, int]:
    """Every node that a short reaches against the flow of sound diodes."""
    arcs: MaskedArcs = {n: [] for n in network.nodes}
    for branch, mask in zip(network.branches, masks, strict=True):
        if branch.into_converter or not mask:
            continue
        # Current flows towards the short: a diode that points at it conducts, one that points
        # away from it blocks.
        arcs[branch.target].append((branch.origin, mask))
        back = backwards(branch, mask, setting.bypassed)
        if back:
            arcs[branch.origin].append((branch.target, back))
    # A bus that has failed dead passes nothing, so a short does not act beyond it.
    passes = {n: setting.all & ~setting.dead.get(n, 0) for n in network.nodes}
    return spread(setting.shorted, arcs, passes)


def _shorted_part(network: Network, setting: Setting, conducts: Masks) -> dict[str, int]:
    masks = []
    for branch in network.branches:
        mask = branch_mask(branch, conducts, setting.all)
        for device in branch.protective:
            mask &= setting.stuck[device]
        masks.append(mask)
    return _reached_by_the_short(network, setting, masks)


def _zone(network: Network, setting: Setting, conducts: Masks) -> dict[str, int]:
    """The nodes whose volts a short holds down until it is cleared."""
    masks = branch_masks(network, conducts, setting.all)
    return _reached_by_the_short(network, setting, masks)


def _opens_and_stalls(
    network: Network,
    setting: Setting,
    conducts: Masks,
    part: Masks,
    stalled: Masks,
) -> tuple[dict[str, int], dict[str, int]]:
    """By protective device and by source: the scenarios in which this pass opens or stalls it."""
    live, _ = powered(network, setting, conducts, part, stalled)
    opening: dict[str, int] = {}
    stalling: dict[str, int] = {}
    in_part = {n: mask & ~setting.dead.get(n, 0) for n, mask in part.items()}

    def stalls(source: str, mask: int) -> None:
        mask &= in_part[source] & setting.on_line[source] & ~stalled.get(source, 0)
        if mask:
            stalling[source] = stalling.get(source, 0) | mask

    for source in network.sources.values():
        if source.kind != "converter":
            stalls(source.id, setting.all)
    for branch in network.branches:
        mask = branch_mask(branch, conducts, setting.all)
        if branch.into_converter:
            stalls(branch.target, mask & live[branch.origin])
            continue
        back = backwards(branch, mask, setting.bypassed)
        towards = mask & in_part[branch.target] & live[branch.origin]
        back &= in_part[branch.origin] & live[branch.target]
        for feeding, nearest_first in (
            (towards, reversed(branch.protective)),
            (back, branch.protective),
        ):
            for device in nearest_first:
                if not feeding:
                    break
                can_open = feeding & ~setting.stuck[device]
                if can_open:
                    opening[device] = opening.get(device, 0) | can_open
                feeding &= setting.stuck[device]
    return opening, stalling
