"""Lengths as people write them: a number of mm, or text with its unit.

This is the one place that says so: messages, JSON Schema and the manual's reference follow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, get_args

from pydantic import GetCoreSchemaHandler
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from jobprep.units import WRITTEN_LENGTH, in_mm

EXAMPLES = '"12 cm", "4.75 in", "4 3/4 in" or "0.5 mm"'


@dataclass(frozen=True, slots=True)
class WrittenLength:
    """Marks a number as a length from ``least`` to ``most`` mm, both allowed.

    In a file it is a number of mm, or text with its unit. A key that names its unit takes a plain
    number instead, and is declared without this.
    """

    least: float
    most: float

    def __get_pydantic_core_schema__(self, _: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return how pydantic reads it: numbers first, since outlines have thousands of them."""
        number = core_schema.float_schema(
            ge=self.least, le=self.most, strict=True, allow_inf_nan=False
        )
        text = core_schema.str_schema(pattern=WRITTEN_LENGTH, strict=True)
        written = core_schema.no_info_after_validator_function(self._within, text)
        return core_schema.union_schema([number, written], mode="left_to_right")

    def _within(self, text: str) -> float:
        value = in_mm(text)
        if value is None or not self.least <= value <= self.most:
            raise PydanticCustomError("length", "not a length within the limits")
        return value


def is_length(annotation: object) -> bool:
    """Whether a type, of a field or in one, is a length."""
    notes = getattr(annotation, "__metadata__", ())
    parts = get_args(annotation)
    if isinstance(annotation, FieldInfo):
        notes, parts = annotation.metadata, (annotation.annotation,)
    return any(isinstance(note, WrittenLength) for note in notes) or any(map(is_length, parts))
