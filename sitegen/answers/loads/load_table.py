"""How loaded each source and device is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sitegen.answers.dip_decides import has_short
from sitegen.answers.drop import faults_of
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.battery_load import scenarios_on_battery
from sitegen.answers.endurance.results import Endurance
from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.compared_loads import compared_failures, loads_of
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.source_loads import Load, LoadPair, loads
from sitegen.answers.loads.state_amps import NO_AMPS
from sitegen.answers.loads.worst_cases import NEGLIGIBLE_AMPS, WorstCase, worst_cases
from sitegen.answers.over_rating import (
    OverRating,
    allowed_for,
    over_rating_before,
    short_time_rating,
)
from sitegen.answers.overload import (
    Overloads,
    Word,
    overloads_of,
    stuck_closed,
    what_is_overloaded_opens,
)
from sitegen.answers.start_sag import Sag, sags
from sitegen.answers.voltage_drop import voltage_drops
from sitegen.answers.voltage_drop_records import VoltageDrops
from sitegen.catalogue.model import Failure
from sitegen.quantities import Fraction, for_json
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import after_the_crew, condition_states, solve
from sitegen.solver.power import Power
from sitegen.solver.scenarios import Fault, Scenario, scenarios_of


@dataclass(frozen=True)
class SourceLoad:
    """What one source gives in one scenario."""

    source: str
    amps: Fraction
    """Continuous, A."""
    peak: Fraction
    """With short-time figures where equipment has them, A."""
    rated: float | None
    """Its rating, A; None where the catalogue has none."""
    allowed_for: str
    """As the function `allowed_for` has it."""
    short_time: float | None
    """The highest of its short-time ratings, A; None where the catalogue has none."""

    @property
    def percent(self) -> Fraction | None:
        """The continuous load, % of the rating."""
        return 100 * self.amps / exact(self.rated) if self.rated else None

    @property
    def peak_percent(self) -> Fraction | None:
        """The same with the short-time amps."""
        return 100 * self.peak / exact(self.rated) if self.rated else None

    @property
    def is_short_time_over(self) -> bool:
        """Whether the short-time amps, all at once, are over the highest short-time rating."""
        return self.short_time is not None and self.peak > exact(self.short_time)

    @property
    def margin(self) -> Fraction | None:
        """What remains of the rating under continuous load, A; below zero it is overloaded."""
        return exact(self.rated) - self.amps if self.rated else None


KINDS_LEFT_OUT = ("diode", "shunt", "switch")
"""Kinds of devices whose amps are those of their neighbours in the feeder."""


def source_loads(network: Network, load: Load, peak: Load) -> list[SourceLoad]:
    """What each source gives, in the author's order; sources that do not produce are left out.

    Parameters
    ----------
    network : the airframe.
    load, peak : the same scenario with continuous and with short-time figures.
    """
    return [
        SourceLoad(
            s.id,
            load.sources[s.id],
            peak.sources.get(s.id, NO_AMPS),
            s.amps,
            allowed_for(s, load.sources[s.id], s.id in load.short_sources),
            short_time_rating(s),
        )
        for s in network.sources.values()
        if s.id in load.sources
    ]


@dataclass(frozen=True)
class LoadTable:
    """Amps of one airframe in one condition, with nothing or something failed."""

    load: Load
    peak: Load
    """The same with short-time figures."""
    sources: tuple[SourceLoad, ...]
    devices: dict[str, CurrentBounds]
    """By device in a feeder that conducts."""
    worst_sources: dict[str, WorstCase]
    worst_devices: dict[str, WorstCase]
    """Over all single and named failures of the condition; empty where something has failed."""
    worst_peaks: dict[str, WorstCase]
    """The same of sources with short-time figures."""
    endurances: tuple[Endurance, ...]
    """How long each battery lasts that carries load."""
    opens: dict[str, Word]
    """By device in a feeder that is overloaded: must or may it open."""
    opens_at_worst: dict[str, Word]
    """By device in a feeder that the worst failure overloads more: must or may it open."""
    must_open_after: dict[str, WorstCase]
    """By device in a feeder that need not open then, but must after another failure: this one."""
    drops: VoltageDrops
    sags: tuple[Sag, ...]
    """With continuous amps, and in the heaviest start of each source; empty where none sags."""
    over_rating: list[tuple[str, str, OverRating]]
    """(source or device in a feeder, condition, how far), with nothing failed."""
    dip: bool = False
    """Contactors drop out while the short lasts that has failed it."""
    overload: bool = False
    """What is overloaded opens."""

    @property
    def assumes(self) -> tuple[str, ...]:
        """Which answer to the failure it is of, in words."""
        do = "drop out while the short lasts" if self.dip else "ride through the short"
        words = f"contactors {do} unless the catalogue says otherwise"
        of_short = (words,) if has_short(self.load.nodes, self.load.failed) else ()
        return (*of_short, *(("what is overloaded opens",) if self.overload else ()))

    def over_at_worst(self, network: Network) -> list[list[tuple[str, float, WorstCase]]]:
        """(source or device in a feeder, its rating, its worst case) of what a failure brings over
        its rating: those together that the same failure does, the furthest over first.
        """
        now = {s.source: CurrentBounds(s.amps, s.amps) for s in self.sources} | self.devices
        nothing = CurrentBounds(NO_AMPS, NO_AMPS)
        found = []
        for component, worst in (*self.worst_sources.items(), *self.worst_devices.items()):
            rated = network.rating(component)
            here = now.get(component, nothing)
            surely = worst.bounds.least > max(here.least, exact(rated or 0))
            if (
                rated
                and worst.amps > exact(rated)
                and (worst.exceeds(here.most) or (worst.failed and surely))
            ):
                found.append((component, rated, worst))
        for device, case in self.must_open_after.items():
            if rating := network.rating(device):
                found.append((device, rating, case))
        groups: dict[tuple[object, str | None], list[tuple[str, float, WorstCase]]] = {}
        for over in sorted(found, key=lambda one: (-one[2].amps / exact(one[1]), one[0])):
            groups.setdefault((over[2].failed, over[2].acted_on), []).append(over)
        return list(groups.values())

    def short_time_over_at_worst(self, network: Network) -> list[tuple[str, float, WorstCase]]:
        """(source, its highest short-time rating, its worst case) of what a failure brings over
        that with all short-time amps at once; the furthest over first.
        """
        now = {s.source: s.peak for s in self.sources}
        found = []
        for source, worst in self.worst_peaks.items():
            record = network.sources[source]
            allowed = short_time_rating(record)
            more = worst.failed and worst.amps > now.get(source, NO_AMPS) + NEGLIGIBLE_AMPS
            if allowed and more and worst.amps > exact(allowed):
                found.append((source, allowed, worst))
        return sorted(found, key=lambda one: (-one[2].amps / exact(one[1]), one[0]))

    def word_in(self, component: str, case: WorstCase) -> str:
        """Whether a device must or may open in a case of it."""
        if case is self.must_open_after.get(component):
            return "must"
        return self.opens_at_worst.get(component, "")

    def not_known_after(self) -> list[tuple[WorstCase, list[str]]]:
        """The failures after which amps are not known, each with the sources and devices."""
        groups: dict[tuple[object, str | None], tuple[WorstCase, list[str]]] = {}
        for component, worst in (*self.worst_sources.items(), *self.worst_devices.items()):
            if case := worst.not_known:
                groups.setdefault((case.failed, case.acted_on), (case, []))[1].append(component)
        return list(groups.values())

    def listed_devices(self, network: Network) -> dict[str, CurrentBounds]:
        """The devices in feeders with what they carry, in the author's order.

        A diode, shunt or switch carries what its neighbours carry, and what does not conduct
        carries nothing: they are left out, unless they are over their rating or a failure brings
        them over it.
        """
        over = {component for group in self.over_at_worst(network) for component, *_ in group}
        over |= {component for component, *_ in self.over_rating}
        nothing = CurrentBounds(NO_AMPS, NO_AMPS)
        return {
            device: self.devices.get(device, nothing)
            for device, component in network.components.items()
            if device in over & (self.devices.keys() | self.worst_devices.keys())
            or (device in self.devices and component.kind not in KINDS_LEFT_OUT)
        }

    def as_json(self, network: Network) -> dict[str, Any]:
        """The object that `loads --json` prints."""

        def worst(found: WorstCase | None) -> dict[str, Any] | None:
            if found is None:
                return None
            failed = [{"id": component, "mode": mode} for component, mode in found.failed]
            return {
                "amps": for_json(found.amps),
                "at_least": found.at_least,
                "failed": failed,
                "acted_on": found.acted_on,
            }

        load = self.load
        return {
            "airframe": network.airframe,
            "condition": load.condition,
            "failed": [{"id": component, "mode": mode} for component, mode in load.failed],
            "dip": self.dip,
            "overload": self.overload,
            "sources": {
                s.source: {
                    "amps": for_json(s.amps),
                    "peak_amps": for_json(s.peak),
                    "rated_amps": s.rated,
                    "percent": for_json(s.percent),
                    "margin_amps": for_json(s.margin),
                    "worst": worst(self.worst_sources.get(s.source)),
                    "worst_peak": worst(self.worst_peaks.get(s.source)),
                }
                for s in self.sources
            },
            "buses": {
                b.id: for_json(self.load.buses.get(b.id, NO_AMPS))
                for b in network.catalogue.buses
                if load.nodes[b.id].live
            },
            "converters": {
                c: {"output_amps": for_json(self.load.sources[c]), "input_amps": for_json(amps)}
                for c, amps in self.load.converters.items()
            },
            "devices": {
                d: {
                    "least_amps": for_json(amps.least),
                    "most_amps": None if amps.unknown else for_json(amps.most),
                    "rated_amps": network.components[d].amps,
                    "worst": worst(self.worst_devices.get(d)),
                    "must_open_after": worst(self.must_open_after.get(d)),
                }
                for d, amps in self.devices.items()
            },
            "equipment": {e: for_json(amps) for e, amps in most_first(self.load.drawn)},
            "not_known": sorted(self.load.unknown),
            "at_least": [
                *(s.source for s in self.sources if s.source in self.load.short_sources),
                *(b.id for b in network.catalogue.buses if b.id in self.load.short_nodes),
            ],
            "batteries": [endurance.as_json() for endurance in self.endurances],
            "voltage_drops": self.drops.as_json(network),
            "sags": [sag.as_json() for sag in self.sags],
        }


def load_table(
    network: Network,
    condition: str,
    faults: Sequence[Fault] = (),
    failure: Failure | None = None,
    after: bool = False,
    dip: bool = False,
    overload: bool = False,
    before: Power | None = None,
    others: Sequence[LoadPair] | None = None,
    acted: Sequence[LoadPair] = (),
) -> LoadTable:
    """How loaded everything is in a condition, with nothing failed or with these components failed.

    Parameters
    ----------
    network, condition, faults : what is asked about.
    failure : the named failure, where it is one.
    after : the crew has acted on it.
    dip : contactors drop out while a short lasts.
    overload : what is overloaded in that answer opens.
    before : the solved conditions, where the caller has them.
    others, acted : the loads of all single and named failures of the condition at once, and of the
        named ones after the crew has acted, where the caller has them.
    """
    before = before or condition_states(network)
    outcome = solve(network, scenarios_of([Scenario(condition, tuple(faults))]), before, dip)
    then = failure.crew_does(condition) if after and failure else None
    if overload:
        outcome = what_is_overloaded_opens(outcome, then)
    elif then:
        outcome = after_the_crew(outcome, then)
    load, peak = loads(outcome)[0], loads(outcome, peak=True)[0]
    compared: list[LoadPair] = []
    if not faults:
        if others is None:
            failing = compared_failures(network, condition, load.amps.cancels)
            others = loads_of(network, failing, before)
            named = [f for f in network.catalogue.failures if f.has_acts]
            failing = [Scenario(condition, faults_of(network, f)) for f in named]
            thens = [f.crew_does(condition) for f in named]
            acted = loads_of(network, failing, before, thens)
        compared = [(load, peak), *others]
    endurances: list[Endurance] = []
    if faults or scenarios_on_battery(outcome.after):
        endurances = battery_endurances(network, condition, faults, failure, before, dip, overload)
    overloads = overloads_of(before)
    worst, peaks = (
        worst_cases(network, [c[k] for c in compared], [a[k] for a in acted], of_devices=not k)
        for k in (0, 1)
    )
    opens, at_worst = overloads.words(load.amps), _opens_at_worst(overloads, worst.devices)
    certain = _opens_at_worst(overloads, worst.certain)
    return LoadTable(
        load,
        peak,
        tuple(source_loads(network, load, peak)),
        current_bounds(network, load.amps),
        worst.sources,
        worst.devices,
        peaks.sources,
        tuple(endurances),
        opens,
        {d: w for d, w in at_worst.items() if opens.get(d) not in ("must", w)},
        {
            d: worst.certain[d]
            for d, word in certain.items()
            if word == "must" and "must" not in (at_worst.get(d), opens.get(d))
        },
        voltage_drops(load.amps),
        tuple(sags(outcome.after, load.amps)),
        over_rating_before(before),
        dip,
        overload,
    )


def _opens_at_worst(overloads: Overloads, worst: Mapping[str, WorstCase]) -> dict[str, Word]:
    found: dict[str, Word] = {}
    for device, case in worst.items():
        word = overloads.word(device, case.bounds)
        if word and device not in stuck_closed(case.failed):
            found[device] = word
    return found


def most_first(amps: Mapping[str, Fraction]) -> list[tuple[str, Fraction]]:
    """By what they draw, the most first and then by id."""
    return sorted(amps.items(), key=lambda drawn: (-drawn[1], drawn[0]))
