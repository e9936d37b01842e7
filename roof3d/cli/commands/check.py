"""``roof3d check``: what a published rule, or the model itself, has to say of this roof."""

from __future__ import annotations

import typer

from roof3d.cli.failure import Status
from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, Json, Model, Output
from roof3d.cli.output import deliver, json_text, progress, require_free


def check(
    model: Model, *, as_json: Json = False, output: Output = None, force: Force = False
) -> None:
    """List the findings; end with status 1 where one of them is an error."""
    require_free(output, force=force, source=model)
    from roof3d.errors import Severity
    from roof3d.writers.measure_json import check_document

    project = load_project(model)
    with progress("Laying out") as tell:
        project.lay_out(tell)
    if as_json or (output is not None and output.suffix == ".json"):
        text = json_text(check_document(project))
    else:
        from roof3d.cli.report import check_text

        text = check_text(project, plain=output is not None)
    deliver(text, output, force=force)
    if any(finding.severity is Severity.ERROR for finding in project.every_finding):
        raise typer.Exit(Status.RULE_BROKEN)
