"""Tables from open standards, read from the project's own data."""

from __future__ import annotations

import yaml

from sitegen.answers.protection.protection_audit import WireRow
from sitegen.resources import reference

WIRE_PROTECTORS = "wire-protectors.yaml"


def wire_rows() -> tuple[WireRow, ...]:
    """FAA AC 43.13-1B, Table 11-3: what may protect a copper wire of each AN gauge."""
    table = yaml.safe_load(reference(WIRE_PROTECTORS).read_text(encoding="utf-8"))
    return tuple(WireRow(row["gauge"], row["breaker"], row["fuse"]) for row in table["rows"])
