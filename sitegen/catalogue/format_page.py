"""The format field by field, as Markdown: `docs/format.md` is this text."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from sitegen.catalogue import model
from sitegen.catalogue.json_schema import Schema, json_schema
from sitegen.words import join_words

COMMON = "Fields of most records"
COMMON_FIELDS = ("id", "name", "fitted-to", "note", "reference", "checked")
APOSTROPHE = "'"
LONGEST_TEXT = 2_000
"""What may be longer is Markdown."""
LARGEST = 1_000_000
"""No figure of an aircraft is larger: a limit that nobody need read about."""
_WORDS_OF_PATTERN = {model.ID_PATTERN: "id", model.ATA_PATTERN: "ATA chapter"}


def format_page() -> str:
    """All sections of a catalogue and their fields, then the parts of records."""
    schema = json_schema()
    records: dict[str, Schema] = schema["$defs"]
    sections: dict[str, Schema] = schema["properties"]
    of_section: dict[str, str] = {
        _record(value): name for name, value in sections.items() if _record(value)
    }
    common = {name: records["Source"]["properties"][name] for name in COMMON_FIELDS}
    headings = {
        name: of_section.get(name) or str(record["title"]) for name, record in records.items()
    }
    lines = ["| section | contents |", "| --- | --- |"]
    for name, value in sections.items():
        shown = f"[`{name}`](#{name})" if _record(value) in of_section else f"`{name}`"
        lines.append(f"| {shown} | {value['description']} |")
    lines += ["", f"## {COMMON}", "", *_table(common, ["id", "name"], headings)]
    for name in [*of_section, *(name for name in records if name not in of_section)]:
        record = records[name]
        own = {k: v for k, v in record["properties"].items() if v != common.get(k)}
        shared = [f"`{field}`" for field in common if field in record["properties"].keys() - own]
        title = f"`{headings[name]}`" if name in of_section else headings[name].capitalize()
        lines += ["", f"## {title}", "", record["description"]]
        if shared:
            lines[-1] += f" Also {join_words(shared)}: {_link(COMMON)}."
        lines += ["", *_table(own, record.get("required", ()), headings)]
    return "\n".join(lines)


def _record(section: Schema) -> str:
    """The class of a section's records; nothing for a section of plain values."""
    reference = section.get("$ref") or section.get("items", {}).get("$ref", "")
    return str(reference).rpartition("/")[2]


def _table(
    fields: dict[str, Schema], required: Collection[str], headings: dict[str, str]
) -> Iterator[str]:
    yield "| field | value | default | meaning |"
    yield "| --- | --- | --- | --- |"
    for name, field in fields.items():
        default = "required" if name in required else _default(field)
        yield f"| `{name}` | {_words(field, headings)} | {default} | {field['description']} |"


def _link(heading: str) -> str:
    return f"[{heading.lower()}](#{heading.lower().replace(' ', '-').replace(APOSTROPHE, '')})"


def _default(field: Schema) -> str:
    value = field.get("default")
    if value in (None, "", []) or isinstance(value, dict):
        return ""
    shown = f"[{', '.join(value)}]" if isinstance(value, list) else str(value)
    return f"`{shown.lower() if isinstance(value, bool) else shown}`"


def _words(value: Schema, headings: dict[str, str]) -> str:
    """What may be written: 'number > 0', 'list of ids', a link to a part."""
    if "$ref" in value:
        return _link(headings[value["$ref"].rpartition("/")[2]])
    if "allOf" in value:
        return ", or ".join(_words(form["then"], headings) for form in value["allOf"])
    if "enum" in value:
        return join_words([f"`{word}`" for word in value["enum"]], "or")
    kind = value.get("type")
    if kind == "array":
        entry = _words(value["items"], headings).replace(", or ", " or ")
        if " or " in entry:
            return f"list, each {entry}"
        if value.get("minItems") == value.get("maxItems") is not None:
            return f"list of {value['minItems']}: {entry}"
        return f"list of {entry}s" if entry in ("id", "text") else f"list of {entry}"
    if kind == "object":
        return f"by id: {_words(value['additionalProperties'], headings)}"
    if kind == "string" and value.get("format") == "date":
        return "date"
    if kind == "string":
        is_prose = value.get("maxLength", 0) > LONGEST_TEXT
        return _WORDS_OF_PATTERN.get(value.get("pattern", ""), "Markdown" if is_prose else "text")
    if kind in ("number", "integer"):
        return _number(value)
    return "`true` or `false`" if kind == "boolean" else f"`{value['const']}`"


def _number(value: Schema) -> str:
    most = value.get("maximum", LARGEST)
    if value["type"] == "integer":
        return f"whole number ≥ {value['minimum']}" + (f", ≤ {most}" if most < LARGEST else "")
    least = f"> {value['exclusiveMinimum']}" if "exclusiveMinimum" in value else "≥ 0"
    return f"number {least}" + (f", ≤ {most}" if most < LARGEST else "")
