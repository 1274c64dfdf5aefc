"""One airframe's share of a catalogue: only what is fitted to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from sitegen.catalogue.model import Catalogue, Equipment, Fitted, Indication
from sitegen.catalogue.protector_ids import own_protectors

F = TypeVar("F", bound=Fitted)


def is_fitted(record: Fitted, airframe: str) -> bool:
    """Whether a record is fitted to the airframe with this id."""
    return record.fitted_to is None or airframe in record.fitted_to


def on_airframe(catalogue: Catalogue, airframe: str) -> Catalogue:
    """The catalogue as fitted to one airframe.

    Parameters
    ----------
    catalogue : a checked Catalogue of the whole fleet.
    airframe : the id of one of its airframes.

    Returns
    -------
    A Catalogue whose sections hold only what is fitted there, in the author's order.

    Notes
    -----
    Wiring must be fitted as a whole (a feeder to a bus that is not there is an error that
    `inspect` reports). What merely lists things (the sources and switches of a condition, the
    crew's actions, the providers of a function, the conditions of a handout) is written once for
    the fleet, so names that are not fitted here are left out of it.
    """

    def keep(records: Iterable[F]) -> list[F]:
        return [record for record in records if is_fitted(record, airframe)]

    def with_supplies(record: Equipment | Indication) -> Equipment | Indication:
        # Untouched records keep their identity, and with it their place in the files.
        fitted = keep(record.supplies)
        if len(fitted) == len(record.supplies):
            return record
        return record.model_copy(update={"supplies": fitted})

    sources, buses = keep(catalogue.sources), keep(catalogue.buses)
    devices, switches = keep(catalogue.devices), keep(catalogue.switches)
    equipment = [with_supplies(e) for e in keep(catalogue.equipment)]
    source_ids = {s.id for s in sources}
    device_ids = {d.id for d in devices}
    switch_ids = {s.id for s in switches}
    equipment_ids = {e.id for e in equipment}
    indications = [with_supplies(i) for i in keep(catalogue.indications)]
    supplies_here = {id(s) for owner in (*equipment, *indications) for s in owner.supplies}
    protectors = [(id(supply), made) for supply, _, _, made in own_protectors(catalogue)]
    can_be_pulled = device_ids | {made for supply, made in protectors if supply in supplies_here}

    def here(ids: Sequence[str], known: set[str]) -> list[str]:
        return [i for i in ids if i in known]

    def switches_here(settings: dict[str, str]) -> dict[str, str]:
        return {s: position for s, position in settings.items() if s in switch_ids}

    conditions = [
        c.model_copy(
            update={
                "sources": here(c.sources, source_ids),
                "switches": switches_here(c.switches),
                "held_closed": here(c.held_closed, device_ids),
                "pulled": here(c.pulled, can_be_pulled),
            }
        )
        for c in keep(catalogue.conditions)
    ]
    failures = [
        f
        if f.then is None
        else f.model_copy(
            update={
                "then": f.then.model_copy(
                    update={
                        "switches": switches_here(f.then.switches),
                        "shed": here(f.then.shed, equipment_ids),
                        "pulled": here(f.then.pulled, can_be_pulled),
                    }
                )
            }
        )
        for f in keep(catalogue.failures)
    ]
    functions = [
        f.model_copy(
            update={
                "provided_by": here(f.provided_by, equipment_ids),
                "independent": [p for p in f.independent if set(p) <= equipment_ids],
            }
        )
        for f in keep(catalogue.functions)
    ]
    condition_ids = {c.id for c in conditions}
    handouts = [
        h.model_copy(update={"conditions": here(h.conditions, condition_ids)})
        for h in keep(catalogue.handout)
    ]
    return catalogue.model_copy(
        update={
            "sources": sources,
            "buses": buses,
            "devices": devices,
            "feeders": keep(catalogue.feeders),
            "equipment": equipment,
            "switches": switches,
            "panels": keep(catalogue.panels),
            "conditions": conditions,
            "failures": failures,
            "indications": indications,
            "functions": functions,
            "handout": handouts,
        }
    )
