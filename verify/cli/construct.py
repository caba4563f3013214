"""`construct` and `letters`: certified patterns for a target, and for the letters of a word."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any, get_args

import click
from rich.console import Console
from rich.table import Table

from verify.cli.drawing import Drawing, Size, drawing_options, size_options
from verify.cli.frame import (
    EXIT,
    end,
    end_not_read,
    json_option,
    main,
    reporting,
    seconds_for,
)
from verify.cli.options import Amount
from verify.cli.output import CERTIFICATE, PATTERN, Outputs, certificate_path, force_option
from verify.construct.letterforms.plain import LETTERS
from verify.pattern.document import Malformed
from verify.pattern.limits import Limits
from verify.tasks.construct import TRIES, Constructed, Prefer, construct
from verify.tasks.explain import summary
from verify.tasks.letters import letter_sheets
from verify.tasks.letters import letters as run_letters
from verify.words.hands_findings import warned

_tries_option = click.option(
    "--tries",
    type=click.IntRange(1, 10_000),
    default=TRIES,
    show_default=True,
    help="Solve at most so many sets of creases and take the best.",
)
_prefer_option = click.option(
    "--prefer",
    type=click.Choice(get_args(Prefer)),
    default="folds",
    show_default=True,
    help="What the best pattern has: fewest folds, layers at the cut, warnings (hands) or straight creases; the longest shortest crease, "
    "the widest gap between parallel ones or the largest smallest panel; the thinnest thickest fold.",
)


_seconds_option = seconds_for("After this time solve no more sets (of a sheet), and take the best so far.")


@main.command(name="construct")
@click.argument("target", type=click.Path())
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    required=True,
    help="Write the pattern here (.toml or .json).",
)
@click.option("--certificate", type=click.Path(path_type=Path), help="Write its certificate here.")
@_tries_option
@_prefer_option
@click.option(
    "--exact", is_flag=True, help="Keep every line where it is, in a number field if its direction needs one (slower)."
)
@click.option(
    "--snap",
    type=Amount("mm", 1000),
    default="0.1",
    show_default=True,
    help="Move the target by at most this, in mm, for lines whose unit vectors are not rational.",
)
@click.option(
    "--nudge",
    type=Amount("mm", 1000),
    help="Move it by up to this, in mm, onto a coarse grid (endless perpendiculars).",
)
@drawing_options
@_seconds_option
@force_option
@json_option
def construct_command(
    target: str,
    drawn: Drawing,
    output: Path,
    certificate: Path | None,
    tries: int,
    prefer: Any,
    exact: bool,
    snap: Fraction,
    nudge: Fraction | None,
    seconds: float | None,
    force: bool,
    as_json: bool,
) -> None:
    """Construct a pattern with which one straight cut frees the target of the document TARGET, and certify it.

    TARGET has a sheet and a target and no creases; or it is an SVG drawing of straight lines, for which the options
    --line, --lines, --margin, --flatten and --width are. Nothing is written unless it was certified.
    """
    if exact and nudge is not None:
        raise click.UsageError("--exact keeps the target where it is; --nudge moves it")
    outputs = Outputs([target, *drawn.files], force=force)
    outputs.expect(output, PATTERN)
    if certificate is not None:
        certificate, in_folder = certificate_path(certificate, output)
        outputs.expect(certificate, CERTIFICATE, folder=in_folder)
    try:
        document = drawn.read_target(target)
        with reporting(target) as progress:
            made = construct(
                document,
                tries=tries,
                prefer=prefer,
                exact=exact,
                snap_mm=snap,
                nudge_mm=nudge,
                limits=Limits(seconds=seconds),
                progress=progress,
            )
    except Malformed as error:
        end_not_read(target, error, as_json)
    if made.pattern is not None:
        _save(outputs, made, output, certificate)
    if as_json:
        click.echo(json.dumps(_keys(target, made) | {"notes": list(document.notes)}))
    else:
        for line in (*_lines(made, output), *(f"  {note}" for note in document.notes)):
            click.echo(line)
    end(EXIT[made.verdict])


def _save(outputs: Outputs, made: Constructed, output: Path, certificate: Path | None, folder: bool = False) -> None:
    if made.pattern is None or made.result is None or made.result.certificate is None:
        return
    outputs.write_document(output, made.pattern, folder=folder)
    if certificate is not None:
        outputs.write_certificate(certificate, made.result.certificate, folder=folder)


def _lines(made: Constructed, output: Path) -> list[str]:
    if made.result is None or made.proposal is None:
        return [f"{made.verdict}: {made.reason}"]
    proposal = made.proposal
    lines = [*summary(replace(made.result, document=replace(proposal.document, source=str(output))))]
    lines.append(
        f"  {proposal.folds} folds, {proposal.layers} layers at the cut: the best of {made.tried} sets of creases, "
        f"{made.tried - len(made.failures)} of which fold ({proposal.how})"
    )
    if made.moved is not None:
        unit = made.document.unit
        lines.append(
            f"  the target was moved by at most {made.moved.greatest:.3g} {unit}, so that its lines have rational directions"
        )
    return [*lines, f"  written to {output}"]


def _keys(path: str, made: Constructed) -> dict[str, Any]:
    if made.result is None or made.proposal is None:
        finding: dict[str, Any] = {
            "check": "construct",
            "kind": made.verdict,
            "level": "advice",
            "message": made.reason,
            "where": [],
        }
        keys: dict[str, Any] = {"verdict": made.verdict, "statement_sha256": None, "claims": [], "findings": [finding]}
    else:
        keys = made.result.keys() | {
            "folds": made.proposal.folds,
            "layers": made.proposal.layers,
            "how": made.proposal.how,
        }
    moved = 0.0 if made.moved is None else made.moved.greatest
    return keys | {"document": path, "tried": made.tried, "failed": len(made.failures), "moved": moved}


@main.command()
@click.argument("word")
@click.option("-o", "--output", type=click.Path(path_type=Path), required=True, help="The folder to write to.")
@click.option("--one-sheet", is_flag=True, help="Try the whole word in one sheet and one cut.")
@_tries_option
@_prefer_option
@size_options
@_seconds_option
@force_option
@json_option
def letters(
    word: str,
    size: Size,
    output: Path,
    one_sheet: bool,
    tries: int,
    prefer: Any,
    seconds: float | None,
    force: bool,
    as_json: bool,
) -> None:
    """Construct a certified sheet for each letter of WORD: letters A to Z and digits.

    Letters are 60 mm high; --width sets how wide the word is, all letters in a row, and the height follows.
    Writes a pattern and its certificate for each, numbered in the order of the word. The exit status is the worst one.
    """
    wrong = sorted({c for c in word if c.upper() not in LETTERS})
    if wrong or not word:
        found = ", ".join(repr(c) for c in wrong) or "nothing"
        raise click.UsageError(f"WORD: found {found}; expected letters A to Z and digits 0 to 9")
    if output.exists() and not output.is_dir():
        raise click.UsageError(f"-o {output} is a file; expected a folder")
    sized: Any = {"one_sheet": one_sheet, "width_mm": size.width, "margin_mm": size.margin}
    outputs = Outputs(force=force)
    names = [name for name, _ in letter_sheets(word, **sized)]
    places = {name: (output / f"{name}.toml", output / f"{name}.certificate.json") for name in names}
    for pattern, certificate in places.values():
        outputs.expect(pattern, PATTERN, folder=True)
        outputs.expect(certificate, CERTIFICATE, folder=True)
    rows: list[tuple[str, Constructed]] = []
    with reporting(word) as progress:
        made = run_letters(word, tries=tries, prefer=prefer, limits=Limits(seconds=seconds), progress=progress, **sized)
        for name, one in made:
            _save(outputs, one, *places[name], folder=True)
            rows.append((name, one))
    worst = max((m.verdict for _, m in rows), key=EXIT.__getitem__)
    if as_json:
        found_ = [_keys(f"{name}.toml", m) for name, m in rows]
        click.echo(
            json.dumps({"verdict": worst, "statement_sha256": None, "claims": [], "findings": [], "documents": found_})
        )
    else:
        _print(rows)
    end(EXIT[worst])


def _print(rows: list[tuple[str, Constructed]]) -> None:
    table = Table(box=None, pad_edge=False)
    for head in ("verdict", "sheet", "folds", "layers", "tried", "what", "warnings"):
        table.add_column(head, justify="right" if head in ("folds", "layers", "tried") else "left", overflow="fold")
    for name, m in rows:
        folds, layers = (str(m.proposal.folds), str(m.proposal.layers)) if m.proposal else ("", "")
        warnings = warned(f.kind for f in m.result.warnings) if m.result is not None else ""
        table.add_row(m.verdict, name, folds, layers, str(m.tried), m.reason or m.document.title, warnings)
    console = Console(width=160, highlight=False, markup=False)
    with console.capture() as printed:
        console.print(table)
    for line in printed.get().splitlines():
        click.echo(line.rstrip())
