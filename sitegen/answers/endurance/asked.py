"""What is asked of a battery: how long it must last, and what it is counted with."""

from __future__ import annotations

from sitegen.catalogue.model import BatteryTime, Failure
from sitegen.solver.network import Network


def asked_of(
    network: Network, battery: str, condition: str = "", failure: Failure | None = None
) -> BatteryTime:
    """What is asked of a battery in a condition and a failure, or in any where left out.

    Field by field, the failure's record takes precedence over the condition's, that over the
    battery's, and that over the catalogue's.
    """
    source = network.sources[battery]
    own = BatteryTime() if source.usable is None else BatteryTime(usable=source.usable)
    written = {}
    for record in (
        network.catalogue.battery_time,
        own,
        source.battery_time,
        *(c.own_battery_time for c in network.catalogue.conditions if c.id == condition),
        failure.battery_time if failure else None,
    ):
        if record is not None:
            written.update({name: getattr(record, name) for name in record.model_fields_set})
    return BatteryTime().model_copy(update=written)
