"""Properties to hunt counterexamples of: theorems, which must stand, and falsehoods, which must fall.

A property is a function of a document (or recipe) that says whether it holds there. That a hunt finds nothing proves
nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import comb
from typing import Any, Literal

from verify.certificate.audit import audit
from verify.exact.number import Number
from verify.exact.plane import advance
from verify.folding.count import count
from verify.folding.foldmap import fold_map
from verify.folding.steps import carry_out
from verify.folding.vertex import VertexReport, strip_order, vertex_reports
from verify.hunt import strategies
from verify.hunt.mutation import mutants
from verify.hunt.strategies import LIMITS, Among, assigned, fine, flat_vertices, patterns, vertices
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document, Kind
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import Recipe
from verify.pattern.subdivision import Subdivision
from verify.tasks.certify import KernelRefused, Result, certify

Known = Literal["theorem", "falsehood", "unknown"]


@dataclass(frozen=True)
class Property:
    """Something that may be true of every value of a strategy.

    `holds` returns whether it holds of one (None counts as yes), or raises AssertionError where it does not. `known`: a
    theorem (or a promise of this package), a known falsehood, or neither; `source` says whose. `among` makes the
    strategy, with or without what is nearly degenerate.
    """

    name: str
    statement: str
    known: Known
    source: str
    among: Among
    holds: Callable[[Any], object]


def subdivided(document: Document) -> Subdivision:
    """The sheet cut up by its drawn lines. Raises `Malformed`, `LimitReached`."""
    return subdivide(draw(document, LIMITS), LIMITS)


def reports(document: Document) -> list[VertexReport]:
    """What holds round each vertex that a fold touches."""
    return vertex_reports(subdivided(document))


def inner_vertex(document: Document) -> VertexReport:
    """The report of the one vertex inside the sheet. Raises ValueError unless there is exactly one that folds touch."""
    (report,) = (r for r in reports(document) if not r.on_border)
    return report


def closes_at_every_vertex(document: Document) -> bool:
    """Whether Kawasaki–Justin holds at each vertex inside the sheet."""
    return all(r.kawasaki is not False for r in reports(document))


def fine_at_every_vertex(document: Document) -> bool:
    """Whether each vertex folds flat by itself as drawn. Raises `LimitReached` for one of too high a degree."""
    answers = [r.folds_here for r in reports(document)]
    if None in answers:
        raise LimitReached("degree of a vertex", "10 open folds", "more, beside some that are not")
    return all(answers)


def folds(document: Document) -> bool:
    """Whether the pattern folds flat as drawn, by the kernel's word, without its target. Raises `LimitReached`."""
    return settled(replace(document, loops=(), paths=(), snips=None, raw=None)).verdict == "certified"


def settled(document: Document) -> Result:
    """What is certified or refuted, else `LimitReached`; AssertionError if the kernel refuses what was found."""
    try:
        result = certify(document, LIMITS)
    except KernelRefused as error:
        raise AssertionError(str(error)) from error
    if result.verdict == "undecided":
        raise LimitReached("limits of the hunt", "few faces and bits", "a pattern that takes more")
    return result


def crimps_away(document: Document) -> bool:
    """Whether crimps and end folds use up the creases of a strip of `families.strip`: just then it folds flat (Arkin et
    al. 2004).
    """
    stops = [Number.of(Fraction(document.points[f"b{i}"][0])) for i in range(len(document.creases) + 2)]
    lengths = [b - a for a, b in pairwise(stops)]
    return strip_order(lengths, [crease.kind for crease in document.creases]) is not None


def _letters(among: Among) -> Among:
    return lambda near: assigned(among(near))


SHIPPED: dict[str, Property] = {}
_PROMISE = "a promise of this package"
_FOUND_STRIP = "the strip it finds: two valleys too close together, refuted by the kernel and by brute force"


def _shipped(known: Known, among: Among, source: str) -> Callable[[Callable[[Any], object]], Callable[[Any], object]]:
    """A function as a shipped property, by its name; its docstring is what it states."""

    def shipped(function: Callable[[Any], object]) -> Callable[[Any], object]:
        name = function.__name__.strip("_").replace("_", "-")
        statement = " ".join((function.__doc__ or name).split())
        SHIPPED[name] = Property(name, statement, known, source, among, function)
        return function

    return shipped


@_shipped("falsehood", strategies.SHIPPED["fine"], _FOUND_STRIP)
def _fine_at_every_vertex_folds(document: Document) -> bool:
    """a pattern whose vertices all fold flat, each taken alone, folds flat"""
    return not fine_at_every_vertex(document) or folds(document)


@_shipped(
    "falsehood",
    lambda near: fine(strategies.equal_maps()),
    "a map of 3 × 3 panels, 252 of 256 assignments [recomputed by brute force]",
)
def _fine_maps_fold(document: Document) -> bool:
    """a map of equal panels whose vertices all fold flat, each taken alone, folds flat"""
    return not fine_at_every_vertex(document) or folds(document)


@_shipped(
    "falsehood",
    strategies.SHIPPED["rings"],
    "the pattern it finds: a triangle whose corners ask for alternate folds, refuted by the kernel and by brute force",
)
def _kawasaki_everywhere_folds(document: Document) -> bool:
    """if alternate angles add up to 180° at every vertex, some assignment folds"""
    return not closes_at_every_vertex(document) or folds(document)


@_shipped("theorem", lambda near: vertices(near) | flat_vertices(near), "Kawasaki 1989, Justin 1989")
def _kawasaki_suffices_for_some_assignment(document: Document) -> bool:
    """one vertex folds flat with some assignment exactly if alternate angles add up to 180°"""
    return closes_at_every_vertex(document) == folds(document)


@_shipped("theorem", _letters(flat_vertices), "Maekawa in Kasahara & Takahama 1987, Justin 1989")
def _maekawa(document: Document) -> bool:
    """if one vertex folds flat, the numbers of its mountains and valleys differ by 2"""
    mountains, valleys, _ = inner_vertex(document).counts
    return abs(mountains - valleys) == 2 or not folds(document)


@_shipped("falsehood", _letters(flat_vertices), "big-little-big: Hull 2002, The combinatorics of flat folds: a survey")
def _maekawa_suffices(document: Document) -> bool:
    """if alternate angles at one vertex add up to 180° and mountains and valleys differ by 2, it folds flat"""
    mountains, valleys, _ = inner_vertex(document).counts
    return abs(mountains - valleys) != 2 or folds(document)


@_shipped("theorem", _letters(flat_vertices), "Hull 2002, The combinatorics of flat folds: a survey")
def _big_little_big(document: Document) -> bool:
    """if one vertex folds flat, an angle smaller than both neighbours lies between a mountain and a valley"""
    return not inner_vertex(document).big_little_big or not folds(document)


@_shipped("theorem", flat_vertices, "Hull 2003, Counting mountain-valley assignments for flat folds")
def _assignments_of_a_vertex(document: Document) -> bool:
    """a flat vertex with 2n folds has an even number of assignments, from 2^n to 2·C(2n, n − 1), and Hull's recursion
    counts them
    """
    report = inner_vertex(document)
    n = len(report.folds) // 2
    number = count(document, LIMITS).folding
    if number is None:
        raise LimitReached("orders", f"{LIMITS.orders:,}", "more layer orders")
    return number % 2 == 0 and 2**n <= number <= 2 * comb(2 * n, n - 1) and number == report.assignments


@_shipped("falsehood", _letters(strategies.strips), _FOUND_STRIP)
def _fine_strips_fold(document: Document) -> bool:
    """every strip whose vertices all fold flat, each taken alone, folds flat"""
    return not fine_at_every_vertex(document) or folds(document)


@_shipped(
    "theorem",
    _letters(strategies.strips),
    "Arkin et al. 2004, When can you fold a map?, CGTA 29:23–46 [read in abstract: one-layer simple folds suffice; "
    "that crimps and end folds do is checked by brute force]",
)
def _crimpable_strips_fold(document: Document) -> bool:
    """a strip folds flat exactly if crimps and end folds use up its creases"""
    return crimps_away(document) == folds(document)


@_shipped("theorem", strategies.SHIPPED["assigned"], "the paper looked at from behind")
def _mountains_for_valleys(document: Document) -> bool:
    """a pattern folds flat exactly if it does with mountains and valleys exchanged"""
    other: dict[Kind, Kind] = {"mountain": "valley", "valley": "mountain"}
    creases = tuple(replace(c, kind=other.get(c.kind, c.kind)) for c in document.creases)
    return folds(document) == folds(replace(document, creases=creases))


@_shipped("theorem", strategies.SHIPPED["assigned"], "an isometry of the plane")
def _moved_paper_folds_alike(document: Document) -> bool:
    """a pattern that is turned and moved folds flat exactly if it did before"""
    points = {name: (f"3/5*({x})-4/5*({y})+7", f"4/5*({x})+3/5*({y})-1/3") for name, (x, y) in document.points.items()}
    return folds(document) == folds(replace(document, points=points, raw=None))


@_shipped(
    "theorem",
    patterns,
    "each panel moves rigidly and folds hold together, so the straight way from one to the other keeps its length "
    "(on a convex sheet)",
)
def _folding_lengthens_nothing(document: Document) -> bool:
    """no two points of the paper are farther apart when it is folded"""
    folded = fold_map(subdivided(document))
    flat, there = folded.subdivision.vertices, folded.images
    pairs = ((i, j) for i in range(len(flat)) for j in range(i))
    return not folded.exists or all(
        advance(flat[i], flat[j], flat[j]) >= advance(there[i], there[j], there[j]) for i, j in pairs
    )


@_shipped("theorem", lambda near: assigned(patterns(near)) | patterns(near), _PROMISE)
def _kernel_and_solver_agree(document: Document) -> bool:
    """the kernel accepts what the search finds, and counting finds layer orders exactly where certification does"""
    result = settled(document)
    if result.certificate is None or not audit(document, result.certificate).accepted:
        return False
    counted = count(document, Limits(orders=20_000))
    return counted.folding is None or (counted.folding > 0) == (result.verdict == "certified")


@_shipped("theorem", lambda near: assigned(patterns(near)) | vertices(near), _PROMISE)
def _mutated_certificates_are_rejected(document: Document) -> None:
    """the kernel rejects every certificate that was made wrong"""
    result = settled(document)
    if result.certificate is None:
        raise AssertionError(f"{result.verdict}, without a certificate")
    for what, mutant in mutants(document, result.certificate):
        if audit(document, mutant).accepted:
            raise AssertionError(f"the kernel accepts a certificate with {what}")


@_shipped("theorem", strategies.recipes, _PROMISE)
def _recipes_certify(recipe: Recipe) -> bool:
    """a recipe is certified if its steps can all be carried out, and refuted otherwise"""
    result = settled(recipe)
    return result.verdict == ("certified" if carry_out(recipe, LIMITS).refused is None else "refuted")


@_shipped("theorem", strategies.folded_cut_patterns, _PROMISE)
def _real_cuts_are_exact(document: Document) -> bool:
    """the outline that a straight cut gives is cut exactly"""
    result = settled(document)
    return result.order is not None and result.cutting is not None and result.cutting.exact


@_shipped(
    "theorem",
    strategies.folded_cut_patterns,
    f"{_PROMISE}: the sheet's own edge, which the cut may touch or run along, is not severed",
)
def _real_cuts_certify(document: Document) -> bool:
    """the outline that a straight cut gives is certified as the pattern's target"""
    return settled(document).verdict == "certified"


@_shipped("theorem", strategies.constructed, _PROMISE)
def _constructed_patterns_certify(document: Document) -> bool:
    """a pattern that was constructed for a target is certified"""
    return settled(document).verdict == "certified"
