"""The figures of the browser and the package's, as exact fractions, field by field."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from sitegen.answers.drop import Loss, losses, with_overload
from sitegen.answers.endurance.battery_endurance import battery_endurances
from sitegen.answers.endurance.results import Endurance, Stage
from sitegen.answers.loads.current_bounds import current_bounds
from sitegen.answers.loads.source_loads import Load, load_pairs
from sitegen.answers.over_rating import OverRating
from sitegen.answers.readings import Reading
from sitegen.catalogue.model import BatteryTime, Failure, Then
from sitegen.quantities import Fraction
from sitegen.solver.load_figures import millivolts
from sitegen.solver.network import Network
from sitegen.solver.outcome import after_the_crew, solve
from sitegen.solver.scenarios import Scenario, scenarios_of
from tests.engine.comparison import Comparison


def same_figures(
    compared: Comparison,
    scenarios: Sequence[Scenario],
    then: Then | None = None,
    battery_time: BatteryTime | None = None,
    word: int = 1,
    dip: bool = False,
) -> None:
    """That both have the same figures in these scenarios.

    Parameters
    ----------
    compared : the airframe; counts what has been compared.
    scenarios : what fails.
    then, battery_time : of a named failure, what the crew does and what is asked of the batteries.
    word : this many scenarios are solved at once.
    dip : contactors drop out.
    """
    network = compared.network
    at_once = solve(network, scenarios_of(scenarios), dip=dip)
    outcome = at_once if then is None else after_the_crew(at_once, then)
    answers = with_overload(losses(outcome), outcome, at_once, then)
    measured = compared.engine.figures(scenarios, then, battery_time, word, dip)
    failure = Failure(id="x", name="x", failed=["x"]).model_copy(
        update={"then": then, "battery_time": battery_time}
    )
    for scenario, loss, (load, peak), found in zip(
        scenarios, answers, load_pairs(outcome), measured, strict=True
    ):
        asked = (network, scenario.condition, scenario.faults, failure, outcome.before, dip)
        lasting = battery_endurances(*asked)
        bounds = current_bounds(network, load.amps)
        expected: dict[str, Any] = {
            "amps": _amps(network, load),
            "peaks": {source: str(amps) for source, amps in peak.sources.items()},
            "bounds": {
                d: {"least": str(b.least), "most": str(b.most), "unknown": b.unknown}
                for d, b in bounds.items()
            },
            "overloaded": loss.overloaded,
            "overRating": _over_rating(loss.over_rating),
            "readings": _readings(loss),
            # What takes over when something opens the browser has in answer 3 alone.
            "endurance": [_endurance(network, one) for one in lasting if not one.takes_over],
            "overload": None,
        }
        if loss.overload is not None:
            expected["overload"] = {
                **compared.expected(loss.overload),
                "readings": _readings(loss.overload),
                "overRating": _over_rating(loss.overload.over_rating),
                "endurance": [
                    _endurance(network, one) for one in battery_endurances(*asked, overload=True)
                ],
            }
            found["overload"] = {key: found["overload"][key] for key in expected["overload"]}
        for key, value in expected.items():
            value = json.loads(json.dumps(value))
            assert found[key] == value, (key, network.airframe, scenario, then)
        compared.counts.update(
            {
                "figures": 1,
                "overloaded": bool(loss.overloaded),
                "over rating": bool(loss.over_rating),
                "overload answers": loss.overload is not None,
                "amps not known": bool(load.unknown),
                "several paths": any(b.least != b.most for b in bounds.values()),
                "bands": any(r.band for r in loss.readings.values()),
                "batteries": len(lasting),
                "batteries with a time": sum(e.total is not None for e in lasting),
                "one flat before": sum(bool(e.flat_before) for e in lasting),
                "a range of minutes": sum(e.up_to is not None for e in lasting),
                "equally charged": sum(bool(e.equally_charged) for e in lasting),
                "still closed": sum(bool(e.still_closed) for e in lasting),
                "may open": sum(bool(e.may_open) for e in lasting),
                "minutes if it opens": sum(bool(e.if_it_opens) for e in lasting),
                "opens when flat": sum(bool(e.opens_when_flat) for e in lasting),
                "opens in the landing": sum(bool(e.opens_in_landing) for e in lasting),
                "moves at low volts": sum(bool(e.moves_at_low_volts) for e in lasting),
                "lost at low volts": sum(bool(e.lost_at_low_volts) for e in lasting),
            }
        )


def _amps(network: Network, load: Load) -> dict[str, Any]:
    circular = {*load.amps.net.sharing.circular}

    def percent(source: str) -> str | None:
        rated = network.sources[source].amps
        return None if rated is None else str(100 * load.sources[source] / Fraction(repr(rated)))

    return {
        "sources": {
            s: {"amps": str(a), "percent": percent(s), "atLeast": s in load.short_sources}
            for s, a in load.sources.items()
        },
        "converters": {
            s: {"amps": str(a), "atLeast": s in load.short_sources or s in circular}
            for s, a in load.converters.items()
        },
        "nodes": {
            n: {"amps": str(load.buses.get(n, Fraction())), "atLeast": n in load.short_nodes}
            for n in load.buses.keys() | load.short_nodes
        },
        "drawn": {item: str(a) for item, a in load.drawn.items()},
        "unknown": sorted(load.unknown),
    }


def _over_rating(found: dict[str, OverRating]) -> dict[str, Any]:
    return {
        i: {"percent": str(o.percent), "bound": o.bound.strip(), "allowedFor": o.allowed_for}
        for i, o in found.items()
    }


def _readings(loss: Loss) -> dict[str, Any]:
    return {i: _reading(reading) for i, reading in loss.readings.items()}


def _reading(reading: Reading) -> dict[str, Any]:
    band = None if reading.band is None else list(reading.band)
    return {
        "kind": reading.kind,
        "number": reading.number,
        "unit": reading.unit,
        "direction": reading.direction,
        "band": band,
    }


def _endurance(network: Network, endurance: Endurance) -> dict[str, Any]:
    return {
        "battery": endurance.battery,
        "capacity": _exact(endurance.capacity),
        "required": _exact(Fraction(repr(endurance.asked.required_minutes))),
        "acting": _exact(Fraction(repr(endurance.asked.recognition_minutes))),
        "recognition": _stage(endurance.recognition),
        "cruise": _stage(endurance.cruise),
        "landing": _stage(endurance.landing),
        "total": _exact(endurance.total),
        "upTo": _exact(endurance.up_to),
        "atVolts": endurance.at_volts and millivolts(endurance.at_volts) / 1000,
        "reaches": endurance.reaches,
        "verdict": endurance.verdict,
        "flatBefore": [
            {"battery": f.battery, "minute": str(f.minute), "amps": str(f.amps)}
            for f in endurance.flat_before
        ],
        "allFlatBefore": list(endurance.all_flat_before),
        "flatAt": list(map(str, endurance.flat_at)),
        "unknown": list(endurance.unknown),
        "equallyCharged": list(endurance.equally_charged),
        "stillClosed": list(endurance.still_closed),
        "mayOpen": list(endurance.may_open),
        "movesAtLowVolts": list(map(list, endurance.moves_at_low_volts)),
        "movesAtHighVolts": list(map(list, endurance.moves_at_high_volts)),
        "opensWhenFlat": list(map(list, endurance.opens_when_flat)),
        "opensInLanding": list(endurance.opens_in_landing),
        "mayOpenInLanding": list(endurance.may_open_in_landing),
        "overRatingLater": [
            [flat, str(given.amps)]
            for flat, given in endurance.over_rating_later(network.sources[endurance.battery].amps)
        ],
        "lostAtLowVolts": list(endurance.lost_at_low_volts),
    }


def _stage(stage: Stage) -> dict[str, Any]:
    return {
        "amps": str(stage.amps),
        "minutes": _exact(stage.minutes),
        "used": _exact(stage.used),
        "unknown": list(stage.unknown),
    }


def _exact(figure: Fraction | None) -> str | None:
    return None if figure is None else str(figure)
