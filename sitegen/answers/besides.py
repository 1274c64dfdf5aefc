"""What is true of a failure besides what it takes: what a headline must not leave out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from sitegen.answers.drop import Loss, is_provided
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.answers.loads.worst_cases import NEGLIGIBLE_AMPS
from sitegen.solver.network import Network

COMPARED = (
    "lost",
    "reduced",
    "comes_on",
    "turned_on",
    "shed",
    "functions",
    "on_battery",
    "not_known",
    "driven",
    "chatter",
)
"""In which fields of `Loss` another answer to a failure must not differ unsaid."""

Loaded = tuple[tuple[str, tuple[str, ...]], ...]
"""(`must_open`, `over_rating`, `no_reserve` or `battery_amps`, the ids) of what is so, or gives
more, in another answer only.
"""


@dataclass(frozen=True)
class Besides:
    """Ids, in the order of the losses that they come from."""

    functions_lost: tuple[str, ...]
    functions_off: tuple[str, ...]
    """Those that end with what the crew turns off: with it they would go on."""
    comes_on: tuple[str, ...]
    turned_on: tuple[str, ...]
    comes_live: tuple[str, ...]
    """Buses, and terminals of sources that give nothing, that had no power and have it now."""
    reduced: tuple[str, ...]
    not_known: tuple[str, ...]
    driven: tuple[str, ...]
    """Generators that others may drive: failed, or off and with live terminals only now."""
    conflicts: tuple[str, ...]
    """Buses on which AC sources meet that are not synchronised."""
    chatter: tuple[str, ...]
    failed_resets: tuple[str, ...]
    """What has opened or stalled again once it was reset."""
    newly_on_battery: tuple[str, ...]
    """What works on batteries only, and did not before."""
    no_reserve: tuple[str, ...]
    """Live buses that no battery reaches any more: with their generators they go dead."""
    must_open: tuple[str, ...]
    may_open: tuple[str, ...]
    """Overloaded devices in feeders."""
    over_rating: tuple[str, ...]
    """Sources and devices in feeders that are over their rating, and do not open."""
    overload: Loss | None = None
    """The answer if what is overloaded opens, where it differs from this one or loads more."""
    dip: Loss | None = None
    """The answer if contactors drop out, where it does."""
    dip_overload: Loss | None = None
    """The answer if what is then overloaded opens, where it differs from all of these or loads more
    than any."""
    overload_loads: Loaded = ()
    dip_loads: Loaded = ()

    @property
    def nothing(self) -> bool:
        """Nothing else is to be said."""
        return not any(vars(self).values())


def besides(network: Network, loss: Loss, normal: Loss, dip: Loss | None = None) -> Besides:
    """What is to be said of an answer besides its losses.

    Parameters
    ----------
    network : the airframe.
    loss, normal : the answer, and the same condition with nothing failed.
    dip : the same failure if contactors drop out.
    """
    overload, dip_overload = loss.overload, dip and dip.overload
    every = (one for one in (loss, dip, overload, dip_overload) if one)
    alone = {id(one): _by_itself(network, one, normal) for one in every}

    def loads(one: Loss, other: Loss) -> Loaded:
        return _more_loaded(one, alone[id(one)], other, alone[id(other)])

    def is_news(other: Loss | None, *known: Loss | None) -> bool:
        return other is not None and all(
            differs(one, other) or bool(loads(one, other)) for one in known if one
        )

    return replace(
        alone[id(loss)],
        overload=overload if is_news(overload, loss) else None,
        dip=dip if is_news(dip, loss) else None,
        dip_overload=dip_overload if is_news(dip_overload, loss, dip, overload) else None,
        overload_loads=loads(loss, overload) if overload else (),
        dip_loads=loads(loss, dip) if dip else (),
    )


def _by_itself(network: Network, loss: Loss, normal: Loss) -> Besides:
    """The same without its other answers."""
    ended = [
        function
        for function in network.catalogue.functions
        if loss.functions[function.id] == "lost" != normal.functions[function.id]
    ]
    off: list[str] = []
    if loss.shed:
        on = {*loss.kept, *loss.reduced, *loss.comes_on, *loss.turned_on, *loss.not_known}
        off = [f.id for f in ended if is_provided(f.as_group, {*on, *loss.shed})]
    live = tuple(_comes_live(network, loss, normal))
    generators = {s.id for s in network.sources.values() if s.kind == "generator"}
    return Besides(
        tuple(f.id for f in ended if f.id not in off),
        tuple(off),
        loss.comes_on,
        loss.turned_on,
        tuple(node for node in live if node not in generators),
        loss.reduced,
        loss.not_known,
        tuple(dict.fromkeys((*loss.driven, *(node for node in live if node in generators)))),
        tuple(loss.conflicts),
        loss.chatter,
        loss.failed_resets,
        tuple(item for item in loss.on_battery if item not in normal.on_battery),
        tuple(_no_reserve(network, loss, normal)),
        tuple(device for device, word in loss.overloaded.items() if word == "must"),
        tuple(device for device, word in loss.overloaded.items() if word == "may"),
        tuple(i for i in loss.over_rating if i not in loss.overloaded),
    )


def _more_loaded(loss: Loss, found: Besides, other: Loss, then: Besides) -> Loaded:
    """What is loaded more, or has no battery left to take over, in another answer only.

    `found`, `then`: what is to be said of each by itself.
    """
    known = {
        "must_open": {*found.must_open},
        "over_rating": {*loss.over_rating, *loss.overloaded},
        # Of a bus that is dead here it follows from what is not lost then.
        "no_reserve": {*found.no_reserve, *(n for n, s in loss.nodes.items() if not s.live)},
    }
    only_then = [
        (field, tuple(i for i in getattr(then, field) if i not in of_this))
        for field, of_this in known.items()
    ]
    only_then.append(("battery_amps", tuple(_gives_more(loss, other))))
    return tuple((field, ids) for field, ids in only_then if ids)


def _gives_more(loss: Loss, other: Loss) -> Iterator[str]:
    """The batteries that give more in another answer: there they last less long."""
    for battery, amps in other.battery_amps.items():
        if amps - loss.battery_amps.get(battery, NO_AMPS) >= NEGLIGIBLE_AMPS:
            yield battery


def _comes_live(network: Network, loss: Loss, normal: Loss) -> Iterator[str]:
    """What had no power and has it now, but not from itself: buses, then sources."""
    for node in (*(bus.id for bus in network.catalogue.buses), *network.sources):
        now, was = loss.nodes[node], normal.nodes[node]
        if now.live and not was.live and node not in now.sources:
            yield node


def _no_reserve(network: Network, loss: Loss, normal: Loss) -> Iterator[str]:
    batteries = {s.id for s in network.sources.values() if s.kind == "battery"}
    for bus in network.catalogue.buses:
        now, was = loss.nodes[bus.id], normal.nodes[bus.id]
        backed, backed_before = (not batteries.isdisjoint(n.sources) for n in (now, was))
        if now.live and backed_before and not backed:
            yield bus.id


def differs(loss: Loss, other: Loss) -> bool:
    """Whether two answers to one failure differ in a way that a reader must know."""
    return any(getattr(loss, field) != getattr(other, field) for field in COMPARED)
