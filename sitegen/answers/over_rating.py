"""Sources and devices in feeders that are over their rating in a failure, and for how long sources
may be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.catalogue.model import Source
from sitegen.quantities import Fraction, for_json
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome
from sitegen.solver.power import Power

Bound = Literal["", "at least ", "up to "]


@dataclass(frozen=True)
class OverRating:
    """How far a source or a device in a feeder is over its rating."""

    amps: Fraction
    rating: Fraction
    """A; the amps are more."""
    bound: Bound
    """Something draws through it an amount that is not known; or the current has several paths."""
    allowed_for: str = ""
    """Of a source, as `allowed_for` has it."""

    @property
    def percent(self) -> Fraction:
        """Of its rating, more than 100."""
        return 100 * self.amps / self.rating

    def as_json(self) -> dict[str, Any]:
        """A value of `over_rating` in `drop --json`."""
        return {
            "percent": for_json(self.percent),
            "bound": self.bound.strip() or None,
            "allowed_for": self.allowed_for or None,
        }


def allowed_for(source: Source, amps: Fraction, at_least: bool) -> str:
    """The longest short-time rating that covers amps over the rating.

    `5 minutes` or `5 seconds`; `no time` if none does; empty where the source has none, is not over
    its rating, or gives these amps at least: then more may flow than any of them covers.
    """
    if source.amps is None or amps <= exact(source.amps):
        return ""
    if source.amps_5min and amps <= exact(source.amps_5min):
        return "" if at_least else "5 minutes"
    if source.amps_5s and amps <= exact(source.amps_5s):
        return "" if at_least else "5 seconds"
    return "no time" if source.amps_5min or source.amps_5s else ""


def short_time_rating(source: Source) -> float | None:
    """The highest of a source's short-time ratings, A; None where the catalogue has none."""
    return max((amps for amps in (source.amps_5min, source.amps_5s) if amps), default=None)


def over_rating(outcome: Outcome) -> list[dict[str, OverRating]]:
    """By scenario, what is over its rating and carries more than with nothing failed."""
    network, after = outcome.network, draws(outcome.after)
    over = [list(_over(network, amps)) for amps in after.states]
    if not any(over):
        return [{} for _ in after.number]
    before = draws(outcome.before)
    normally = dict(zip(network.columns, (before.states[n] for n in before.number), strict=True))
    carried = {c: {i: b.most for i, _, b in _carried(network, a)} for c, a in normally.items()}
    return [
        {
            component: one
            for component, one in over[number]
            if one.amps > carried[outcome.scenarios.at(k).condition].get(component, NO_AMPS)
        }
        for k, number in enumerate(after.number)
    ]


def over_rating_before(before: Power) -> list[tuple[str, str, OverRating]]:
    """(source or device in a feeder, condition, how far it is over) with nothing failed."""
    network, drawn = before.steady.network, draws(before)
    return [
        (component, condition, over)
        for condition, number in zip(network.columns, drawn.number, strict=True)
        for component, over in _over(network, drawn.states[number])
    ]


def _carried(network: Network, amps: Amps) -> Iterator[tuple[str, float, CurrentBounds]]:
    """(id, rating, amps) of the sources and the devices in feeders that have a rating."""
    of_sources = {
        source: CurrentBounds(given, given, source in amps.short_sources)
        for source, given in amps.sources.items()
    }
    for component, bounds in (*of_sources.items(), *current_bounds(network, amps).items()):
        rated = network.rating(component)
        if rated:
            yield component, rated, bounds


def _over(network: Network, amps: Amps) -> Iterator[tuple[str, OverRating]]:
    """(id, how far it is over its rating) of what is."""
    for component, rated, bounds in _carried(network, amps):
        # Where something unknown flows, `most` is what is known at the most.
        most = bounds.least if bounds.unknown else bounds.most
        if most > exact(rated):
            source = network.sources.get(component)
            bound: Bound = "up to " if bounds.least < most else ""
            yield (
                component,
                OverRating(
                    most,
                    exact(rated),
                    "at least " if bounds.unknown else bound,
                    allowed_for(source, most, bounds.unknown) if source else "",
                ),
            )
