"""A healthy aircraft, its sources each anywhere in its `volts-range`, and what its meters show."""

from __future__ import annotations

import random

from sitegen.answers.drop import Loss
from sitegen.answers.observations import Observation
from sitegen.answers.readings import Reading
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
            }
        )
        if source.volts_range
        else source
        for source in network.catalogue.sources
    ]
    catalogue = network.catalogue.model_copy(update={"sources": sources})
    return build(catalogue, network.airframe)


def seen_at_random(chance: random.Random, loss: Loss) -> list[Observation]:
    """What every indication shows of what it may; what is not known says nothing."""
    return [
        Observation(i, read_at_random(chance, shown))
        for i, shown in loss.readings.items()
        if shown.kind != "not known"
    ]


def read_at_random(chance: random.Random, shown: Reading) -> Reading:
    """A figure in the band, to a tenth, as one may read it off; what has no band as it is."""
    least, most = shown.span
    figure = round(chance.uniform(least, most), 1)
    within = min(max(figure, least), most)
    return Reading(shown.kind, within, shown.unit, shown.direction if within else None)
