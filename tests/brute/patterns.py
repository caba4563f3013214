"""Random small patterns with rational coordinates, whose vertices satisfy Kawasaki–Justin by construction. No part of
`verify` is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations
from math import gcd
from random import Random

from .paper import NotConvex, Paper, Place, Segment, by_direction, cross, leaves, meetings, place

ORIGIN = place(0, 0)
Way = tuple[int, int]
WAYS: list[Way] = [(x, y) for x in range(-4, 5) for y in range(-4, 5) if gcd(x, y) == 1]
SIMPLE: list[Way] = [(x, y) for x in range(-2, 3) for y in range(-2, 3) if gcd(x, y) == 1]


def stamps(columns: int, rows: int) -> Paper:
    folds = [(place(x, y), place(x + 1, y)) for y in range(1, rows) for x in range(columns)]
    folds += [(place(x, y), place(x, y + 1)) for x in range(1, columns) for y in range(rows)]
    return Paper([place(0, 0), place(columns, 0), place(columns, rows), place(0, rows)], folds)


def strip(lengths: Sequence[Fraction]) -> Paper:
    ends = [sum(lengths[:i], Fraction(0)) for i in range(len(lengths) + 1)]
    folds = [(place(x, 0), place(x, 1)) for x in ends[1:-1]]
    return Paper([place(0, 0), place(ends[-1], 0), place(ends[-1], 1), place(0, 1)], folds)


def times(a: Way, b: Way) -> Way:
    return a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]


def primitive(x: Fraction | int, y: Fraction | int) -> Way:
    """The shortest vector of whole numbers that points the same way."""
    x, y = Fraction(x), Fraction(y)
    m, n = x.numerator * y.denominator, y.numerator * x.denominator
    return m // gcd(m, n), n // gcd(m, n)


def completed(ways: Sequence[Way]) -> list[Way] | None:
    """An odd number of primitive directions and the one more with which alternate angles add up to 180°, in order; or
    None.
    """
    centre = (0, 0)
    ordered = by_direction(centre, list(set(ways)))
    if len(ordered) % 2 == 0:
        return None
    for i in range(len(ordered)):
        turned = ordered[i:] + ordered[:i]
        last = (1, 0)
        for k, way in enumerate(turned):
            last = primitive(*times(last, way if k % 2 == 0 else (way[0], -way[1])))
        for way in (last, (-last[0], -last[1])):
            if way not in turned:
                around = by_direction(centre, [*turned, way])
                if around[around.index(way) - 1] == turned[-1]:
                    return around
    return None


def sheet(random: Random, half: int = 12) -> list[Place]:
    """A convex sheet round the origin: a rectangle, now and then with corners off."""
    x0, x1, y0, y1 = (random.randint(half, 2 * half) for _ in range(4))
    if random.random() < 0.5:
        return [place(-x0, -y0), place(x1, -y0), place(x1, y1), place(-x0, y1)]
    c = Fraction(random.randint(1, half - 1))
    return [
        place(c - x0, -y0),
        place(x1, -y0),
        place(x1, y1 - c),
        (x1 - c, Fraction(y1)),
        place(-x0, y1),
        (Fraction(-x0), c - y0),
    ]


def star(random: Random, degree: int, ways: Sequence[Way]) -> tuple[Paper, list[Way]] | None:
    """One vertex at the origin, and its directions."""
    found = completed(random.sample(list(ways), degree - 1))
    if found is None or len(found) != degree:
        return None
    outline = sheet(random)
    try:
        return Paper(outline, [(ORIGIN, leaves(ORIGIN, way, outline)) for way in found]), found
    except NotConvex:
        return None


def joined(random: Random, vertices: int, ways: Sequence[Way] = SIMPLE, most: int = 9) -> Paper | None:
    """Two or three vertices joined by creases, each with rays to the edge of the sheet; now and then with a flat line
    across.

    None if the random rays do not work out: if they cross, or a face is not convex, or there are too many.
    """
    centres = random.sample([place(x, y) for x in range(-4, 5) for y in range(-4, 5)], vertices)
    links = [(centres[0], centres[1])]
    if vertices == 3:
        links.append((centres[1], centres[2]))
        if random.random() < 0.7:
            links.append((centres[0], centres[2]))
        if cross(*centres) == 0:
            return None
    outline = sheet(random)
    folds: list[Segment] = list(links)
    for c in centres:
        inner = [(b if a == c else a) for a, b in links if c in (a, b)]
        fixed = [primitive(p[0] - c[0], p[1] - c[1]) for p in inner]
        rays = random.choice([1, 1, 2, 3]) if len(fixed) == 1 else random.choice([1, 1, 3])
        if (len(fixed) + rays) % 2 == 0:
            rays += 1
        found = completed([*fixed, *random.sample(list(ways), rays)])
        if found is None or len(found) != len(fixed) + rays + 1:
            return None
        folds += [(c, leaves(c, w, outline)) for w in found if w not in fixed]
        if any(p not in centres for one, two in combinations(folds, 2) for p in meetings(one, two)):
            return None
    flat = []
    if random.random() < 0.3:
        x = Fraction(random.randint(-11, 11))
        flat = [(place(x, min(p[1] for p in outline)), place(x, max(p[1] for p in outline)))]
        if any(abs(p[0]) <= abs(x) and p[0] * x > 0 for p in outline):
            flat = []
    try:
        paper = Paper(outline, folds, flat)
    except (NotConvex, ValueError):
        return None
    return paper if len(paper.faces) <= most else None
