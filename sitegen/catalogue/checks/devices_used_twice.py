"""Rules about how often a device is used: a breaker used twice, a device that is in no wiring."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from sitegen.catalogue.checks.context import Airframes, CheckContext, OneSupply, Path
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.catalogue.kinds import SWITCHING
from sitegen.words import quoted


@dataclass(frozen=True)
class _Use:
    """One use of a device in the wiring."""

    place: Path
    fitted: Airframes
    words: str
    bus: str = ""
    """For a supply through a shared breaker: its bus."""


def no_device_is_used_twice(m: CheckContext) -> Iterator[Finding]:
    """A device is in one feeder, or is the breaker of several supplies of one bus.

    Contactors, relays and switches have poles, so they may be in several feeders.
    """
    uses = list(_uses(m))
    counts = Counter((name, use.bus) for name, use in uses)
    firsts: dict[tuple[str, str], _Use] = {}
    # The bus that most of a breaker's supplies come from is the one that is meant.
    for name, use in sorted(uses, key=lambda use: -counts[use[0], use[1].bus]):
        if all(d.kind in SWITCHING for d in m.devices_of([name], use.fitted)):
            continue
        # The first supply of a bus represents all: a breaker may serve hundreds.
        for airframe in sorted(use.fitted):
            earlier = firsts.setdefault((name, airframe), use)
            if earlier is not use and not (use.bus and use.bus == earlier.bus):
                yield _clash(m, name, use, earlier)
                break


def no_device_is_unused(m: CheckContext) -> Iterator[Finding]:
    """Every device is in a feeder or a supply."""
    if any(_is_in_wiring(path) for path in m.unknown):
        return  # it may be the one that is meant there
    used = {mention.id for mention in m.mentions if _is_in_wiring(mention.path)}
    for i, device in enumerate(m.catalogue.devices):
        if device.id not in used:
            yield advice(
                m.at(("devices", i)),
                f"{device.kind} {device.id} is in no feeder and no supply.",
                "Name it under `through` where it is fitted, or delete it.",
            )


def _is_in_wiring(path: Path) -> bool:
    """Whether a device named at this path is part of the wiring there."""
    return "through" in path or path[-1] in ("breaker", "fuse")


def _clash(m: CheckContext, name: str, use: _Use, earlier: _Use) -> Finding:
    kind = m.devices_of([name], use.fitted)[0].kind
    if use.bus and earlier.bus:
        message = (
            f"The {kind} {quoted(name)} serves {use.words} from {quoted(use.bus)}, but "
            f"{earlier.words} from {quoted(earlier.bus)}."
        )
        return error(m.at(use.place), message, "A breaker serves supplies of one bus only.")
    return error(
        m.at(use.place),
        f"The {kind} {quoted(name)} is in {use.words}, and in {earlier.words} too.",
        "Give each its own device; only contactors, relays and switches have poles.",
    )


def _uses(m: CheckContext) -> Iterator[tuple[str, _Use]]:
    c = m.catalogue
    for i, feeder in enumerate(c.feeders):
        words = f"the feeder from {quoted(feeder.from_)} to {quoted(feeder.to)}"
        for name, k in _firsts(feeder.through):
            yield name, _Use(("feeders", i, "through", k), m.fitted(feeder), words)
    for i, source in enumerate(c.sources):
        for j, feed in enumerate(source.fed_from):
            words = f"the input of {quoted(source.id)}"
            for name, k in _firsts(feed.through):
                path = ("sources", i, "fed-from", j, "through", k)
                yield name, _Use(path, m.fitted(source), words)
    for one in m.supplies:
        shared = shared_protector(one)
        if shared is not None and (*one.path, "bus") not in m.unknown:
            path_of_name = (*one.path, protector_kind(one))
            words = f"the supply of {one.owner_words}"
            yield shared, _Use(path_of_name, one.fitted, words, one.supply.bus)


def _firsts(names: Sequence[str]) -> Iterable[tuple[str, int]]:
    """Each name once, with its first index."""
    return {name: k for k, name in reversed(list(enumerate(names)))}.items()


def shared_protector(one: OneSupply) -> str | None:
    """The id of the breaker or fuse that the supply shares with others."""
    named = one.supply.breaker if one.supply.breaker is not None else one.supply.fuse
    return named if isinstance(named, str) else None


def protector_kind(one: OneSupply) -> str:
    """`breaker` or `fuse`, as the supply names it."""
    return "breaker" if one.supply.breaker is not None else "fuse"
