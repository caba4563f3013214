"""`sweep`: many documents, on all cores or on a cluster."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import click

from verify.cli.frame import EXIT, in_numbers, json_option, main, reporting, seconds_option, tell, worst
from verify.cli.options import Whole
from verify.cli.output import JOURNAL as JOURNAL_KIND
from verify.cli.output import JUNIT, SARIF, Outputs, force_option, output_option
from verify.pattern.source import JOURNAL, Malformed
from verify.pattern.source import SARIF as SARIF_NAME
from verify.tasks.ci_reports import junit, sarif
from verify.tasks.sweep import Row, sweep, sweep_on_cluster, tasks
from verify.words.findings import answer
from verify.words.hands_findings import warned

_JUNIT = "junit.xml"
_OWN = {JOURNAL: JOURNAL_KIND, _JUNIT: JUNIT, SARIF_NAME: SARIF}


@main.command(name="sweep")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@output_option(
    "A folder for the journal, the certificates, junit.xml and sarif.json; with it a stopped sweep can be resumed.",
    required=False,
    file_okay=False,
)
@click.option(
    "--jobs",
    type=Whole(1, 256),
    default=os.cpu_count() or 1,
    show_default="all cores",
    help="How many processes work at once.",
)
@click.option("--dask", "address", help="Do the work on the Dask cluster at this address (needs the extra `dask`).")
@click.option("--fresh", is_flag=True, help="Ignore the journal in the output folder.")
@force_option
@seconds_option
@json_option
def sweep_command(
    paths: tuple[Path, ...],
    output: Path | None,
    jobs: int,
    address: str | None,
    fresh: bool,
    seconds: float | None,
) -> str:
    """Certify all documents in PATHS, folders and files, and write a table, certificates and reports for CI.

    A document is not done again while its bytes and this program's version stay the same. The exit status
    is the worst one: 0 all certified, 1 refuted, 2 malformed, 3 undecided, 4 unsupported, 70 internal error.
    """
    outputs = Outputs([path for path in paths if path.is_file()])
    journal = None
    if output is not None:
        for name, kind in _OWN.items():
            outputs.expect(output / name, kind, folder=True)
        journal = output / JOURNAL
        if fresh and journal.exists():
            outputs.write(journal, "")
    listed = tasks(paths, seconds)
    if output is not None:
        own = {(output / name).resolve() for name in _OWN}
        listed = [task for task in listed if Path(task.document).resolve() not in own]
    if not listed:
        raise Malformed(", ".join(map(str, paths)), "", "no document", "files named *.toml or *.json")
    found = sweep_on_cluster(listed, address, journal) if address else sweep(listed, jobs, journal)
    order = {task.document: i for i, task in enumerate(listed)}
    rows = []
    with reporting("documents") as progress:
        for number, row in enumerate(found, start=1):
            rows.append(row)
            if progress is not None:
                progress(f"{number} of {len(listed)}")
    rows.sort(key=lambda row: order[row.document])
    if output is not None:
        outputs.write(output / _JUNIT, junit(rows))
        outputs.write(output / SARIF_NAME, sarif(rows))
        for digest, certificate in {row.statement_sha256: row.certificate for row in rows if row.certificate}.items():
            place = outputs.expect_certificate(output / "certificates", f"{digest}.json", several=True)
            outputs.write_certificate(place, certificate)
    verdicts = [row.verdict for row in rows]
    counts = {verdict: verdicts.count(verdict) for verdict in EXIT}
    tell(answer(worst(verdicts), counts=counts, documents=list(map(_keys, rows))), _lines(rows, output))
    return worst(verdicts)


def _keys(row: Row) -> dict[str, Any]:
    return {
        "document": row.document,
        "verdict": row.verdict,
        "statement_sha256": row.statement_sha256,
        "claims": list(row.claims),
        "findings": list(row.findings),
        "facts": dict(row.facts),
    }


def _lines(rows: Sequence[Row], output: Path | None) -> Iterator[str]:
    for row in rows:
        warnings = warned(row.facts.get("warnings", ()))
        said = (f": {row.message}" if row.findings else "") + (f" (warnings: {warnings})" if warnings else "")
        yield f"{row.verdict:<11}  {row.document}{said}"
    if output is not None:
        yield f"written to {output}: certificates, {_JUNIT}, {SARIF_NAME}"
    yield in_numbers([row.verdict for row in rows], sum(bool(row.facts.get("warnings")) for row in rows))
