"""``roof3d schema``: the JSON Schema of the model file, for editors and other programs."""

from __future__ import annotations

from roof3d.cli.options import Force, Output
from roof3d.cli.output import deliver, json_text, require_free


def schema(*, output: Output = None, force: Force = False) -> None:
    """Say or write the schema."""
    require_free(output, force=force)
    from roof3d.spec.schema import model_schema

    deliver(json_text(model_schema()), output, force=force)
