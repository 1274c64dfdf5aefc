"""A rule about the advice that an author has accepted."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.catalogue.checks.context import CheckContext
from sitegen.catalogue.did_you_mean import did_you_mean
from sitegen.catalogue.findings import Finding, error
from sitegen.words import quoted


def accepted_rules_exist(m: CheckContext) -> Iterator[Finding]:
    """What is accepted names a rule by its code."""
    from sitegen.catalogue.rule_codes import rule_codes  # it lists this rule too

    codes = rule_codes() if m.catalogue.accepted else {}
    for i, accepted in enumerate(m.catalogue.accepted):
        if accepted.rule not in codes:
            yield error(
                m.at(("accepted", i, "rule")),
                f"accepted advice number {i + 1}: there is no rule {quoted(accepted.rule)}.",
                did_you_mean(accepted.rule, codes)
                or "Copy the code from the end of the advice, without its brackets.",
            )
