"""LoadProfile as JSON: strict on types, tolerant of fields it does not know.

The core dataclasses are the one definition; pydantic reads their annotations to check a
document and to print its JSON Schema (2020-12), which is committed beside this module.
"""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from importlib import resources
from typing import Any

import pydantic
from pydantic import TypeAdapter

from loadlib.core.profile import SCHEMA_NAME, SCHEMA_VERSION, LoadProfile
from loadlib.errors import DataError

__all__ = ["committed_schema", "from_json", "generated_schema", "to_json"]

SCHEMA_FILE = "loadlib-profile-v1.schema.json"


@dataclass(frozen=True, slots=True)
class _Head:
    schema: str
    version: int


@functools.cache
def _adapter() -> TypeAdapter[LoadProfile]:
    return TypeAdapter(LoadProfile)


def to_json(profile: LoadProfile) -> str:
    """The document as indented JSON; the same profile gives the same bytes."""
    tree = _adapter().dump_python(profile, mode="json")
    # allow_nan=False: nobody else reads NaN, so it must not leave here.
    return json.dumps(tree, allow_nan=False, ensure_ascii=False, separators=(",", ":")) + "\n"


def from_json(text: str | bytes) -> LoadProfile:
    """Read a document.

    Raises
    ------
    DataError
        when it is not JSON, not a load profile, of a newer version, or a field is missing,
        mistyped or not a finite number; the message names the field.
    """
    try:
        head = TypeAdapter(_Head).validate_json(text, strict=True)
    except pydantic.ValidationError as error:
        raise DataError(
            f"not a load profile document: {_words(error)}",
            hint=f'It needs "schema": "{SCHEMA_NAME}" and "version": {SCHEMA_VERSION}.',
        ) from None
    if head.schema != SCHEMA_NAME:
        raise DataError(f"schema {head.schema!r}, expected {SCHEMA_NAME!r}")
    if head.version > SCHEMA_VERSION:
        raise DataError(
            f"load profile version {head.version}; this loadlib reads up to {SCHEMA_VERSION}",
            hint="Update loadlib, or export the profile again with this version.",
        )
    try:
        return _adapter().validate_json(text, strict=True)
    except pydantic.ValidationError as error:
        raise DataError(f"load profile: {_words(error)}") from None


def _words(error: pydantic.ValidationError) -> str:
    first = error.errors(include_url=False, include_input=False)[0]
    where = ".".join(str(part) for part in first["loc"]) or "document"
    more = error.error_count() - 1
    return f"{where}: {first['msg']}" + (f" (and {more} more)" if more else "")


def generated_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of the document, from the dataclasses."""
    schema = _adapter().json_schema(mode="serialization")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:loadlib:profile:1",
        **schema,
    }


def committed_schema() -> dict[str, Any]:
    """The schema as it is shipped."""
    text = resources.files("loadlib.exchange").joinpath(SCHEMA_FILE).read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded
