"""JSON Schema (2020-12) of the spec, the shop and the survey file, for editors that complete and check while one types.

It says what one value may be. What several values must be together only ``load`` can tell.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from templategen.spec.models import Shop, Spec
from templategen.spec.survey.models import Survey
from templategen.spec.table import Table
from templategen.spec.values import LENGTH_TEXT, OverStrings

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema() -> dict[str, Any]:
    """The schema of the spec file."""
    return _schema(Spec, "templategen spec")


def shop_schema() -> dict[str, Any]:
    """The schema of the shop file."""
    return _schema(Shop, "templategen shop file")


def survey_schema() -> dict[str, Any]:
    """The schema of the survey file."""
    return _schema(Survey, "templategen survey file")


SCHEMAS = {"spec": schema, "shop": shop_schema, "survey": survey_schema}
"""By the file that they are of."""


def _schema(table: type[Table], title: str) -> dict[str, Any]:
    found = table.model_json_schema(schema_generator=_ForEditors)
    return {"$schema": DIALECT} | found | {"title": title}


class _ForEditors(GenerateJsonSchema):
    """Without titles that repeat the key, without null (TOML has none), and with defaults as one would type them."""

    def field_title_should_be_set(self, schema: object) -> bool:
        return False

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        found = self.generate_inner(schema["schema"])
        default = schema.get("default")
        if default is None or default == () or isinstance(default, BaseModel):
            return found
        if isinstance(default, OverStrings):
            default = default.treble  # the same for all strings, as every default is
        if isinstance(default, float) and found.get("pattern") == LENGTH_TEXT:
            default = f"{default:g} mm"  # a bare number would be in the file's units, whatever they are
        return found | {"default": default}
