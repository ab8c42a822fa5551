"""Data read from YAML becomes model objects, or faults a person can act on.

pydantic finds what does not fit; this module says it in the rule author's words, with the line,
the allowed words and the nearest spelling.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any, TypeVar, cast

from pydantic import TypeAdapter, ValidationError
from rapidfuzz import fuzz, process

from riskcheck.yamlfile import Document, Fault, Where

T = TypeVar("T")

_SCALAR_ERRORS = {"bool_type", "int_type", "float_type", "string_type"}
_SHOULD_BE = {
    "bool_type": "true or false",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "string_type": "text",
    "dict_type": "a mapping (key: value)",
    "model_type": "a mapping (key: value)",
    "dataclass_type": "a mapping (key: value)",
    "list_type": "a list (- item)",
}


def nearest(word: str, known: Sequence[str]) -> str:
    """The known word most like ``word``, or "" when none is near enough to suggest."""
    match = process.extractOne(word, list(known), scorer=fuzz.ratio, score_cutoff=60)
    return str(match[0]) if match else ""


def suggestion(word: str, known: Sequence[str], noun: str = "") -> str:
    """What to write instead of ``word``: its nearest spelling, or the choices if they are few."""
    near = nearest(word, known)
    if near:
        return f"did you mean '{near}'?"
    if 0 < len(known) <= 16:
        return "one of: " + ", ".join(known)
    return f"see the list of {noun}" if noun else ""


def validate(
    document: Document, kind: type[T], data: Any = None, at: Where = ()
) -> tuple[T | None, list[Fault]]:
    """``data`` (default: the whole document) as a ``kind``, or None and the faults.

    ``at`` is where ``data`` stands in the document.  Lines that already carry a YAML fault are
    not reported twice.
    """
    data = document.data if data is None and not at else data
    text = json.dumps(data, default=str)
    try:
        return _adapter(cast(Any, kind)).validate_json(text, strict=True), []
    except ValidationError as error:
        seen = {fault.line for fault in document.faults}
        return None, [
            document.fault(place, what, instead)
            for where, what, instead in _explain(error, data, schema_of(cast(Any, kind)))
            if (place := (*at, *where)) not in document.lines or document.lines[place] not in seen
        ]


@cache
def schema_of(kind: Any) -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a model class."""
    return _adapter(kind).json_schema()


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def _explain(
    error: ValidationError, data: Any, schema: dict[str, Any]
) -> Iterator[tuple[Where, str, str]]:
    """One (where, what, instead) for each place at which the data does not fit."""
    by_place: dict[Where, list[Any]] = {}
    for detail in error.errors(include_url=False, include_context=True):
        by_place.setdefault(_place(detail, data), []).append(detail)
    for where, details in by_place.items():
        value = _value_at(data, where)
        if isinstance(value, dict) and any(len(w) > len(where) for w in _below(where, by_place)):
            continue
        detail = _most_telling(details)
        yield (where, *_words(detail, where, value, schema))


def _below(where: Where, places: dict[Where, list[Any]]) -> list[Where]:
    return [place for place in places if place[: len(where)] == where]


def _place(detail: Any, data: Any) -> Where:
    """The error's location without the names pydantic adds for the members of a union."""
    where: list[str | int] = []
    value = data
    parts = detail["loc"]
    for index, part in enumerate(parts):
        is_last = index == len(parts) - 1
        if _has(value, part):
            value = value[part]
        elif not (is_last and detail["type"] in ("missing", "extra_forbidden")):
            continue
        where.append(part)
    return tuple(where)


def _has(value: Any, part: str | int) -> bool:
    if isinstance(value, dict):
        return part in value
    return isinstance(value, list) and isinstance(part, int) and part < len(value)


def _value_at(data: Any, where: Where) -> Any:
    for part in where:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _most_telling(details: list[Any]) -> Any:
    """Of the complaints of a union's members, the one that says most."""
    return min(details, key=lambda detail: detail["type"] in _SCALAR_ERRORS)


def _words(detail: Any, where: Where, value: Any, schema: dict[str, Any]) -> tuple[str, str]:
    kind = detail["type"]
    name = _name(where)
    if kind == "missing":
        return f"{name} is missing", _about(_schema_at(schema, where))
    if kind in ("extra_forbidden", "unexpected_keyword_argument"):
        known = _keys(schema, _schema_at(schema, where[:-1]))
        return f"{name} is not known here", suggestion(str(where[-1]), known)
    if kind == "literal_error":
        known = _literals(_schema_at(schema, where))
        return f"{name}: {value!r} is not an allowed word", suggestion(str(value), known)
    if kind.startswith("union_tag"):
        known = [tag.strip(" '") for tag in detail["ctx"].get("expected_tags", "").split(",")]
        key = str(detail["ctx"].get("discriminator", "")).strip("'")
        written = value.get(key) if isinstance(value, dict) else None
        return f"{name}: '{key}' must say which kind it is", suggestion(
            str(written), [tag for tag in known if tag]
        )
    if kind in _SHOULD_BE:
        return f"{name} should be {_SHOULD_BE[kind]}, not {_shown(value)}", _conversion(kind, value)
    if kind == "value_error":
        return f"{name}: {detail['ctx']['error']}", ""
    message = str(detail["msg"])
    return f"{name}: {message[:1].lower()}{message[1:]}", ""


def _name(where: Where) -> str:
    """The entry's own name, with the list position as a person counts."""
    if not where:
        return "the file"
    words = [str(part + 1) if isinstance(part, int) else str(part) for part in where[-2:]]
    return f"'{' '.join(words)}'" if isinstance(where[-1], int) else f"'{words[-1]}'"


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    if value is None:
        return "nothing"
    return f"the text '{value}'" if isinstance(value, str) else repr(value)


def _conversion(kind: str, value: Any) -> str:
    if kind in ("int_type", "float_type") and isinstance(value, str):
        try:
            float(value)
        except ValueError:
            return "write digits only; the unit has its own entry"
        return "remove the quotes"
    if kind == "string_type" and isinstance(value, bool | int | float):
        return "put it in quotes"
    return ""


def _about(schema: dict[str, Any]) -> str:
    words = str(schema.get("description", "")).split("\n\n")[0]
    if words:
        return " ".join(words.split()).rstrip(".")
    literals = _literals(schema)
    return "one of: " + ", ".join(literals) if literals else "add it"


def _literals(schema: dict[str, Any]) -> list[str]:
    words = list(schema.get("enum", [])) + ([schema["const"]] if "const" in schema else [])
    for member in schema.get("anyOf", []):
        words += _literals(member)
    return [str(word) for word in words]


def _schema_at(schema: dict[str, Any], where: Where) -> dict[str, Any]:
    """The part of a JSON Schema that describes the entry at ``where``."""
    here = schema
    for part in where:
        here = _step(schema, here, part)
    return _resolved(schema, here)


def _step(root: dict[str, Any], here: dict[str, Any], part: str | int) -> dict[str, Any]:
    here = _resolved(root, here)
    for member in [here, *(_resolved(root, m) for m in here.get("anyOf", here.get("oneOf", [])))]:
        if isinstance(part, int) and "items" in member:
            return dict(member["items"])
        if part in member.get("properties", {}):
            return dict(member["properties"][part])
        if isinstance(member.get("additionalProperties"), dict):
            return dict(member["additionalProperties"])
    return {}


def _keys(root: dict[str, Any], here: dict[str, Any]) -> list[str]:
    """Keys that may stand here, in any of the forms that the entry may take."""
    members = [_resolved(root, member) for member in here.get("anyOf", here.get("oneOf", []))]
    return [key for part in (here, *members) for key in part.get("properties", {})]


def _resolved(root: dict[str, Any], part: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in part:
        part = {**root["$defs"][part["$ref"].rsplit("/", 1)[-1]], **_without_ref(part)}
    return part


def _without_ref(part: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in part.items() if key != "$ref"}
