"""What every single failure shows, as plain text and JSON: `troubleshoot` without observations."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from sitegen.answers.readings import Reading, reading_text
from sitegen.answers.signatures import FaultsByAnswer, Signatures
from sitegen.solver.network import Network
from sitegen.terminal.diagnosis_json import faults_json
from sitegen.terminal.shared_text import CAUTION, heading, single_failure_text


def signatures_text(network: Network, signatures: Signatures) -> Iterator[str]:
    """What each single failure shows, line by line."""
    names = network.names
    kinds = {i.id: i.kind for i in network.catalogue.indications}
    yield heading(network, signatures.condition)
    yield "What each single failure shows; failures with the same readings together\n"
    for signature in signatures.shown:
        readings = dict(signature.readings)
        yield "; ".join(
            f"{names[i]} {reading_text(readings[i], kinds[i])}" for i in signature.changed
        )
        yield from _each(network, signature.faults)
    unseen = "something is lost, reduced, overloaded, comes on or changes state"
    yield f"\nNo indication shows these, but {unseen}"
    yield from _each(network, signatures.unseen)
    yield f"\n{len(signatures.harmless)} more take nothing and show nowhere in this condition."
    yield f"\n{CAUTION}"


def _each(network: Network, failed: FaultsByAnswer) -> Iterator[str]:
    """The failures of every answer, a line each."""
    for answer, faults in failed.items():
        for fault in faults:
            yield f"    {single_failure_text(network, fault, answer)}"


def signatures_json(network: Network, signatures: Signatures) -> dict[str, Any]:
    """The table of failures and indications as an object."""
    return {
        "airframe": network.airframe,
        "condition": signatures.condition,
        "normal": _readings_json(signatures.normal.items()),
        "shown": [
            {
                "readings": _readings_json(signature.readings),
                **_by_answer_json("failed", signature.faults),
            }
            for signature in signatures.shown
        ],
        **_by_answer_json("unseen", signatures.unseen),
        "harmless": faults_json(signatures.harmless),
    }


def _by_answer_json(key: str, failed: FaultsByAnswer) -> dict[str, Any]:
    return {
        key: faults_json(failed["expected"]),
        f"{key}_if_contactors_drop_out": faults_json(failed["drop-out"]),
        f"{key}_if_overload_opens": faults_json(failed["overload"]),
    }


def _readings_json(readings: Iterable[tuple[str, Reading]]) -> dict[str, str]:
    return {indication: str(shown) for indication, shown in readings}
