"""``roof3d takeoff``: what to order, counted from the pieces laid, or two roofs side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from roof3d.cli.model_file import load_project
from roof3d.cli.options import (
    Allowance,
    Force,
    Json,
    LabourFile,
    LabourList,
    Model,
    Other,
    Output,
    PriceFile,
    PriceList,
    parse_allowance,
    with_ending,
)
from roof3d.cli.output import deliver, json_text, progress, require_free, say
from roof3d.errors import LayoutError, WriteError

if TYPE_CHECKING:
    from roof3d.writers.takeoff.job import Job

ENDINGS = (".xlsx", ".csv", ".json", ".txt")


def takeoff(
    model: Model,
    *,
    as_json: Json = False,
    output: Output = None,
    prices: PriceFile = None,
    price_list: PriceList = None,
    labour: LabourFile = None,
    labour_list: LabourList = None,
    allowance: Allowance = None,
    compare: Other = None,
    force: Force = False,
) -> None:
    """Say or write the take-off, as a table, JSON, CSV or a workbook."""
    ending = _ending(output, as_json=as_json, compared=compare is not None)
    others = (as_json, output, prices, labour, allowance, compare)
    _require_alone("--price-list", "--prices", price_list, labour_list, *others)
    _require_alone("--labour-list", "--labour", labour_list, price_list, *others)
    for source in (model, prices, labour, compare):
        require_free(output or price_list or labour_list, force=force, source=source)
    share = parse_allowance(allowance)
    from roof3d.takeoff.prices import load_labour, load_prices
    from roof3d.writers.takeoff.job import build_job

    known = load_prices(prices) if prices is not None else None
    rates = load_labour(labour) if labour is not None else None

    def job_of(path: Path) -> Job:
        project = load_project(path)
        try:
            with progress("Laying out") as tell:
                project.lay_out(tell)
            return build_job(project, prices=known, labour=rates, allowance=share)
        except LayoutError as error:
            where = f"{path}: {error.where}" if error.where else str(path)
            raise LayoutError(
                error.message, where=where, hint=error.hint, code=error.code
            ) from error

    if labour_list is not None:
        _write(labour_list, _labour_list(model), force=force)
        return
    job = job_of(model)
    if price_list is not None:
        from roof3d.writers.takeoff.rows import price_list_csv

        _write(price_list, price_list_csv(job.items, job.units), force=force)
    elif compare is not None and ending == ".csv" and output is not None:
        from roof3d.writers.takeoff.rows import comparison_csv

        _write(output, comparison_csv(job, job_of(compare)), force=force)
    elif compare is not None:
        deliver(
            _compared(job, job_of(compare), ending, plain=output is not None), output, force=force
        )
    elif ending in {".csv", ".xlsx"} and output is not None:
        _write(output, _bytes(job, ending), force=force)
    else:
        deliver(_text(job, ending, plain=output is not None), output, force=force)


def _write(path: Path, content: bytes, *, force: bool) -> None:
    from roof3d.writers.files import write_file

    write_file(path, content, force=force)
    say(f"Wrote {path}")


def _labour_list(model: Path) -> bytes:
    from roof3d.writers.takeoff.rows import labour_list_csv

    project = load_project(model)
    return labour_list_csv(project.roof.planes, project.spec.units)


def _ending(output: Path | None, *, as_json: bool, compared: bool) -> str:
    """Return what is to be made, by its ending; .txt is the table.

    Raises
    ------
    WriteError
        If the file's ending is not one that can be written, or not with the other options.
    """
    ending = ".txt" if output is None else with_ending(output, ENDINGS).suffix.lower()
    if (ending in {".csv", ".xlsx"} and as_json) or (ending == ".xlsx" and compared):
        option = "--json" if as_json else "--compare"
        raise WriteError(
            f"{option} makes no {ending} file",
            where=str(output),
            hint=f"for instance {Path(str(output)).stem}.{'json' if as_json else 'csv'}",
        )
    return ".json" if as_json else ending


def _require_alone(option: str, back: str, target: Path | None, *others: object) -> None:
    """Raise where a list to fill in is no .csv file, or other options are given beside it.

    Raises
    ------
    WriteError
    """
    if target is None:
        return
    with_ending(target, (".csv",))
    if any(other is not None and other is not False for other in others):
        raise WriteError(
            f"{option} writes this file and nothing else",
            where=str(target),
            hint=f"leave the other options out; fill it in, then give it with {back}",
        )


def _text(job: Job, ending: str, *, plain: bool) -> str:
    if ending == ".json":
        from roof3d.writers.takeoff.document import takeoff_document

        return json_text(takeoff_document(job))
    from roof3d.cli.takeoff_report import takeoff_text

    return takeoff_text(job, plain=plain)


def _compared(one: Job, two: Job, ending: str, *, plain: bool) -> str:
    if ending == ".json":
        from roof3d.writers.takeoff.comparison import comparison_document

        return json_text(comparison_document(one, two))
    from roof3d.cli.takeoff_report import comparison_text

    return comparison_text(one, two, plain=plain)


def _bytes(job: Job, ending: str) -> bytes:
    if ending == ".csv":
        from roof3d.writers.takeoff.rows import takeoff_csv

        return takeoff_csv(job)
    from roof3d.writers.takeoff.workbook import takeoff_xlsx

    return takeoff_xlsx(job)
