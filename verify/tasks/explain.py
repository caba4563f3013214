"""A result in words: short for the command line, or at length."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from math import gcd, lcm
from pathlib import Path

from verify.folding.stack import LayerOrder, layers_of
from verify.pattern.source import printable
from verify.pattern.subdivision import Subdivision
from verify.tasks.certify import Result, Source, result_of
from verify.words.findings import Finding, counted, listed, piece_words

SECTIONS = (
    ("step", "Step by step"),
    ("kawasaki", "Alternate angles round each vertex (Kawasaki–Justin)"),
    ("maekawa", "Mountains and valleys at each vertex (Maekawa–Justin)"),
    ("big-little-big", "Small angles between large ones"),
    ("vertex", "Each vertex by itself"),
    ("hole", "Round the holes of the sheet"),
    ("layer-order", "Layers"),
    ("cut", "The cut"),
    ("pieces", "Pieces"),
    ("repair", "Repairs (no part of the verdict; creaseproof exact DOCUMENT -o NEW --accept N applies one)"),
    ("hands", "By hand (no part of the verdict)"),
    ("advice", "Advice (no part of the verdict)"),
    ("limit", "Limits"),
)
_MARK = {"holds": "holds", "fails": "FAILS", "advice": "note", "note": "note", "warning": "WARN"}
_BRIEF = 8
_NAMES = 60
_LAYERS = 40

# Every flat-folded state of a simple polygon of paper is reached by a continuous motion from the flat sheet.
CONTINUOUS = "Demaine, Devadoss, Mitchell, O'Rourke, Continuous foldability of polygonal paper, CCCG 2004"


def summary_at(result: Result, place: str | Path | None) -> Iterator[str]:
    """The summary of a result whose document was written to a place (None: nowhere), by its name there."""
    document = result.document
    source = document.source if place is None else str(place)
    return summary(replace(result, document=document.called(document.title, source)))


def summary(result: Result) -> Iterator[str]:
    """A few lines: the verdict, what was proved or why not, advice, the digest."""
    document = result.document
    yield f"{result.verdict}: {document.title or document.source}"
    if document.title:
        yield f"  {document.source}"
    s = result.subdivision
    if s is not None:
        degree = s.drawing.field.degree
        numbers = "rational numbers" if degree == 1 else f"numbers of a field of degree {degree}"
        yield f"  {counted(len(s.panels), 'panel')}, {numbers}"
    if result.verdict == "certified":
        yield ("  every step can be done, and the sheet lies flat" if document.steps else "  the sheet folds flat") + (
            "" if document.has_target else " (no figure, so no cut is claimed)"
        )
    alone = [finding for finding in result.findings if finding.kind == "no-creases"]
    yield from (f"  {finding.message}" for finding in alone)
    failures = list(result.failures)
    for finding in failures[:_BRIEF]:
        yield f"  {finding.message}"
        for reason in finding.value.get("reasons", []):
            yield f"    - {reason}"
    if len(failures) > _BRIEF:
        yield f"  … and {len(failures) - _BRIEF} more (creaseproof explain lists all)"
    holding = ("cut", "pieces") if result.verdict == "certified" else ("cut",)
    yield from (f"  {f.message}" for f in result.findings if f.check in holding and f.level == "holds")
    open_target = [finding for finding in result.findings if finding.kind == "open-target"]
    for finding in open_target:
        yield f"  note: {finding.message}"
    for finding in result.findings:
        if finding in (*open_target, *alone):
            continue
        if finding.kind == "what-hands-meet":
            yield f"  by hand: {finding.message}"
        elif finding.level == "warning":
            yield f"  warning: {finding.message}"
        elif finding.is_told:
            yield f"  note: {finding.message}"
    yield f"  statement {result.statement_sha256}"


def explain(source: Source) -> str:
    """Every finding at length, grouped by what was checked, each vertex with its values: of a result, or of a document
    or the file of one, which is certified first.

    It repeats what was found; what was *proved* is the verdict, for which the kernel accepted a certificate.
    """
    result = result_of(source)
    lines = list(summary(result))[:3]
    if result.document.notes:
        lines += ["", "The drawing, as it was read or changed (no part of the verdict)"]
        lines += [f"  {_MARK['note']:<6}{note}" for note in result.document.notes]
    for check, title in SECTIONS:
        mine = [f for f in result.findings if f.check == check]
        if mine:
            lines += ["", title]
            for names, finding in _alike(mine):
                lines += _at_length(names, finding, result.document.unit)
    if result.order is not None and result.subdivision is not None:
        lines += ["", *_layer_lines(result.subdivision, result.order)]
        either = [i for i, e in enumerate(result.subdivision.edges) if e.kind == "either"]
        if either:
            lines += ["", "Folds drawn either, as the layer order takes them"]
            lines += [f"  {result.subdivision.edge_name(i)}: {result.order.assignment(i)}" for i in either]
    lines += ["", *proved(result)]
    return "\n".join(map(printable, lines))


def _layer_lines(s: Subdivision, order: LayerOrder) -> Iterator[str]:
    layers = [faces for faces, _ in layers_of(order.above, order.stack, s.panels)]
    divided = len(layers) > len(s.panels)
    yield f"Layer order, bottom to top{' (some panels in several parts)' if divided else ''}"
    names, half = list(map(s.panel_name, layers)), _LAYERS // 2
    if len(names) > _LAYERS:
        names[half:-half] = [f"… {len(names) - _LAYERS} more …"]
    yield from (f"  {name}" for name in names)


def _alike(findings: list[Finding]) -> Iterator[tuple[list[str], Finding]]:
    """Findings that say the same of several vertices, once, with the vertices' names."""
    groups: dict[object, tuple[list[str], Finding]] = {}
    for number, finding in enumerate(findings):
        name, colon, rest = finding.message.partition(": ")
        one_vertex = colon and finding.where == (name,)
        key = (rest, finding.level, str(finding.value)) if one_vertex else number
        groups.setdefault(key, ([], finding))[0].append(name if one_vertex else "")
    yield from groups.values()


def _at_length(names: list[str], finding: Finding, unit: str) -> Iterator[str]:
    message = finding.message
    if len(names) > 1:
        message = f"{listed(names, _NAMES)}: {message.partition(': ')[2]}"
    yield f"  {_MARK[finding.level]:<6}{message}"
    value = finding.value
    if "angles_degrees" in value:
        yield f"        angles {', '.join(f'{angle}°' for angle in value['angles_degrees'])}"
    if "difference_direction" in value:
        yield (
            "        exactly: the sums differ by the angle of the direction "
            f"({', '.join(_shortest(value['difference_direction']))})"
        )
    for reason in value.get("reasons", []):
        yield f"        - {reason}"
    for piece in value.get("pieces", []):
        bare = piece["area"].lstrip("-").isdigit()
        exactly = "" if bare else f"{piece['area_decimal']}… = "
        yield f"        {piece_words(piece['called'])}: area {exactly}{piece['area']} {unit}²"


def _shortest(direction: Sequence[str]) -> Sequence[str]:
    """A direction in the smallest whole numbers; as it is if it is not rational."""
    try:
        numbers = [Fraction(text) for text in direction]
    except ValueError:
        return direction
    if not any(numbers):
        return direction
    over = lcm(*(number.denominator for number in numbers))
    unit = Fraction(gcd(*(int(number * over) for number in numbers)), over)
    return [str(number / unit) for number in numbers]


def folds_at_once(result: Result) -> bool:
    """Whether it is about folds that no steps lead to: of a pattern, unless nothing is folded."""
    s = result.subdivision
    return not result.document.steps and s is not None and any(e.is_fold for e in s.edges)


def proved(result: Result) -> Iterator[str]:
    """What is proved and what is not, in two sentences, and the statement's digest."""
    if result.verdict == "certified":
        folds = "the sheet folds flat along exactly these folds without passing through itself"
        if result.document.steps:
            folds = "each step can be done as written, and the sheet then lies flat without passing through itself"
        claims = {
            "folds-flat": folds,
            "cut-exact": f"the cut {'frees' if result.frees_something else 'runs along'} exactly the figure",
        }
        yield "Proved (the kernel accepted the certificate): " + "; ".join(claims[c] for c in result.claims) + "."
        reach = ""
        if folds_at_once(result):
            reach = "that hands can reach this folded state panel by panel"
            if not result.document.holes:
                reach += f" (paper that may bend can be brought there: {CONTINUOUS})"
            reach += "; "
        yield f"Not proved: {reach}that real paper is as thin as the model."
    elif result.verdict == "refuted":
        yield "Proved (the kernel accepted the refutation): as drawn, not everything that the document claims is true."
        yield "Not proved: that no pattern near this one works."
    elif result.verdict == "unsupported":
        yield (
            "Nothing is proved: this version does not decide documents of this kind. That does not mean "
            "that the paper cannot be folded so."
        )
    else:
        yield "Nothing is proved: a limit was reached first. That does not mean that the pattern cannot fold."
    yield f"Statement {result.statement_sha256}"
