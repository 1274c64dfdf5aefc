"""A healthy aircraft, its sources each anywhere in its `volts-range`, and what its meters show."""

from __future__ import annotations

import random

from sitegen.answers.drop import Loss
from sitegen.answers.indications import meter_directions, unit_of
from sitegen.answers.loads.meter_bands import Meter, variations
from sitegen.answers.loads.metered import meter_at
from sitegen.answers.loads.sharing import Flows, Parts
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
    flows, charged = flows_at_random(chance, amps)
    seen = []
    for indication in network.catalogue.indications:
        shown = loss.readings[indication.id]
        if shown.is_load and shown.kind == "figure":
            through = passing(meter_at(network, indication.at or ""), amps, flows, charged)
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


def passing(meter: Meter, amps: Amps, flows: Flows, charged: Parts) -> Fraction:
    """What passes a meter, if sources give that more than is computed."""
    found, _ = meter.measured(amps)
    assert found is not None
    found -= charged.get(meter.at, Fraction())
    for (source, node), more in flows.items():
        found += more if source == meter.at else 0
        passages = amps.net.topology.between(source, node)
        for branch in meter.branches & passages.keys():
            assert passages[branch].must
            found += more if passages[branch].along else -more
    return found


def flows_at_random(chance: random.Random, amps: Amps) -> tuple[Flows, Parts]:
    """What sources give more at nodes, A, as they may charge batteries, divide loads and share; and
    what batteries take.
    """
    sharing = amps.net.sharing
    flows: Flows = {}
    charged: Parts = {}
    [varying] = variations([amps])

    def drawn(node: str, more: Fraction) -> None:
        for flow, part in sharing.flows(node).items():
            flows[flow] = flows.get(flow, Fraction()) + part * more

    for battery, (least, most) in varying.nominal.of_net.charging.items():
        charged[battery] = least + Fraction(chance.randrange(1001), 1000) * (most - least)
        drawn(battery, charged[battery])
    for taken, each in varying.nominal.divided:
        node = chance.choice([None, *each])
        if node:
            drawn(node, each[node])
            for other, less in taken.items():
                drawn(other, -less)
    shared = [n for n in amps.taken if len(sharing.carriers(n)) > 1]
    plain = [n for n in shared if not sharing.carriers(n).keys() & sharing.inputs.keys()]
    if plain:
        node = chance.choice(plain)
        one, other = chance.sample([*sharing.carriers(node)], 2)
        ratings = [exact(sharing.network.sources[s].amps or 0) for s in (one, other)]
        most = amps.flows[one, node]
        over = Fraction(chance.randrange(1001), 1000)
        over *= min(most, *(r / 10 for r in ratings)) if all(ratings) else most
        for source, more in ((one, -over), (other, over)):
            flows[source, node] = flows.get((source, node), Fraction()) + more
    return flows, charged


def read_at_random(chance: random.Random, shown: Reading) -> Reading:
    """A figure in the band, to a tenth, as one may read it off; what has no band as it is."""
    least, most = shown.span
    figure = round(chance.uniform(least, most), 1)
    within = min(max(figure, least), most)
    return Reading(shown.kind, within, shown.unit, shown.direction if within else None)
