"""Power spreads and switching devices follow their closing conditions, until nothing changes.

Every quantity here is an integer whose bit k is its truth in scenario k (`scenarios.py`), so one
`&` is a series connection in every scenario and one `|` a parallel one. Volts are whole millivolts.

Reach
    Power spreads from every source that produces, along branches whose devices all conduct, both
    ways, except through a sound diode. A source's terminals pass power whether or not the source
    produces. A dead bus passes nothing. A converter produces while it is not lost and its input is
    live.

Switching devices
    All are judged at once from one state, again and again, until nothing changes. Those that change
    within a repeating cycle chatter: they count as open, and the search starts again from where it
    began, so that the answer does not depend on where in the cycle one looks.

Faults, trips and stalled sources are in `faults.py`, which calls `switch_until_steady`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from sitegen.catalogue.model import Terms
from sitegen.solver.graph import MaskedArcs, branch_masks, masked_arcs, spread
from sitegen.solver.load_figures import millivolts
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Masks, Scenarios, union
from sitegen.solver.setting import Positions, Setting, starting_from
from sitegen.solver.volts import Drops, Levels, drops_along, levels, own_volts

LONGEST_CYCLE = 2048
"""Rounds in one window after which devices that still move are taken to chatter."""


class Recorder(Protocol):
    """Notified of every step of one scenario, for the order of events."""

    in_dip: bool
    """The steps are those in which switching devices drop out."""

    def begin(self) -> None:
        """A search for the steady state begins."""

    def step(self, setting: Setting, at: Positions, down: Masks) -> None:
        """A step is over: where things are, and which nodes have no volts."""

    def restart(self) -> None:
        """What chatters is open from here on, and the search starts again from where it began."""


@dataclass(frozen=True)
class SteadyState:
    """What follows in every scenario: masks over scenarios."""

    network: Network
    setting: Setting
    live: dict[str, int]
    """By node: a producing source reaches it (a source's terminals are a node)."""
    produces: dict[str, int]
    """By source."""
    conducts: dict[str, int]
    """By device: closed, and able to conduct."""
    chatters: dict[str, int]
    """By switching device: no steady state was found for it, and it counts as open."""
    opened: dict[str, int]
    """By protective device that a fault or overload has opened."""
    stalled: dict[str, int]
    """By source that a short took off line."""
    down: dict[str, int]
    """By node: failed itself, or joined to a short."""

    @cached_property
    def branch_masks(self) -> list[int]:
        """By branch, in the network's order: all of its devices conduct."""
        return branch_masks(self.network, self.conducts, self.setting.all)

    @cached_property
    def passes(self) -> dict[str, int]:
        """By node: it is not dead itself, and so can be reached and passed."""
        return passing(self.network, self.setting, self.down)

    def arcs(self, converters: bool = True, without: Mapping[int, int] | None = None) -> MaskedArcs:
        """The ways that power takes.

        Parameters
        ----------
        converters : false leaves them out: what flows is then one source's own power.
        without : by number of a branch, the scenarios in which it is left out.
        """
        gaps = without or {}
        masks = [mask & ~gaps.get(i, 0) for i, mask in enumerate(self.branch_masks)]
        able = {s: mask & ~self.stalled.get(s, 0) for s, mask in self.setting.on_line.items()}
        return masked_arcs(self.network, masks, self.setting.bypassed, able if converters else None)

    @cached_property
    def levels(self) -> Levels:
        """What every node shows, mV; where no mask of a node holds a scenario, it shows 0."""
        producing = {s: mask for s, mask in self.produces.items() if mask}
        return levels(self.network, self.setting, self._drops, producing, self.passes)

    def offered(self, source: str) -> Levels:
        """What one source offers at every node by its own power, after the diodes, mV."""
        own = {source: self.produces[source]}
        return levels(self.network, self.setting, self._drops, own, self.passes)

    @cached_property
    def _drops(self) -> Drops:
        return drops_along(self.network, self.setting, self.branch_masks)

    def terms_hold(self, terms: Iterable[Terms], shown: Levels | None = None) -> int:
        """The scenarios in which any of these closing conditions holds.

        `shown`: the volts of the nodes, where they are not those of `levels`.
        """
        shown = self.levels if shown is None else shown
        return _hold(
            terms, self.network, self.setting, self.live, self.produces, self.conducts, shown
        )

    @property
    def positions(self) -> Positions:
        """From where a later stage starts."""
        closed = {d: self.conducts[d] for d in self.network.switching}
        return Positions(closed, self.chatters, self.opened, self.stalled)


def at_rest(network: Network, scenarios: Scenarios, setting: Setting) -> Positions:
    """How every switching device is before a condition reaches its steady state.

    Contactors and relays are open unless the condition holds them closed. A switch that only
    follows what a person sets is as it is set.
    """
    conditions = {c.id: c for c in network.catalogue.conditions}
    kinds = {d.id: d.kind for d in network.catalogue.devices}
    start = {}
    for device, terms in network.switching.items():
        start[device] = union(
            mask
            for c, mask in scenarios.in_condition.items()
            if device in conditions[c].held_closed
        )
        if kinds[device] == "switch" and all(
            set(t.model_fields_set) <= {"switches"} for t in terms
        ):
            start[device] |= _hold(terms, network, setting, {}, {}, {}, Levels())
    return starting_from(network, start)


def conducting(network: Network, setting: Setting, at: Positions) -> dict[str, int]:
    """By device: it is closed, and able to conduct."""
    conducts = dict(setting.can_conduct)
    for device, closed in at.closed.items():
        # A step with a mask of 0 would take as long as one with any other.
        if at.chatters[device]:
            closed &= ~at.chatters[device]
        if setting.stuck[device]:
            closed |= setting.stuck[device]
        conducts[device] &= closed
    for device, opened in at.opened.items():
        conducts[device] &= ~opened | setting.stuck[device]
    return conducts


def powered(
    network: Network,
    setting: Setting,
    conducts: Masks,
    down: Masks,
    stalled: Masks,
) -> tuple[dict[str, int], dict[str, int]]:
    """By node whether it is live, by source whether it produces."""
    passes = passing(network, setting, down)
    masks = branch_masks(network, conducts, setting.all)
    able = {s: mask & ~stalled.get(s, 0) for s, mask in setting.on_line.items()}
    seeds = {s.id: able[s.id] for s in network.sources.values() if s.kind != "converter"}
    live = spread(seeds, masked_arcs(network, masks, setting.bypassed, able), passes)
    produces = {s: mask & passes[s] for s, mask in seeds.items()}
    for source in network.sources.values():
        if source.kind == "converter":
            produces[source.id] = 0
    for branch, mask in zip(network.branches, masks, strict=True):
        if branch.into_converter:
            converter = branch.target
            produces[converter] |= live[branch.origin] & mask & able[converter] & passes[converter]
    return live, produces


def passing(network: Network, setting: Setting, down: Masks) -> dict[str, int]:
    """By node: the scenarios in which it can be reached and passed."""
    return {n: setting.all & ~down[n] for n in network.nodes}


def switch_until_steady(
    network: Network,
    setting: Setting,
    at: Positions,
    down: Masks,
    where: int,
    devices: Collection[str] | None = None,
    record: Recorder | None = None,
) -> None:
    """Let switching devices follow their closing conditions until nothing changes.

    Parameters
    ----------
    network, setting : the wiring and what is set from outside.
    at : where they are; `closed` and `chatters` of it are brought to the end.
    down : by node, the scenarios in which it has no volts.
    where : the scenarios in which they move at all.
    devices : the devices that move; left out, all.
    record : notified of every step, where there is one scenario.
    """
    moving = network.switching if devices is None else devices
    if not moving or not where:
        return
    start = dict(at.closed)
    if record:
        record.begin()
    while True:
        chatter = _rounds(network, setting, at, down, where, moving, record)
        again = union(chatter.values())
        if not again:
            return
        for device, mask in chatter.items():
            at.chatters[device] |= mask
            at.closed[device] = (at.closed[device] & ~again) | (start[device] & again)
        if record:
            record.restart()
            record.step(setting, at, down)
            record.begin()


def _rounds(
    network: Network,
    setting: Setting,
    at: Positions,
    down: Masks,
    where: int,
    moving: Collection[str],
    record: Recorder | None,
) -> dict[str, int]:
    """Step until every scenario is steady or repeats itself; returns what moved in its cycle.

    The state to compare with is renewed after 1, 2, 4, ... steps (Brent 1980), so a cycle of any
    length is met. `at.closed` is brought to the last state.
    """
    remembered = conducting(network, setting, at)
    moved = dict.fromkeys(moving, 0)
    chatter = dict.fromkeys(moving, 0)
    undecided = where
    window, steps = 1, 0
    conducts = remembered
    while undecided:
        live, produces = powered(network, setting, conducts, down, at.stalled)
        shown = Levels()
        if network.by_volts:
            passes = passing(network, setting, down)
            masks = branch_masks(network, conducts, setting.all)
            drops = drops_along(network, setting, masks)
            shown = levels(network, setting, drops, produces, passes)
        for device in moving:
            hold = _hold(
                network.switching[device], network, setting, live, produces, conducts, shown
            )
            held = at.closed[device]
            at.closed[device] = held ^ ((held ^ hold) & where)
        after = conducting(network, setting, at)
        steady = repeats = undecided
        for device in moving:
            if difference := after[device] ^ remembered[device]:
                moved[device] |= difference & undecided
                repeats &= ~difference
            if change := after[device] ^ conducts[device]:
                steady &= ~change
        if record and steady != undecided:
            record.step(setting, at, down)
        conducts = after
        undecided &= ~steady
        repeats &= undecided
        steps += 1
        if steps == LONGEST_CYCLE:
            repeats = undecided
        for device in moving:
            chatter[device] |= moved[device] & repeats
        undecided &= ~repeats
        if steps == window:
            remembered, moved = after, dict.fromkeys(moving, 0)
            window, steps = window * 2, 0
    return chatter


def _hold(
    terms: Iterable[Terms],
    network: Network,
    setting: Setting,
    live: Masks,
    produces: Masks,
    conducts: Masks,
    shown: Levels,
) -> int:
    """`live` of a source means that it produces; of a bus, that it is live."""
    any_holds = 0
    for structure in terms:
        mask = setting.all
        for switch, place in structure.switches.items():
            mask &= setting.position.get((switch, place), 0)
        for node in structure.live:
            mask &= produces[node] if node in produces else live[node]
        for node in structure.dead:
            mask &= ~(produces[node] if node in produces else live[node])
        for device in structure.closed:
            mask &= conducts[device]
        for device in structure.open:
            mask &= ~conducts[device]
        for node, volts in structure.volts_above.items():
            mask &= _above(node, millivolts(volts), network, setting, produces, shown)
        for node, volts in structure.volts_below.items():
            mask &= ~_above(node, millivolts(volts) - 1, network, setting, produces, shown)
        any_holds |= mask
    return any_holds


def _above(
    node: str, limit: int, network: Network, setting: Setting, produces: Masks, shown: Levels
) -> int:
    """The scenarios in which a node shows more; a source by itself, if it produces."""
    if node in produces:
        own = own_volts(network, setting, node, produces[node])
        return union(mask for level, mask in own if level > limit) if limit >= 0 else -1
    return union(mask for level, mask in shown[node] if level > limit) if limit >= 0 else -1
