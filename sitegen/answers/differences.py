"""Question 7: how does this airframe differ from that one, in the wiring and in what is lost?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sitegen.answers.drop import losses
from sitegen.catalogue.model import Equipment, Feeder, Indication
from sitegen.catalogue.panel_position import panel_and_position
from sitegen.solver.network import Network
from sitegen.solver.outcome import solve
from sitegen.solver.scenarios import Fault, every_single

SECTIONS = (
    "sources",
    "buses",
    "devices",
    "feeders",
    "panels",
    "switches",
    "equipment",
    "indications",
    "functions",
)
"""What is compared, in the order in which it is reported."""

WORDS_ONLY = {"fitted_to", "note", "reference", "checked", "on_loss", "supplies"}
"""Fields that say nothing of the wiring, and supplies, which are compared as wired."""
CONDUCTOR = {"amps", "wire", "length"}
"""Fields of a supply that are compared as written."""


@dataclass(frozen=True)
class Change:
    """One record that both have and that is not the same."""

    section: str
    id: str
    fields: tuple[tuple[str, str, str], ...]
    """(field, on the one, on the other)."""


@dataclass(frozen=True)
class Consequence:
    """A single failure that both can have and that takes something else on each."""

    condition: str
    fault: Fault
    only_one: tuple[str, ...]
    """Equipment of both that is lost on the one airframe alone."""
    only_other: tuple[str, ...]
    drop_out: bool = False
    """Only if contactors drop out."""


@dataclass(frozen=True)
class Differences:
    """How two airframes of one catalogue differ."""

    one: str
    other: str
    only_one: tuple[tuple[str, str], ...]
    """(section, id), in the author's order; a feeder goes by its wording."""
    only_other: tuple[tuple[str, str], ...]
    changed: tuple[Change, ...]
    consequences: tuple[Consequence, ...]


def differences(one: Network, other: Network) -> Differences:
    """Compare two airframes record by record, then failure by failure.

    Parameters
    ----------
    one, other : networks of the same catalogue.
    """
    only_one: list[tuple[str, str]] = []
    only_other: list[tuple[str, str]] = []
    changed: list[Change] = []
    for section in SECTIONS:
        here, there = _records(one, section), _records(other, section)
        only_one += [(section, name) for name in here if name not in there]
        only_other += [(section, name) for name in there if name not in here]
        for name in here:
            if name in there and here[name] != there[name]:
                changed.append(Change(section, name, tuple(_fields(here[name], there[name]))))
    return Differences(
        one.airframe,
        other.airframe,
        tuple(only_one),
        tuple(only_other),
        tuple(changed),
        tuple(_consequences(one, other)),
    )


def _records(network: Network, section: str) -> dict[str, dict[str, str]]:
    found = {}
    for record in getattr(network.catalogue, section):
        fields = record.model_dump(exclude=WORDS_ONLY, exclude_defaults=True, mode="json")
        name = _feeder(record) if isinstance(record, Feeder) else record.id
        shown = {field.replace("_", "-"): _shown(value) for field, value in fields.items()}
        if section in ("equipment", "indications"):
            shown["supplies"] = "; ".join(_supplies(network, record)) or "none"
        found[name] = shown
    return found


def _feeder(feeder: Feeder) -> str:
    return " > ".join((feeder.from_, *feeder.through, feeder.to))


def _supplies(network: Network, owner: Equipment | Indication) -> Iterable[str]:
    for supply, connection in zip(owner.supplies, network.connections[owner.id], strict=True):
        protector = network.components.get(connection.protector or "")
        protection = ""
        if protector is not None:
            place = panel_and_position(protector.panel, protector.at)
            rated = f" {protector.amps:g} A" if protector.amps else ""
            protection = f" behind {protector.name}{rated}{f' ({place})' if place else ''}"
        rest = [d for d in connection.through if d != connection.protector]
        written = supply.model_dump(include=CONDUCTOR, exclude_none=True)
        conductor = "".join(f", {field} {_shown(value)}" for field, value in written.items())
        through = f" through {', '.join(rest)}" if rest else ""
        yield f"{connection.bus}{protection}{through}{conductor}"


def _shown(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_shown(each)}" for key, each in value.items())
    if isinstance(value, list):
        return "; ".join(_shown(each) for each in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _fields(here: Mapping[str, str], there: Mapping[str, str]) -> Iterable[tuple[str, str, str]]:
    for field in dict.fromkeys((*here, *there)):
        if here.get(field) != there.get(field):
            yield field, here.get(field, "none"), there.get(field, "none")


def _consequences(one: Network, other: Network) -> Iterable[Consequence]:
    """In the conditions and for the faults that both have, in both answers to a fault."""
    conditions = [c.id for c in one.catalogue.conditions]
    conditions = [c.id for c in other.catalogue.conditions if c.id in conditions]
    faults = [fault for fault in one.faults if fault in set(other.faults)]
    if not conditions or not faults:
        return
    both = set(one.equipment) & set(other.equipment)
    first: dict[tuple[str, Fault], tuple[tuple[str, ...], ...]] = {}
    for dip in (False, True):
        # Only a short holds volts down.
        failing = [f for f in faults if not dip or (f[1] == "shorted" and f[0] in one.nodes)]
        scenarios = every_single(conditions, failing)
        here, there = (losses(solve(network, scenarios, dip=dip)) for network in (one, other))
        for loss, its in zip(here, there, strict=True):
            lost, lost_there = both & set(loss.lost), both & set(its.lost)
            only = tuple(sorted(lost - lost_there)), tuple(sorted(lost_there - lost))
            where = loss.condition, loss.failed[0]
            if any(only) and first.get(where) != only:
                yield Consequence(*where, *only, drop_out=dip)
            if not dip:
                first[where] = only
