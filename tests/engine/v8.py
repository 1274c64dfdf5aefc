"""The scripts of the live drawing in an embedded V8, without a browser."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from py_mini_racer import MiniRacer

from sitegen.catalogue.model import Then
from sitegen.pages.live_data import live_data
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Scenario

THEME = Path(__file__).parents[2] / "themes" / "workshop"

# Scenarios in words of 32, each word solved at once, as the diagnosis does.
_ASK = """
function ask(scenarios, options, then, word) {
  const found = [];
  for (let k = 0; k < scenarios.length; k += word) {
    let outcome = engine.solve(net, scenarios.slice(k, k + word), options);
    if (then) outcome = engine.afterTheCrew(outcome, then);
    outcome.scenarios.forEach((_, i) => found.push(engine.answer(outcome, i)));
  }
  return JSON.stringify(found);
}
function explain(asked) { return JSON.stringify(because.events(net, asked)); }
"""

SCRIPTS = ("engine.js", "because.js")


class Engine:
    """The engine with one airframe loaded."""

    def __init__(self, network: Network) -> None:
        self.v8 = MiniRacer()
        for name in SCRIPTS:
            self.v8.eval((THEME / name).read_text(encoding="utf-8"))
        self.v8.eval(_ASK)
        self.v8.eval(f"var net = engine.load({json.dumps(live_data(network))});")

    def answers(
        self,
        scenarios: Sequence[Scenario],
        dip: bool = False,
        then: Then | None = None,
        word: int = 32,
    ) -> list[dict[str, Any]]:
        """What it answers to these scenarios, `word` of them at once, by the names of `drop`."""
        asked = [{"condition": s.condition, "failed": s.faults} for s in scenarios]
        crew = None if then is None else then.model_dump()
        arguments = ", ".join(map(json.dumps, (asked, {"dip": dip}, crew, word)))
        found: list[dict[str, Any]] = json.loads(str(self.v8.eval(f"ask({arguments})")))
        return found

    def because(self, scenario: Scenario, dip: bool, then: Then | None) -> list[dict[str, Any]]:
        """How one scenario comes about, by the names of `drop --because`."""
        asked = {
            "condition": scenario.condition,
            "failed": scenario.faults,
            "dip": dip,
            "then": None if then is None else then.model_dump(),
        }
        found: list[dict[str, Any]] = json.loads(str(self.v8.eval(f"explain({json.dumps(asked)})")))
        return found
