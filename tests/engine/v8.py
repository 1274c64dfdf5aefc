"""The scripts of the live drawing in an embedded V8, without a browser."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any
from weakref import finalize

from py_mini_racer import MiniRacer

from sitegen.answers.cut_sets import LARGEST_SET
from sitegen.answers.named_failures import named_failures
from sitegen.answers.single_failures import single_failures
from sitegen.catalogue.kinds import KINDS
from sitegen.catalogue.model import BatteryTime, Then
from sitegen.pages.live_data import live_data
from sitegen.pages.theme import theme_text
from sitegen.solver.network import Network
from sitegen.solver.outcome import condition_states
from sitegen.solver.scenarios import Fault, Scenario

THEME = Path(__file__).parents[2] / "themes" / "workshop"

# Scenarios in words of 32, each word solved at once, as the diagnosis does.
ASK = """
function ask(scenarios, options, then, word) {
  const found = [];
  for (let k = 0; k < scenarios.length; k += word) {
    let outcome = engine.solve(net, scenarios.slice(k, k + word), options);
    if (then) outcome = engine.afterTheCrew(outcome, then);
    outcome.scenarios.forEach((_, i) => found.push(engine.answer(outcome, i)));
  }
  return JSON.stringify(found);
}
function statesOf(scenario, options) {
  return JSON.stringify(drawing.states(engine.solve(net, [scenario], options)));
}
function wordsOf(states) { return JSON.stringify(drawing.outline(live, states)); }
function changeOf(was, now, failed) {
  return JSON.stringify(drawing.change(live, was, now, failed));
}
function explain(asked) {
  const overload = asked.overload ? figures.openByOverload : null;
  const found = because.events(net, asked, overload);
  return JSON.stringify([found, because.causesFirst(found)]);
}
function measure(scenarios, then, batteryTime, word, dip) {
  const found = [];
  for (let k = 0; k < scenarios.length; k += word) {
    const atOnce = engine.solve(net, scenarios.slice(k, k + word), { dip });
    const outcome = then ? engine.afterTheCrew(atOnce, then) : atOnce;
    outcome.scenarios.forEach((_, i) => found.push(measured(outcome, i, batteryTime)));
  }
  return JSON.stringify(found, (key, value) =>
    value instanceof figures.Fraction ? String(value) : value);
}
function measured(outcome, k, batteryTime) {
  const opened = figures.whatIsOverloadedOpens(outcome, k);
  return {
    amps: figures.amps(outcome, k),
    peaks: Object.fromEntries(figures.peaks(outcome, k)),
    bounds: figures.bounds(outcome, k),
    overloaded: figures.overloaded(outcome, k),
    overRating: figures.overRating(outcome, k),
    readings: figures.readings(outcome, k),
    endurance: figures.endurance(outcome, k, batteryTime),
    overload: opened && {
      ...engine.answer(opened),
      readings: figures.readings(opened), overRating: figures.overRating(opened),
      endurance: figures.endurance(opened, 0, batteryTime),
    },
  };
}
"""
_DIAGNOSE = """
const asCause = (one) => [one.failed, one.reading, one.against.map(({ subject }) => subject)];
function diagnose(asked) {
  const search = diagnosis.begin(net, { ...asked, failures: net.data.failures });
  while (!search.done) search.work(1000);
  return JSON.stringify({
    order: search.largest, fits: search.fits,
    candidates: search.candidates.map(({ failed, reading, volts }) => [failed, reading, volts]),
    checks: search.checks().map(({ left, ...check }) => ({
      ...check, answers: check.answers.map(([answer, causes]) => [answer, causes.map(asCause)]),
    })),
    near: search.nearMisses().map(asCause), moreNear: search.moreNear,
    likely: search.likely().map(asCause),
    groups: search.groups().map(([isNamed, causes]) => [isNamed, causes.map(asCause)]),
  });
}
"""

SCRIPTS = (
    *("engine.js", "because.js", "paths.js", "figures.js", "endurance.js", "drawing.js"),
    *("possible-amps.js", "diagnosis.js", "headline.js", "sentences.js", "which-fits.js"),
)


_NUMBERS = count()


@cache
def _racer() -> MiniRacer:
    """One V8 for all airframes of a process: each takes memory, and reads the scripts anew."""
    racer = MiniRacer()
    for name in SCRIPTS:
        racer.eval(theme_text(name))
    racer.eval(ASK + _DIAGNOSE + "var nets = {}, lives = {}, net, live;")
    return racer


def _forget(number: int) -> None:
    _racer().eval(f"delete nets[{number}]; delete lives[{number}]; net = live = null;")


class Engine:
    """The engine with one airframe loaded."""

    def __init__(self, network: Network) -> None:
        self.number = next(_NUMBERS)
        conducting = {k.id: k.conducting for k in KINDS.values() if k.role == "device"}
        before = condition_states(network)
        wiring = live_data(
            network, single_failures(network, before), named_failures(network, before)
        )
        written = json.dumps({"wiring": wiring, "conducting": conducting})
        _racer().eval(
            f"lives[{self.number}] = {written};"
            f" nets[{self.number}] = engine.load(lives[{self.number}].wiring);"
        )
        finalize(self, _forget, self.number)

    @property
    def v8(self) -> MiniRacer:
        """The V8, in which `net` and `live` are this airframe's."""
        _racer().eval(f"net = nets[{self.number}]; live = lives[{self.number}];")
        return _racer()

    def call(self, name: str, *arguments: Any) -> Any:
        """What one of the functions above answers, as JSON."""
        return json.loads(str(self.v8.eval(f"{name}({', '.join(map(json.dumps, arguments))})")))

    @staticmethod
    def asked(scenarios: Sequence[Scenario]) -> list[dict[str, Any]]:
        """Scenarios as the engine takes them."""
        return [{"condition": s.condition, "failed": s.faults} for s in scenarios]

    def answers(
        self,
        scenarios: Sequence[Scenario],
        dip: bool = False,
        then: Then | None = None,
        word: int = 32,
    ) -> list[dict[str, Any]]:
        """What it answers to these scenarios, `word` of them at once, by the names of `drop`."""
        found: list[dict[str, Any]] = self.call(
            "ask", self.asked(scenarios), {"dip": dip}, _crew(then), word
        )
        return found

    def figures(
        self,
        scenarios: Sequence[Scenario],
        then: Then | None,
        battery_time: BatteryTime | None,
        word: int,
        dip: bool = False,
    ) -> list[dict[str, Any]]:
        """Everything with a figure in these scenarios; fractions are `n/d`."""
        asked_of_battery = battery_time.model_dump(exclude_unset=True) if battery_time else {}
        found: list[dict[str, Any]] = self.call(
            "measure", self.asked(scenarios), _crew(then), asked_of_battery, word, dip
        )
        return found

    def because(
        self, scenario: Scenario, dip: bool, then: Then | None, overload: bool = False
    ) -> list[list[dict[str, Any]]]:
        """How one scenario comes about, by the names of `drop --because`; then causes first."""
        [asked] = self.asked([scenario])
        found: list[list[dict[str, Any]]] = self.call(
            "explain", {**asked, "dip": dip, "overload": overload, "then": _crew(then)}
        )
        return found

    def drawn(self, condition: str, faults: Sequence[Fault] = ()) -> list[str]:
        """The states of the parts of the drawing, as `drawing_states.states` has them."""
        found: list[str] = self.call("statesOf", {"condition": condition, "failed": faults}, {})
        return found

    def outline(self, condition: str, faults: Sequence[Fault] = ()) -> list[dict[str, Any]]:
        """The drawing in words."""
        found: list[dict[str, Any]] = self.call("wordsOf", self.drawn(condition, faults))
        return found

    def change(
        self, was: Sequence[str] | None, now: Sequence[str], failed: Sequence[str] = ()
    ) -> str:
        """What is different between two states of the drawing, in words."""
        return str(self.call("changeOf", was, now, failed))

    def diagnose(
        self, condition: str, observations: Sequence[dict[str, Any]], order: int = LARGEST_SET
    ) -> dict[str, Any]:
        """What may have failed, up to `order` failures at a time, by the names of the script."""
        asked = {"condition": condition, "observations": observations, "order": order}
        found: dict[str, Any] = self.call("diagnose", asked)
        return found


def _crew(then: Then | None) -> dict[str, Any] | None:
    return None if then is None else then.model_dump()
