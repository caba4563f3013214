"""Simple folds on the layer stack: random recipes against certification from scratch, symmetries, refusals.

A folded state is read off here at places of the folded plane: which places of the sheet lie there, from bottom to top,
and which way up. That does not depend on how the sheet is cut into faces.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import verify
from tests.profiles import examples
from verify.cutting.outcome import pattern_of
from verify.exact.number import Number
from verify.exact.plane import Point
from verify.folding.alignments import UnsupportedAlignment
from verify.folding.foldmap import FoldMap
from verify.folding.paper import Paper, State
from verify.folding.steps import Folded, StepRefused, carry_out
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import FoldStep, MarkStep, Recipe, read_any
from verify.pattern.source import Malformed

Keys = dict[str, Any]
Reading = tuple[tuple[Point, bool], ...]

# Outlines (and one hole) with points of the half grid on each sheet.
SHEETS: dict[str, tuple[list[tuple[int, int]], list[tuple[int, int]]]] = {
    "rectangle": ([(0, 0), (8, 0), (8, 6), (0, 6)], []),
    "triangle": ([(0, 0), (8, 0), (2, 6)], []),
    "corner cut out": ([(0, 0), (8, 0), (8, 3), (4, 3), (4, 6), (0, 6)], []),
    "hole": ([(0, 0), (8, 0), (8, 6), (0, 6)], [(3, 2), (5, 2), (5, 4), (3, 4)]),
}
LIMITS = Limits(degree=4, faces=150)


def turn(a: Any, b: Any, c: Any) -> Any:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def inside(place: tuple[Fraction, Fraction], loop: Sequence[tuple[int, int]]) -> int:
    """1 inside, 0 on the boundary, -1 outside; by crossing number."""
    x, y = place
    odd = False
    for (ax, ay), (bx, by) in zip(loop, [*loop[1:], loop[0]], strict=True):
        side = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
        if side == 0 and min(ax, bx) <= x <= max(ax, bx) and min(ay, by) <= y <= max(ay, by):
            return 0
        if (ay > y) != (by > y) and (side > 0) == (by > ay):
            odd = not odd
    return 1 if odd else -1


def pool(name: str) -> list[tuple[Fraction, Fraction]]:
    outline, hole = SHEETS[name]
    grid = [(Fraction(x, 2), Fraction(y, 2)) for x in range(17) for y in range(13)]
    return [p for p in grid if inside(p, outline) >= 0 and (not hole or inside(p, hole) <= 0)]


POOLS = {name: pool(name) for name in SHEETS}


def document(sheet: str, extra: Sequence[tuple[Fraction, Fraction]]) -> Keys:
    outline, hole = SHEETS[sheet]
    points = {f"c{i}": [str(x), str(y)] for i, (x, y) in enumerate((*outline, *hole))}
    points |= {f"m{i}": [str(x), str(y)] for i, (x, y) in enumerate(extra)}
    table: Keys = {"outline": [f"c{i}" for i in range(len(outline))]}
    if hole:
        table["holes"] = [[f"c{len(outline) + i}" for i in range(len(hole))]]
    return {"format": "creaseproof-recipe/1", "points": points, "sheet": table, "steps": []}


def recipe_of(keys: Keys) -> Recipe:
    recipe = read_any(keys)
    assert isinstance(recipe, Recipe)
    return recipe


@dataclass
class Carried:
    """A recipe that can be carried out, what it gives, and the recipes with one more step that was refused."""

    keys: Keys
    folded: Folded
    refused: list[tuple[Keys, StepRefused]]

    @property
    def folds(self) -> int:
        return sum(isinstance(s, FoldStep) for s in self.folded.recipe.steps)


@st.composite
def carried(
    draw: st.DrawFn, most: int = 7, kinds: Sequence[str] = ("fold",) * 5 + ("turn", "unfold", "mark")
) -> Carried:
    """Random recipes: steps are tried one after the other, and those that cannot be done are left out."""
    sheet = draw(st.sampled_from(sorted(SHEETS)))
    extra = draw(st.lists(st.sampled_from(POOLS[sheet]), min_size=3, max_size=5, unique=True))
    keys = document(sheet, extra)
    marks = list(keys["points"])
    folded = carry_out(recipe_of(keys | {"steps": [{"turn": "over"}]}))
    refused: list[tuple[Keys, StepRefused]] = []
    wanted = draw(st.integers(1, most))
    folds = 0
    for _ in range(2 * wanted + 2):
        if folds == wanted:
            break
        numbers = [k for k, s in enumerate(keys["steps"], start=1) if "fold" in s]
        step = draw(steps(marks, numbers, kinds))
        longer = keys | {"steps": [*keys["steps"], step]}
        try:
            tried = carry_out(recipe_of(longer), LIMITS)
        except (Malformed, LimitReached):  # no paper at the crossing, nothing to unfold, too large a field
            continue
        if tried.refused is not None:
            refused.append((longer, tried.refused))
            continue
        keys, folded = longer, tried
        folds += "fold" in step
        if "mark" in step:
            marks.append(step["mark"])
    assume(folds)
    return Carried(keys, folded, refused)


@st.composite
def steps(draw: st.DrawFn, marks: list[str], numbers: list[int], kinds: Sequence[str]) -> Keys:
    def mark() -> str:
        return draw(st.sampled_from(marks))

    def pair() -> list[str]:
        return draw(st.lists(st.sampled_from(marks), min_size=2, max_size=2, unique=True))

    kind = draw(st.sampled_from(kinds))
    if kind == "turn":
        return {"turn": "over"}
    if kind == "unfold":
        return {"unfold": draw(st.integers(1, 2))}
    if kind == "mark":
        line = st.one_of(st.sampled_from(numbers), st.builds(pair)) if numbers else st.builds(pair)
        step: Keys = {"mark": f"x{len(marks)}", "crossing": [draw(line), draw(line)]}
        return step | ({"on": mark()} if draw(st.booleans()) else {})
    form = draw(st.integers(0, 9))
    p, q = pair()
    alignment: Keys
    if form < 5:
        alignment = {"point": p, "onto": q}
    elif form == 5:
        alignment = {"through": [p, q]}
    elif form == 6:
        alignment = {"square": [p, q], "through": mark()}
    elif form == 7:
        alignment = {"point": mark(), "onto": [p, q], "square": pair()}
    elif form == 8:
        alignment = {"line": [p, q], "onto": pair()}
    else:
        alignment = {
            "point": mark(),
            "onto": [p, q],
            "through": mark(),
            "landing": draw(st.sampled_from(["first", "second"])),
        }
    moves = p if form < 5 else mark()
    direction, layers = draw(st.sampled_from(["over", "behind"])), draw(st.sampled_from(["all", "all", "flap", 1, 2]))
    return {"fold": alignment, "moves": moves, "direction": direction, "layers": layers}


def middle(paper: Paper, face: int) -> Point:
    loop = paper.faces[face]
    x, y = (sum((paper.vertices[v][axis] for v in loop), Number.of(0)) / len(loop) for axis in (0, 1))
    return Point(x, y)


def reading(paper: Paper, state: State, image: Point) -> Reading | None:
    """The places of the sheet that lie at a place of the folded plane, bottom to top, and whether they are turned.

    None where a fold runs through the place.
    """
    found: dict[Point, bool] = {}
    for face in state.stack:
        if paper.image_contains(face, image, state):
            flat, there = paper.faces[face][:2], state.turned[face]
            u, v = (paper.vertices[i] for i in flat)
            place = carry(state.images[flat[0]], state.images[flat[1]], u, v, there, image)
            if found.setdefault(place, there) != there:
                return None
    return tuple(found.items())


def carry(a: Point, b: Point, c: Point, d: Point, turned: bool, place: Point) -> Point:
    """The isometry that takes a, b to c, d (with determinant -1 if turned), at a place; by complex numbers."""
    ex, ey, vx, vy = b.x - a.x, b.y - a.y, place.x - a.x, place.y - a.y
    square = ex * ex + ey * ey
    real, imaginary = (vx * ex + vy * ey) / square, (vy * ex - vx * ey) / square  # v / e
    if turned:
        imaginary = -imaginary
    gx, gy = d.x - c.x, d.y - c.y
    return Point(c.x + gx * real - gy * imaginary, c.y + gx * imaginary + gy * real)


def samples(folded: Folded, most: int = 10) -> list[tuple[Point, Point]]:
    """Places inside faces, with their images."""
    paper = folded.paper
    step = max(1, len(paper.faces) // most)
    faces = range(0, len(paper.faces), step)
    return [(m, paper.image(f, m)) for f in faces for m in [middle(paper, f)]]


def image_in(fold_map: FoldMap, place: Point) -> Point:
    """Where a fold map takes a place of the sheet; the face is looked for here."""
    s = fold_map.subdivision
    for loop, turned in zip(s.faces, fold_map.turned, strict=True):
        corners = [s.vertices[v] for v in loop]
        if all(turn(a, b, place) >= 0 for a, b in zip(corners, corners[1:] + corners[:1], strict=True)):
            return carry(corners[0], corners[1], fold_map.images[loop[0]], fold_map.images[loop[1]], turned, place)
    raise AssertionError("off the sheet")


def distance_squared(a: Point, b: Point) -> Number:
    return (a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y)


def stack_for(result: verify.Result, folded: Folded) -> list[int]:
    """The recipe's stack in the faces of a pattern's result, seen with the front of its face 0 up."""
    paper, state = folded.paper, folded.paper.now
    rank = {f: r for r, f in enumerate(state.stack)}
    assert result.subdivision is not None
    s = result.subdivision
    hosts = []
    for loop in s.faces:
        x, y = (sum((s.vertices[v][axis] for v in loop), Number.of(0)) / len(loop) for axis in (0, 1))
        hosts.append(next(f for f in range(len(paper.faces)) if paper.contains(f, Point(x, y))))
    stack = sorted(range(len(hosts)), key=lambda f: rank[hosts[f]])
    return stack[::-1] if state.turned[hosts[0]] else stack


@examples(15)
@given(carried())
def test_the_pattern_is_certified_from_scratch_and_folds_alike(one: Carried) -> None:
    """The crease pattern that the folds give is certified without the folds, and puts every place where they put it."""
    fold_map = one.folded.fold_map
    pattern = pattern_of(fold_map)
    result = verify.certify(pattern, Limits(faces=2000))
    assert result.verdict == "certified", one.keys
    assert result.fold_map is not None
    theirs = [(image, image_in(result.fold_map, place)) for place, image in samples(one.folded)]
    for (p, q), (r, s) in combinations(theirs, 2):
        assert distance_squared(p, r) == distance_squared(q, s)
    # the stack of the folds is a layer order of the pattern, for the kernel too
    assert result.certificate is not None
    order = {"stack": stack_for(result, one.folded), "except": []}
    assert verify.audit(pattern, result.certificate | {"order": order}).accepted, one.keys


@examples(15)
@given(carried())
def test_every_recipe_that_can_be_carried_out_is_certified(one: Carried) -> None:
    recipe = recipe_of(one.keys)
    result = verify.certify(recipe)
    assert result.verdict == "certified", one.keys
    assert result.failures == ()
    assert len([f for f in result.findings if f.check == "step"]) == len(recipe.steps)
    assert result.certificate is not None
    assert len(result.certificate["steps"]) == len(recipe.steps)
    document, toml = recipe.content()
    assert not toml
    assert verify.audit(read_any(document), json.dumps(result.certificate).encode()).facts["faces"] == len(
        result.subdivision.faces
    )


@examples(40)
@given(carried(most=4), st.data())
def test_any_target_and_any_scissors_get_a_verdict(one: Carried, data: st.DataObject) -> None:
    """The kernel accepts the certificate whatever is to be cut, with so many snips or along any line (else an exception
    ends the test).
    """
    names = list(one.keys["points"])
    path = st.lists(st.sampled_from(names), min_size=2, max_size=3, unique=True)
    pair = st.lists(st.sampled_from(names), min_size=2, max_size=2, unique=True)
    cut = st.one_of(st.fixed_dictionaries({"snips": st.integers(1, 3)}), pair.map(lambda p: {"along": {"through": p}}))
    keys = one.keys | {"target": {"paths": data.draw(st.lists(path, min_size=1, max_size=2))}, "cut": data.draw(cut)}
    try:
        result = verify.certify(recipe_of(keys), LIMITS)
    except Malformed:  # a target off the sheet, or no line to cut along
        return
    assert result.verdict in ("certified", "refuted")
    assert bool(result.failures) == (result.verdict == "refuted")


@examples(60)
@given(carried(most=5))
def test_every_step_that_is_refused_is_refuted(one: Carried) -> None:
    for keys, reason in one.refused[:3]:
        result = verify.certify(recipe_of(keys), LIMITS)
        assert result.verdict == "refuted"
        assert result.certificate is not None
        assert result.certificate["refutation"]["kind"] == "step"
        assert result.certificate["refutation"]["why"] == reason.kind
        assert reason.step == len(keys["steps"])
        (failure,) = result.failures
        assert failure.kind == reason.kind
        assert failure.where[0] == f"step {reason.step}"
        assert len(reason.faces) == (2 if reason.kind == "blocked" else 0)


def mirror_place(p: Point) -> Point:
    return Point(-p.x, p.y)


@examples(60)
@given(carried(most=5))
def test_the_mirrored_recipe_gives_the_mirrored_state(one: Carried) -> None:
    points = {n: [f"-({x})", y] for n, (x, y) in one.keys["points"].items()}
    other = carry_out(recipe_of(one.keys | {"points": points}), Limits(degree=8))
    assert other.refused is None
    assert {n: mirror_place(p) for n, p in one.folded.marks.items()} == other.marks
    compared = 0
    for _, image in samples(one.folded):
        here = reading(one.folded.paper, one.folded.paper.now, image)
        there = reading(other.paper, other.paper.now, mirror_place(image))
        if here is not None and there is not None:
            assert tuple((mirror_place(p), t) for p, t in here) == there
            compared += 1
    assert compared


@examples(15)
@given(carried(most=5))
def test_over_and_behind_exchanged_and_the_sheet_turned(one: Carried) -> None:
    """Turning the paper over first, and folding the other way, gives the state turned over."""
    swapped = [
        s | {"direction": {"over": "behind", "behind": "over"}[s["direction"]]} if "fold" in s else s
        for s in one.keys["steps"]
    ]
    assume(not any("mark" in s for s in swapped))  # marks are made on the highest layer
    other = carry_out(recipe_of(one.keys | {"steps": [{"turn": "over"}, *swapped]}), Limits(degree=8))
    assert other.refused is None
    for _, image in samples(one.folded):
        here = reading(one.folded.paper, one.folded.paper.now, image)
        there = reading(other.paper, other.paper.now, mirror_place(image))
        if here is not None and there is not None:
            assert tuple((p, not t) for p, t in reversed(here)) == there


def same_state(one: Folded, k: int, other: Folded, m: int) -> bool:
    """Whether two papers lie alike after k and m steps: at places inside the faces of both."""
    states = one.paper.states[k], other.paper.states[m]
    for folded, state in zip((one, other), states, strict=True):
        paper = folded.paper
        for face in range(0, len(paper.faces), max(1, len(paper.faces) // 8)):
            image = paper.image(face, middle(paper, face), state)
            readings = [reading(f.paper, s, image) for f, s in zip((one, other), states, strict=True)]
            if None not in readings and readings[0] != readings[1]:
                return False
    return True


@examples(15)
@given(carried(most=5, kinds=("fold", "fold", "fold", "turn", "mark")))
def test_unfolding_everything_and_folding_again(one: Carried) -> None:
    written = one.keys["steps"]
    first = next(k for k, s in enumerate(written) if "fold" in s)
    again = [s for s in written[first:] if "mark" not in s]
    whole = carry_out(recipe_of(one.keys | {"steps": [*written, {"unfold": one.folds}, *again]}), Limits(degree=16))
    assert whole.refused is None
    opened = len(written) + 1
    assert all(
        (whole.paper.states[opened].images[v] == whole.paper.states[first].images[v])
        for v in range(len(whole.paper.vertices))
    )
    assert whole.paper.states[opened].turned == whole.paper.states[first].turned
    assert same_state(whole, len(written), whole, len(whole.done))
    assert same_state(one.folded, len(one.folded.done), whole, len(whole.done))
    assert verify.certify(whole.recipe, Limits(degree=16)).verdict == "certified"


@examples(40)
@given(carried(most=5))
def test_unfolding_leaves_creases_and_nothing_else(one: Carried) -> None:
    """After the last folds are opened again the paper lies as before them; their creases are drawn flat."""
    last = max(k for k, s in enumerate(one.keys["steps"]) if "fold" in s)
    written = one.keys["steps"][: last + 1]
    whole = carry_out(recipe_of(one.keys | {"steps": [*written, {"unfold": 1}]}), Limits(degree=16))
    assert same_state(whole, last, whole, len(whole.done))
    fold_map = whole.fold_map
    before = carry_out(recipe_of(one.keys | {"steps": [*written[:-1], {"turn": "over"}]}), Limits(degree=16)).fold_map
    assert {c.kind for c in pattern_of(fold_map).creases} <= {c.kind for c in pattern_of(before).creases} | {"flat"}
    assert verify.certify(pattern_of(fold_map)).verdict == "certified"


@examples(40)
@given(carried(most=4))
def test_turning_over_twice_changes_nothing(one: Carried) -> None:
    twice = carry_out(
        recipe_of(one.keys | {"steps": [*one.keys["steps"], {"turn": "over"}, {"turn": "over"}]}), Limits(degree=8)
    )
    before, between, after = twice.paper.states[-3:]
    assert (after.images, after.turned, after.stack, after.over) == (
        before.images,
        before.turned,
        before.stack,
        before.over,
    )
    assert between.stack == before.stack[::-1]
    assert between.turned == [not t for t in before.turned]
    assert between.images == [mirror_place(p) for p in before.images]


@examples(40)
@given(carried(most=5))
def test_every_face_keeps_its_shape_in_every_state(one: Carried) -> None:
    paper = one.folded.paper
    for state in paper.states:
        assert sorted(state.stack) == list(range(len(paper.faces)))
        for face, loop in enumerate(paper.faces):
            for u, v in combinations(loop, 2):
                assert distance_squared(paper.vertices[u], paper.vertices[v]) == distance_squared(
                    state.images[u], state.images[v]
                )
            sign = (
                turn(*(state.images[v] for v in loop[:3])).sign() * turn(*(paper.vertices[v] for v in loop[:3])).sign()
            )
            assert sign == (-1 if state.turned[face] else 1) or sign == 0


def strictly_over(paper: Paper, face: int, image: Point, state: State) -> bool:
    loop = [state.images[v] for v in paper.faces[face]]
    sign = -1 if state.turned[face] else 1
    return all(turn(a, b, image).sign() == sign for a, b in zip(loop, loop[1:] + loop[:1], strict=True))


@examples(40)
@given(carried(most=4))
def test_a_fold_moves_only_what_is_on_its_side(one: Carried) -> None:
    paper = one.folded.paper
    for k, done in enumerate(one.folded.done):
        before, after = paper.states[k], paper.states[k + 1]
        if not isinstance(done.step, FoldStep):
            continue
        assert done.line is not None
        mark = one.folded.marks[done.step.moves]
        side = turn(*done.line, paper.image(paper.host(mark), mark, before)).sign()
        assert side != 0
        for p, q in zip(before.images, after.images, strict=True):
            here = turn(*done.line, p).sign()
            assert p == q or here == side
            if p != q:
                assert turn(*done.line, q).sign() == -side
            elif here == side:
                assert done.step.layers != "all"
        if done.step.layers == "all":  # nothing is left on that side
            assert all(turn(*done.line, q).sign() != side for q in after.images)
        moved = {f for f in range(len(paper.faces)) if before.turned[f] != after.turned[f]}
        stay = [f for f in before.stack if f not in moved]
        go = [f for f in reversed(before.stack) if f in moved]
        expected = stay + go if done.step.direction == "over" else go + stay
        for face in range(
            0, len(paper.faces), max(1, len(paper.faces) // 8)
        ):  # faces that do not overlap may stand either way
            here = paper.image(face, middle(paper, face), after)
            over_it = {f for f in range(len(paper.faces)) if strictly_over(paper, f, here, after)}
            assert [f for f in after.stack if f in over_it] == [f for f in expected if f in over_it]


@examples(60)
@given(carried(most=4, kinds=("fold", "fold", "mark", "mark", "unfold")))
def test_a_mark_is_on_the_highest_layer_where_two_lines_cross(one: Carried) -> None:
    paper = one.folded.paper
    found = 0
    for k, done in enumerate(one.folded.done):
        if not isinstance(done.step, MarkStep) or done.mark is None:
            continue
        state = paper.states[k]
        image = paper.image(paper.host(done.mark[0]), done.mark[0], state)
        assert image == done.mark[2]
        for line in done.step.crossing:
            if isinstance(line, int):
                a, b = one.folded.done[line - 1].line or (image, image)
                assert a != b
            else:
                a, b = (paper.image(paper.host(one.folded.marks[m]), one.folded.marks[m], state) for m in line)
            assert turn(a, b, image) == 0
        holding = [f for f in state.stack if paper.image_contains(f, image, state)]
        if done.step.on is None:
            assert paper.contains(holding[-1], done.mark[0])
        else:
            layer = paper.layers(state)
            its = {layer[f] for f in range(len(layer)) if paper.contains(f, one.folded.marks[done.step.on])}
            assert paper.contains([f for f in holding if layer[f] in its][-1], done.mark[0])
        found += 1
    assume(found)


# ---- by hand: a strip of four stamps

STRIP = {f"{'sn'[y]}{x}": [x, y] for x in range(5) for y in (0, 1)} | {
    f"m{x}": [str(Fraction(2 * x + 1, 2)), 0] for x in range(4)
}


def strip(*steps_: Keys, **more: Any) -> Keys:
    return {
        "format": "creaseproof-recipe/1",
        "points": STRIP,
        "sheet": {"outline": ["s0", "s4", "n4", "n0"]},
        "steps": list(steps_),
        **more,
    }


def fold(crease: int, moves: str, **more: Any) -> Keys:
    return {"fold": {"through": [f"s{crease}", f"n{crease}"]}, "moves": moves, **more}


def stamps(keys: Keys) -> list[int]:
    """The stamps from bottom to top (all in one place)."""
    folded = carry_out(recipe_of(keys))
    assert folded.refused is None
    rank = {f: r for r, f in enumerate(folded.paper.now.stack)}
    hosts = [folded.paper.host(Point(Number.of(Fraction(2 * i + 1, 2)), Number.of(Fraction(1, 2)))) for i in range(4)]
    return sorted(range(4), key=lambda i: rank[hosts[i]])


@pytest.mark.parametrize(
    ("steps_", "order"),
    [
        ([fold(2, "m3"), fold(1, "m0")], [1, 2, 3, 0]),  # in half, and in half again
        ([fold(2, "m3", direction="behind"), fold(1, "m0")], [2, 1, 0, 3]),
        ([fold(1, "m0"), fold(2, "m0"), fold(3, "m0")], [3, 1, 0, 2]),
        ([fold(1, "m3"), fold(2, "m3", layers=1), fold(3, "m3", layers=1)], [0, 1, 2, 3]),  # a pleat
        ([fold(1, "m3", direction="behind"), fold(2, "m3", layers="flap", direction="behind"),
            fold(3, "m3", layers="flap", direction="behind")], [3, 2, 1, 0]),
        ([fold(3, "m3"), fold(2, "m3"), fold(1, "m3")], [0, 2, 3, 1]),  # rolled up
    ],
)  # fmt: skip
def test_stacks_by_hand(steps_: list[Keys], order: list[int]) -> None:
    assert stamps(strip(*steps_)) == order
    assert verify.certify(recipe_of(strip(*steps_))).verdict == "certified"


def refusal(keys: Keys) -> StepRefused:
    refused = carry_out(recipe_of(keys)).refused
    assert refused is not None
    assert verify.certify(recipe_of(keys)).verdict == "refuted"
    return refused


def test_a_crease_along_a_line_that_is_drawn_already_stays_as_a_guide() -> None:
    """The target runs along the middle; folded there and opened again, with another fold on each side of it."""
    target = {"target": {"paths": [["s2", "n2"]]}}
    for before in ([], [fold(1, "m0"), {"unfold": 1}]):
        folded = carry_out(recipe_of(strip(*before, fold(2, "m3"), {"unfold": 1}, fold(3, "m3"), **target)))
        (edge,) = [e for e in folded.fold_map.subdivision.edges if e.target]
        assert (edge.kind, edge.crease) == ("flat", len(before) + 1)
        kinds = sorted(c.kind for c in pattern_of(folded.fold_map).creases)
        assert kinds == ["flat"] * (1 + len(before) // 2) + ["valley"]


HALF = fold(2, "m3")


@pytest.mark.parametrize(
    ("last", "kind", "says"),
    [
        (fold(1, "s0", layers="flap"), "blocked", "stays where it is, over"),
        (fold(1, "s4", layers="flap", direction="behind"), "blocked", "stays where it is, under"),
        (fold(1, "s4", layers=3), "few-layers", "only 2 layers lie at s4, not 3"),
        (fold(1, "s1"), "no-solution", "s1 lies on the fold line"),
        ({"fold": {"point": "s4", "onto": "s0"}, "moves": "s0"}, "no-solution", "s4 and s0 lie at the same place"),
        ({"fold": {"line": ["s0", "s2"], "onto": ["s2", "s4"]}, "moves": "n0"}, "no-solution", "run opposite ways"),
    ],
)  # fmt: skip
def test_refusals_by_hand(last: Keys, kind: str, says: str) -> None:
    refused = refusal(strip(HALF, last))
    assert (refused.kind, refused.step) == (kind, 2)
    assert says in verify.certify(recipe_of(strip(HALF, last))).failures[0].message
    assert (refused.line is None) == (kind == "no-solution" and "fold line" not in says)


def test_the_layers_that_hold_are_named() -> None:
    """Folded in half, the lower layer cannot go over: the panel over it is named by its corners, and then the panel
    itself.
    """
    finding = verify.certify(recipe_of(strip(HALF, fold(1, "s0", layers="flap")))).failures[0]
    named = [set(name.split("–")) for name in re.findall(r"panel ([^ ,]+)", finding.message)]
    assert named == [{"s2", "s4", "n4", "n2"}, {"s0", "s1", "n1", "n0"}]
    assert finding.where == ("step 2", "steps[1]")


def test_tearing_is_refused() -> None:
    """The top layer goes round a closed edge: it is one with the lowest, and what lies between them holds it."""
    points = {
        "a": [0, 0],
        "b": [8, 0],
        "c": [8, 8],
        "d": [0, 8],
        "e": [8, 4],
        "low": [6, 4],
        "high": [8, 6],
        "h": [4, 4],
    }
    keys: Keys = {"format": "creaseproof-recipe/1", "points": points, "sheet": {"outline": ["a", "b", "c", "d"]}}
    halves = [{"fold": {"point": "a", "onto": "b"}, "moves": "a"}, {"fold": {"point": "b", "onto": "c"}, "moves": "b"}]
    corner = {"fold": {"through": ["low", "high"]}, "moves": "e"}
    for layers, direction in ((1, "over"), (1, "behind")):
        refused = refusal(keys | {"steps": [*halves, corner | {"layers": layers, "direction": direction}]})
        assert refused.kind == "blocked"
    for layers in (2, "all", "flap"):
        result = carry_out(recipe_of(keys | {"steps": [*halves, corner | {"layers": layers}]}))
        assert (result.refused is None) == (layers != "flap")  # the flap is the top and the lowest layer


def test_a_refused_step_ends_the_recipe() -> None:
    keys = strip(HALF, fold(1, "s1"), fold(3, "m3"), {"mark": "x", "crossing": [["s0", "n1"], ["s1", "n0"]]})
    folded = carry_out(recipe_of(keys))
    assert len(folded.done) == 1
    assert folded.refused is not None
    assert "x" not in folded.marks
    assert folded.along is None


def test_unfolding_too_much_after_a_refused_step() -> None:
    with pytest.raises(Malformed):
        verify.certify(recipe_of(strip(fold(1, "s1"), {"unfold": 5})))


def test_the_cubic_alignment_after_a_refused_step() -> None:
    cubic = {"fold": {"points": ["s0", "s1"], "onto": [["s2", "s3"], ["n2", "n3"]]}, "moves": "s0"}
    assert verify.certify(recipe_of(strip(fold(1, "s1"), cubic))).verdict == "unsupported"
    along = {"cut": {"along": cubic["fold"]}}
    assert verify.certify(recipe_of(strip(fold(1, "s1"), **along))).verdict == "unsupported"


def test_the_cubic_alignment_is_undecided() -> None:
    cubic = {"points": ["s0", "s1"], "onto": [["s2", "s3"], ["n2", "n3"]]}
    with pytest.raises(UnsupportedAlignment):
        carry_out(recipe_of(strip({"fold": cubic, "moves": "s0"})))
    assert verify.certify(recipe_of(strip({"fold": cubic, "moves": "s0"}))).verdict == "unsupported"


@pytest.mark.parametrize(
    ("steps_", "place", "found"),
    [
        ([fold(2, "m3"), {"mark": "x", "crossing": [["s0", "n1"], ["s1", "n0"]]}, fold(1, "x")], None, ""),
        ([fold(2, "m3"), {"mark": "x", "crossing": [["s0", "s1"], ["n0", "n1"]]}], "steps[1]", "parallel"),
        ([fold(2, "m3"), {"mark": "x", "crossing": [1, 1]}], "steps[1]", "the same"),
        ([fold(2, "m3"), {"mark": "x", "crossing": [["s0", "s4"], ["s1", "n1"]]}], "steps[1]",
            "s0 and s4 in one place"),
        ([fold(2, "m3"), {"unfold": 2}], "steps[1]", "unfold 2, with 1"),
        ([fold(2, "m3"), {"unfold": 1}, {"turn": "over"}, {"unfold": 1}], "steps[3]", "unfold 1, with 0"),
        ([{"unfold": 1}], "steps[0]", "unfold 1, with 0"),
        ([fold(2, "m3"), {"unfold": 1}, {"mark": "x", "crossing": [["n0", "s1"], ["n4", "s3"]]}], "steps[2]",
            ("no paper where the lines "
            "cross, at (2, -1)")),
    ],
)  # fmt: skip
def test_marks_and_unfolding_that_make_no_sense(steps_: list[Keys], place: str | None, found: str) -> None:
    if place is None:
        assert carry_out(recipe_of(strip(*steps_))).refused is None
        return
    with pytest.raises(Malformed) as error:
        carry_out(recipe_of(strip(*steps_)))
    assert error.value.place == place
    assert found in error.value.found


def test_marks_with_and_without_on() -> None:
    """Folded in half, a mark is made on the upper layer; with `on` the lower one it is made there."""
    crossing = [["s1", "n1"], ["s0", "n1"]]
    for on, x in ((None, 3), ("m3", 3), ("m0", 1)):
        step = {"mark": "x", "crossing": crossing} | ({} if on is None else {"on": on})
        folded = carry_out(recipe_of(strip(HALF, step)))
        assert folded.marks["x"] == Point(Number.of(x), Number.of(1))
        assert folded.where("x") == Point(Number.of(1), Number.of(1))
        assert verify.certify(folded.recipe).verdict == "certified"


def test_lines_of_earlier_steps_are_kept_and_turned() -> None:
    """The line of step 1 lies where it was folded; turned over it is at -x."""
    for turned, x in ((False, 2), (True, -2)):
        steps_ = [
            fold(2, "m3"),
            {"unfold": 1},
            *([{"turn": "over"}] if turned else []),
            {"mark": "x", "crossing": [1, ["s0", "s4"]]},
        ]
        folded = carry_out(recipe_of(strip(*steps_)))
        assert folded.marks["x"] == Point(Number.of(2), Number.of(0))
        assert folded.where("x") == Point(Number.of(x), Number.of(0))
        assert verify.certify(folded.recipe).verdict == "certified"


@pytest.mark.parametrize("back", [False, True])
def test_the_line_of_a_fold_made_with_the_paper_turned_over(back: bool) -> None:
    """Turned over, the strip is folded along x = -3; the line is that of x = 3 when the paper is the right way up
    again.
    """
    steps_ = [
        {"turn": "over"},
        fold(3, "m3"),
        {"unfold": 1},
        *([{"turn": "over"}] if back else []),
        {"mark": "x", "crossing": [2, ["s0", "s1"]]},
    ]
    folded = carry_out(recipe_of(strip(*steps_)))
    assert folded.marks["x"] == Point(Number.of(3), Number.of(0))
    assert folded.where("x") == Point(Number.of(3 if back else -3), Number.of(0))
    assert verify.certify(folded.recipe).verdict == "certified"


def test_unfolding_also_undoes_a_turn_in_between() -> None:
    """Half, turned over, another fold, both opened: the paper lies as at first, and so do the lines."""
    steps_ = [
        fold(2, "m3"),
        {"turn": "over"},
        fold(1, "m0"),
        {"unfold": 2},
        {"mark": "x", "crossing": [3, ["s0", "s4"]]},
    ]
    folded = carry_out(recipe_of(strip(*steps_)))
    assert not folded.paper.now.over
    assert folded.where("x") == folded.marks["x"] == Point(Number.of(1), Number.of(0))
    one = carry_out(recipe_of(strip(*steps_[:3], {"unfold": 1})))
    assert one.paper.now.over
    assert verify.certify(folded.recipe).verdict == "certified"


def halvings(count: int) -> Keys:
    """A square folded in half so many times: by turns across and upwards, the corner with the loose edges onto the
    other end.
    """
    points = {"a": [0, 0], "b": [1024, 0], "c": [1024, 1024], "d": [0, 1024]}
    across, upwards = (
        {"fold": {"point": "b", "onto": "a"}, "moves": "b"},
        {"fold": {"point": "d", "onto": "a"}, "moves": "d"},
    )
    steps_: list[Keys] = []
    half = [1024, 1024]
    for k in range(count):
        axis = k % 2
        half[axis] //= 2
        points[f"h{k}"] = [half[0], 0] if axis == 0 else [0, half[1]]
        if k < 2:
            steps_.append((across, upwards)[axis])
            continue
        last = f"h{k - 2}"
        steps_.append({"fold": {"point": last, "onto": "a"}, "moves": last})
    return {
        "format": "creaseproof-recipe/1",
        "points": points,
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "steps": steps_,
    }


def layers_everywhere(folded: Folded) -> Iterator[int]:
    for _, image in samples(folded):
        found = reading(folded.paper, folded.paper.now, image)
        assert found is not None
        yield len(found)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6])
def test_folds_of_all_layers_double_them(count: int) -> None:
    folded = carry_out(recipe_of(halvings(count)))
    assert len(folded.paper.faces) == 2**count
    assert set(layers_everywhere(folded)) == {2**count}
    assert verify.certify(folded.recipe).verdict == "certified"


def test_ten_folds_of_all_layers() -> None:
    """1,024 layers; certified, with the kernel's word."""
    result = verify.certify(recipe_of(halvings(10)))
    assert result.verdict == "certified"
    assert result.carried is not None
    assert len(result.carried.paper.faces) == 1024
    assert set(layers_everywhere(result.carried)) == {1024}


def test_past_the_limit_of_faces_nothing_is_said() -> None:
    with pytest.raises(LimitReached):
        carry_out(recipe_of(halvings(4)), Limits(faces=15))
    result = verify.certify(recipe_of(halvings(4)), Limits(faces=15))
    assert result.verdict == "undecided"
    assert result.certificate is None
    assert [f.check for f in result.findings] == ["limit"]


GRID = {f"p{x}{y}": [x, y] for x in range(0, 9, 2) for y in range(0, 9, 2)}
BISECTORS = [
    {"fold": {"line": ["p64", "p68"], "onto": ["p42", "p66"]}, "moves": "p86"},
    {"fold": {"square": ["p66", "p68"], "through": "p64"}, "moves": "p08", "layers": 1},
    {"fold": {"line": ["p00", "p82"], "onto": ["p80", "p48"]}, "moves": "p62", "layers": 3},
    {"fold": {"point": "p06", "onto": ["p60", "p64"], "through": "p84", "landing": "second"}, "moves": "p82"},
    {"fold": {"line": ["p84", "p02"], "onto": ["p88", "p66"]}, "moves": "p64", "layers": 1, "direction": "behind"},
]


def bisected(count: int) -> Recipe:
    sheet = {"outline": ["p00", "p80", "p88", "p08"]}
    return recipe_of({"format": "creaseproof-recipe/1", "points": GRID, "sheet": sheet, "steps": BISECTORS[:count]})


def undecided(recipe: Recipe, limits: Limits) -> tuple[str, str]:
    """The limit that was reached and what the finding says; and that nothing else is said."""
    result = verify.certify(recipe, limits)
    assert (result.verdict, result.certificate) == ("undecided", None)
    *_, finding = result.findings
    assert finding.check == "limit"
    return finding.value["limit"], finding.message


@pytest.mark.parametrize(("count", "degree"), [(1, 2), (2, 2), (3, 4), (4, 8)])
def test_each_new_root_doubles_the_degree_of_the_field(count: int, degree: int) -> None:
    recipe = bisected(count)
    assert carry_out(recipe, Limits(degree=degree)).drawing.field.degree == degree
    limit, message = undecided(recipe, Limits(degree=degree // 2))
    assert limit == "numbers"
    assert f"step {count if count != 2 else 1}: " in message
    assert f"degree {degree}; the limit is {degree // 2}" in message


def test_numbers_that_grow_without_end_reach_the_limit_of_work() -> None:
    """The field of the fifth step has degree 16 and a polynomial with coefficients of 5,000 bits: one division takes
    seconds.
    """
    limit, message = undecided(bisected(5), Limits(work=10**9))
    assert limit == "work"
    assert "work = 1,000,000,000 was reached: step 5: " in message
    assert verify.certify(bisected(4), Limits(work=10**9)).verdict == "certified"


def test_the_time_that_is_given_holds_for_the_folding_too() -> None:
    limit, message = undecided(bisected(5), Limits(seconds=1e-9))
    assert limit == "seconds"
    assert "seconds = 1e-09" in message


def test_many_layers_with_short_numbers_reach_the_limit_of_work_too() -> None:
    with pytest.raises(LimitReached) as error:
        carry_out(recipe_of(halvings(10)), Limits(work=10**6))
    assert error.value.limit == "work"
    assert error.value.found.startswith("step ")


def test_long_coordinates_reach_the_limit_of_bits() -> None:
    carry_out(bisected(4), Limits(bits=600))
    with pytest.raises(LimitReached) as error:
        carry_out(bisected(4), Limits(bits=500))
    assert error.value.limit == "bits"
    assert error.value.found.startswith("step 4: ")


@pytest.mark.parametrize(
    ("along", "says"),
    [
        ({"through": ["s0", "s4"]}, "s0 and s4 lie at the same place"),
        (
            {"line": ["s0", "s1"], "onto": ["n1", "n0"]},
            (
                "s0→s1 and n1→n0 run opposite ways, so they do not determine a fold; name one of the lines the other "
                "way round"
            ),
        ),
        (
            {"point": "s2", "onto": ["s3", "n3"], "square": ["s1", "n1"]},
            "line s3–n3 and line s1–n1 are parallel, so they do not determine a fold",
        ),
        (
            {"point": "s1", "onto": ["s0", "n0"], "through": "s2", "landing": "first"},
            "no fold through s2 can put s1 on line s0–n0: s1 is 1 from s2, the line is 2 from it",
        ),
    ],
)
def test_a_line_to_cut_along_that_is_none(along: Keys, says: str) -> None:
    """SPECIFICATION §10.1: it can be neither certified nor refuted. The strip is folded in half."""
    with pytest.raises(Malformed) as error:
        verify.certify(recipe_of(strip(HALF, cut={"along": along})))
    assert error.value.place == "cut.along"
    assert error.value.found == f"no line to cut along: after the last step {says}"
    assert error.value.expected == "an alignment that one line of the folded paper satisfies"
