"""`fold` and `tolerance`: what a list of folds gives, and how true each fold must be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from shlex import quote
from typing import Any

import click

from verify.cli.frame import json_option, main, reporting, tell
from verify.cli.options import Decimal, Whole
from verify.cli.output import PATTERN, Outputs, certificate_option, force_option, output_option
from verify.cutting.cut import LAYERS_IN_PRACTICE
from verify.cutting.hands import Hands
from verify.cutting.outcome import pattern_of
from verify.cutting.tolerance import SAMPLES, Tolerance, stack_thickness
from verify.cutting.tolerance import tolerance as run_tolerance
from verify.folding.steps import Folded
from verify.pattern.document import RECIPE_FORMAT
from verify.pattern.limits import Limits
from verify.pattern.recipe import load_any
from verify.pattern.source import NotRead
from verify.tasks.certify import certify as run_certify
from verify.tasks.explain import summary
from verify.tasks.fold_report import FoldReport
from verify.words.cut_findings import THICK
from verify.words.findings import Finding, answer, counted
from verify.words.hands_findings import how_true
from verify.words.step_words import step_words
from verify.words.tolerance import advice_lines, beside_lines, effect_lines, sample_lines


@main.command()
@click.argument("recipe", type=click.Path())
@output_option("Write the crease pattern that the folds give, with its target.", required=False)
@certificate_option
@force_option
@json_option
def fold(recipe: str, output: Path | None, certificate: Path | None) -> str:
    """Carry out RECIPE step by step, exactly, and say what the scissors really cut.

    Without a target, the result is the outline that the cut gives; it becomes the target of the pattern that -o writes.
    """
    outputs = Outputs([recipe])
    outputs.expect(output, PATTERN)
    certificate = outputs.expect_certificate(certificate, recipe)
    document = load_any(recipe).as_recipe(f'a recipe, "{RECIPE_FORMAT}"')
    with reporting(recipe) as progress:
        result = run_certify(document, Limits(), progress)
        report = FoldReport(document, result) if result.carried is not None else None
    outputs.write_certificate(certificate, result.certificate)
    keys = report.keys() if report is not None else result.keys()
    lines = [*summary(result), *(report.lines() if report is not None else ())]
    if result.verdict == "refuted" and result.is_carried_out and document.has_target and document.along is None:
        file = quote(recipe)
        lines.append(f"  `creaseproof recipe {file} --after {file} --tell enough` says whether more folds would do")
    if output is not None and result.fold_map is not None and report is not None and result.is_carried_out:
        pattern = pattern_of(result.fold_map, None if document.has_target else report.cut)
        outputs.write_document(output, pattern)
        would_be, says = run_certify(pattern), ""
        if would_be.verdict != "certified":
            why = "; ".join(f.message for f in would_be.failures[:2])
            says = f"; certify says {would_be.verdict}" + (f": {why}" if why else "")
        keys |= {"pattern_verdict": would_be.verdict}
        lines.append(f"  pattern written to {output}{says}")
    tell(keys, lines)
    return result.verdict


@main.command()
@click.argument("recipe", type=click.Path())
@click.option(
    "--error",
    type=Decimal("number"),
    help="How far each fold may be off at its ends, in the document's unit.  [default: 0.5 mm]",
)
@click.option(
    "--width",
    type=Decimal("number"),
    help="How far a side of the outline may move, in the document's unit.  [default: 1 mm]",
)
@click.option(
    "--samples",
    type=Whole(min=1, max=10_000),
    default=SAMPLES,
    help="Fold this often, each time with random errors.",
)
@click.option("--seed", type=int, default=1, help="The same seed draws the same errors.")
@click.option(
    "--thickness",
    type=Decimal("mm", 100),
    help="Thickness of the paper in mm.  [default: 0.1, typical of 80 g/m² office paper]",
)
@click.option("--grammage", type=Decimal("g/m²", 100_000), help="Or its grammage in g/m².")
@json_option
def tolerance(recipe: str, thickness: float | None, grammage: float | None, **how: Any) -> str | int:
    """Estimate how true each fold of RECIPE must be for the cut to come out right. Estimates, not proofs."""
    document = load_any(recipe).as_recipe(f'a recipe, "{RECIPE_FORMAT}"')
    try:
        with reporting(recipe) as progress:
            result = run_certify(document, Limits(), progress)
            if result.carried is None or result.carried.refused is not None:
                tell(result.keys(), summary(result))
                return result.verdict
            found = run_tolerance(result.carried, **how, progress=progress)
    except NotRead:
        raise
    except ValueError as fault:
        finding = Finding("tolerance", "no-estimate", "fails", str(fault))
        tell(answer("unsupported", finding, document=recipe), [f"unsupported: {fault}"])
        return "unsupported"
    layers = result.layers_met
    height = stack_thickness(layers, thickness=thickness, grammage=grammage)
    said = [asdict(e) | {"words": step_words(result.carried, e.step)} for e in found.effects]
    sizes = {"unit": document.unit, "layers": layers, "stack_mm": height, "document": recipe}
    lines = _tolerance_lines(result.carried, found, result.hands, layers, height)
    tell(answer(None) | asdict(found) | {"effects": said} | sizes, lines)
    return 0


def _tolerance_lines(
    folded: Folded, found: Tolerance, hands: Hands | None, layers: int, height: float
) -> Iterator[str]:
    recipe = folded.recipe
    yield recipe.title or recipe.source
    unit = recipe.unit
    worst = () if hands is None else how_true(hands)
    lines = (*advice_lines(found, unit), *worst, *sample_lines(found, unit))
    for line in (*lines, *effect_lines(found, folded), *beside_lines(found, recipe)):
        yield f"  {line}"
    if layers:
        paper = f"about {height:.2g} mm of paper (typical values, no standard)"
        yield f"  {counted(layers, 'layer')} along the cut, {paper}"
    if layers > LAYERS_IN_PRACTICE:
        yield f"  note: {layers} layers; {THICK}"
