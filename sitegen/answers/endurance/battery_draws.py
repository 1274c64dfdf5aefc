"""What one battery gives in each stage of its time, phase by phase, in amps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from sitegen.answers.endurance.battery_load import Flat, Given, Phase
from sitegen.answers.endurance.results import Stage
from sitegen.answers.endurance.stages import NO_TIME, Draw
from sitegen.catalogue.model import BatteryTime
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import Figures


@dataclass(frozen=True)
class BatteryDraws:
    """One battery, with what is needed to turn its shares into amps."""

    battery: str
    asked: BatteryTime
    capacity: Fraction | None
    loads: Figures
    """Figures by equipment in the condition's column, A."""
    landing: Figures
    landing_apart: str
    """The landing's column, where some equipment has figures for its supplies in it; else empty."""
    shed: frozenset[str]
    needed: frozenset[str]
    """What provides a function, and what that requires: nobody is shown what it costs."""
    _known: dict[tuple[Flat, int], tuple[_StageAmps, _StageAmps, _StageAmps]] = field(
        default_factory=dict, compare=False
    )
    """By which batteries are flat, and the act left undone; what is shed plays no part in it."""

    def with_stages_of(self, other: BatteryDraws) -> BatteryDraws:
        """The same in the stages of another battery's time, with the figures of its landing."""
        one = replace(self, asked=other.asked)
        if self.landing is other.landing and self.landing_apart == other.landing_apart:
            return one
        landing, apart = other.landing, other.landing_apart
        return replace(one, landing=landing, landing_apart=apart, _known={})

    def draws(self, phases: Iterable[Phase], undone: int = 0) -> list[Draw]:
        """Its load by phase; `undone` is the number of an act that the crew leaves out."""
        found = []
        for phase in phases:
            at_once, cruise, landing = self._stage_amps(phase, undone)
            found.append(
                Draw(phase.start, at_once.total, cruise.less(self.shed), landing.less(self.shed))
            )
        return found

    def _stage_amps(self, phase: Phase, undone: int) -> tuple[_StageAmps, _StageAmps, _StageAmps]:
        key = phase.flat, undone
        if key not in self._known:
            at_once = phase.at_once.get(self.battery, {})
            crew = phase.crew[undone].get(self.battery, {})
            landing = crew
            if self.landing_apart:
                landing = phase.crew_in(self.landing_apart)[undone].get(self.battery, {})
            self._known[key] = (
                _stage_amps(at_once, self.loads),
                _stage_amps(crew, self.loads),
                _stage_amps(landing, self.landing),
            )
        return self._known[key]

    def left_on(self, phase: Phase) -> dict[str, Fraction]:
        """What it gives each piece of equipment in the shed cruise, as far as it is known, A."""
        amps = self._stage_amps(phase, 0)[1].of_item
        return {item: one for item, one in amps.items() if item not in self.shed}

    def has_load(self, phase: Phase) -> bool:
        """It gives something, or may give what is not known."""
        [draw] = self.draws([phase])
        return any(draw.amps) or bool(self.unknown(phase))

    def unknown(self, phase: Phase) -> set[str]:
        """Equipment that draws from it in any stage, it is not known how much."""
        [draw] = self.draws([phase])
        return {item for stage in self.stages(phase, draw) for item in stage.unknown}

    def stages(self, phase: Phase, draw: Draw) -> tuple[Stage, Stage, Stage]:
        """The three stages with their amps; how long they last is left open."""
        at_once, cruise, landing = self._stage_amps(phase, 0)
        return (
            Stage(draw.recognition, None, None, at_once.unknown),
            Stage(draw.cruise, None, None, _without(cruise.unknown, self.shed)),
            Stage(draw.landing, None, None, _without(landing.unknown, self.shed)),
        )


@dataclass(frozen=True)
class _StageAmps:
    """What a battery gives in one stage with nothing shed."""

    of_item: dict[str, Fraction]
    total: Fraction
    unknown: tuple[str, ...]

    def less(self, items: Iterable[str]) -> Fraction:
        """The total without some equipment, A."""
        return self.total - sum((self.of_item.get(item, NO_TIME) for item in items), NO_TIME)


def _stage_amps(shares: Mapping[str, Given], figures: Figures) -> _StageAmps:
    of_item: dict[str, Fraction] = {}
    unknown = []
    for item, (share, is_all) in shares.items():
        figure = figures.get(item)
        if figure is not None:
            of_item[item] = share * figure
        if figure is None or (figure and not is_all):
            unknown.append(item)
    return _StageAmps(of_item, sum(of_item.values(), NO_TIME), tuple(sorted(unknown)))


def _without(items: Iterable[str], shed: frozenset[str]) -> tuple[str, ...]:
    return tuple(item for item in items if item not in shed)
