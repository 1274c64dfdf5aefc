"""Power spreads, contactors move, until nothing changes: for all scenarios at the same time.

Every quantity here is an integer whose bit k is its truth in scenario k (`scenarios.py`), so one
`&` is a series connection in every scenario and one `|` a parallel one.

What the words mean
-------------------
*Reach.* Power spreads from every source that produces along runs whose devices all conduct, both
ways, except through a diode. A source's terminals pass power whether or not it produces. A dead bus
passes nothing. A converter produces while it is not lost and its input is live.

*Contactors.* All are judged at once from one state of the net, again and again. What has not
reached a steady state when the states begin to repeat chatters: it counts as open, and the rest is
solved around it, from where the round began, so that the answer does not depend on where in the
cycle one looks.

*Shorts.* The net is solved with the shorted bus dead; what the short then reaches through no
protective device is pulled down with it, and the net is solved again, until the short reaches no
more. What was pulled down stays down: a source that a short took off line does not come back
because its own contactor then drops out.

Over 400 lines: spreading, switching and shorts are one fixed point.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from sitegen.catalogue.model import Condition, Terms
from sitegen.solver.graph import MaskedArcs, masked_arcs
from sitegen.solver.network import Branch, Network
from sitegen.solver.scenarios import Scenarios

LONGEST_CYCLE = 2048
"""Steps in one window after which contactors that still move are taken to chatter."""


@dataclass(frozen=True)
class Setting:
    """What is given in every scenario: masks over scenarios."""

    all: int
    on_line: dict[str, int]
    """By source: it would produce (for a converter: if its input is live)."""
    dead: dict[str, int]
    """By bus: it has failed, dead or shorted."""
    shorted: dict[str, int]
    open: dict[str, int]
    """By device: it has failed open, or is pulled."""
    stuck: dict[str, int]
    """By device: it has failed closed."""
    position: dict[tuple[str, str], int]
    """By switch and position: it is set so."""
    in_condition: dict[str, int]
    """By condition: it started from this one."""


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
    """By contactor, relay or switch: it never reached a steady state, and counts as open."""
    down: dict[str, int]
    """By node: failed itself, or pulled down by a short."""

    @cached_property
    def branch_masks(self) -> list[int]:
        """By run, in the network's order: all of its devices conduct."""
        return [
            branch_mask(branch, self.conducts, self.setting.all) for branch in self.network.branches
        ]

    @cached_property
    def passes(self) -> dict[str, int]:
        """By node: it is not dead itself, and so can be reached and passed."""
        return _passing(self.network, self.setting, self.down)

    def arcs(self, converters: bool = True) -> MaskedArcs:
        """The ways that power takes.

        With `converters` false they are left out: what flows is then one source's own power.
        """
        on_line = self.setting.on_line if converters else None
        return masked_arcs(self.network, self.branch_masks, on_line)

    def terms_hold(self, terms: Iterable[Terms]) -> int:
        """The scenarios in which any of these closing conditions holds."""
        return _hold(terms, self.setting, self.live, self.produces, self.conducts)


def setting_for(
    network: Network,
    scenarios: Scenarios,
    switches: Mapping[str, Mapping[str, str]] | None = None,
    pulled: Mapping[str, Iterable[str]] | None = None,
) -> Setting:
    """The masks of what is given, from the conditions and the failed components.

    Parameters
    ----------
    network, scenarios : what to solve.
    switches : by condition id, switch settings that replace the condition's own (crew actions).
    pulled : by condition id, breakers pulled besides the condition's own.
    """
    every = scenarios.all
    conditions = {c.id: c for c in network.catalogue.conditions}
    here = [(conditions[c], mask) for c, mask in scenarios.in_condition.items()]

    def failed(component: str, mode: str) -> int:
        return scenarios.failed.get((component, mode), 0)

    on_line: dict[str, int] = {}
    for source in network.sources.values():
        listed = every
        if source.kind != "converter":
            listed = _union(mask for c, mask in here if source.id in c.sources)
        on_line[source.id] = listed & ~failed(source.id, "lost")

    shorted = {b.id: failed(b.id, "shorted") for b in network.catalogue.buses}
    opened: dict[str, int] = {}
    stuck: dict[str, int] = {}
    for component in network.components.values():
        if "open" in component.modes:
            out = _union(mask for c, mask in here if _is_pulled(component.id, c, pulled))
            opened[component.id] = _either(failed(component.id, "open"), out)
            stuck[component.id] = failed(component.id, "stuck-closed")

    position: dict[tuple[str, str], int] = {}
    for switch in network.catalogue.switches:
        for place in switch.positions:
            position[switch.id, place] = 0
        for condition, mask in here:
            acted = (switches or {}).get(condition.id, {})
            place = acted.get(switch.id) or condition.switches.get(switch.id, switch.positions[0])
            position[switch.id, place] = position.get((switch.id, place), 0) | mask
    return Setting(
        every,
        on_line,
        {b: _either(failed(b, "dead"), mask) for b, mask in shorted.items()},
        shorted,
        opened,
        stuck,
        position,
        scenarios.in_condition,
    )


def at_rest(network: Network, scenarios: Scenarios, setting: Setting) -> dict[str, int]:
    """The state of every switching device before a condition is solved.

    Contactors and relays are open unless the condition holds them closed. A switch that only
    follows what a person sets is as it is set.
    """
    conditions = {c.id: c for c in network.catalogue.conditions}
    kinds = {d.id: d.kind for d in network.catalogue.devices}
    start = {}
    for device, terms in network.switching.items():
        start[device] = _union(
            mask
            for c, mask in scenarios.in_condition.items()
            if device in conditions[c].held_closed
        )
        if kinds[device] == "switch" and all(
            set(t.model_fields_set) <= {"switches"} for t in terms
        ):
            start[device] |= _hold(terms, setting, {}, {}, {})
    return start


def find_steady_state(network: Network, setting: Setting, start: Mapping[str, int]) -> SteadyState:
    """Solve the net in every scenario, from the state of its switching devices.

    Parameters
    ----------
    network : the wiring.
    setting : what is given.
    start : by switching device, the scenarios (mask) in which its coil or handle starts closed.
    """
    closed = dict(start)
    forced: dict[str, int] = dict.fromkeys(network.switching, 0)
    down = {n: setting.dead.get(n, 0) for n in network.nodes}
    while True:
        closed = _switch_until_steady(network, setting, closed, forced, down)
        conducts = _conducting(network, setting, closed, forced)
        if not _pull_down(network, setting, conducts, down):
            break
    live, produces = _powered(network, setting, conducts, down)
    return SteadyState(network, setting, live, produces, conducts, forced, down)


def spread(
    seeds: Mapping[str, int],
    arcs: MaskedArcs,
    passes: Mapping[str, int],
) -> dict[str, int]:
    """Let masks flow along arcs until nothing is added.

    Parameters
    ----------
    seeds : by node, the scenarios in which it is reached to begin with.
    arcs : by node, (target, mask of the scenarios in which the arc passes).
    passes : by node, the scenarios in which it can be reached at all.

    Returns
    -------
    By node, the scenarios in which it is reached.
    """
    reached = dict.fromkeys(passes, 0)
    waiting: deque[str] = deque()
    for node, mask in seeds.items():
        reached[node] = mask & passes[node]
        if reached[node]:
            waiting.append(node)
    queued = set(waiting)
    while waiting:
        node = waiting.popleft()
        queued.discard(node)
        here = reached[node]
        for target, mask in arcs[node]:
            before, limit = reached[target], passes[target]
            if before == limit:
                continue
            after = before | (here & mask & limit)
            if after != before:
                reached[target] = after
                if target not in queued:
                    queued.add(target)
                    waiting.append(target)
    return reached


def branch_mask(branch: Branch, conducts: Mapping[str, int], every: int) -> int:
    """The scenarios in which every device of a run conducts."""
    if not branch.through:
        return every
    mask = conducts[branch.through[0]]
    for device in branch.through[1:]:
        mask &= conducts[device]
    return mask


def _switch_until_steady(
    network: Network,
    setting: Setting,
    start: Mapping[str, int],
    forced: dict[str, int],
    down: Mapping[str, int],
) -> dict[str, int]:
    """Move contactors until nothing changes, with `down` as it is; adds chatterers to `forced`."""
    closed = dict(start)
    if not network.switching:
        return closed
    while True:
        chatter = _step_until_steady(network, setting, closed, forced, down)
        again = _union(chatter.values())
        if not again:
            return closed
        for device, mask in chatter.items():
            forced[device] |= mask
            closed[device] = (closed[device] & ~again) | (start[device] & again)


def _step_until_steady(
    network: Network,
    setting: Setting,
    closed: dict[str, int],
    forced: Mapping[str, int],
    down: Mapping[str, int],
) -> dict[str, int]:
    """Step until every scenario stops moving or repeats itself; returns what moved in its cycle.

    The state to compare with is renewed after 1, 2, 4, ... steps (Brent 1980), so a cycle of any
    length is met. `closed` is brought to the last state.
    """
    remembered = _conducting(network, setting, closed, forced)
    moved = dict.fromkeys(network.switching, 0)
    chatter = dict.fromkeys(network.switching, 0)
    undecided = setting.all
    window, steps = 1, 0
    while undecided:
        conducts = _conducting(network, setting, closed, forced)
        live, produces = _powered(network, setting, conducts, down)
        for device, terms in network.switching.items():
            closed[device] = _hold(terms, setting, live, produces, conducts)
        after = _conducting(network, setting, closed, forced)
        steady = repeats = undecided
        for device in network.switching:
            difference = after[device] ^ remembered[device]
            moved[device] |= difference & undecided
            repeats &= ~difference
            steady &= ~(after[device] ^ conducts[device])
        undecided &= ~steady
        repeats &= undecided
        steps += 1
        if steps == LONGEST_CYCLE:
            repeats = undecided
        for device in network.switching:
            chatter[device] |= moved[device] & repeats
        undecided &= ~repeats
        if steps == window:
            remembered, moved = after, dict.fromkeys(network.switching, 0)
            window, steps = window * 2, 0
    return chatter


def _conducting(
    network: Network, setting: Setting, closed: Mapping[str, int], forced: Mapping[str, int]
) -> dict[str, int]:
    conducts = {d: setting.all ^ mask for d, mask in setting.open.items()}
    for device in network.switching:
        conducts[device] &= (closed[device] | setting.stuck[device]) & ~forced[device]
    return conducts


def _powered(
    network: Network, setting: Setting, conducts: Mapping[str, int], down: Mapping[str, int]
) -> tuple[dict[str, int], dict[str, int]]:
    """By node whether it is live, by source whether it produces."""
    passes = _passing(network, setting, down)
    masks = [branch_mask(branch, conducts, setting.all) for branch in network.branches]
    seeds = {s.id: setting.on_line[s.id] for s in network.sources.values() if s.kind != "converter"}
    live = spread(seeds, masked_arcs(network, masks, setting.on_line), passes)
    produces = {s: mask & passes[s] for s, mask in seeds.items()}
    for source in network.sources.values():
        if source.kind == "converter":
            produces[source.id] = 0
    for branch, mask in zip(network.branches, masks, strict=True):
        if branch.into_converter:
            able = setting.on_line[branch.target] & passes[branch.target]
            produces[branch.target] |= live[branch.origin] & mask & able
    return live, produces


def _passing(network: Network, setting: Setting, down: Mapping[str, int]) -> dict[str, int]:
    return {n: setting.all ^ down[n] for n in network.nodes}


def _pull_down(
    network: Network, setting: Setting, conducts: Mapping[str, int], down: dict[str, int]
) -> bool:
    """Spread every short against the current that feeds it; says whether `down` has grown."""
    if not any(setting.shorted.values()):
        return False
    arcs: MaskedArcs = {n: [] for n in network.nodes}
    for branch in network.branches:
        if branch.into_converter or branch.protective:
            continue
        mask = branch_mask(branch, conducts, setting.all)
        # Current flows towards the short: a diode that points at it conducts, one that points
        # away from it blocks.
        arcs[branch.target].append((branch.origin, mask))
        if not branch.one_way:
            arcs[branch.origin].append((branch.target, mask))
    # A bus that has failed dead passes nothing, so a short does not act beyond it.
    dead = {b: setting.dead[b] & ~setting.shorted[b] for b in setting.dead}
    open_to_it = {n: setting.all & ~dead.get(n, 0) for n in network.nodes}
    reached = spread(setting.shorted, arcs, open_to_it)
    grown = False
    for node, mask in reached.items():
        if mask & ~down[node]:
            down[node] |= mask
            grown = True
    return grown


def _hold(
    terms: Iterable[Terms],
    setting: Setting,
    live: Mapping[str, int],
    produces: Mapping[str, int],
    conducts: Mapping[str, int],
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
        any_holds |= mask
    return any_holds


def _is_pulled(
    device: str, condition: Condition, pulled: Mapping[str, Iterable[str]] | None
) -> bool:
    return device in condition.pulled or device in (pulled or {}).get(condition.id, ())


def _either(one: int, other: int) -> int:
    """`one | other`, without a copy where one is empty: of a million scenarios it takes 130 kB."""
    return one | other if one and other else one or other


def _union(masks: Iterable[int]) -> int:
    union = 0
    for mask in masks:
        union |= mask
    return union
