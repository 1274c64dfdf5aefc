"""Rules that need more than one record: one small function a rule, each yields findings.

A new rule is one function and one line in a list below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice

from sitegen.catalogue.checks import (
    abbreviations,
    accepted_advice,
    battery_ranges,
    devices_used_twice,
    effects,
    feeding,
    figures,
    handouts,
    ids,
    indications_and_functions,
    links_in_texts,
    loads_and_requirements,
    panel_layout,
    wiring,
)
from sitegen.catalogue.checks.build_context import check_context
from sitegen.catalogue.checks.context import CheckContext
from sitegen.catalogue.checks.unread_records import UnreadRecords
from sitegen.catalogue.findings import Finding, error
from sitegen.catalogue.model import Catalogue
from sitegen.catalogue.record_locations import RecordLocations

Rule = Callable[[CheckContext], Iterator[Finding]]


def rule_code(rule: Rule) -> str:
    """The code by which messages and `accepted` name a rule: `every-bus-can-be-fed`."""
    return rule.__name__.replace("_", "-")


RULES: tuple[Rule, ...] = (
    ids.ids_are_unique,
    ids.equipment_and_indications_differ,
    ids.mentions_are_known,
    ids.mentions_are_fitted,
    ids.lists_name_each_once,
    ids.failure_modes_are_known,
    ids.positions_are_known,
    ids.names_differ,
    ids.airframes_can_name_a_folder,
    ids.serials_are_on_one_airframe,
    wiring.feeder_joins_two_nodes,
    wiring.feeder_keeps_to_one_current,
    wiring.feeders_are_unique,
    wiring.lengths_have_a_gauge,
    wiring.one_protector_a_supply,
    wiring.supplies_are_unique,
    devices_used_twice.no_device_is_used_twice,
    wiring.switching_devices_have_terms,
    effects.fields_have_effect,
    effects.texts_say_something,
    wiring.sources_are_rated,
    feeding.conditions_list_no_converters,
    panel_layout.positions_are_on_their_panel,
    panel_layout.positions_hold_one_breaker,
    panel_layout.placards_differ,
    panel_layout.panel_and_position_go_together,
    panel_layout.breakers_have_a_panel,
    panel_layout.panel_rows_differ,
    loads_and_requirements.load_tables_are_complete,
    loads_and_requirements.equipment_has_amps,
    loads_and_requirements.requirements_do_not_loop,
    indications_and_functions.independent_pairs_are_providers,
    figures.figures_are_sensible,
    figures.ranges_run_upwards,
    handouts.handouts_print_each_once,
    handouts.notes_are_known,
    handouts.what_is_chosen_is_printed,
    abbreviations.abbreviations_are_single_words,
    abbreviations.abbreviations_are_unique,
    links_in_texts.texts_are_not_nested_too_deeply,
    accepted_advice.accepted_rules_exist,
)
"""The rules about what is there; each holds of any part of a catalogue."""

RULES_OF_THE_WHOLE: tuple[Rule, ...] = (
    wiring.converters_have_an_input,
    effects.thresholds_can_be_passed,
    battery_ranges.sensed_batteries_have_a_range,
    effects.resets_have_effect,
    devices_used_twice.no_device_is_unused,
    feeding.every_bus_can_be_fed,
    feeding.every_source_feeds_something,
    feeding.every_bus_has_something_on_it,
    feeding.equipment_is_supplied_everywhere,
    feeding.every_airframe_has_a_condition,
    effects.conditions_set_every_switch,
    loads_and_requirements.conditions_have_a_load_column,
    loads_and_requirements.what_draws_by_volts_has_load_volts,
    indications_and_functions.indications_show_something,
    indications_and_functions.meters_read_a_feeder,
    indications_and_functions.loadmeters_have_a_rating,
    indications_and_functions.functions_have_enough_providers,
    indications_and_functions.groups_have_enough_members,
    indications_and_functions.nothing_is_unused,
    abbreviations.abbreviations_are_used,
    links_in_texts.links_lead_somewhere,
)
"""The rules about what is missing; they wait until every record can be understood."""


MOST_AIRFRAMES = 50
MOST_LOAD_COLUMNS = 50
MOST_FINDINGS = 1_000
"""How many findings of one rule are reported."""


def check(
    catalogue: Catalogue,
    locations: RecordLocations,
    unread: UnreadRecords | None = None,
    notes: Sequence[str] | None = None,
    texts: Mapping[str, str] | None = None,
) -> Iterator[Finding]:
    """What all rules find.

    Parameters
    ----------
    catalogue : as far as its records could be understood.
    locations : where they are.
    unread : what may exist in what could not be understood; left out: nothing was left out.
    notes : the longer texts beside the catalogue; left out: they are not known.
    texts : by file, what is in it.
    """
    too_many = list(_too_many(catalogue, locations))
    if too_many:
        yield from too_many  # and what each rule would cost is anybody's guess
        return
    m = check_context(catalogue, locations, unread or UnreadRecords(), notes, texts)
    for rule in RULES + RULES_OF_THE_WHOLE if unread is None else RULES:
        findings = (replace(f, rule=rule_code(rule)) for f in rule(m))
        last = None
        for last in islice(findings, MOST_FINDINGS):
            yield last
        if last and next(findings, None):
            yield replace(
                last, message="There are more problems of this kind from here on.", hint=""
            )


def _too_many(catalogue: Catalogue, locations: RecordLocations) -> Iterator[Finding]:
    for section, count, most in (
        ("airframes", len(catalogue.airframes), MOST_AIRFRAMES),
        ("load-columns", len(catalogue.load_columns), MOST_LOAD_COLUMNS),
    ):
        if count > most:
            yield error(
                locations.at(section, most),
                f"There are {count} {section.replace('-', ' ')}; {most} at most are read.",
                "Split the catalogue into several.",
            )
