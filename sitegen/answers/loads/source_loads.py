"""How loaded each source, bus and converter is.

Who carries what is in `sharing.py`. Battery charging is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from sitegen.answers.drop import Loss, losses
from sitegen.answers.loads.drawn import Draws, draws_and_peaks
from sitegen.answers.loads.state_amps import NO_AMPS, Amps
from sitegen.quantities import Fraction
from sitegen.solver.outcome import Outcome


@dataclass(frozen=True)
class Load:
    """Amps in one scenario."""

    loss: Loss
    drawn: dict[str, Fraction]
    """By equipment that is powered and has figures: what it draws, A."""
    buses: dict[str, Fraction]
    """By node: what equipment and converters draw from it, A."""
    sources: dict[str, Fraction]
    """By source that produces: what it gives, A."""
    converters: dict[str, Fraction]
    """By converter that produces: what it takes at its input, A; 0 if it is among the unknown."""
    unknown: tuple[str, ...]
    """Powered equipment without figures, and converters whose output feeds their own input, from
    which no figure follows: no total includes them."""
    short_nodes: frozenset[str]
    short_sources: frozenset[str]
    """From these something unknown draws: their amps, and a converter's input, are too low."""
    amps: Amps = field(compare=False, repr=False)
    """What all of it was worked out from; scenarios with the same amps share it."""

    def least_at(self, node: str) -> str:
        """`at least ` before the amps of a node that are too low, else nothing."""
        return "at least " if node in self.short_nodes else ""

    def least_from(self, source: str) -> str:
        """The same for what a source gives, and for a converter's input."""
        return "at least " if source in self.short_sources else ""


def loads(outcome: Outcome, peak: bool = False) -> list[Load]:
    """The amps in every scenario, in the order of the scenarios.

    Parameters
    ----------
    outcome : the solved scenarios; each uses its condition's load column.
    peak : short-time figures where equipment has them, instead of continuous ones.
    """
    return loads_and_peaks(outcome, losses(outcome))[peak]


def loads_and_peaks(outcome: Outcome, answers: Sequence[Loss]) -> tuple[list[Load], list[Load]]:
    """The amps in every scenario, continuous and with short-time figures, as `loads` has them.

    Parameters
    ----------
    outcome : the solved scenarios.
    answers : the losses of the same scenarios.
    """
    continuous, peaks = draws_and_peaks(outcome.after)
    return _loads(continuous, answers), _loads(peaks, answers)


def _loads(drawn: Draws, answers: Sequence[Loss]) -> list[Load]:
    made: dict[int, Load] = {}
    found = []
    for number, loss in zip(drawn.number, answers, strict=True):
        if number not in made:
            made[number] = _load(loss, drawn.states[number])
        found.append(replace(made[number], loss=loss))
    return found


def _load(loss: Loss, amps: Amps) -> Load:
    sharing = amps.net.sharing
    drawn: dict[str, Fraction] = {}
    unknown: list[str] = []
    for item, live in amps.powered.items():
        parts = [part for _, part in amps.net.draws(item, live, amps.figures)]
        known = [part for part in parts if part is not None]
        if amps.figures[item] is None or len(known) < len(parts):
            unknown.append(item)
        else:
            drawn[item] = sum(known, NO_AMPS)
    buses = {node: taken for node, taken in amps.known.items() if taken}
    converters: dict[str, Fraction] = {}
    for converter, inputs in sharing.inputs.items():
        converters[converter] = NO_AMPS
        if converter not in sharing.circular:
            for bus, part in inputs.items():
                taken = part * amps.sources[converter]
                converters[converter] += taken
                buses[bus] = buses.get(bus, NO_AMPS) + taken
    short = {source for source, _ in amps.unknown_flows}
    inputs_of_short = {node for source in short for node in sharing.inputs.get(source, ())}
    return Load(
        loss,
        drawn,
        buses,
        amps.sources,
        converters,
        (*unknown, *sharing.circular),
        short_nodes=amps.unknown_nodes | inputs_of_short,
        short_sources=frozenset(short),
        amps=amps,
    )
