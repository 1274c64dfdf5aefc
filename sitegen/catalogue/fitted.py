"""One airframe's share of a catalogue: only what is fitted to it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import TypeVar

from sitegen.catalogue.model import Catalogue, Equipment, Fitted, Group, Indication, Record, Then
from sitegen.catalogue.protector_ids import own_protectors

F = TypeVar("F", bound=Fitted)
R = TypeVar("R", bound=Record)


def is_fitted(record: Fitted, airframe: str) -> bool:
    """Whether a record is fitted to the airframe with this id."""
    return record.fitted_to is None or airframe in record.fitted_to


def providers_here(
    providers: Sequence[str | Group], equipment: Collection[str]
) -> list[str | Group]:
    """A function's providers with what is fitted; a group that needs what is not can't provide."""
    found: list[str | Group] = []
    for provider in providers:
        if not isinstance(provider, Group):
            if provider in equipment:
                found.append(provider)
        elif provider.any is not None:
            some = providers_here(provider.any, equipment)
            if some:
                found.append(provider.model_copy(update={"any": some}))
        else:
            every = providers_here(provider.all or [], equipment)
            if len(every) == len(provider.all or []):
                found.append(provider.model_copy(update={"all": every}))
    return found


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

    def changed(record: R, **fields: object) -> R:
        return record.model_copy(update=fields)

    def with_supplies(owner: Equipment | Indication) -> Equipment | Indication:
        # Untouched records keep their identity, and with it their place in the files.
        supplies = keep(owner.supplies)
        return owner if len(supplies) == len(owner.supplies) else changed(owner, supplies=supplies)

    sections = {
        name: keep(records)
        for name, records in ((name, getattr(catalogue, name)) for name in Catalogue.model_fields)
        if isinstance(records, list) and all(isinstance(r, Fitted) for r in records)
    }
    fitted = catalogue.model_copy(update=sections)
    equipment = [with_supplies(e) for e in fitted.equipment]
    indications = [with_supplies(i) for i in fitted.indications]
    source_ids = {s.id for s in fitted.sources}
    device_ids = {d.id for d in fitted.devices}
    switch_ids = {s.id for s in fitted.switches}
    equipment_ids = {e.id for e in equipment}
    condition_ids = {c.id for c in fitted.conditions}
    supplies_here = {id(s) for owner in (*equipment, *indications) for s in owner.supplies}
    protectors = [(id(supply), made) for supply, _, _, made in own_protectors(catalogue)]
    can_be_pulled = device_ids | {made for supply, made in protectors if supply in supplies_here}

    def here(ids: Sequence[str], known: set[str]) -> list[str]:
        return [i for i in ids if i in known]

    def switches_here(settings: dict[str, str]) -> dict[str, str]:
        return {s: position for s, position in settings.items() if s in switch_ids}

    def crew_acts(then: Then) -> Then:
        return changed(
            then,
            switches=switches_here(then.switches),
            shed=here(then.shed, equipment_ids),
            pulled=here(then.pulled, can_be_pulled),
            reset=here(then.reset, can_be_pulled | source_ids),
        )

    return changed(
        fitted,
        equipment=equipment,
        indications=indications,
        conditions=[
            changed(
                c,
                sources=here(c.sources, source_ids),
                switches=switches_here(c.switches),
                held_closed=here(c.held_closed, device_ids),
                pulled=here(c.pulled, can_be_pulled),
            )
            for c in fitted.conditions
        ],
        failures=[
            changed(
                f,
                then=crew_acts(f.then) if f.then else None,
                then_in={c: crew_acts(then) for c, then in f.then_in.items()},
            )
            if f.then or f.then_in
            else f
            for f in fitted.failures
        ],
        functions=[
            changed(
                f,
                provided_by=providers_here(f.provided_by, equipment_ids),
                independent=[p for p in f.independent if set(p) <= equipment_ids],
            )
            for f in fitted.functions
        ],
        handout=[changed(h, conditions=here(h.conditions, condition_ids)) for h in fitted.handout],
    )
