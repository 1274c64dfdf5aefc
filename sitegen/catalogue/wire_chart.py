"""Tables from open standards, read from the project's own data."""

from __future__ import annotations

from dataclasses import dataclass

import yaml

from sitegen.resources import reference

WIRE_PROTECTORS = "wire-protectors.yaml"


@dataclass(frozen=True)
class WireRow:
    """One line of Table 11-3: what may protect a copper wire, A; None where the table has none."""

    gauge: int
    breaker: float | None
    fuse: float | None


def wire_rows() -> tuple[WireRow, ...]:
    """FAA AC 43.13-1B, Table 11-3: what may protect a copper wire of each AN gauge."""
    table = yaml.safe_load(reference(WIRE_PROTECTORS).read_text(encoding="utf-8"))
    return tuple(WireRow(row["gauge"], row["breaker"], row["fuse"]) for row in table["rows"])
