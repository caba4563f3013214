"""`recipe`: a short list of simple folds for a target, found by search."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import click

from verify.cli.drawing import Drawing, drawing_options
from verify.cli.frame import EXIT, end, end_not_read, json_option, main, reporting
from verify.cli.options import Decimal
from verify.cli.output import CERTIFICATE, RECIPE, Outputs, certificate_path, force_option
from verify.pattern.document import Malformed, printable
from verify.pattern.recipe import Recipe
from verify.tasks.explain import summary
from verify.tasks.recipe import FOLDS, LAYERS, SECONDS, RecipeFound
from verify.tasks.recipe import recipe as run_recipe


@main.command(name="recipe")
@click.argument("target", type=click.Path())
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write the recipe here (.toml or .json).")
@click.option("--certificate", type=click.Path(path_type=Path), help="Write its certificate here.")
@click.option("--folds", type=click.IntRange(1, 30), default=FOLDS, show_default=True, help="At most so many folds.")
@click.option(
    "--layers",
    type=click.IntRange(1, 1000),
    default=LAYERS,
    show_default=True,
    help="At most so many layers at the cut.",
)
@click.option(
    "--seconds",
    type=Decimal("seconds", 10**9),
    default=SECONDS,
    show_default=True,
    help="Give up the search after this time.",
)
@click.option("--all-layers", is_flag=True, help="Fold all layers each time.")
@drawing_options
@force_option
@json_option
def recipe_command(
    target: str,
    drawn: Drawing,
    output: Path | None,
    certificate: Path | None,
    folds: int,
    layers: int,
    seconds: float,
    all_layers: bool,
    force: bool,
    as_json: bool,
) -> None:
    """Find the shortest recipe of simple folds after which one straight cut frees the target of TARGET, and certify it.

    TARGET is a document with a sheet and a target, or an SVG drawing of straight lines. Folds of all layers are tried first, then
    folds of some. Nothing is written unless it was certified.
    """
    outputs = Outputs([target, *drawn.files], force=force)
    if output is not None:
        outputs.expect(output, RECIPE)
    if certificate is not None:
        certificate, in_folder = certificate_path(certificate, output or target)
        outputs.expect(certificate, CERTIFICATE, folder=in_folder)
    try:
        document = drawn.read_target(target, of_recipes=True)
        with reporting(target) as progress:
            found = run_recipe(
                document, folds=folds, layers=layers, seconds=seconds, all_layers=all_layers, progress=progress
            )
    except Malformed as error:
        end_not_read(target, error, as_json)
    if found.recipe is not None and output is not None:
        outputs.write_document(output, found.recipe)
    if certificate is not None and found.result is not None and found.result.certificate is not None:
        outputs.write_certificate(certificate, found.result.certificate, folder=in_folder)
    if as_json:
        click.echo(json.dumps(found.keys() | {"notes": list(document.notes)}))
    else:
        _say(found, output)
        for note in document.notes:
            click.echo(f"  {note}")
    end(EXIT[found.verdict])


def _say(found: RecipeFound, output: Path | None) -> None:
    if found.recipe is None or found.result is None:
        click.echo(f"{found.verdict}: {printable(found.document.title or found.document.source)}")
        click.echo(f"  {printable(found.words())}")
        return
    source = str(output) if output is not None else found.document.source
    for line in summary(replace(found.result, document=replace_source(found.recipe, source))):
        click.echo(line)
    for finding in found.result.findings:
        if finding.check == "step":
            click.echo(f"  {printable(finding.message)}")
    click.echo(f"  {printable(found.words())}")
    if output is not None:
        click.echo(f"  written to {output}")


def replace_source(recipe: Recipe, source: str) -> Recipe:
    """The same recipe, named by the file that it is written to."""
    return replace(recipe, base=replace(recipe.base, source=source))
