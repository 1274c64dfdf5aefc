"""Rules that need more than one record: one small function a rule, each yields findings.

A new rule is one function and one line in a list below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sitegen.catalogue.checks import answers, equipment, feeding, names, panels, wiring
from sitegen.catalogue.checks.gather import material
from sitegen.catalogue.checks.material import Material
from sitegen.catalogue.findings import Finding
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.places import Places

Rule = Callable[[Material], Iterator[Finding]]

RULES: tuple[Rule, ...] = (
    names.ids_stand_once,
    names.equipment_and_indications_differ,
    names.mentions_are_known,
    names.mentions_are_fitted,
    names.mentions_stand_once,
    names.failure_modes_are_known,
    names.positions_are_known,
    names.names_differ,
    wiring.feeder_joins_two_nodes,
    wiring.feeder_keeps_to_one_current,
    wiring.one_protector_a_supply,
    wiring.no_supply_twice,
    wiring.device_stands_in_one_feeder,
    wiring.switching_devices_have_terms,
    wiring.source_fields_have_effect,
    wiring.sources_are_rated,
    feeding.conditions_list_no_converters,
    panels.places_are_on_their_panel,
    panels.places_hold_one_breaker,
    panels.panel_and_place_go_together,
    panels.breakers_have_a_panel,
    panels.panel_rows_differ,
    equipment.load_tables_are_complete,
    equipment.equipment_has_amps,
    equipment.requirements_do_not_loop,
    answers.independent_pairs_are_providers,
)
"""The rules about what is there; each holds of any part of a catalogue."""

RULES_OF_THE_WHOLE: tuple[Rule, ...] = (
    wiring.converters_have_an_input,
    wiring.no_device_is_idle,
    feeding.every_bus_can_be_fed,
    feeding.every_source_feeds_something,
    feeding.every_bus_has_something_on_it,
    feeding.equipment_is_supplied_everywhere,
    feeding.every_airframe_has_a_condition,
    equipment.conditions_have_a_load_column,
    answers.indications_show_something,
    answers.meters_stand_in_a_feeder,
    answers.loadmeters_have_a_rating,
    answers.functions_have_enough_providers,
    answers.nothing_is_unused,
)
"""The rules about what is missing; they wait until every record can be understood."""


def check(
    catalogue: Catalogue, places: Places, hidden: frozenset[str] | None = frozenset()
) -> Iterator[Finding]:
    """What all rules find.

    Parameters
    ----------
    catalogue : as far as its records could be understood.
    places : where they stand.
    hidden : ids that may exist in records that could not be understood; None when files or
        sections could not be read, so that any may. Empty means that nothing was left out.
    """
    m = material(catalogue, places, hidden)
    rules = RULES if hidden is None or hidden else RULES + RULES_OF_THE_WHOLE
    for rule in rules:
        yield from rule(m)
