"""What all tables of the model file have in common."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class MissingKeyError(ValueError):
    """A key that may be left out elsewhere is needed by this form."""


class Table(BaseModel):
    """A table of the file: no key that is not listed, no value changed after reading."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        arbitrary_types_allowed=True,
        validate_default=True,
        defer_build=True,  # built once, inside the model that holds it
    )


def field(description: str, *examples: Any, default: Any = ...) -> Any:
    """Return a key of a table, with the words and examples that its schema and faults show."""
    return Field(default, description=description, examples=list(examples))
