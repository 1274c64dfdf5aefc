"""Rules about handouts: what they print exists, and is printed once."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.checks.context import CheckContext
from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.findings import Finding, advice, error
from sitegen.words import join_words, quoted

FEW = 12
"""Up to this many notes are listed where none is similar."""


def handouts_print_each_once(m: CheckContext) -> Iterator[Finding]:
    """A handout prints no part and no note twice."""
    for i, handout in enumerate(m.catalogue.handout):
        lists = (
            ("sections", handout.sections),
            ("notes", handout.notes or []),
            ("leave-out", handout.leave_out),
        )
        for field, names in lists:
            for j, name in enumerate(names):
                if name in names[:j]:
                    yield error(
                        m.at(("handout", i, field, j)),
                        f"handout {handout.id}: {quoted(name)} is listed twice in `{field}`.",
                        "Delete one of the two.",
                    )


def notes_are_known(m: CheckContext) -> Iterator[Finding]:
    """A note that a handout names is a file beside the catalogue."""
    if m.notes is None:
        return
    for i, handout in enumerate(m.catalogue.handout):
        for j, name in enumerate(handout.notes or ()):
            if name not in m.notes:
                there = join_words([quoted(n) for n in sorted(m.notes)], "or")
                no_match = (
                    f"It can be {there}."
                    if 0 < len(m.notes) <= FEW
                    else f"A note is a file beside the catalogue: notes/{name}.md."
                )
                yield error(
                    m.at(("handout", i, "notes", j)),
                    f"handout {handout.id}: there is no note {quoted(name)}.",
                    did_you_mean(name, m.notes) or no_match,
                )


def what_is_chosen_is_printed(m: CheckContext) -> Iterator[Finding]:
    """Notes and what a blank diagram lacks are chosen where the handout prints them."""
    for i, handout in enumerate(m.catalogue.handout):
        blank = {"blank-diagram", "blank-buses"}.intersection(handout.sections)
        for field, chosen, printed, section in (
            ("notes", bool(handout.notes), "notes" in handout.sections, "notes"),
            ("leave-out", "leave_out" in handout.model_fields_set, bool(blank), "blank-diagram"),
        ):
            if chosen and not printed:
                yield advice(
                    m.key_at(("handout", i, field)),
                    f"handout {handout.id}: `{field}` has no effect without the section"
                    f" {quoted(section)}.",
                    "Add the section, or delete the field.",
                )
