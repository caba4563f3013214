"""`construct`: a certified pattern for a target."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from shlex import quote
from typing import Any

import click

from verify.cli.best import prefer_option, tries_option
from verify.cli.drawing import DRAWN, DrawingOptions, drawing_options, how_large, join_option
from verify.cli.frame import json_option, main, reporting, seconds_for, tell, with_notes
from verify.cli.options import Amount, typed_again
from verify.cli.output import PATTERN, SVG, Outputs, certificate_option, force_option, output_option
from verify.construct.coordinates.stars import stars_near
from verify.construct.moves.joining import joined_ends
from verify.pattern.document import IN_MM
from verify.pattern.limits import Limits
from verify.tasks.construct import construct
from verify.tasks.construct_found import Constructed
from verify.tasks.explain import summary_at
from verify.tasks.recipe import hopeful
from verify.tasks.recipe_found import ending_at, in_vain
from verify.words.findings import counted
from verify.words.target_advice import advice_on_target

_MANY = 24  # folds: more than hands like to bring in together (our own choice, no source)
_FEW = 4  # folds: simple ones are hardly fewer (our own choice, too)
_LOOK = 1.0  # seconds, for a figure that a recipe may free
_SECONDS = 600  # all drawings measured (benchmarks/drawings.md) take less


@main.command(name="construct")
@click.argument("target", type=click.Path())
@output_option("Write the pattern here (.toml or .json).")
@certificate_option
@tries_option
@prefer_option
@click.option(
    "--exact",
    is_flag=True,
    help="Move nothing: keep every line where it is, in a number field if its direction needs one.",
)
@click.option(
    "--snap",
    type=Amount("mm", 1000, instead=" (--exact moves nothing)"),
    help="Move the target by at most this, in mm, and no farther unless --nudge is given too. "
    "[default: at first 0.1, to make directions rational; then farther]",
)
@click.option(
    "--nudge",
    type=Amount("mm", 1000, instead=" (--exact moves nothing)"),
    help="Move the target by at most this, in mm, if less does not help. [default: 1 % of its extent]",
)
@click.option(
    "--edges",
    is_flag=True,
    help="Also try sheets that end at sides of the figure, which then need no cut; take the one that needs the fewest "
    "folds (or with --prefer the best).",
)
@join_option
@click.option(
    "--blame",
    type=click.Path(path_type=Path),
    help="If there is no pattern, draw the lines to blame here (SVG): those between which perpendiculars run without "
    "end, or along which contradictory ones run.",
)
@drawing_options
@seconds_for("After this time solve no more sets of creases; take the best so far.", _SECONDS)
@force_option
@json_option
def construct_command(
    target: str,
    drawn: DrawingOptions,
    output: Path,
    certificate: Path | None,
    exact: bool,
    snap: Fraction | None,
    nudge: Fraction | None,
    edges: bool,
    join: Fraction,
    blame: Path | None,
    seconds: float,
    **how: Any,
) -> str:
    """Construct a pattern for one straight cut that frees the figure in TARGET, and certify it.

    TARGET has a sheet and a target and no creases; or it is an SVG drawing of straight lines (--line, --lines,
    --margin, --flatten and --width say how it is read). Nothing is written unless it was certified.
    """
    if exact and nudge is not None:
        raise click.UsageError("--exact keeps the figure where it is; --nudge moves it")
    outputs = Outputs([target, *drawn.files])
    outputs.expect(output, PATTERN)
    certificate = outputs.expect_certificate(certificate, output)
    outputs.expect(blame, SVG)
    document = drawn.read_target(target, round_turns=not exact)
    document = joined_ends(document, join / IN_MM[document.unit])
    with reporting(target) as progress:
        made = construct(
            document,
            **how,
            exact=exact,
            snap_mm=snap,
            nudge_mm=nudge,
            edges="fewer" if edges else "never",
            limits=Limits(seconds=seconds),
            progress=progress,
            best_on_interrupt=True,
        )
    if made.result is not None:
        less_paper = [ending_at(made.edges)] if made.edges else []
        outputs.write_document(output, made.pattern, [*document.notes, *less_paper, *_moved(made)])
        outputs.write_certificate(certificate, made.result.certificate)
    if blame is not None and made.blamed:
        from verify.show.blamed import blamed_svg  # seldom needed

        outputs.write(blame, blamed_svg(document, made.blamed))
    notes = [*document.notes, *(advice_on_target(document) if made.result is None else [])]
    found = made.keys(target) | {"notes": notes}
    if made.hint:
        found["findings"][0]["message"] = _reason(made)
    typed = typed_again(target, *DRAWN, "join")
    lines = _lines(target, typed, made, output, blame, as_usual=not exact and snap is None)
    tell(found, with_notes(lines, notes))
    return made.verdict


def _lines(
    target: str, typed: str, made: Constructed, output: Path, blame: Path | None, as_usual: bool
) -> Iterator[str]:
    """What is said. `typed`: the target and how it is read, as in a command; `as_usual`: no option said how far the
    figure may move.
    """
    if made.result is None or made.proposal is None:
        yield f"{made.verdict}: {target}: {_reason(made)}"
        if made.sheets:
            yield f"  {in_vain(made.sheets)}"
        if made.blamed:
            yield (
                f"  the lines to blame are drawn in {blame}" if blame else "  --blame FILE.svg draws the lines to blame"
            )
        return
    proposal = made.proposal
    file = quote(str(output))
    yield from summary_at(made.result, output)
    counts = f"{counted(proposal.folds, 'fold edge')}, {counted(proposal.layers, 'layer')} at the cut"
    yield f"  {counts}: {_of_sets(made)}"
    if made.edges:
        unmoved = counted(made.unmoved, "fold edge") + " were" if made.unmoved else "no pattern was"
        since = f"for the drawing as it is, {unmoved} found"
        yield f"  this pattern takes less paper: {ending_at(made.edges)} ({since})"
    saved = f" (where it is, about {made.as_drawn} fold edges: --exact)" if made.as_drawn > proposal.folds else ""
    yield from (f"  {moved}{saved}" for moved in _moved(made))
    if as_usual and any(f.kind == "short-crease" for f in made.result.warnings):
        yield "  --snap 1 --prefer shortest may make the shortest crease longer: the figure may then move by up to 1 mm"
    for line in how_large(proposal.document):
        yield f"  {line}"
    if proposal.folds > _MANY and not proposal.simple:
        yield "  with so many folds, crease them all first and collapse them at once"
    if proposal.simple:
        yield f"  this pattern takes {counted(proposal.simple, 'simple fold')}: `creaseproof steps {file}` lists them"
    elif proposal.folds > _FEW:
        yield f"  `creaseproof steps {file}` looks for simple folds of this very pattern, or says how to collapse it"
    hard = proposal.folds > _FEW and not proposal.simple
    regular = [what for _, what, far in stars_near(made.document) if far] if hard else []
    if regular:
        yield f"  `creaseproof recipe {typed} --near` makes {regular[0]} of it: maybe a few simple folds"
    elif proposal.folds > _FEW and hopeful(proposal.document, seconds=_LOOK, fewer_than=proposal.simple or None):
        few = "fewer" if proposal.simple else "a few"
        yield f"  `creaseproof recipe {file}` looks for {few} simple folds of the same figure"
    yield f"  written to {output}"


def _moved(made: Constructed) -> Iterator[str]:
    """How far the figure was moved, and why, if it was."""
    if made.moved is not None:
        farthest = made.moved.moves[0]
        far = f"{made.moved.greatest:.3g} {made.document.unit}, {made.document.told(farthest.name)} the farthest"
        yield f"the figure was moved by at most {far}, {made.why}"


def _of_sets(made: Constructed) -> str:
    """Of how many sets of creases the pattern is the best."""
    until = " until it was stopped" if made.stopped else ""
    if made.tried == 1:
        return f"the only set of creases tried{until}"
    if made.folding == made.tried:
        return f"the best of {made.tried} sets of creases{until}, all of which fold"
    fold = "folds" if made.folding == 1 else "fold"
    return f"the best of {made.tried} sets of creases{until}, {made.folding} of which {fold}"


def _reason(made: Constructed) -> str:
    """Why there is no pattern, and the option of this command that may help."""
    return f"{made.reason}; {made.hint}" if made.hint else made.reason
