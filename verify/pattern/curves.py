"""Curves as lines that stay within a stated distance of them.

Between two places of a curve E whose parameters differ by h, the chord (run through evenly) is nowhere farther from
the curve than h²/8 · max |E''|: the error of linear interpolation. For a Bézier curve of degree d, |E''| is at most
d (d - 1) times the longest second difference of its control points; for an arc c + a cos t + b sin t it is at most the
largest singular value of (a b). The places between the ends are rounded to decimals, which moves the lines by no more
than the rounding. Both are kept below the tolerance together, so that every place of the lines is within it of the
curve, and every place of the curve within it of the lines. The ends stay exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import isqrt
from typing import TYPE_CHECKING

from verify.exact.number import Number
from verify.exact.plane import Point

if TYPE_CHECKING:
    from mpmath import mpf

FINEST = Fraction(1, 10**6)
MOST_PIECES = 10_000
_BITS = 300
_DIGITS = 120

Pair = tuple[Fraction, Fraction]


class TooManyPieces(Exception):
    """The curve would need more than `MOST_PIECES` lines."""


def bezier(controls: Sequence[Point], tolerance: Fraction) -> list[Point]:
    """The places after the first one of lines within `tolerance` of the Bézier curve with these control points.

    Coordinates and `tolerance` are in one unit; `tolerance` is at least `FINEST`. Raises `TooManyPieces`.
    The number of pieces comes from exact arithmetic.
    """
    degree = len(controls) - 1
    pairs = [_rational(p) for p in controls]
    seconds = [
        tuple(a - 2 * b + c for a, b, c in zip(*three, strict=True))
        for three in zip(pairs, pairs[1:], pairs[2:], strict=False)
    ]
    slack = Fraction(1, 2 ** (_BITS - 10))
    bound2 = max((abs(x) + slack) ** 2 + (abs(y) + slack) ** 2 for x, y in seconds) * (degree * (degree - 1)) ** 2
    # bound · h² / 8 <= 7/8 tolerance with h = 1/n, that is n⁴ >= bound² / (7 tolerance)²
    pieces = _fourth_root_up(bound2 / (7 * tolerance) ** 2)
    grid = _grid(tolerance)
    inner = [_rounded(_de_casteljau(pairs, Fraction(i, pieces)), grid) for i in range(1, pieces)]
    return [*inner, controls[-1]]


def arc(
    start: tuple[Fraction, Fraction],
    end: tuple[Fraction, Fraction],
    radii: tuple[Fraction, Fraction],
    turn: Fraction,
    flags: tuple[bool, bool],
    matrix: Sequence[Number],
    last: Point,
    tolerance: Fraction,
) -> list[Point]:
    """The places after the first one of lines within `tolerance` of an elliptical arc seen through an affine map.

    `start`, `end`, `radii`, `turn` (degrees) and `flags` (large, sweep) are those of SVG 1.1 §F.6, `matrix` is
    (a, b, c, d, e, f), `last` the exact image of `end`; start and end differ and no radius is 0. Computed with 120
    digits: their error is far below what is kept for rounding.
    """
    from mpmath import mp, mpf  # slow to load

    with mp.workdps(_DIGITS):
        a, b, c, d, e, f = (_mpf(_near(x)) for x in matrix)
        rx, ry = (_mpf(r) for r in radii)
        phi = _mpf(turn % 360) * mp.pi / 180
        cos, sin = mp.cos(phi), mp.sin(phi)
        (x1, y1), (x2, y2) = ((_mpf(x), _mpf(y)) for x, y in (start, end))
        # SVG 1.1 §F.6.5: from the ends to the centre, in the frame of the ellipse
        dx, dy = (x1 - x2) / 2, (y1 - y2) / 2
        u, v = cos * dx + sin * dy, cos * dy - sin * dx
        excess = (u / rx) ** 2 + (v / ry) ** 2
        if excess > 1:  # §F.6.6: too small an ellipse is scaled up until it fits
            rx, ry = rx * mp.sqrt(excess), ry * mp.sqrt(excess)
            factor = mpf(0)
        else:
            factor = mp.sqrt(1 / excess - 1)
        large, sweep = flags
        if large == sweep:
            factor = -factor
        cu, cv = factor * rx * v / ry, -factor * ry * u / rx
        cx, cy = cos * cu - sin * cv + (x1 + x2) / 2, sin * cu + cos * cv + (y1 + y2) / 2
        first = mp.atan2((v - cv) / ry, (u - cu) / rx)
        sweep_angle = mp.atan2((-v - cv) / ry, (-u - cu) / rx) - first
        if sweep and sweep_angle < 0:
            sweep_angle += 2 * mp.pi
        elif not sweep and sweep_angle > 0:
            sweep_angle -= 2 * mp.pi
        # the ellipse through the map: centre + p cos t + q sin t
        px, py = rx * (a * cos + c * sin), rx * (b * cos + d * sin)
        qx, qy = ry * (c * cos - a * sin), ry * (d * cos - b * sin)
        mx, my = a * cx + c * cy + e, b * cx + d * cy + f
        half, gap = (px**2 + py**2 + qx**2 + qy**2) / 2, px * qy - py * qx
        widest = mp.sqrt(half + mp.sqrt(max(half**2 - gap**2, mpf(0))))
        ideal = abs(sweep_angle) * mp.sqrt(widest / (7 * _mpf(tolerance))) * (1 + mpf(10) ** -9)
        if ideal > MOST_PIECES:
            raise TooManyPieces
        pieces = max(1, int(mp.ceil(ideal)))
        grid = _grid(tolerance)
        inner = []
        for i in range(1, pieces):
            t = first + sweep_angle * i / pieces
            x, y = mx + px * mp.cos(t) + qx * mp.sin(t), my + py * mp.cos(t) + qy * mp.sin(t)
            inner.append(Point(*(Number.of(Fraction(int(mp.nint(w * grid)), grid)) for w in (x, y))))
    return [*inner, last]


def _near(x: Number) -> Fraction:
    """A rational within 2^-300; the number itself if it is rational."""
    return x.as_fraction() if x.is_rational else x.enclosure(_BITS)[0]


def _rational(p: Point) -> Pair:
    return _near(p.x), _near(p.y)


def _mpf(x: Fraction) -> mpf:
    from mpmath import mpf

    return mpf(x.numerator) / x.denominator


def _grid(tolerance: Fraction) -> int:
    """A power of ten whose inverse is at most an eighth of the tolerance."""
    grid = 1
    while grid * tolerance < 8:
        grid *= 10
    return grid


def _rounded(pair: Pair, grid: int) -> Point:
    return Point(*(Number.of(Fraction(round(w * grid), grid)) for w in pair))


def _de_casteljau(pairs: Sequence[Pair], t: Fraction) -> Pair:
    level = list(pairs)
    while len(level) > 1:
        level = [(a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])) for a, b in pairwise(level)]
    return level[0]


def _fourth_root_up(x: Fraction) -> int:
    """An n with n⁴ >= x, at least 1 and at most one too large."""
    if x > MOST_PIECES**4:
        raise TooManyPieces
    n = isqrt(isqrt(x.numerator // x.denominator))
    return max(1, n if n**4 >= x else n + 1)
