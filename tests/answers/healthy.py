"""A healthy aircraft, its sources each anywhere in its `volts-range`, and what its meters show."""

from __future__ import annotations

import random
from collections.abc import Collection
from dataclasses import dataclass, field
from graphlib import TopologicalSorter

from sitegen.answers.drop import Loss
from sitegen.answers.indications import meter_directions, unit_of
from sitegen.answers.loads.meter_bands import variations
from sitegen.answers.loads.metered import meter_at
from sitegen.answers.loads.net_variations import Meter
from sitegen.answers.loads.sharing import Flows, Parts, Sharing, added, times
from sitegen.answers.loads.state_amps import Amps
from sitegen.answers.observations import Observation
from sitegen.answers.readings import Reading, reads_the_same
from sitegen.catalogue.model import Indication
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network, build


def at_own_volts(network: Network, chance: random.Random) -> Network:
    """The same wiring with every source at volts of its own, at an end of its range or within."""
    sources = [
        source.model_copy(
            update={
                "volts": chance.choice(
                    (*source.volts_range, round(chance.uniform(*source.volts_range), 2))
                ),
                "volts_range": None,
                "internal_ohms": None,
            }
        )
        if source.volts_range
        else source
        for source in network.catalogue.sources
    ]
    catalogue = network.catalogue.model_copy(update={"sources": sources})
    return build(catalogue, network.airframe)


def seen_at_random(chance: random.Random, loss: Loss, amps: Amps) -> list[Observation]:
    """What every indication shows of what it may; what is not known says nothing.

    Loadmeters and ammeters show what flows in one state, so that it adds up.
    """
    network = amps.net.sharing.network
    seen = []
    found = given_at_random(chance, amps)
    for indication in network.catalogue.indications:
        shown = loss.readings[indication.id]
        if shown.is_load and shown.kind == "figure":
            through = found.passing(meter_at(network, indication.at or ""), amps)
            shown = _read_off(indication, network, through)
            assert reads_the_same(shown, loss.readings[indication.id], 1), (indication.id, shown)
        if shown.kind != "not known":
            seen.append(Observation(indication.id, read_at_random(chance, shown)))
    return seen


def _read_off(indication: Indication, network: Network, along: Fraction) -> Reading:
    unit, share = unit_of(indication, network)
    figure = round(float(abs(along * share)), 1)
    directions = meter_directions(indication, network)
    return Reading("figure", figure, unit, directions[along < 0] if figure else None)


@dataclass
class Given:
    """What flows in one state in which a healthy aircraft may be, A."""

    flows: Flows = field(default_factory=dict)
    """By source and node, what it gives there."""
    taken: Flows = field(default_factory=dict)
    """By converter and node, what it takes there."""
    charged: Parts = field(default_factory=dict)
    """By battery, what it takes."""

    def passing(self, meter: Meter, amps: Amps) -> Fraction:
        """What passes a meter."""
        found = -self.charged.get(meter.at, Fraction())
        for (source, node), given in self.flows.items():
            found += given if source == meter.at else 0
            passages = amps.net.topology.between(source, node) if given else {}
            for branch in meter.branches & passages.keys():
                assert passages[branch].must
                found += given if passages[branch].along else -given
        for converter, number, origin, _, _ in amps.net.inputs:
            if number in meter.branches:
                found += self.taken.get((converter, origin), Fraction())
        return found


def given_at_random(chance: random.Random, amps: Amps) -> Given:
    """What sources give and converters take, as they may charge batteries, divide loads and share.

    Each source may be off its share by a tenth of its rating, over all nodes that it carries, and
    by anything where nothing says how they share. What one gives more, another gives less.
    """
    sharing, found = amps.net.sharing, Given()
    network = sharing.network
    [varying] = variations([amps])
    drawn: Parts = {n: a for n, a in amps.known.items() if n not in amps.net.not_shared}
    for battery, (least, most) in varying.nominal.of_net.charging.items():
        found.charged[battery] = least + _part(chance) * (most - least)
        added(drawn, battery, found.charged[battery])
    for taken, each in varying.nominal.divided:
        chosen = chance.choice([None, *each])
        if chosen:
            added(drawn, chosen, each[chosen])
            for other, less in taken.items():
                added(drawn, other, -less)
    left: dict[tuple[str, int], Fraction] = {}
    rated = {s: exact(network.sources[s].amps or 0) / 10 for s in sharing.producing}
    wanted = {s: chance.random() for s in sharing.producing}
    for node in _downstream_first(chance, amps):
        parts = sharing.carriers(node)
        given = times(drawn.get(node, Fraction()), parts)
        free = not by_rating(sharing, parts)
        for _ in range(4 if len(parts) > 1 and any(given.values()) else 0):
            one, other = sorted(chance.sample([*parts], 2), key=wanted.__getitem__)
            most = given[one]
            if not free:
                limits = (left.get((s, way), rated[s]) for s, way in ((one, 0), (other, 1)))
                most = min(most, *limits)
            over = most * _part(chance)
            for source, more in ((one, -over), (other, over)):
                given[source] += more
                for way, sign in enumerate((1, -1) if not free else ()):
                    before = left.get((source, way), rated[source])
                    left[source, way] = before + sign * more
        for source, amount in given.items():
            found.flows[source, node] = amount
            if source in sharing.inputs and source not in sharing.circular:
                each = sharing.any_input(source)
                chosen = chance.choice([None, *each])
                for at, taken_there in (
                    {chosen: each[chosen]} if chosen else sharing.inputs[source]
                ).items():
                    added(drawn, at, amount * taken_there)
                    key = source, at
                    found.taken[key] = found.taken.get(key, Fraction()) + amount * taken_there
    return found


def by_rating(sharing: Sharing, sources: Collection[str]) -> bool:
    """Whether sources share by rating: each has one, and reaches the terminals of the others."""
    nodes, records = sharing.state.nodes, sharing.network.sources
    return len(sources) < 2 or all(
        records[s].amps and {*sources} <= {*nodes[s].sources} for s in sources
    )


def _part(chance: random.Random) -> Fraction:
    return chance.choice([Fraction(1), Fraction(chance.randrange(1001), 1000)])


def _downstream_first(chance: random.Random, amps: Amps) -> list[str]:
    """The nodes, none before one that a converter feeds from it."""
    sharing = amps.net.sharing
    nodes = [n for n in sharing.state.nodes if n not in amps.net.not_shared]
    chance.shuffle(nodes)
    before: dict[str, set[str]] = {node: set() for node in nodes}
    for converter in sharing.inputs.keys() - {*sharing.circular}:
        origins = {*sharing.inputs[converter], *sharing.any_input(converter)}
        for origin in origins & before.keys():
            before[origin] |= {n for n in nodes if converter in sharing.carriers(n)}
    return [*TopologicalSorter(before).static_order()]


def read_at_random(chance: random.Random, shown: Reading) -> Reading:
    """A figure in the band, to a tenth, as one may read it off; what has no band as it is."""
    least, most = shown.span
    figure = round(chance.uniform(least, most), 1)
    within = min(max(figure, least), most)
    return Reading(shown.kind, within, shown.unit, shown.direction if within else None)
