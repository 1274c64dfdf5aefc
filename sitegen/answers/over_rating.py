"""Sources that give more than their rating in a failure, and for how long they may."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.catalogue.model import Source
from sitegen.quantities import Fraction, for_json
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome


@dataclass(frozen=True)
class OverRating:
    """How far a source is over its rating."""

    percent: Fraction
    """Of its rating, more than 100."""
    at_least: bool
    """Something draws from it an amount that is not known."""
    allowed_for: str
    """As `allowed_for` has it."""

    def as_json(self) -> dict[str, Any]:
        """A value of `over_rating` in `drop --json`."""
        return {"percent": for_json(self.percent), "allowed_for": self.allowed_for or None}


def allowed_for(source: Source, amps: Fraction) -> str:
    """The longest short-time rating that covers amps over the rating.

    `5 minutes` or `5 seconds`; `no time` if none does; empty where the source has none, or is not
    over its rating.
    """
    if source.amps is None or amps <= exact(source.amps):
        return ""
    if source.amps_5min and amps <= exact(source.amps_5min):
        return "5 minutes"
    if source.amps_5s and amps <= exact(source.amps_5s):
        return "5 seconds"
    return "no time" if source.amps_5min or source.amps_5s else ""


def over_rating(outcome: Outcome) -> list[dict[str, OverRating]]:
    """By scenario, the sources over their rating that give more than with nothing failed."""
    network = outcome.network
    before, after = draws(outcome.before), draws(outcome.after)
    normally = dict(zip(network.columns, (before.states[n] for n in before.number), strict=True))
    over = [_over(network, amps) for amps in after.states]
    return [
        {
            source: one
            for source, one in over[number].items()
            if after.states[number].sources[source]
            > normally[outcome.scenarios.at(k).condition].sources.get(source, NO_AMPS)
        }
        for k, number in enumerate(after.number)
    ]


def _over(network: Network, amps: Amps) -> dict[str, OverRating]:
    found = {}
    for source, given in amps.sources.items():
        record = network.sources[source]
        if record.amps and given > exact(record.amps):
            percent, at_least = 100 * given / exact(record.amps), source in amps.short_sources
            found[source] = OverRating(percent, at_least, allowed_for(record, given))
    return found
