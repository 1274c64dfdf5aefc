"""The codes of all that `inspect` may say, each with what it asks for.

A rule about records (`catalogue/checks/`) has the code and the sentence of its function. The others
are listed here.
"""

from __future__ import annotations

from sitegen.catalogue.checks import RULES, RULES_OF_THE_WHOLE, rule_code

OTHER_RULES = {
    "file": "Every file of the catalogue can be read.",
    "yaml-syntax": "A file is YAML: brackets, quotes and indentation are closed and even.",
    "yaml-value": "A value is read as it looks: no octal number, no `on` that means true.",
    "section": "A file consists of the catalogue's sections, each where it belongs.",
    "field-missing": "A record has every field that it needs.",
    "field-unknown": "A record has no field that its kind does not know.",
    "field-value": "A field's value is of the right kind.",
    "note": "A note can have a page: its file's name, its title, its characters.",
    "too-many": "A catalogue is of a size that an aircraft may have.",
    "not-looked-up": "Names are looked up only where every file can be read.",
    "chatter": "No contactor closes and opens for ever with nothing failed.",
    "source-on-line-feeds-nothing": "A source that is on line feeds a bus, or waits for a failure.",
    "held-in-from-rest": "No device is closed by its own contact alone with nothing failed.",
    "accepted-unused": "What is accepted is advice that `inspect` gives.",
    "protection-generator": "A generator that no meter watches gives at most 80 % of its rating.",
    "protection-rating": "With nothing failed nothing carries more than its rating.",
    "protection-wire": "A breaker or fuse is not too large for its wire.",
    "protection-load": "A breaker or fuse is rated for what it feeds.",
    "protection-order": "A breaker is smaller than the one upstream.",
    "protection-side": "Each feeder of a bus can carry the bus alone.",
    "protection-short": "A protective device is between a short and each source.",
    "protection-conflict": "AC sources that meet on a bus are synchronised.",
    "protection-loop": "No converter feeds its own input.",
    "protection-voltage-drop": "A conductor drops no more volts than is allowed.",
    "protection-min-volts": "Equipment has the volts that it needs.",
    "protection-volts-range": "A voltmeter under load is within its source's `volts-range`.",
}
"""By code: what it asks for. A code never changes its meaning, since catalogues name it."""


def rule_codes() -> dict[str, str]:
    """By code: what the rule asks for, in one sentence."""
    of_records = {
        rule_code(rule): (rule.__doc__ or "").partition("\n")[0]
        for rule in (*RULES, *RULES_OF_THE_WHOLE)
    }
    return {**OTHER_RULES, **of_records}


def rule_table() -> str:
    """The codes as a table in Markdown."""
    rows = [f"| `{code}` | {sentence} |" for code, sentence in sorted(rule_codes().items())]
    return "\n".join(["| code | what it asks for |", "| --- | --- |", *rows])
