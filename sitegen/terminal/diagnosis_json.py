"""Troubleshooting as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sitegen.answers.next_checks import HEALTHY
from sitegen.answers.observations import Observation
from sitegen.answers.three_answers import answer_json
from sitegen.answers.troubleshoot import Diagnosis
from sitegen.solver.network import Network
from sitegen.solver.scenarios import Fault
from sitegen.terminal.diagnosis_text import MOST_LISTED, NOTHING_FAILED, seen_text


def diagnosis_json(network: Network, diagnosis: Diagnosis) -> dict[str, Any]:
    """The object that `troubleshoot --json` prints."""
    return {
        "airframe": network.airframe,
        "condition": diagnosis.condition,
        "seen": [_observation_json(o) for o in diagnosis.observations],
        "not_powered": list(diagnosis.not_powered),
        "nothing_failed_fits": diagnosis.nothing_failed_fits,
        "healthy_at_volts": dict(diagnosis.healthy_volts),
        "first_answer": NOTHING_FAILED if diagnosis.nothing_failed_fits else None,
        "candidates": [
            {
                "failed": faults_json(c),
                **answer_json(diagnosis.answers[i]),
                "at_volts": dict(diagnosis.volts[i]),
                "lost": list(diagnosis.losses[i].lost) if i < len(diagnosis.losses) else None,
                "comes_on": (
                    list(diagnosis.losses[i].comes_on) if i < len(diagnosis.losses) else None
                ),
            }
            for i, c in enumerate(diagnosis.candidates)
        ],
        "next_checks": [
            {
                "look_at": c.subject,
                "source_off": c.source_off,
                "effort": c.effort,
                "leaves": round(c.leaves, 3),
                "answers": {
                    str(answer): [None if i == HEALTHY else i for i in left]
                    for answer, left in c.answers
                },
            }
            for c in diagnosis.next_checks[:MOST_LISTED]
        ],
        "near_misses": [
            {
                "failed": faults_json(n.failed),
                **answer_json(n.answer),
                "against": [_observation_json(o) for o in n.against],
            }
            for n in diagnosis.near_misses
        ],
        "more_near_misses": diagnosis.more_near,
    }


def _observation_json(observation: Observation) -> dict[str, str]:
    return {"of": observation.subject, "seen": seen_text(observation)}


def faults_json(faults: Sequence[Fault]) -> list[dict[str, str]]:
    """Failures as commands print them."""
    return [{"id": component, "mode": mode} for component, mode in faults]
