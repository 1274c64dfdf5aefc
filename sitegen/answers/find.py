"""From what a person types to the thing that is meant, with a did-you-mean when nothing is."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from typing import Literal

from sitegen.answers.drop import faults_of
from sitegen.answers.indications import meter_directions, unit_of
from sitegen.answers.observations import Observation
from sitegen.answers.readings import BLANK, LIT, LOAD, NO_LOAD, UNLIT, Reading
from sitegen.catalogue.did_you_mean import similar
from sitegen.catalogue.kinds import METERS, mode_meant
from sitegen.catalogue.model import Failure, Indication
from sitegen.solver.network import Component, Network
from sitegen.solver.scenarios import Fault
from sitegen.words import join_words

METER_READS = re.compile(r"([^\s%VA]+)\s*[%VA]?\s*(discharge|charge)?(?: side)?")
"""A figure, its unit if need be, and for a battery's ammeter its direction."""


class NotFound(Exception):
    """Nothing, or more than one thing, goes by the name; the message says what may be meant."""


def find(text: str, names: Mapping[str, Iterable[str]], what: str) -> str:
    """The id that a text means.

    Parameters
    ----------
    text : an id, or another name of the thing; case and extra blanks do not matter.
    names : by id, the other names under which it may be asked for.
    what : what is wanted, for the message: `a condition`.

    Raises
    ------
    NotFound : when no id or more than one fits.

    Examples
    --------
    >>> find("Left Main Bus", {"left-main": ["Left main bus"], "centre": []}, "a bus")
    'left-main'
    """
    if text in names:
        return text
    wanted = _plain(text)
    fitting = [i for i, others in names.items() if wanted in (_plain(n) for n in (i, *others))]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise NotFound(f"'{text}' is the name of {_or(fitting)}: give the id.")
    by_name = {_plain(n): i for i, others in names.items() for n in (i, *others)}
    close = list(dict.fromkeys(by_name[n] for n in similar(wanted, by_name)))[:3]
    if close:
        raise NotFound(f"'{text}' is not {what} here: did you mean {_or(close)}?")
    few = list(names)
    listing = f" There are: {', '.join(few)}." if 0 < len(few) <= 12 else ""
    raise NotFound(f"'{text}' is not {what} here.{listing}")


def component_names(network: Network) -> dict[str, list[str]]:
    """By component: its names and, for a breaker or fuse on a panel, its places (`B7`)."""
    catalogue = network.catalogue
    records = (*catalogue.sources, *catalogue.buses, *catalogue.devices)
    also = {record.id: record.also_called for record in records}
    return {
        c.id: [c.name, *also.get(c.id, ()), *places(network, c)]
        for c in network.components.values()
    }


def places(network: Network, component: Component) -> list[str]:
    """The names of the place of a breaker: `B7`, `right-wall B7`, `Right side wall B7`."""
    if component.at is None:
        return []
    panel = component.panel or ""
    named = (panel, panel.replace("-", " "), network.panel_names.get(panel))
    return [component.at, *dict.fromkeys(f"{name} {component.at}" for name in named if name)]


def find_condition(network: Network, text: str | None) -> str:
    """A condition's id; without a text, the first that the author lists."""
    conditions = network.catalogue.conditions
    if text is None:
        return conditions[0].id
    return find(text, {c.id: c.called for c in conditions}, "a condition")


def find_failed(network: Network, text: str) -> tuple[tuple[Fault, ...], Failure | None]:
    """What a text takes: a component with an optional mode after a colon, or a named failure.

    Returns
    -------
    The faults, and the named failure where one is meant.

    Raises
    ------
    NotFound : for an unknown name, a mode that the component does not have, or equipment.
    """
    name, colon, mode = text.rpartition(":") if ":" in text else (text, "", "")
    failures = {f.id: f for f in network.catalogue.failures}
    components = component_names(network)
    names = {**components, **{i: f.called for i, f in failures.items() if i not in components}}
    try:
        found = find(name, names, "a component or a named failure")
    except NotFound:
        equipment = _equipment_meant(network, name)
        if equipment is None:
            raise
        through = [d for c in network.connections[equipment] for d in c.through]
        fails = f" What can fail there: {', '.join(through)}." if through else ""
        raise NotFound(
            f"'{name}' is equipment, and what drops is what feeds it.{fails}"
            f" To see how it is fed: sitegen trace {equipment}."
        ) from None
    if found not in components:
        if colon:
            raise NotFound(f"'{found}' is a named failure and takes no mode.")
        return faults_of(network, failures[found]), failures[found]
    modes, mode = network.components[found].modes, mode_meant(mode)
    if colon and mode not in modes:
        raise NotFound(f"'{found}' does not fail as '{mode}': its modes are {_or(modes)}.")
    return ((found, mode or modes[0]),), None


def find_equipment(network: Network, text: str) -> str:
    """An equipment id, from its id, its name, or its own breaker's placard or place."""
    names: dict[str, list[str]] = {}
    for item, equipment in network.equipment.items():
        breakers = [
            network.components[c.protector] for c in network.connections[item] if c.protector
        ]
        called = [n for b in breakers for n in (b.id, b.name, *places(network, b))]
        names[item] = [*equipment.called, *called]
    # A name beats a placard: 'COM 1' may be both one item's name and another's breaker.
    by_name = [i for i, called in names.items() if _plain(called[0]) == _plain(text)]
    return by_name[0] if len(by_name) == 1 else find(text, names, "equipment")


def find_function(network: Network, text: str) -> str | None:
    """The id of the function with this very id or name, if no equipment has it."""
    if any(_plain(text) in (i, _plain(e.name)) for i, e in network.equipment.items()):
        return None
    functions = network.catalogue.functions
    return next((f.id for f in functions if _plain(text) in (f.id, _plain(f.name))), None)


def find_observation(network: Network, text: str, seen: str) -> Observation:
    """An observation from a name and from what was seen of it.

    Parameters
    ----------
    text : the name of equipment, a bus or an indication.
    seen : `works` or `dead` (equipment, buses), `lit` or `unlit` (lamps, flags), or what a meter
        reads: a figure, or `blank`.

    Raises
    ------
    NotFound : for an unknown name, or something that cannot be seen so.
    """
    indications = {i.id: i for i in network.catalogue.indications}
    if seen in ("works", "dead"):
        state: Literal["works", "dead"] = "works" if seen == "works" else "dead"
        buses = {b.id: b.called for b in network.catalogue.buses}
        if text in buses or text not in network.equipment:
            try:
                return Observation(find(text, buses, "a bus"), state)
            except NotFound:
                pass
        return Observation(find_equipment(network, text), state)
    lamps = {i.id: i.called for i in indications.values() if i.kind not in METERS}
    meters = {i.id: i.called for i in indications.values() if i.kind in METERS}
    if seen in ("lit", "unlit"):
        return Observation(find(text, lamps, "a lamp or flag"), LIT if seen == "lit" else UNLIT)
    lamp = next((i for i, n in lamps.items() if _plain(text) in map(_plain, (i, *n))), None)
    if lamp is not None and seen == "blank":
        return Observation(lamp, BLANK)
    if lamp is not None:
        raise NotFound(f"'{lamp}' is not a meter here: say --lit {lamp} or --unlit {lamp}.")
    subject = find(text, meters, "a meter")
    return Observation(subject, _reading(network, indications[subject], seen))


def _reading(network: Network, meter: Indication, text: str) -> Reading:
    """What a meter reads, from what a person writes down."""
    if _plain(text) == "blank":
        return BLANK
    in_words = {"load": LOAD, "no load": NO_LOAD}.get(_plain(text))
    if meter.kind != "voltmeter" and in_words:
        return in_words
    parts = METER_READS.fullmatch(text.strip())
    try:
        figure = float(parts[1]) if parts else math.nan
    except ValueError:
        figure = math.nan
    if parts is None or not math.isfinite(figure):
        raise NotFound(f"'{meter.id}={text}': a meter reads a number, or blank.")
    directions = [d for d in meter_directions(meter, network) if d is not None]
    if figure < 0 and meter.kind != "voltmeter":
        ways = (
            f"'{-figure:g} discharge' or '{-figure:g} charge'" if directions else f"'{-figure:g}'"
        )
        raise NotFound(f"'{meter.id}={text}': amps and loads are read without a sign: say {ways}.")
    if parts[2] and not directions:
        raise NotFound(f"'{meter.id}' shows no direction: leave out '{parts[2]}'.")
    direction = next((d for d in directions if parts[2] and d.startswith(parts[2])), None)
    return Reading("figure", figure, unit_of(meter, network)[0], direction)


def _equipment_meant(network: Network, text: str) -> str | None:
    try:
        return find(text, {e.id: e.called for e in network.equipment.values()}, "")
    except NotFound:
        return None


def _plain(text: str) -> str:
    return " ".join(text.lower().split())


def _or(words: Iterable[str]) -> str:
    return join_words([f"'{word}'" for word in words], "or")
