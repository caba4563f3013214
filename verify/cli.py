"""The command `creaseproof`."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from fractions import Fraction
from math import isfinite
from pathlib import Path
from typing import Any, NoReturn

import click
from rich.console import Console
from rich.table import Table

from verify import __version__
from verify.certificate.certify import Result
from verify.certificate.certify import certify as run_certify
from verify.certificate.explain import explain as run_explain
from verify.certificate.explain import summary
from verify.certificate.fold_report import FoldReport, tolerance_lines
from verify.construct.nearby import proposals
from verify.cutting.advice import LAYERS_IN_PRACTICE
from verify.cutting.outcome import pattern_of
from verify.cutting.tolerance import SAMPLES, stack_thickness
from verify.cutting.tolerance import tolerance as run_tolerance
from verify.folding.count import count as run_count
from verify.kernel.check import check_files
from verify.pattern.document import FORMAT as PATTERN_FORMAT
from verify.pattern.document import Document, Malformed, printable
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import FORMAT as RECIPE_FORMAT
from verify.pattern.recipe import Recipe, load_any
from verify.pattern.write import write

EXIT = {"certified": 0, "refuted": 1, "malformed": 2, "undecided": 3, "unsupported": 4}
INTERNAL_ERROR = 70

Progress = Callable[[str], None]


class _Group(click.Group):
    """Commands whose unforeseen errors end with exit status 70, never with a verdict."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except Exception as error:
            if os.environ.get("CREASEPROOF_TRACE"):
                raise
            click.echo(
                f"internal error: {type(error).__name__}: {error}\n"
                "This is a bug in creaseproof, and no verdict. Set CREASEPROOF_TRACE=1 to see where it happened.",
                err=True,
            )
            raise click.exceptions.Exit(INTERNAL_ERROR) from None


@contextmanager
def _progress(what: str) -> Iterator[Progress | None]:
    """A line on standard error that says what is being done; nothing when that is not a terminal."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield None
        return
    with console.status(what) as status:
        yield lambda message: status.update(f"{what}: {message}")


def _end(code: int) -> NoReturn:
    raise click.exceptions.Exit(code)


_json_option = click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output.")
_seconds_option = click.option(
    "--seconds",
    type=click.FloatRange(min=0, min_open=True),
    default=None,
    help="Give up the search after this time (undecided).",
)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="creaseproof")
def main() -> None:
    """Prove that a crease pattern folds flat and that one straight cut frees exactly the target.

    Exit status: 0 certified, 1 refuted, 2 malformed, 3 undecided, 4 unsupported, 70 internal error.
    """


def _certified(path: str, limits: Limits, progress: Progress | None) -> tuple[str, Result | Malformed]:
    try:
        result = run_certify(path, limits, progress)
    except Malformed as error:
        return "malformed", error
    return result.verdict, result


def _malformed_keys(path: str, error: Malformed) -> dict[str, Any]:
    finding = {
        "check": "document",
        "kind": "malformed",
        "level": "fails",
        "message": str(error),
        "where": [error.place] if error.place else [],
        "value": {"found": error.found, "expected": error.expected, "line": error.line},
    }
    return {
        "document": path,
        "verdict": "malformed",
        "statement_sha256": None,
        "claims": [],
        "findings": [finding],
        "facts": {},
    }


@main.command()
@click.argument("documents", nargs=-1, required=True, type=click.Path())
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Write the certificate here; a folder when there are several documents.",
)
@_seconds_option
@_json_option
def certify(documents: tuple[str, ...], output: Path | None, seconds: float | None, as_json: bool) -> None:
    """Check DOCUMENTS and prove the outcome: certified, or refuted with the place and the reason.

    With several documents a table is printed, and the exit status is the worst one.
    """
    several = len(documents) > 1
    if several and output is not None and output.exists() and not output.is_dir():
        raise click.UsageError(f"-o {output} is a file; with several documents it names a folder")
    limits = Limits(seconds=seconds)
    outcomes = []
    for number, path in enumerate(documents, start=1):
        label = f"{path} ({number} of {len(documents)})" if several else path
        with _progress(label) as progress:
            verdict, result = _certified(path, limits, progress)
        outcomes.append((path, verdict, result))
        if output is not None and isinstance(result, Result) and result.certificate is not None:
            _write(output, path, several, result.certificate)
    keys = [r.keys() if isinstance(r, Result) else _malformed_keys(p, r) for p, _, r in outcomes]
    worst = max((v for _, v, _ in outcomes), key=EXIT.__getitem__)
    if as_json and several:
        together = [{"document": k["document"], **f} for k in keys for f in k["findings"]]
        click.echo(
            json.dumps(
                {"verdict": worst, "statement_sha256": None, "claims": [], "findings": together, "documents": keys}
            )
        )
    elif as_json:
        click.echo(json.dumps(keys[0]))
    elif several:
        _table(outcomes)
    else:
        _, verdict, result = outcomes[0]
        for line in summary(result) if isinstance(result, Result) else [f"malformed: {result}"]:
            click.echo(line)
    _end(EXIT[worst])


def _write(output: Path, document: str, several: bool, certificate: dict[str, Any]) -> None:
    if several or output.is_dir():
        output.mkdir(parents=True, exist_ok=True)
        output = output / f"{Path(document).stem}.certificate.json"
    try:
        half = output.with_name(output.name + ".part")
        half.write_text(json.dumps(certificate, separators=(",", ":")) + "\n", encoding="utf-8")
        half.replace(output)
    except OSError as error:
        raise click.ClickException(f"{output}: the certificate cannot be written: {error.strerror}") from None


def _table(outcomes: list[tuple[str, str, Result | Malformed]]) -> None:
    table = Table(box=None, pad_edge=False)
    for head, justify in (
        ("verdict", "left"),
        ("document", "left"),
        ("faces", "right"),
        ("folds", "right"),
        ("layers", "right"),
        ("what", "left"),
    ):
        table.add_column(head, justify="right" if justify == "right" else "left", overflow="fold")
    for path, verdict, result in outcomes:
        faces = folds = layers = ""
        if isinstance(result, Malformed):
            what = f"{result.place}: found {result.found}" if result.place else f"found {result.found}"
        else:
            failures = result.failures
            what = failures[0].message if failures else result.document.title
            if result.subdivision is not None:
                faces = str(len(result.subdivision.faces))
                folds = str(sum(e.is_fold for e in result.subdivision.edges))
            layers = str(result.cutting.most_layers) if result.cutting is not None else ""
        table.add_row(verdict, printable(path), faces, folds, layers, printable(what))
    console = Console(width=None if sys.stdout.isatty() else 160, highlight=False, markup=False)
    with console.capture() as printed:
        console.print(table)
    for line in printed.get().splitlines():
        click.echo(line.rstrip())
    counts = {v: sum(1 for _, x, _ in outcomes if x == v) for v in EXIT}
    click.echo(", ".join(f"{n} {v}" for v, n in counts.items() if n))


@main.command()
@click.argument("document", type=click.Path())
@click.argument("certificate", type=click.Path())
@_json_option
def audit(document: str, certificate: str, as_json: bool) -> None:
    """Let the kernel check CERTIFICATE against DOCUMENT. Exit status: 0 accepted, 1 rejected, 2 malformed."""
    outcome = check_files(document, certificate)
    code = 0 if outcome.accepted else 2 if outcome.malformed else 1
    if as_json:
        click.echo(
            json.dumps(
                {
                    "verdict": outcome.proves if outcome.accepted else "malformed" if outcome.malformed else "rejected",
                    "accepted": outcome.accepted,
                    "proves": outcome.proves,
                    "kind": outcome.kind,
                    "statement_sha256": outcome.statement_sha256,
                    "claims": list(outcome.claims),
                    "findings": []
                    if outcome.accepted
                    else [
                        {
                            "check": "audit",
                            "kind": outcome.code,
                            "level": "fails",
                            "message": outcome.reason,
                            "where": [],
                        }
                    ],
                    "facts": outcome.facts,
                }
            )
        )
    elif outcome.accepted:
        how = f" ({outcome.kind})" if outcome.kind else ""
        click.echo(f"accepted: {outcome.proves}{how}: {', '.join(outcome.claims)}")
        click.echo(f"  statement {outcome.statement_sha256}")
        if outcome.facts:
            click.echo("  " + ", ".join(f"{k} {v}" for k, v in outcome.facts.items()))
    else:
        click.echo(f"{'malformed' if outcome.malformed else 'rejected'}: {outcome.code}: {outcome.reason}")
    _end(code)


@main.command()
@click.argument("document", type=click.Path())
@_seconds_option
@click.option(
    "--orders",
    type=click.IntRange(min=1),
    default=Limits().orders,
    show_default=True,
    help="Count no more layer orders than this.",
)
@_json_option
def count(document: str, orders: int, seconds: float | None, as_json: bool) -> None:
    """Count the assignments that fold at every vertex, the assignments that fold, and the layer orders of DOCUMENT.

    One face is held with its front up; folds drawn mountain or valley keep their direction.
    """
    try:
        with _progress(document) as progress:
            result = run_count(document, Limits(orders=orders, seconds=seconds), progress)
    except Malformed as error:
        click.echo(json.dumps(_malformed_keys(document, error)) if as_json else f"malformed: {error}")
        _end(EXIT["malformed"])
    rows = (
        ("assignments valid at every vertex", "assignments_at_vertices", result.at_vertices),
        ("assignments that fold", "assignments_that_fold", result.folding),
        ("layer orders", "layer_orders", result.orders),
    )
    if as_json:
        click.echo(json.dumps({key: value for _, key, value in rows} | {"reached": list(result.reached)}))
    else:
        for name, _, value in rows:
            click.echo(f"{name:<36}{'undecided' if value is None else value}")
        for limit in result.reached:
            click.echo(f"  {limit}")
    _end(EXIT["undecided"] if result.reached else 0)


@main.command()
@click.argument("document", type=click.Path())
@_seconds_option
def explain(document: str, seconds: float | None) -> None:
    """Say at length what was checked in DOCUMENT, vertex by vertex, and what came out."""
    try:
        with _progress(document) as progress:
            result = run_certify(load_any(document), Limits(seconds=seconds), progress)
    except Malformed as error:
        click.echo(f"malformed: {error}")
        _end(EXIT["malformed"])
    click.echo(run_explain(result))
    _end(EXIT[result.verdict])


def _recipe(path: str) -> Recipe:
    document = load_any(path)
    if not isinstance(document, Recipe):
        raise Malformed(path, "format", f'"{PATTERN_FORMAT}"', f'a recipe, "{RECIPE_FORMAT}"')
    return document


@main.command()
@click.argument("recipe", type=click.Path())
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Write the crease pattern that the folds give, with its target.",
)
@click.option("--certificate", type=click.Path(path_type=Path), help="Write the recipe's certificate.")
@_json_option
def fold(recipe: str, output: Path | None, certificate: Path | None, as_json: bool) -> None:
    """Carry out RECIPE step by step, exactly, and say what the scissors really cut.

    Without a target the outline that the cut gives is the result, and the target of the pattern that -o writes.
    """
    try:
        document = _recipe(recipe)
        with _progress(recipe) as progress:
            result = run_certify(document, Limits(), progress)
            report = FoldReport(document, result) if result.folded_steps is not None else None
    except Malformed as error:
        click.echo(json.dumps(_malformed_keys(recipe, error)) if as_json else f"malformed: {error}")
        _end(EXIT["malformed"])
    if certificate is not None and result.certificate is not None:
        _write(certificate, recipe, False, result.certificate)
    if as_json:
        click.echo(json.dumps(report.keys() if report is not None else result.keys()))
    else:
        for line in summary(result):
            click.echo(line)
        for line in report.lines() if report is not None else ():
            click.echo(line)
    if output is not None and result.folded is not None and report is not None and not result.folded_steps_refused:
        target = None if document.has_target else report.cut
        write(pattern_of(result.folded, target), output)
        if not as_json:
            click.echo(f"  pattern written to {output}")
    _end(EXIT[result.verdict])


@main.command()
@click.argument("recipe", type=click.Path())
@click.option(
    "--error",
    type=click.FloatRange(min=0, min_open=True),
    help="How far each fold may be off at its ends, in the document's unit  [default: 0.5 mm]",
)
@click.option(
    "--width",
    type=click.FloatRange(min=0, min_open=True),
    help="How far an edge of the outline may move, in the document's unit  [default: 1 mm]",
)
@click.option("--samples", type=click.IntRange(min=1, max=10_000), default=SAMPLES, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option(
    "--thickness",
    type=click.FloatRange(min=0, min_open=True),
    help="Thickness of the paper in mm  [default: 0.1, typical of 80 g/m² office paper]",
)
@click.option("--grammage", type=click.FloatRange(min=0, min_open=True), help="Or its grammage in g/m²")
@_json_option
def tolerance(
    recipe: str,
    error: float | None,
    width: float | None,
    samples: int,
    seed: int,
    thickness: float | None,
    grammage: float | None,
    as_json: bool,
) -> None:
    """Estimate how true each fold of RECIPE must be for the cut to come out. Estimates, not proofs."""
    try:
        document = _recipe(recipe)
        with _progress(recipe) as progress:
            result = run_certify(document, Limits(), progress)
            if result.folded_steps_refused:
                click.echo(json.dumps(result.keys()) if as_json else "\n".join(summary(result)))
                _end(EXIT[result.verdict])
            found = run_tolerance(document, error=error, width=width, samples=samples, seed=seed, progress=progress)
    except Malformed as fault:
        click.echo(json.dumps(_malformed_keys(recipe, fault)) if as_json else f"malformed: {fault}")
        _end(EXIT["malformed"])
    except ValueError as fault:
        click.echo(
            json.dumps({"verdict": "unsupported", "findings": [{"message": str(fault)}]})
            if as_json
            else f"unsupported: {fault}"
        )
        _end(EXIT["unsupported"])
    layers = result.cutting.most_layers if result.cutting is not None else 0
    height = stack_thickness(layers, thickness=thickness, grammage=grammage)
    if as_json:
        keys = asdict(found) | {"unit": document.unit, "layers": layers, "stack_mm": height, "document": recipe}
        click.echo(json.dumps(keys))
    else:
        click.echo(printable(document.title or recipe))
        for line in tolerance_lines(found, document.unit):
            click.echo(line)
        if layers:
            click.echo(f"  {layers} layers along the cut, about {height:.2g} mm of paper (typical values, no standard)")
        if layers > LAYERS_IN_PRACTICE:
            click.echo(
                f"  note: common practice stops at about {LAYERS_IN_PRACTICE} layers; thinner paper, or a craft knife on a mat"
            )
    _end(0)


_IN_MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(254, 10)}


@main.command()
@click.argument("document", type=click.Path())
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    required=True,
    help="Write the exact pattern here (.toml or .json).",
)
@click.option(
    "--most",
    type=click.FloatRange(min=0, max=1_000_000, min_open=True),
    default=None,
    help="Move no point farther than this, in mm.  [default: one and a half units of the last digit written]",
)
@_json_option
def exact(document: str, output: Path, most: float | None, as_json: bool) -> None:
    """Propose an exact pattern near DOCUMENT, a drawing with rounded numbers, and certify it.

    Says what moved and by how much. The exit status is that of the pattern proposed; 3 if none is found.
    """
    if most is not None and not isfinite(most):
        raise click.BadParameter(f"{most} is no length", param_hint="--most")
    if output.resolve() == Path(document).resolve():
        raise click.UsageError(f"-o {output} is the drawing itself")
    try:
        with _progress(document) as progress:
            drawing = load_any(document)
            if isinstance(drawing, Recipe):
                _no_proposal(document, drawing, "unsupported", "the folds of a recipe are exact by themselves", as_json)
            allowed = Fraction(repr(most)) / _IN_MM[drawing.unit] if most is not None else None
            found = proposals(drawing, allowed)
            chosen = None
            for proposal in found:
                result = run_certify(replace(proposal.document, source=str(output)), progress=progress)
                if chosen is None or result.verdict == "certified":
                    chosen = proposal, result
                if result.verdict == "certified":
                    break
    except Malformed as error:
        click.echo(json.dumps(_malformed_keys(document, error)) if as_json else f"malformed: {error}")
        _end(EXIT["malformed"])
    except LimitReached as limit:
        _no_proposal(document, drawing, "undecided", f"{limit}; nothing is proved either way", as_json)
    if chosen is None:
        reason = "no pattern of the known families whose folds close is so near the drawing; --most MM looks farther"
        _no_proposal(document, drawing, "undecided", reason, as_json)
    proposal, result = chosen
    try:
        write(proposal.document, output)
    except OSError as error:
        raise click.ClickException(f"{output}: the pattern cannot be written: {error.strerror}") from None
    if as_json:
        click.echo(
            json.dumps(result.keys() | {"document": document, "output": str(output), "proposal": proposal.keys()})
        )
    else:
        for line in (*proposal.summary(), f"  written to {output}", *summary(result)):
            click.echo(line)
    _end(EXIT[result.verdict])


def _no_proposal(path: str, document: Document | Recipe, verdict: str, reason: str, as_json: bool) -> NoReturn:
    if as_json:
        finding = {"check": "exact", "kind": "no-proposal", "level": "advice", "message": reason, "where": []}
        keys = {"document": path, "verdict": verdict, "statement_sha256": document.statement_sha256}
        click.echo(
            json.dumps(keys | {"claims": list(document.claims), "findings": [finding], "facts": {}, "proposal": None})
        )
    else:
        click.echo(f"{verdict}: {reason}")
    _end(EXIT[verdict])


if __name__ == "__main__":
    main()
