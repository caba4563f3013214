"""The kernel's conditions of an alignment, on random marks and lines, against reflections and distances in
fractions.
"""

from __future__ import annotations

import random
from fractions import Fraction
from math import lcm

import pytest

from verify.kernel.alignment import Alignment, satisfies, solvable
from verify.kernel.numbers import Field
from verify.kernel.plane import Point, contains, line, mirrored
from verify.kernel.reading import Rejected, Work
from verify.kernel.recipe import read_alignment

Q = Field((0, 1), Fraction(0), Fraction(0), Work(0, 0))
XY = tuple[Fraction, Fraction]


def weighted(rng: random.Random, p: XY) -> Point:
    w = lcm(p[0].denominator, p[1].denominator) * rng.randint(1, 3)
    return int(p[0] * w), int(p[1] * w), w


def minus(p: XY, q: XY) -> XY:
    return p[0] - q[0], p[1] - q[1]


def dot(u: XY, v: XY) -> Fraction:
    return u[0] * v[0] + u[1] * v[1]


def cross(u: XY, v: XY) -> Fraction:
    return u[0] * v[1] - u[1] * v[0]


def image(p: XY, a: XY, b: XY) -> XY:
    """The mirror image of p in the line ab: with the foot of the perpendicular halfway."""
    d = minus(b, a)
    t = dot(minus(p, a), d) / dot(d, d)
    return 2 * (a[0] + t * d[0]) - p[0], 2 * (a[1] + t * d[1]) - p[1]


def place(rng: random.Random) -> XY:
    return Fraction(rng.randint(-4, 4), rng.randint(1, 2)), Fraction(rng.randint(-4, 4), rng.randint(1, 2))


def beyond(rng: random.Random, p: XY, q: XY) -> XY:
    """Another point of the line pq, on any side."""
    t = Fraction(rng.choice((-3, -2, -1, 1, 2, 3)), rng.randint(1, 2))
    return p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])


def square_to(a: XY, b: XY, p: XY) -> XY:
    """The other point of a line through p that is square to ab."""
    return p[0] - (b[1] - a[1]), p[1] + (b[0] - a[0])


@pytest.mark.parametrize("seed", range(40))
def test_mirror_images(seed: int) -> None:
    rng = random.Random(seed)
    a, b, p = (place(rng) for _ in range(3))
    if a == b:
        return
    x, y, w = mirrored(line(weighted(rng, a), weighted(rng, b)), weighted(rng, p))
    assert w > 0  # type: ignore[operator]
    assert (Fraction(x, w), Fraction(y, w)) == image(p, a, b)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(20))
def test_points_of_a_closed_polygon(seed: int) -> None:
    """Against areas: a point is in a triangle, or on its border, iff with its sides it makes no more area."""
    rng = random.Random(seed)
    counted = {True: 0, False: 0}
    while min(counted.values()) < 20:
        corners = [place(rng) for _ in range(3)]
        p = place(rng) if rng.random() < 0.5 else beyond(rng, *corners[:2])
        sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
        whole = abs(cross(minus(corners[1], corners[0]), minus(corners[2], corners[0])))
        if whole:
            expected = sum(abs(cross(minus(b, a), minus(p, a))) for a, b in sides) == whole
            counted[expected] += 1
            assert contains(Q, [weighted(rng, corner) for corner in corners], weighted(rng, p)) == expected


def holds(form: str, landing: int, through: tuple[XY, XY], at: list[XY]) -> bool:
    """The condition itself, for alignments that are solvable."""
    a, b = through
    p, q, *rest = at

    def on(x: XY) -> bool:
        return cross(minus(b, a), minus(x, a)) == 0

    match form:
        case "through":
            return on(p) and on(q)
        case "point onto":
            return image(p, a, b) == q
        case "square through":
            return dot(minus(b, a), minus(q, p)) == 0 and on(rest[0])
        case "line onto":
            r, s = rest
            to, way = image(p, a, b), minus(image(q, a, b), image(p, a, b))
            return cross(minus(s, r), minus(to, r)) == 0 and cross(minus(s, r), way) == 0 and dot(minus(s, r), way) > 0
        case "point onto square":
            r, s, t = rest
            return cross(minus(r, q), minus(image(p, a, b), q)) == 0 and dot(minus(b, a), minus(t, s)) == 0
    r, s = rest
    to = image(p, a, b)
    return on(s) and cross(minus(r, q), minus(to, q)) == 0 and dot(minus(to, s), minus(r, q)) * landing >= 0


def aligned(rng: random.Random, form: str, through: tuple[XY, XY]) -> list[XY]:
    """Marks that the line should suit, or all but."""
    a, b = through
    p, q, r = (place(rng) for _ in range(3))
    to = image(p, a, b)
    match form:
        case "through":
            at = [beyond(rng, a, b), beyond(rng, b, a)]
        case "point onto":
            at = [p, to]
        case "square through":
            at = [p, to if to != p else square_to(a, b, p), beyond(rng, a, b)]
        case "line onto":
            ends = [beyond(rng, to, image(q, a, b)), beyond(rng, image(q, a, b), to)]
            at = [p, q, *(ends if rng.random() < 0.5 else ends[::-1])]
        case "point onto square":
            at = [p, to, r, q, square_to(a, b, q)]
        case _:
            s = beyond(rng, a, b)
            r = square_to(s, to, to) if rng.random() < 0.3 and s != to else r  # the two landings are one
            ends = [beyond(rng, to, r), beyond(rng, r, to)]
            at = [p, *(ends if rng.random() < 0.5 else ends[::-1]), s]
    if rng.random() < 0.4:
        i = rng.randrange(len(at))
        at[i] = place(rng)
    return at


@pytest.mark.parametrize(("landing", "sign"), [(None, -1), ("first", -1), ("second", 1)])
def test_which_landing_is_read(landing: str | None, sign: int) -> None:
    value = {"point": "a", "onto": ["b", "c"], "through": "d", "landing": landing}
    names = {name: name for name in "abcd"}
    if landing is None:
        with pytest.raises(Rejected, match="no alignment"):
            read_alignment({key: text for key, text in value.items() if text}, "here", names)
        plain = {"point": "a", "onto": ["b", "c"], "square": ["a", "d"]}
        assert read_alignment(plain, "here", names) == Alignment("point onto square", tuple("abcad"), sign)
    else:
        assert read_alignment(value, "here", names) == Alignment("point onto through landing", tuple("abcd"), sign)


FORMS = ("through", "point onto", "line onto", "square through", "point onto through landing", "point onto square")


@pytest.mark.parametrize("form", FORMS)
def test_a_line_satisfies_an_alignment(form: str) -> None:
    rng = random.Random(form)
    seen = {True: 0, False: 0}
    while min(seen.values()) < 60:
        a, b = place(rng), place(rng)
        if a == b:
            continue
        at, landing = aligned(rng, form, (a, b)), rng.choice((-1, 1))
        marks = [weighted(rng, p) for p in at]
        if solvable(Q, form, marks):
            expected = holds(form, landing, (a, b), at)
            seen[expected] += 1
            along = line(weighted(rng, a), weighted(rng, b))
            assert satisfies(Q, along, Alignment(form, ("",) * len(at), landing), marks) == expected


@pytest.mark.parametrize("form", FORMS)
def test_an_alignment_has_exactly_one_line(form: str) -> None:
    """For a landing: a point of the line ab as far from q as p is (two, one or none); parallels meet nowhere or have
    one midline.
    """
    rng = random.Random(form)
    seen = set()
    for _ in range(2_000):
        count = {"through": 2, "point onto": 2, "square through": 3, "point onto square": 5}.get(form, 4)
        at = [(Fraction(rng.randint(0, 3), 2), Fraction(rng.randint(0, 3), 2)) for _ in range(count)]
        p, q, *rest = at
        match form:
            case "through" | "point onto" | "square through":
                expected = p != q
            case "line onto":
                u, v = minus(q, p), minus(rest[1], rest[0])
                expected = p != q and rest[0] != rest[1] and (cross(u, v) != 0 or dot(u, v) > 0)
            case "point onto square":
                expected = (
                    q != rest[0] and rest[1] != rest[2] and cross(minus(rest[0], q), minus(rest[2], rest[1])) != 0
                )
            case _:
                ab = minus(rest[0], q)
                expected = rest[0] != q and rest[1] != p
                if expected:
                    off = cross(ab, minus(rest[1], q)) ** 2 / dot(ab, ab)
                    expected = off <= dot(minus(p, rest[1]), minus(p, rest[1]))
        seen.add(expected)
        assert solvable(Q, form, [weighted(rng, x) for x in at]) == expected, at
    assert seen == {True, False}
