"""Fold lines satisfy their alignments exactly, and there is no solution exactly when there is none.

The checks are written out in coordinates here: reflections by midpoint and direction, lines by cross products.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.profiles import examples
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.plane import Point, reflection
from verify.folding.alignments import FoldLine, NoSolution, UnsupportedAlignment, fold_line
from verify.pattern.recipe import Alignment, AlignmentKind

Places = dict[str, tuple[object, object]]


class _Missing(Exception):
    def __init__(self, radicand: Number) -> None:
        self.radicand = radicand


def solve(alignment: Alignment, places: Places) -> tuple[FoldLine, dict[str, Point]]:
    """The line and the marks, in a field that is made larger by each square root that is asked for."""
    texts = {name: (str(x), str(y)) for name, (x, y) in places.items()}
    roots: list[str] = []
    while True:
        reading = read_numbers([t for pair in texts.values() for t in pair] + roots)
        marks = {name: Point(reading.numbers[x], reading.numbers[y]) for name, (x, y) in texts.items()}
        known = [reading.numbers[text] for text in roots]

        def root(x: Number, known: list[Number] = known) -> Number:
            assert x.sign() >= 0
            for value in known:
                if value * value == x:
                    return value
            raise _Missing(x)

        try:
            return fold_line(alignment, marks.__getitem__, root), marks
        except _Missing as need:
            roots.append(f"sqrt({need.radicand.text()})")


def turn(a: Point, b: Point, c: Point) -> Number:
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)


def along(a: Point, b: Point, c: Point, d: Point) -> Number:
    return (b.x - a.x) * (d.x - c.x) + (b.y - a.y) * (d.y - c.y)


def is_mirror_image(line: FoldLine, p: Point, q: Point) -> bool:
    """Whether the reflection in the line carries p to q: the midpoint is on it, the difference square to it."""
    middle = Point((p.x + q.x) / 2, (p.y + q.y) / 2)
    return turn(*line, middle) == 0 and along(*line, p, q) == 0


def mirrored(line: FoldLine, p: Point) -> Point:
    image = reflection(*line)(p)
    assert is_mirror_image(line, p, image)
    return image


def solved(alignment: Alignment, places: Places, *, none: bool) -> tuple[FoldLine, dict[str, Point]] | None:
    """The line, which has two places, and the marks; None where there is no line, exactly if there should be `none`."""
    try:
        line, marks = solve(alignment, places)
    except NoSolution:
        assert none
        return None
    assert not none
    assert line[0] != line[1]
    return line, marks


coordinates = st.one_of(st.integers(-6, 6), st.fractions(-6, 6, max_denominator=5))
places = st.tuples(coordinates, coordinates)
rooted = st.one_of(coordinates, st.sampled_from(["sqrt(2)", "1 - sqrt(2)/3", "-2*sqrt(2)", "1/2 + sqrt(2)"]))
rooted_places = st.tuples(rooted, rooted)


def one_place(p: tuple[object, object], q: tuple[object, object]) -> bool:
    values = read_numbers([str(t) for t in (*p, *q)]).numbers
    return all(values[str(s)] == values[str(t)] for s, t in zip(p, q, strict=True))


@given(rooted_places, rooted_places)
def test_through(p: tuple[object, object], q: tuple[object, object]) -> None:
    alignment = Alignment("through", ("p", "q"))
    found = solved(alignment, {"p": p, "q": q}, none=one_place(p, q))
    if found is not None:
        line, marks = found
        assert turn(*line, marks["p"]) == turn(*line, marks["q"]) == 0


@given(rooted_places, rooted_places)
def test_point_onto_point(p: tuple[object, object], q: tuple[object, object]) -> None:
    alignment = Alignment("point-onto-point", ("p", "q"))
    found = solved(alignment, {"p": p, "q": q}, none=one_place(p, q))
    if found is not None:
        line, marks = found
        assert is_mirror_image(line, marks["p"], marks["q"])
        assert mirrored(line, marks["p"]) == marks["q"]


@given(rooted_places, rooted_places, rooted_places)
def test_square(a: tuple[object, object], b: tuple[object, object], p: tuple[object, object]) -> None:
    alignment = Alignment("square", ("a", "b", "p"))
    found = solved(alignment, {"a": a, "b": b, "p": p}, none=one_place(a, b))
    if found is None:
        return
    line, marks = found
    assert turn(*line, marks["p"]) == 0
    assert along(*line, marks["a"], marks["b"]) == 0
    # every place of the line ab comes to lie on the line ab
    for mark in ("a", "b"):
        assert turn(marks["a"], marks["b"], mirrored(line, marks[mark])) == 0


def parallel(a: Point, b: Point, c: Point, d: Point) -> bool:
    return (b.x - a.x) * (d.y - c.y) == (b.y - a.y) * (d.x - c.x)


@examples(60)
@given(st.tuples(places, places, places, places))
def test_line_onto_line(four: tuple[tuple[object, object], ...]) -> None:
    where = dict(zip("abcd", four, strict=True))
    exact = {name: Point(Number.of(x), Number.of(y)) for name, (x, y) in where.items()}  # type: ignore[arg-type]
    a, b, c, d = exact.values()
    alignment = Alignment("line-onto-line", ("a", "b", "c", "d"))
    none = a == b or c == d or (parallel(a, b, c, d) and along(a, b, c, d) < 0)
    found = solved(alignment, where, none=none)
    if found is None:
        return
    line, marks = found
    a, b, c, d = marks.values()
    one, two = mirrored(line, a), mirrored(line, b)
    assert turn(c, d, one) == turn(c, d, two) == 0
    assert along(one, two, c, d) > 0  # a→b comes to lie along c→d


@pytest.mark.parametrize(
    ("four", "other"),
    [
        (((0, 0), (1, 0), (0, 0), (1, 1)), ((0, 0), (1, 0), (1, 1), (0, 0))),
        (((0, 0), (1, 0), (3, 1), (2, 5)), ((0, 0), (1, 0), (2, 5), (3, 1))),
        (((1, 2), (4, 6), (0, 0), (0, 1)), ((1, 2), (4, 6), (0, 1), (0, 0))),
    ],
)
def test_the_two_bisectors_are_square_to_each_other(
    four: tuple[tuple[int, int], ...], other: tuple[tuple[int, int], ...]
) -> None:
    alignment = Alignment("line-onto-line", ("a", "b", "c", "d"))
    one, _ = solve(alignment, dict(zip("abcd", four, strict=True)))
    two, _ = solve(alignment, dict(zip("abcd", other, strict=True)))
    assert along(*one, *two) == 0


def test_a_bisector_in_the_field_of_the_root(exact: Callable[[str], Number]) -> None:
    """45 degrees halved: the direction is (1 + sqrt(2), 1), as a half-angle formula has it."""
    line, _ = solve(Alignment("line-onto-line", ("o", "a", "o", "b")), {"o": (0, 0), "a": (1, 0), "b": (1, 1)})
    dx, dy = line[1].x - line[0].x, line[1].y - line[0].y
    root2 = read_numbers(["sqrt(2)"])
    assert (dx / dy).decimal(30) == (root2.numbers["sqrt(2)"] + 1).decimal(30)
    assert (dx / dy - 1) * (dx / dy - 1) == 2


@examples(80)
@given(st.tuples(places, places, places, places), st.sampled_from(["first", "second"]))
def test_point_onto_line(four: tuple[tuple[object, object], ...], landing: str) -> None:
    where = dict(zip("pabq", four, strict=True))
    p, a, b, q = (Point(Number.of(x), Number.of(y)) for x, y in four)  # type: ignore[arg-type]
    alignment = Alignment("point-onto-line", ("p", "a", "b", "q"), landing)  # type: ignore[arg-type]
    none = a == b or p == q or turn(a, b, q) * turn(a, b, q) > along(p, q, p, q) * along(a, b, a, b)
    found = solved(alignment, where, none=none)
    if found is None:
        return
    line, marks = found
    p, a, b, q = marks.values()
    assert turn(*line, q) == 0
    image = mirrored(line, p)
    assert turn(a, b, image) == 0
    side = along(q, image, a, b)
    assert side <= 0 if landing == "first" else side >= 0
    # unique: of the two places on the line at this distance from q it is the one on this side
    assert along(q, image, q, image) == along(q, p, q, p)


@pytest.mark.parametrize(
    ("p", "first", "second"),
    [
        ((3, 4), (-5, 0), (5, 0)),
        ((0, 5), (-5, 0), (5, 0)),
        ((5, 0), (-5, 0), (5, 0)),  # it lies on the line already, where it is to land second
        ((-5, 0), (-5, 0), (5, 0)),
    ],
)
def test_both_landings(p: tuple[int, int], first: tuple[int, int], second: tuple[int, int]) -> None:
    where = {"p": p, "a": (-1, 0), "b": (1, 0), "q": (0, 0)}
    for landing, goal in (("first", first), ("second", second)):
        line, marks = solve(Alignment("point-onto-line", ("p", "a", "b", "q"), landing), where)
        assert mirrored(line, marks["p"]) == Point(Number.of(goal[0]), Number.of(goal[1]))
        # the line named the other way round changes first and second
        other = Alignment("point-onto-line", ("p", "b", "a", "q"), "second" if landing == "first" else "first")
        swapped, _ = solve(other, where)
        assert turn(*line, swapped[0]) == turn(*line, swapped[1]) == 0


def test_a_landing_that_just_touches() -> None:
    """The point is as far from the turning point as the line: one landing, for both words; a hair nearer, none."""
    for landing in ("first", "second"):
        alignment = Alignment("point-onto-line", ("p", "a", "b", "q"), landing)  # type: ignore[arg-type]
        where: Places = {"p": (3, 4), "a": (0, 5), "b": (1, 5), "q": (0, 0)}
        line, marks = solve(alignment, where)
        assert mirrored(line, marks["p"]) == Point(Number.of(0), Number.of(5))
        with pytest.raises(NoSolution, match="out-of-reach"):
            solve(alignment, where | {"p": (3, "4 - 1e-30")})
        line, marks = solve(alignment, where | {"p": (3, "4 + 1e-30")})
        assert turn(marks["a"], marks["b"], mirrored(line, marks["p"])) == 0


def test_a_landing_in_a_field_with_a_root() -> None:
    """An equilateral triangle: the corner onto the middle line lands at the height sqrt(3)/2."""
    line, marks = solve(
        Alignment("point-onto-line", ("p", "a", "b", "q"), "second"),
        {"p": (1, 0), "a": ("1/2", 0), "b": ("1/2", 1), "q": (0, 0)},
    )
    image = mirrored(line, marks["p"])
    assert image.x == Fraction(1, 2)
    assert image.y * image.y == Fraction(3, 4)
    assert image.y > 0


@examples(60)
@given(st.tuples(rooted_places, places, places, places, places))
def test_point_onto_line_square(five: tuple[tuple[object, object], ...]) -> None:
    where = dict(zip("pabcd", five, strict=True))
    a, b, c, d = (Point(Number.of(x), Number.of(y)) for x, y in five[1:])  # type: ignore[arg-type]
    alignment = Alignment("point-onto-line-square", ("p", "a", "b", "c", "d"))
    none = a == b or c == d or parallel(a, b, c, d)
    found = solved(alignment, where, none=none)
    if found is None:
        return
    line, marks = found
    p, a, b, c, d = marks.values()
    assert along(*line, c, d) == 0
    assert turn(a, b, mirrored(line, p)) == 0


@pytest.mark.parametrize(
    ("kind", "marks", "where", "reason", "named"),
    [
        ("through", "pq", {"p": (1, 2), "q": (1, 2)}, "one-place", "pq"),
        ("point-onto-point", "pp", {"p": (1, 2)}, "one-place", "pp"),
        ("square", "abp", {"a": (1, 2), "b": (1, 2), "p": (0, 0)}, "one-place", "ab"),
        ("line-onto-line", "abcd", {"a": (0, 0), "b": (0, 0), "c": (1, 0), "d": (1, 1)}, "one-place", "ab"),
        ("line-onto-line", "abcd", {"a": (0, 0), "b": (0, 1), "c": (1, 1), "d": (1, 1)}, "one-place", "cd"),
        ("line-onto-line", "abba", {"a": (0, 0), "b": (0, 1)}, "opposite-ways", "abba"),
        ("line-onto-line", "abcd", {"a": (0, 0), "b": (3, 6), "c": (1, 0), "d": (0, -2)}, "opposite-ways", "abcd"),
        ("point-onto-line", "pabq", {"p": (0, 0), "a": (5, 0), "b": (5, 1), "q": (1, 0)}, "out-of-reach", "pabq"),
        ("point-onto-line", "pabq", {"p": (0, 0), "a": (5, 0), "b": (5, 1), "q": (0, 0)}, "one-place", "pq"),
        ("point-onto-line", "pabq", {"p": (0, 0), "a": (5, 0), "b": (5, 0), "q": (1, 0)}, "one-place", "ab"),
        ("point-onto-line-square", "pabcd", {"p": (0, 0), "a": (1, 0), "b": (2, 2), "c": (0, 0), "d": (-2, -4)},
            "parallel", "abcd"),
        ("point-onto-line-square", "pabcd", {"p": (0, 0), "a": (1, 0), "b": (1, 0), "c": (0, 0), "d": (2, 4)},
            "one-place", "ab"),
        ("point-onto-line-square", "pabcd", {"p": (0, 0), "a": (1, 0), "b": (2, 2), "c": (0, 0), "d": (0, 0)},
            "one-place", "cd"),
    ],
)  # fmt: skip
def test_no_solution(kind: AlignmentKind, marks: str, where: Places, reason: str, named: str) -> None:
    with pytest.raises(NoSolution) as error:
        solve(Alignment(kind, tuple(marks), "first" if kind == "point-onto-line" else None), where)
    assert (error.value.kind, error.value.marks) == (reason, tuple(named))
    if reason == "out-of-reach":  # the distances of p and of the line from q, in whole numbers here
        assert (error.value.near, error.value.far) == (1, 4)


def test_parallel_lines_onto_each_other() -> None:
    """The line half-way between; a line onto itself is the line itself."""
    alignment = Alignment("line-onto-line", ("a", "b", "c", "d"))
    line, marks = solve(alignment, {"a": (0, 0), "b": (2, 1), "c": (0, 4), "d": (6, 7)})
    assert turn(*line, Point(Number.of(0), Number.of(2))) == 0
    assert turn(marks["c"], marks["d"], mirrored(line, marks["b"])) == 0
    line, marks = solve(alignment, {"a": (0, 0), "b": (2, 1), "c": (4, 2), "d": (6, 3)})
    assert turn(*line, marks["a"]) == turn(*line, marks["d"]) == 0


def test_the_cubic_one_is_not_decided() -> None:
    alignment = Alignment("two-points-onto-two-lines", ("p", "q", "a", "b", "c", "d"))
    where: Places = {"p": (0, 0), "q": (0, 2), "a": (1, 0), "b": (1, 1), "c": (0, 3), "d": (1, 3)}
    with pytest.raises(UnsupportedAlignment):
        solve(alignment, where)


@given(st.tuples(rooted_places, rooted_places, rooted_places))
def test_reflecting_twice_changes_nothing(three: tuple[tuple[object, object], ...]) -> None:
    texts = [str(t) for pair in three for t in pair]
    numbers = read_numbers(texts).numbers
    a, b, p = (Point(numbers[str(x)], numbers[str(y)]) for x, y in three)
    assume(a != b)
    image = reflection(a, b)(p)
    assert is_mirror_image((a, b), p, image)
    assert reflection(a, b)(image) == p
    assert (image == p) == (turn(a, b, p) == 0)


@pytest.mark.parametrize("kind", ["point-onto-point", "line-onto-line", "square", "point-onto-line-square"])
@pytest.mark.parametrize("scale", ["1" + "0" * 150, "1/1" + "0" * 20])
def test_a_fold_line_is_as_long_as_the_paper_is_large(kind: AlignmentKind, scale: str) -> None:
    """Whoever draws it in floats needs its second point to lie neither beyond them nor on the first."""
    places = {"a": (0, 0), "b": (5, 1), "c": (1, 4), "d": (7, 9), "e": (3, 8)}
    count = {"point-onto-point": 2, "square": 3, "line-onto-line": 4}.get(kind, 5)
    alignment = Alignment(kind, tuple("abcde"[:count]))
    (p, q), _ = solve(alignment, {n: (f"{x}*({scale})", f"{y}*({scale})") for n, (x, y) in places.items()})
    far = (q.x - p.x) * (q.x - p.x) + (q.y - p.y) * (q.y - p.y)
    assert 0.01 < float(far) / float(Fraction(scale)) ** 2 < 400
