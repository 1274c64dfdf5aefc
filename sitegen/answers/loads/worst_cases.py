"""Which failure loads each source and device most."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from sitegen.answers.drop import named_failure
from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.source_loads import Load
from sitegen.answers.loads.state_amps import Amps
from sitegen.catalogue.model import Failure
from sitegen.quantities import Fraction
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault

NEGLIGIBLE_AMPS = Fraction(1, 20)
"""A difference of fewer amps is not shown."""


@dataclass(frozen=True)
class WorstCases:
    """By source and by device in a feeder, the scenario that loads it most."""

    sources: dict[str, WorstCase]
    devices: dict[str, WorstCase]
    certain: dict[str, WorstCase]
    """By device: that in which it carries most for certain."""


@dataclass(frozen=True)
class WorstCase:
    """The scenario that loads a source or a device most."""

    amps: Fraction
    condition: str
    failed: tuple[Fault, ...]
    """Empty if nothing has to fail for it."""
    acted_on: str | None
    """The named failure, by id, after the crew has acted on it; None before anyone has."""
    bounds: CurrentBounds
    """What it gives or carries there."""
    not_known: WorstCase | None = None
    """Another failure after which its amps are not known."""

    def named(self, network: Network) -> Failure | None:
        """The named failure that it is; None of one component before anyone has acted."""
        acted_on = (f for f in network.catalogue.failures if f.id == self.acted_on)
        return next(acted_on, None) or named_failure(network, self.failed)

    def exceeds(self, amps: Fraction) -> bool:
        """Whether a failure causes it, and it is more than these amps, or may be."""
        more = self.amps > amps + NEGLIGIBLE_AMPS
        return bool(self.failed) and (more or (self.bounds.unknown and self.amps >= amps))

    @property
    def at_least(self) -> bool:
        """Whether it may be more, in this scenario or in another."""
        return self.bounds.unknown or self.not_known is not None


def worst_cases(
    network: Network, loads: Iterable[Load], acted: Sequence[Load] = (), of_devices: bool = True
) -> WorstCases:
    """The scenarios in which sources and devices in feeders give or may carry most.

    Parameters
    ----------
    network : the airframe.
    loads, acted : before anyone has acted; and after the crew has, on each named failure on which
        it can.
    of_devices : left out where these are not asked about.
    """
    sources: dict[str, WorstCase] = {}
    devices: dict[str, WorstCase] = {}
    certain: dict[str, WorstCase] = {}
    not_known: dict[str, WorstCase] = {}
    seen = set()
    first: Amps | None = None
    for load, after in _both_stages(network, loads, acted):
        # With the same amps (`Load.amps`), a later one is no worse.
        if id(load.amps) in seen:
            continue
        seen.add(id(load.amps))
        # What is worked out of one state is not kept: of a large net it is much.
        same = first is not None and first.net is load.amps.net
        amps = replace(load.amps, beside=first if same else None)
        first = first if same else amps
        where = (load.condition, load.failed, after)
        given = {
            source: CurrentBounds(amount, amount, source in amps.short_sources)
            for source, amount in amps.sources.items()
        }
        carried = current_bounds(network, amps) if of_devices else {}
        for worst, found in ((sources, given), (devices, carried)):
            for component, bounds in found.items():
                before = worst.get(component)
                if before is None or _is_worse(bounds, before.bounds):
                    worst[component] = WorstCase(bounds.most, *where, bounds)
                if worst is devices:
                    least = certain.get(component)
                    if least is None or bounds.least > least.amps:
                        certain[component] = WorstCase(bounds.least, *where, bounds)
                if bounds.unknown and load.failed and component not in not_known:
                    not_known[component] = WorstCase(bounds.most, *where, bounds)
    for worst in (sources, devices):
        for component in worst.keys() & not_known.keys():
            most, unsure = worst[component], not_known[component]
            # Of what is unsure at its worst, something is known: that is said there.
            if most.failed != unsure.failed or not most.amps:
                worst[component] = replace(most, not_known=unsure)
    return WorstCases(sources, devices, certain)


def _is_worse(bounds: CurrentBounds, other: CurrentBounds) -> bool:
    """Of as much, what may be more is worse; then more at the least."""
    if bounds.most != other.most:
        return bounds.most > other.most
    return (bounds.unknown, bounds.least) > (other.unknown, other.least)


def _both_stages(
    network: Network, loads: Iterable[Load], acted: Sequence[Load]
) -> Iterator[tuple[Load, str | None]]:
    yield from ((load, None) for load in loads)
    ids = [failure.id for failure in network.catalogue.failures if failure.has_acts]
    yield from zip(acted, ids, strict=True) if acted else ()
