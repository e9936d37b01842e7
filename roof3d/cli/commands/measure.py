"""``roof3d measure``: planes and edges with their true areas and lengths."""

from __future__ import annotations

from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, Json, Model, Output
from roof3d.cli.output import deliver, json_text, require_free


def measure(
    model: Model, *, as_json: Json = False, output: Output = None, force: Force = False
) -> None:
    """Say or write the measured roof, as a table or as JSON."""
    require_free(output, force=force, source=model)
    project = load_project(model)
    if as_json or (output is not None and output.suffix == ".json"):
        from roof3d.writers.measure_json import measure_document

        text = json_text(measure_document(project))
    else:
        from roof3d.cli.report import measure_text

        text = measure_text(project, plain=output is not None)
    deliver(text, output, force=force)
