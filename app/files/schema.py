"""Checking plain content against the garment file's JSON Schema (draft 2020-12), with sentences for people."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from app.files.json_text import said
from app.files.plain import shown
from geometry.errors import PatternError

if TYPE_CHECKING:
    from jsonschema.exceptions import ValidationError
    from jsonschema.protocols import Validator

_WORDS = {
    "object": "named values",
    "array": "a list",
    "string": "a text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "null",
}


@cache
def garment_schema() -> dict[str, Any]:
    """The schema as it is kept in the package."""
    text = resources.files("app.files").joinpath("garment.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def check(plain: Any) -> None:
    """Raises PatternError at the first place where the content of a garment file breaks the schema."""
    error = next(iter(_validator().iter_errors(plain)), None)
    if error is not None:
        raise PatternError(f"{said(tuple(error.absolute_path), plain)}: {_sentence(error)}.")


@cache
def _validator() -> Validator:
    from jsonschema import Draft202012Validator

    return Draft202012Validator(garment_schema())


def _sentence(error: ValidationError) -> str:
    schema: Any = error.schema
    value: Any = error.instance
    limit: Any = error.validator_value
    rule = error.validator
    if rule == "additionalProperties":
        unknown = next(key for key in value if key not in schema["properties"])
        return f"“{unknown[:40]}” is not known here; things of your own belong under “extra”"
    if rule == "required":
        return f"“{next(key for key in limit if key not in value)}” is missing"
    if rule == "type":
        kinds = [limit] if isinstance(limit, str) else limit
        return f"{shown(value)} stands where {' or '.join(_WORDS[kind] for kind in kinds)} is wanted"
    if rule == "enum":
        return f"{shown(value)} is none of {', '.join(shown(one).strip('“”') for one in limit)}"
    if rule in {"minimum", "maximum", "exclusiveMinimum"}:
        least, most = schema.get("minimum", schema.get("exclusiveMinimum")), schema.get("maximum")
        within = [f"from {least}"] * (least is not None) + [f"up to {most}"] * (most is not None)
        return f"{shown(value)} is not {' '.join(within)}"
    wanted = schema.get("title")
    if rule in {"minItems", "maxItems"} and (not value or not wanted):
        least, most = schema.get("minItems", 0), schema.get("maxItems")
        some = f"at least {least}" if most is None else f"{most}" if least == most else f"{least} to {most}"
        return f"{len(value) or 'none'} given where {wanted or some} is wanted"
    return f"{shown(value)} is not {wanted}" if wanted else f"{shown(value)} does not fit here"
