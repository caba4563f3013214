"""`certify` and `explain`: what is true of a pattern or a recipe, and why."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import click

from verify.cli.frame import (
    Table,
    certified,
    in_numbers,
    json_option,
    main,
    malformed_keys,
    seconds_option,
    tell,
    worst,
)
from verify.cli.output import Outputs, force_option, output_option
from verify.pattern.source import Malformed
from verify.tasks.certify import Result
from verify.tasks.explain import explain as run_explain
from verify.tasks.explain import summary
from verify.words.findings import answer
from verify.words.hands_findings import to_make, warned


@main.command()
@click.argument("documents", nargs=-1, required=True, type=click.Path())
@output_option("Write the certificate here; a folder when there are several documents.", required=False)
@force_option
@seconds_option
@json_option
def certify(documents: tuple[str, ...], output: Path | None, seconds: float | None) -> str:
    """Check DOCUMENTS and prove the outcome: certified, or refuted with the place and the reason.

    With several documents a table is printed, and the exit status is the worst one.
    """
    several = len(documents) > 1
    if several and output is not None:
        if output.exists() and not output.is_dir():
            raise click.UsageError(f"-o {output} is a file; with several documents it names a folder")
        twice = sorted(name for name, n in Counter(Path(path).stem for path in documents).items() if n > 1)
        if twice:
            raise click.UsageError(
                f"-o {output}: found several documents named {', '.join(twice)}; expected different names, or "
                "creaseproof sweep"
            )
    outputs = Outputs(documents)
    places = [outputs.expect_certificate(output, path, several) for path in documents]
    if not several:
        result = certified(documents[0], seconds)
        outputs.write_certificate(places[0], result.certificate)
        tell(result.keys(), summary(result))
        return result.verdict
    outcomes: list[tuple[str, Result | Malformed]] = []
    for number, (path, place) in enumerate(zip(documents, places, strict=True), start=1):
        try:
            result = certified(path, seconds, f"{path} ({number} of {len(documents)})")
        except Malformed as error:
            outcomes.append((path, error))
        else:
            outcomes.append((path, result))
            outputs.write_certificate(place, result.certificate)
    keys = [r.keys() if isinstance(r, Result) else malformed_keys(p, r) for p, r in outcomes]
    together = [{"document": k["document"], **f} for k in keys for f in k["findings"]]
    verdicts = [r.verdict for _, r in outcomes]
    numbers = in_numbers(verdicts, sum(bool(r.warnings) for _, r in outcomes if isinstance(r, Result)))
    tell(answer(worst(verdicts), findings=together, documents=keys), [numbers], _table(outcomes))
    return worst(verdicts)


def _table(outcomes: list[tuple[str, Result | Malformed]]) -> Table:
    rows = []
    for path, result in outcomes:
        panels = layers = hands = warnings = ""
        if isinstance(result, Malformed):
            what = f"{result.place}: found {result.found}" if result.place else f"found {result.found}"
        else:
            failures = result.failures
            what = failures[0].message if failures else result.document.title
            panels = str(len(result.subdivision.panels)) if result.subdivision is not None else ""
            layers = str(result.cutting.most_layers) if result.cutting is not None else ""
            hands = to_make(result.hands)
            warnings = warned(f.kind for f in result.warnings)
        rows.append((result.verdict, path, panels, layers, hands, what, warnings))
    return ("verdict", "document", "panels", "layers", "by hand", "what", "warnings"), rows


@main.command()
@click.argument("document", type=click.Path())
@seconds_option
def explain(document: str, seconds: float | None) -> str:
    """Say at length what was checked in DOCUMENT, vertex by vertex, with the results."""
    result = certified(document, seconds)
    click.echo(run_explain(result))
    return result.verdict
