"""`certify` and `explain`: what is true of a pattern or a recipe, and why."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import click

from verify.cli.frame import (
    EXIT,
    Progress,
    certified_or_end,
    end,
    json_option,
    main,
    malformed_keys,
    reporting,
    say_table,
    seconds_option,
)
from verify.cli.output import CERTIFICATE, Outputs, certificate_path, force_option, output_option
from verify.pattern.limits import Limits
from verify.pattern.source import Malformed, printable
from verify.tasks.certify import Result
from verify.tasks.certify import certify as run_certify
from verify.tasks.explain import explain as run_explain
from verify.tasks.explain import summary
from verify.tasks.repair import with_repairs
from verify.words.findings import answer
from verify.words.hands_findings import warned


def _certified(path: str, limits: Limits, progress: Progress | None) -> tuple[str, Result | Malformed]:
    try:
        result = with_repairs(run_certify(path, limits, progress), limits)
    except Malformed as error:
        return "malformed", error
    return result.verdict, result


@main.command()
@click.argument("documents", nargs=-1, required=True, type=click.Path())
@output_option("Write the certificate here; a folder when there are several documents.", required=False)
@force_option
@seconds_option
@json_option
def certify(documents: tuple[str, ...], output: Path | None, force: bool, seconds: float | None, as_json: bool) -> None:
    """Check DOCUMENTS and prove the outcome: certified, or refuted with the place and the reason.

    With several documents a table is printed, and the exit status is the worst one.
    """
    several = len(documents) > 1
    if several and output is not None and output.exists() and not output.is_dir():
        raise click.UsageError(f"-o {output} is a file; with several documents it names a folder")
    if several and output is not None:
        twice = sorted(name for name, n in Counter(Path(path).stem for path in documents).items() if n > 1)
        if twice:
            raise click.UsageError(
                f"-o {output}: found several documents named {', '.join(twice)}; expected different names, or "
                "creaseproof sweep"
            )
    outputs = Outputs(documents, force=force)
    if output is not None:
        for path in documents:
            place, folder = certificate_path(output, path, several)
            outputs.expect(place, CERTIFICATE, folder=folder)
    limits = Limits(seconds=seconds)
    outcomes = []
    for number, path in enumerate(documents, start=1):
        label = f"{path} ({number} of {len(documents)})" if several else path
        with reporting(label) as progress:
            verdict, result = _certified(path, limits, progress)
        outcomes.append((path, verdict, result))
        if output is not None and isinstance(result, Result) and result.certificate is not None:
            place, folder = certificate_path(output, path, several)
            outputs.write_certificate(place, result.certificate, folder=folder)
    keys = [r.keys() if isinstance(r, Result) else malformed_keys(p, r) for p, _, r in outcomes]
    worst = max((v for _, v, _ in outcomes), key=EXIT.__getitem__)
    if as_json and several:
        together = [{"document": k["document"], **f} for k in keys for f in k["findings"]]
        click.echo(json.dumps(answer(worst, findings=together, documents=keys)))
    elif as_json:
        click.echo(json.dumps(keys[0]))
    elif several:
        _table(outcomes)
    else:
        _, verdict, result = outcomes[0]
        for line in summary(result) if isinstance(result, Result) else [f"malformed: {result}"]:
            click.echo(line)
    end(EXIT[worst])


def _table(outcomes: list[tuple[str, str, Result | Malformed]]) -> None:
    rows = []
    for path, verdict, result in outcomes:
        faces = folds = layers = warnings = ""
        if isinstance(result, Malformed):
            what = f"{result.place}: found {result.found}" if result.place else f"found {result.found}"
        else:
            failures = result.failures
            what = failures[0].message if failures else result.document.title
            if result.subdivision is not None:
                faces = str(len(result.subdivision.faces))
                folds = str(sum(e.is_fold for e in result.subdivision.edges))
            layers = str(result.cutting.most_layers) if result.cutting is not None else ""
            warnings = warned(f.kind for f in result.warnings)
        rows.append((verdict, printable(path), faces, folds, layers, printable(what), warnings))
    say_table(("verdict", "document", "faces", "folds", "layers", "what", "warnings"), rows)
    counts = {v: sum(1 for _, x, _ in outcomes if x == v) for v in EXIT}
    warned_of = sum(bool(r.warnings) for _, _, r in outcomes if isinstance(r, Result))
    with_warnings = f"; {warned_of} with warnings" if warned_of else ""
    click.echo(", ".join(f"{n} {v}" for v, n in counts.items() if n) + with_warnings)


@main.command()
@click.argument("document", type=click.Path())
@seconds_option
def explain(document: str, seconds: float | None) -> None:
    """Say at length what was checked in DOCUMENT, vertex by vertex, and what came out."""
    result = certified_or_end(document, seconds)
    click.echo(run_explain(result))
    end(EXIT[result.verdict])
