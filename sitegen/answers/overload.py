"""What is overloaded, and the answer in which that opens: answer 3 to a failure.

A device in a feeder opens by overload at a multiple of its rating: it may from the lower, it must
from the higher. Breakers have defaults; all else opens so only with its own `opens-at`. What it
carries has bounds (`state_amps.py`): it must open where the least reaches the limit of `must`, and
may open where the most reaches that of `may`, or the least where the most is not known. What is
over its limit already with nothing failed does not open, and what is failed `stuck-closed` never.

Answer 3 starts from the answer to expect: contactors ride through, or drop out where the catalogue
says that they do. Of all that must open, the one furthest over its limit opens, those
within 0.1 % of it together; the faults and the switching devices follow; and so on until nothing
must open any more.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Literal

from sitegen.answers.loads.carried import CurrentBounds
from sitegen.answers.loads.drawn import draws
from sitegen.answers.loads.state_amps import Amps
from sitegen.catalogue.model import OpensAt, Then
from sitegen.quantities import Fraction, rounded
from sitegen.solver.faults import run_stage
from sitegen.solver.load_figures import exact
from sitegen.solver.network import Network
from sitegen.solver.outcome import Outcome, after_the_crew
from sitegen.solver.power import Power
from sitegen.solver.steady_state import Recorder

Word = Literal["must", "may"]

PLACES = 2
"""Amps and limits are compared rounded to this many decimal places."""
TOGETHER = Fraction(999, 1000)
"""What is as near as this to the one furthest over its limit opens with it."""


@dataclass(frozen=True)
class Overloads:
    """What can open by overload in an airframe, and what is over already in its conditions."""

    network: Network
    before: Power
    """The conditions with nothing failed."""

    @cached_property
    def limits(self) -> dict[str, tuple[Fraction, Fraction]]:
        """By device in a feeder that opens by overload: from which amps it may, and it must."""
        in_feeders = {d for b in self.network.branches if not b.into_converter for d in b.through}
        found = {}
        for device in self.network.catalogue.devices:
            opens_at = device.opens_at or (OpensAt() if device.kind == "breaker" else None)
            if device.id in in_feeders and device.amps and opens_at:
                found[device.id] = (
                    rounded(exact(device.amps) * exact(opens_at.may), PLACES),
                    rounded(exact(device.amps) * exact(opens_at.must), PLACES),
                )
        return found

    @cached_property
    def normally(self) -> dict[str, dict[str, Word]]:
        """By condition: what is over its limit with nothing failed."""
        if not self.limits:
            return {c.id: {} for c in self.network.catalogue.conditions}
        drawn = draws(self.before)
        return {
            c.id: self.words(drawn.states[number])
            for c, number in zip(self.network.catalogue.conditions, drawn.number, strict=True)
        }

    def of(self, amps: Amps, condition: str, stuck: Container[str]) -> dict[str, Word]:
        """By device that is over its limit, and was less so in the condition: must or may it open.

        Parameters
        ----------
        amps : what flows, in answer 1.
        condition : in which the failure came.
        stuck : what is failed `stuck-closed`.
        """
        words = self.words(amps)
        normally = self.normally[condition] if words else {}
        return {
            device: word
            for device, word in words.items()
            if device not in stuck and normally.get(device) not in ("must", word)
        }

    def ratios(self, amps: Amps) -> dict[str, Fraction]:
        """By device that must open: what it carries at least, as a share of its limit."""
        found = {}
        for device, poles in self._poles(amps):
            ratio = rounded(max(b.least for b in poles), PLACES) / self.limits[device][1]
            if ratio >= 1:
                found[device] = ratio
        return found

    def words(self, amps: Amps) -> dict[str, Word]:
        """By device that is over a limit: must or may it open."""
        found: dict[str, Word] = {}
        for device, poles in self._poles(amps):
            # A device in several feeders counts at its worst: each pole is judged by itself.
            words = {self.word(device, bounds) for bounds in poles}
            if words != {None}:
                found[device] = "must" if "must" in words else "may"
        return found

    def word(self, device: str, bounds: CurrentBounds) -> Word | None:
        """Whether a device must or may open with these amps through it."""
        if device not in self.limits:
            return None
        may, must = self.limits[device]
        least, most = rounded(bounds.least, PLACES), rounded(bounds.most, PLACES)
        if least >= must:
            return "must"
        return "may" if (least if bounds.unknown else most) >= may else None

    def _poles(self, amps: Amps) -> Iterator[tuple[str, list[CurrentBounds]]]:
        """Of what can open and carries something: what each of its poles carries."""
        if self.limits:
            for device, numbers in self._feeders.items():
                poles = [amps.branch_bounds[n] for n in numbers if n in amps.branch_bounds]
                if poles:
                    yield device, poles

    @cached_property
    def _feeders(self) -> dict[str, list[int]]:
        return {
            device: [
                number
                for number, branch in enumerate(self.network.branches)
                if device in branch.through and not branch.into_converter
            ]
            for device in self.limits
        }


@lru_cache(maxsize=2)
def overloads_of(before: Power) -> Overloads:
    """What can open by overload, from the conditions with nothing failed.

    The stages of a failure ask about the same conditions one after the other.
    """
    return Overloads(before.steady.network, before)


def overloaded(outcome: Outcome) -> list[dict[str, Word]]:
    """By scenario, what is overloaded; sorted by id.

    Parameters
    ----------
    outcome : at once or after the crew has acted, with contactors that ride through or drop out.
    """
    overloads = overloads_of(outcome.before)
    if not overloads.limits:
        return [{} for _ in range(outcome.scenarios.count)]
    drawn = draws(outcome.after)
    found = []
    for k, number in enumerate(drawn.number):
        scenario = outcome.scenarios.at(k)
        words = overloads.of(
            drawn.states[number], scenario.condition, stuck_closed(scenario.faults)
        )
        found.append(dict(sorted(words.items())))
    return found


def stuck_closed(faults: tuple[tuple[str, str], ...]) -> frozenset[str]:
    """What is failed so that it does not open."""
    return frozenset(component for component, mode in faults if mode == "stuck-closed")


def what_is_overloaded_opens(
    outcome: Outcome, then: Then | Sequence[Then] | None = None
) -> Outcome:
    """Answer 3 of scenarios, from an answer in which contactors ride through or drop out.

    Parameters
    ----------
    outcome : that answer at once.
    then : what the crew does, for its stage, in every scenario or by scenario. It starts from
        answer 3 of the failure, and overload is judged once, after what the crew resets.
    """
    opened = open_by_overload(outcome)[0]
    return opened if then is None else open_by_overload(after_the_crew(opened, then))[0]


def open_by_overload(
    outcome: Outcome, record: Recorder | None = None
) -> tuple[Outcome, frozenset[str]]:
    """One stage of answer 3, from the same stage without overload.

    Parameters
    ----------
    outcome : at once, or after the crew has acted on what answer 3 left at once.
    record : notified of every step that follows (`faults.run_stage`), where there is one scenario.

    Returns
    -------
    The outcome, and the devices that overload has opened in it, in any scenario.
    """
    network = outcome.network
    overloads = overloads_of(outcome.before)
    opened: frozenset[str] = frozenset()
    while True:
        opening = _opening(outcome, overloads)
        if not opening:
            return outcome, opened
        opened |= opening.keys()
        steady = outcome.after.steady
        start = steady.positions.copy()
        for device, mask in opening.items():
            start.opened[device] = start.opened.get(device, 0) | mask
        again = run_stage(network, steady.setting, start, outcome.dip, record)
        outcome = replace(outcome, after=replace(outcome.after, steady=again))


def _opening(outcome: Outcome, overloads: Overloads) -> Mapping[str, int]:
    """By device: the scenarios in which it is the next to open."""
    if not overloads.limits:
        return {}
    drawn = draws(outcome.after)
    ratios = [overloads.ratios(amps) for amps in drawn.states]
    opening: dict[str, int] = {}
    for k, number in enumerate(drawn.number):
        if not ratios[number]:
            continue
        scenario = outcome.scenarios.at(k)
        stuck = stuck_closed(scenario.faults)
        normally = overloads.normally[scenario.condition]
        open_to_it = {
            device: ratio
            for device, ratio in ratios[number].items()
            if device not in stuck and normally.get(device) != "must"
        }
        highest = max(open_to_it.values(), default=Fraction())
        for device, ratio in open_to_it.items():
            if ratio >= highest * TOGETHER:
                opening[device] = opening.get(device, 0) | 1 << k
    return opening
