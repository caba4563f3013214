"""Predicates of patterns, and properties to hunt for counterexamples of: theorems, which must stand, and known
falsehoods, which must fall.

A property is a function of a document (or recipe) that says whether it holds there. That a hunt finds nothing proves
nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import comb
from typing import Any, Literal

from hypothesis.strategies import SearchStrategy

from verify.certificate.audit import audit
from verify.construct.steps.maps import strip_order
from verify.exact.number import Number
from verify.exact.plane import advance
from verify.folding.count import count
from verify.folding.foldmap import fold_map
from verify.folding.steps import carry_out
from verify.folding.vertex import VertexReport, vertex_reports
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
    """Whether each vertex, taken alone, folds flat as drawn. Raises `LimitReached` for a vertex of too high a
    degree.
    """
    answers = [r.folds_here for r in reports(document)]
    if None in answers:
        raise LimitReached("degree of a vertex", "10 open folds", "more, beside some that are not")
    return all(answers)


def folds(document: Document) -> bool:
    """Whether the pattern folds flat as drawn, by the kernel's word; its target is not looked at. Raises
    `LimitReached`.
    """
    return settled(replace(document, loops=(), paths=(), snips=None, raw=None)).verdict == "certified"


def settled(document: Document | Recipe) -> Result:
    """What is certified or refuted of a document. Raises `LimitReached` if it is undecided, AssertionError if the
    kernel refuses what was found.
    """
    try:
        result = certify(document, LIMITS)
    except KernelRefused as error:
        raise AssertionError(str(error)) from error
    if result.verdict == "undecided":
        raise LimitReached("limits of the hunt", "few faces and bits", "a pattern that takes more")
    return result


def crimps_away(document: Document) -> bool:
    """Whether crimps and end folds use up all the creases of a strip that `families.strip` made (Arkin et al. 2004):
    then, and only then, it folds flat.
    """
    stops = [Number.of(Fraction(document.points[f"b{i}"][0])) for i in range(len(document.creases) + 2)]
    return strip_order(stops, [crease.kind == "valley" for crease in document.creases]) is not None


def _fine_folds(document: Document) -> bool:
    return not fine_at_every_vertex(document) or folds(document)


def _closing_folds(document: Document) -> bool:
    return not closes_at_every_vertex(document) or folds(document)


def _kawasaki(document: Document) -> bool:
    return closes_at_every_vertex(document) == folds(document)


def _maekawa(document: Document) -> bool:
    mountains, valleys, _ = inner_vertex(document).counts
    return abs(mountains - valleys) == 2 or not folds(document)


def _big_little_big(document: Document) -> bool:
    return not inner_vertex(document).big_little_big or not folds(document)


def _maekawa_folds(document: Document) -> bool:
    mountains, valleys, _ = inner_vertex(document).counts
    return abs(mountains - valleys) != 2 or folds(document)


def _counts(document: Document) -> bool:
    report = inner_vertex(document)
    n = len(report.folds) // 2
    number = count(document, LIMITS).folding
    if number is None:
        raise LimitReached("orders", f"{LIMITS.orders:,}", "more layer orders")
    return number % 2 == 0 and 2**n <= number <= 2 * comb(2 * n, n - 1) and number == report.assignments


def _crimpable(document: Document) -> bool:
    return crimps_away(document) == folds(document)


def _mirrored(document: Document) -> bool:
    other: dict[Kind, Kind] = {"mountain": "valley", "valley": "mountain"}
    creases = tuple(replace(c, kind=other.get(c.kind, c.kind)) for c in document.creases)
    return folds(document) == folds(replace(document, creases=creases))


def _agree(document: Document) -> bool:
    result = settled(document)
    if result.certificate is None or not audit(document, result.certificate).accepted:
        return False
    counted = count(document, Limits(orders=20_000))
    return counted.folding is None or (counted.folding > 0) == (result.verdict == "certified")


def _recipe(recipe: Recipe) -> bool:
    result = settled(recipe)
    return result.verdict == ("certified" if carry_out(recipe, LIMITS).refused is None else "refuted")


def _real_cut(document: Document) -> bool:
    result = settled(document)
    return result.order is not None and result.cutting is not None and result.cutting.exact


def _certified(document: Document) -> bool:
    return settled(document).verdict == "certified"


def _mutants(document: Document) -> None:
    result = settled(document)
    if result.certificate is None:
        raise AssertionError(f"{result.verdict}, without a certificate")
    for what, mutant in mutants(document, result.certificate):
        if audit(document, mutant).accepted:
            raise AssertionError(f"the kernel accepts a certificate with {what}")


def _turned(place: tuple[str, str]) -> tuple[str, str]:
    x, y = place
    return f"3/5*({x})-4/5*({y})+7", f"4/5*({x})+3/5*({y})-1/3"


def _moved(document: Document) -> bool:
    points = {name: _turned(place) for name, place in document.points.items()}
    return folds(document) == folds(replace(document, points=points, raw=None))


def _images_no_longer(document: Document) -> bool:
    """In no folding are two points of the sheet farther apart than before."""
    folded = fold_map(subdivided(document))
    flat, there = folded.subdivision.vertices, folded.images
    pairs = ((i, j) for i in range(len(flat)) for j in range(i))
    return not folded.exists or all(
        advance(flat[i], flat[j], flat[j]) >= advance(there[i], there[j], there[j]) for i, j in pairs
    )


def _vertex(near: bool) -> SearchStrategy[Document]:
    return flat_vertices(near=near)


def _letters(among: Among) -> Among:
    return lambda near: assigned(among(near))


_ALL = (
    Property(
        "fine-at-every-vertex-folds",
        "a pattern whose vertices all fold flat, each taken alone, folds flat",
        "falsehood",
        "the strip that it finds: two valleys too close together, refuted by the kernel and by brute force",
        strategies.SHIPPED["fine"],
        _fine_folds,
    ),
    Property(
        "fine-maps-fold",
        "a map of equal panels whose vertices all fold flat, each taken alone, folds flat",
        "falsehood",
        "a map of 3 × 3 panels, 252 of 256 assignments [recomputed by brute force]",
        lambda near: fine(strategies.equal_maps()),
        _fine_folds,
    ),
    Property(
        "kawasaki-everywhere-folds",
        "if alternate angles add up to 180° at every vertex, some assignment folds",
        "falsehood",
        (
            "the pattern that it finds: a triangle whose corners ask for alternate folds, refuted by the kernel "
            "and by brute force"
        ),
        strategies.SHIPPED["rings"],
        _closing_folds,
    ),
    Property(
        "kawasaki-suffices-for-some-assignment",
        "one vertex folds flat with some assignment exactly if alternate angles add up to 180°",
        "theorem",
        "Kawasaki 1989, Justin 1989",
        lambda near: vertices(near=near) | flat_vertices(near=near),
        _kawasaki,
    ),
    Property(
        "maekawa",
        "if one vertex folds flat, the numbers of its mountains and valleys differ by 2",
        "theorem",
        "Maekawa in Kasahara & Takahama 1987, Justin 1989",
        _letters(_vertex),
        _maekawa,
    ),
    Property(
        "maekawa-suffices",
        "if alternate angles at one vertex add up to 180° and mountains and valleys differ by 2, it folds flat",
        "falsehood",
        "big-little-big: Hull 2002, The combinatorics of flat folds: a survey",
        _letters(_vertex),
        _maekawa_folds,
    ),
    Property(
        "big-little-big",
        "if one vertex folds flat, an angle smaller than both neighbours lies between a mountain and a valley",
        "theorem",
        "Hull 2002, The combinatorics of flat folds: a survey",
        _letters(_vertex),
        _big_little_big,
    ),
    Property(
        "assignments-of-a-vertex",
        (
            "a flat vertex with 2n folds has an even number of assignments, from 2^n to 2·C(2n, n − 1), and "
            "Hull's recursion counts them"
        ),
        "theorem",
        "Hull 2003, Counting mountain-valley assignments for flat folds",
        _vertex,
        _counts,
    ),
    Property(
        "fine-strips-fold",
        "every strip whose vertices all fold flat, each taken alone, folds flat",
        "falsehood",
        "the strip that it finds: two valleys too close together, refuted by the kernel and by brute force",
        _letters(strategies.SHIPPED["strips"]),
        _fine_folds,
    ),
    Property(
        "crimpable-strips-fold",
        "a strip folds flat exactly if crimps and end folds use up its creases",
        "theorem",
        (
            "Arkin et al. 2004, When can you fold a map?, CGTA 29:23–46 [read in abstract: one-layer simple "
            "folds suffice; that crimps and end folds do is checked by brute force]"
        ),
        _letters(strategies.SHIPPED["strips"]),
        _crimpable,
    ),
    Property(
        "mountains-for-valleys",
        "a pattern folds flat exactly if it does with mountains and valleys exchanged",
        "theorem",
        "the paper looked at from behind",
        strategies.SHIPPED["assigned"],
        _mirrored,
    ),
    Property(
        "moved-paper-folds-alike",
        "a pattern that is turned and moved folds flat exactly if it did before",
        "theorem",
        "an isometry of the plane",
        strategies.SHIPPED["assigned"],
        _moved,
    ),
    Property(
        "folding-lengthens-nothing",
        "no two points of the paper are farther apart when it is folded",
        "theorem",
        (
            "each panel moves rigidly and folds hold together, so that the straight way from one to the other "
            "keeps its length (on a convex sheet)"
        ),
        strategies.SHIPPED["patterns"],
        _images_no_longer,
    ),
    Property(
        "kernel-and-solver-agree",
        "the kernel accepts what the search finds, and counting finds layer orders exactly where certification does",
        "theorem",
        "a promise of this package",
        lambda near: assigned(patterns(near)) | patterns(near),
        _agree,
    ),
    Property(
        "mutated-certificates-are-rejected",
        "the kernel rejects every certificate that was made wrong",
        "theorem",
        "a promise of this package",
        lambda near: assigned(patterns(near)) | vertices(near=near),
        _mutants,
    ),
    Property(
        "recipes-certify",
        "a recipe is certified if its steps can all be carried out, and refuted otherwise",
        "theorem",
        "a promise of this package",
        strategies.SHIPPED["recipes"],
        _recipe,
    ),
    Property(
        "real-cuts-are-exact",
        "the outline that a straight cut gives is cut exactly",
        "theorem",
        "a promise of this package",
        strategies.SHIPPED["folded-cut-patterns"],
        _real_cut,
    ),
    Property(
        "real-cuts-certify",
        "the outline that a straight cut gives is certified as the pattern's target",
        "theorem",
        "a promise of this package: the sheet's own edge, which the cut may touch or run along, is not severed",
        strategies.SHIPPED["folded-cut-patterns"],
        _certified,
    ),
    Property(
        "constructed-patterns-certify",
        "a pattern that was constructed for a target is certified",
        "theorem",
        "a promise of this package",
        strategies.SHIPPED["constructed"],
        _certified,
    ),
)
SHIPPED = {p.name: p for p in _ALL}


def owned(name: str, function: Callable[[Any], object], among: Among) -> Property:
    """A property of the user's own."""
    statement = (function.__doc__ or name).strip().splitlines()[0]
    return Property(name, statement, "unknown", "yours", among, function)
