"""The format as a JSON Schema (draft 2020-12), for editors.

It is made from the classes of `sitegen.catalogue.model` and the texts below their fields.
`patternErrorMessage` and `markdownDescription` are no part of the draft: editors read them.
"""

from __future__ import annotations

import ast
import inspect
import re
from typing import Any

from sitegen.catalogue import model
from sitegen.catalogue.field_messages import container_noun

Schema = dict[str, Any]

_PATTERN_MESSAGES = {
    model.ID_PATTERN: "An id is lowercase letters and digits, in words joined by single hyphens.",
    model.ONE_LINE: "This is one line of text, with no space before or after it.",
    model.ATA_PATTERN: "An ATA chapter is written 23, 23-12 or 23-12-01.",
}
"""What an editor says where a text does not have its pattern."""


def json_schema() -> Schema:
    """The format, with a description of every field.

    No section is required, since a catalogue may be split over files.
    """
    schema = model.Catalogue.model_json_schema(by_alias=True)
    definitions = schema.pop("$defs")
    texts = _field_texts()
    for name, record in (*definitions.items(), ("Catalogue", schema)):
        kind: type[model.Record] = getattr(model, name)
        of_kind = {k: v for base in reversed(kind.__mro__) for k, v in texts.get(base, {}).items()}
        written = {info.alias or field: field for field, info in kind.model_fields.items()}
        record["title"] = container_noun(kind) or re.sub("(?<=.)(?=[A-Z])", " ", name).lower()
        record["properties"] = {
            name: _value(value, of_kind[written[name]])
            for name, value in record["properties"].items()
        }
    definitions["Length"] |= {"minProperties": 1, "maxProperties": 1}
    schema.pop("required")
    draft = "https://json-schema.org/draft/2020-12/schema"
    return {"$schema": draft, **schema, "title": "Wiring catalogue", "$defs": definitions}


def _field_texts() -> dict[type, dict[str, str]]:
    """By class of the format and field: the text below the field."""
    return {
        getattr(model, statement.name): {
            field.target.id: " ".join(str(text.value.value).split())
            for field, text in zip(statement.body, statement.body[1:], strict=False)
            if isinstance(field, ast.AnnAssign)
            and isinstance(field.target, ast.Name)
            and isinstance(text, ast.Expr)
            and isinstance(text.value, ast.Constant)
        }
        for statement in ast.parse(inspect.getsource(model)).body
        if isinstance(statement, ast.ClassDef)
    }


def _value(schema: Schema, text: str = "") -> Schema:
    """The schema of one value, in the form that gives the clearest messages.

    Parameters
    ----------
    schema : as the validator's classes have it.
    text : what is said about the field, in Markdown; it is in both of two forms, since an editor
        shows that of the form which a value has.

    Nothing may be empty, so no value may be null; which of two forms a value has is decided by
    its type, so that only that form is complained about.
    """
    schema = {k: v for k, v in schema.items() if k != "title" and (k, v) != ("default", None)}
    schema.pop("discriminator", None)
    forms = [
        _value(form, text)
        for form in schema.pop("anyOf", schema.pop("oneOf", ()))
        if form != {"type": "null"}
    ]
    if text:
        schema |= {"description": text, "markdownDescription": text}
    if len(forms) == 1:
        schema = {**forms[0], **schema}
    elif forms:
        types = [form.get("type", "object") for form in forms]  # a reference is to a record
        schema["type"] = types
        schema["allOf"] = [
            {"if": {"type": kind}, "then": form} for kind, form in zip(types, forms, strict=True)
        ]
    if "pattern" in schema:
        schema["patternErrorMessage"] = _PATTERN_MESSAGES[schema["pattern"]]
    if "items" in schema:
        schema["items"] = _value(schema["items"])
    if "patternProperties" in schema:
        ((pattern, each),) = schema.pop("patternProperties").items()
        schema["propertyNames"] |= _value({"pattern": pattern})
        schema["additionalProperties"] = _value(each)
    elif isinstance(schema.get("additionalProperties"), dict):
        schema["additionalProperties"] = _value(schema["additionalProperties"])
        schema["propertyNames"] = _value(schema.get("propertyNames", {}))
    return schema
