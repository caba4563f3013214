"""`recipe`: a short list of simple folds for a target, found by search."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any, get_args

import click

from verify.cli.drawing import DRAWN, DrawingOptions, drawing_options, how_large, join_option
from verify.cli.frame import json_option, main, reporting, seconds_for, tell, with_notes
from verify.cli.options import Whole, typed_again
from verify.cli.output import RECIPE, Outputs, certificate_option, force_option, output_option
from verify.construct.moves.joining import joined_ends
from verify.construct.recipes.edges import at_edges
from verify.pattern.document import IN_MM
from verify.pattern.recipe import load_any
from verify.pattern.rounding import is_within_rounding
from verify.pattern.svg_defaults import MARGIN
from verify.tasks.explain import summary_at
from verify.tasks.recipe import FOLDS, LAYERS, SECONDS, Edges, lacking, regular_near
from verify.tasks.recipe import recipe as run_recipe
from verify.tasks.recipe_found import RecipeFound
from verify.tasks.recipe_search import Prefer
from verify.tasks.stuck import TELL, Tell, hint
from verify.words.step_findings import in_plain
from verify.words.target_advice import advice_on_target, findings_on_target

_KEPT = (*DRAWN, "join", "folds", "layers", "seconds", "all_layers", "edges", "prefer", "near")
_FARTHER = "by at most a sixteenth of the figure's larger side"


@main.command(name="recipe")
@click.argument("target", type=click.Path())
@output_option("Write the recipe here (.toml or .json).", required=False)
@certificate_option
@click.option("--folds", type=Whole(1, 30), default=FOLDS, help="At most this many folds.")
@click.option("--layers", type=Whole(1, 1000), default=LAYERS, help="At most this many layers at the cut.")
@seconds_for("Give up the search after this time.", SECONDS)
@click.option("--after", type=click.Path(), help="Start where this recipe ends, and say only what --tell asks.")
@click.option(
    "--tell",
    "asked",
    type=click.Choice(TELL),
    default=None,
    help=(
        "Say only this, about the flat sheet or where --after has led: on how many lines the outline lies; what has "
        "spoilt it; whether --folds more are enough; the next fold; or all. [default with --after: lines]"
    ),
)
@click.option(
    "--near",
    is_flag=True,
    help=(
        "Also try figures near the drawing, with points moved by at most a sixteenth of its larger side; take one that "
        "needs fewer folds, or that has a recipe if the drawing has none, and say what moved."
    ),
)
@click.option(
    "--edges",
    is_flag=True,
    help=(
        "Also try sheets that end at sides of the figure, which then need no cut; take the one that needs the fewest "
        "folds. (For a drawing without border lines or --margin they are tried anyway if it has no recipe, or only one "
        "that is hard for hands.)"
    ),
)
@click.option(
    "--prefer",
    type=click.Choice(get_args(Prefer)),
    default="layers",
    help=(
        "Among recipes of equal length take the one with the fewest layers at the cut, folds that need be least true "
        "(accuracy), the fewest warnings (hands), the longest shortest fold, the widest gap between creases, the "
        "largest smallest panel, or the fewest layers in one fold."
    ),
)
@click.option("--all-layers", is_flag=True, help="Fold all layers each time.")
@join_option
@drawing_options
@force_option
@json_option
def recipe_command(
    target: str,
    drawn: DrawingOptions,
    output: Path | None,
    certificate: Path | None,
    after: str | None,
    asked: Tell | None,
    near: bool,
    edges: bool,
    prefer: Prefer,
    join: Fraction,
    **how: Any,
) -> str:
    """Find the shortest recipe of simple folds after which one straight cut frees the figure in TARGET, and certify it.

    TARGET is a document with a sheet and a target, or an SVG drawing of straight lines. Of two recipes of equal length
    it takes the one of all-layers folds. Nothing is written unless it was certified.

    If you want to find the folds yourself, --tell helps from the flat sheet, or from where --after RECIPE has led, and
    says no more than you ask. The exit status is then 3, undecided, unless a whole recipe is found and certified, and
    its next fold, or all of it, is told.
    """
    for is_asked, does in ((near, "--near moves the figure"), (edges, "--edges changes the sheet")):
        if is_asked and after is not None:
            raise click.UsageError(f"{does}, and --after has folded it already: expected one of them")
        if is_asked and asked is not None:
            raise click.UsageError(f"{does}, and --tell speaks of it as it is: expected one of them")
    outputs = Outputs([target, *drawn.files, *([after] if after else [])])
    outputs.expect(output, RECIPE)
    certificate = outputs.expect_certificate(certificate, output or target)
    document = drawn.read_target(target, of_recipes=True)
    document = joined_ends(document, join / IN_MM[document.unit])
    sheet_is_ours = target.lower().endswith(".svg") and not drawn.says_sheet
    sheets: Edges = "fewer" if edges else "needed" if sheet_is_ours else "never"
    with reporting(target) as progress:
        if after is None and asked is None:
            found = run_recipe(document, **how, near=near, edges=sheets, prefer=prefer, progress=progress)
        else:
            so_far = load_any(after).as_recipe() if after is not None else None
            told = hint(document, so_far, tell=asked or "lines", **how, progress=progress)
            if isinstance(told, RecipeFound):
                found = told
            elif asked == "all" and told.found is not None and told.found.recipe is not None:
                found = told.found
            else:
                tell(told.keys(), told.words())
                return told.verdict
    if found.result is not None:
        remarks = [*document.notes, *(f"moved: {line}" for line in found.moves())]
        outputs.write_document(output, found.recipe, remarks)
        outputs.write_certificate(certificate, found.result.certificate)
    further = _further(found, target, near, sheets, how["folds"]) if after is None and asked is None else []
    lines = _lines(found, output, f"after {after}: " if after is not None else "", further, near)
    notes = [*document.notes, *(advice_on_target(document) if found.result is None else [])]
    tell(found.keys() | {"notes": notes}, with_notes(lines, notes))
    return found.verdict


def _further(found: RecipeFound, target: str, near: bool, sheets: Edges, folds: int) -> list[str]:
    """The commands that may find folds, or better ones: thicker ones, or more than the `folds` that were allowed, or of
    a figure near one that has none, or hard ones.
    """
    typed = typed_again(target, *DRAWN)
    if found.needs_no_fold and found.document.source.lower().endswith(".svg"):
        return [f"  `creaseproof import {typed} -o DOCUMENT` writes a document that certify proves and handout prints"]
    if found.needs_no_fold:
        return [f"  `creaseproof certify {typed}` proves that, `creaseproof handout` prints the sheet"]
    thick, layers = found.too_thick
    said = [f"  {_again(target, 'layers')} --layers {layers}` takes one of these"] if thick else []
    too_few = found.recipe is None and (folds < found.least or found.longer > 0)
    if too_few:
        does = "tries that" if found.longer else "allows the folds that it takes at least"
        said.append(f"  {_again(target, 'folds')} --folds {found.longer or found.least}` {does}")
    loose = [f for f in findings_on_target(found.document) if f.kind == "nearly-closed"] if found.recipe is None else []
    if loose:
        closed = f"{_again(target, 'join')} --join {loose[0].value['join']}` closes the outline"
        return [f"  {closed}; as it is drawn, nothing comes free there", *said]
    if found.edges and sheets == "needed":
        said.append(f"  {_again(target)} --margin {MARGIN}` keeps paper all round")
    is_wanting = found.verdict == "undecided" or found.is_hard
    if is_wanting and sheets == "never" and next(at_edges(found.document), None) is not None:
        said.append(
            f"  {_again(target)} --edges` also lets the sheet end at sides of the figure, which then need no cut"
        )
    return said if near or too_few else [*said, *_near_it(found, target)]


def _again(target: str, instead: str = "") -> str:
    """The command as it was typed, open for one more option: `instead` of the same one with another value."""
    return f"`creaseproof recipe {typed_again(target, *(name for name in _KEPT if name != instead))}"


def _near_it(found: RecipeFound, target: str) -> list[str]:
    if lacking(found.document):
        return []
    regular = regular_near(found.document) if found.recipe is None or found.is_hard else []
    command = f"{_again(target)} --near` also tries to move"
    if regular:
        is_rounded = is_within_rounding(found.document.numbers, regular[0].greatest)
        rounded = "this looks like rounding: " if is_rounded else ""
        return [f"  {rounded}{command} {regular[0].regular}; then points farther, {_FARTHER}"]
    if found.verdict == "undecided" and found.least:
        return [f"  {command} its points, {_FARTHER}"]
    return []


def _lines(
    found: RecipeFound, output: Path | None, counted_from: str, further: Iterable[str], near: bool
) -> Iterator[str]:
    if found.recipe is None or found.result is None:
        yield f"{found.verdict}: {found.document.title or found.document.source}"
        if found.document.title:
            yield f"  {found.document.source}"
        yield f"  {found.none()}"
        if found.forbidden:
            yield "  that is proved for recipes of any length (proofs/theory/searching.md), though not by the kernel"
        yield from (f"  {line}" for line in found.further())
        yield from further
        if found.verdict == "undecided" and not found.needs_no_fold:
            yield "  `creaseproof construct` makes a pattern to crease and collapse at once"
        if found.tried:
            yield "  what was tried:"
        yield from (f"    {line}" for line in found.tried)
        return
    yield from summary_at(found.result, output or found.document.source)
    if found.result.carried is not None:
        yield from (f"  {line}" for line in in_plain(found.result.carried, found.result.findings))
    yield f"  {counted_from}{found.words()}"
    yield from further
    if found.is_hard:
        yield (
            "  this is hard for hands: `creaseproof construct` makes a pattern to crease and collapse at once, "
            "mostly with many more folds, but each is creased through one layer"
        )
    if found.edges:
        yield f"  this recipe takes less paper: {found.moves()[0]} ({found.why_moved()})"
    elif found.moved is not None:
        yield f"  this recipe is for a figure near the drawing ({found.why_moved()}); what was moved:"
        for line in found.moves():
            yield f"    {line}"
    elif near:
        yield "  nothing was moved: no figure was found near the drawing that takes fewer folds"
    for line in how_large(found.recipe.base):
        yield f"  {line}"
    if output is not None:
        yield f"  written to {output}"
