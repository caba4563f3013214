"""Small documents with certificates, worked out by hand, as plain dicts to be edited by the tests."""

from __future__ import annotations

import copy
import json
from fractions import Fraction
from typing import Any

from verify.kernel.check import Outcome, check_bytes
from verify.kernel.statement import read_document

Case = tuple[dict[str, Any], dict[str, Any]]
RATIONAL: dict[str, Any] = {"polynomial": [0, 1], "root": [0, 0], "values": {}}
# values that stand in few places of a document or a certificate
ODD: list[Any] = [
    None,
    True,
    False,
    -1,
    0,
    1,
    2,
    10**30,
    1.5,
    "",
    "0",
    "1/2",
    "1/0",
    "?",
    [],
    {},
    [0],
    [[0]],
    [0, 1],
    {"a": 1},
    float("nan"),
]


def as_bytes(value: object) -> bytes:
    return json.dumps(value).encode()


def sealed(case: Case) -> Case:
    """The certificate with the digest of the document as it is now."""
    document, certificate = case
    certificate["statement_sha256"] = read_document(as_bytes(document), False).digest
    return document, certificate


def run(case: Case) -> Outcome:
    return check_bytes(as_bytes(case[0]), as_bytes(case[1]), toml=False)


def paths(value: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to every part of a document or certificate."""
    found = [at] if at else []
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        found += paths(item, (*at, key))
    return found


def replaced(value: Any, path: tuple[Any, ...], new: Any) -> Any:
    """A copy with another value at one place."""
    result = copy.deepcopy(value)
    inner = result
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = new
    return result


def element(q: Fraction | int) -> Any:
    q = Fraction(q)
    return q.numerator if q.denominator == 1 else f"{q.numerator}/{q.denominator}"


def bare(points: dict[str, Any], outline: list[str]) -> dict[str, Any]:
    return {"format": "creaseproof-pattern/1", "points": points, "sheet": {"outline": outline}, "creases": []}


def certificate(vertices: list[Any], faces: list[list[int]], walks: list[list[int]]) -> dict[str, Any]:
    return {
        "format": "creaseproof-certificate/1",
        "proves": "certified",
        "statement_sha256": "",
        "field": json.loads(json.dumps(RATIONAL)),
        "vertices": vertices,
        "faces": faces,
        "chains": {"sheet": walks, "creases": [], "target": []},
    }


def strip(length: Any, lines: list[tuple[Any, str]], stack: list[int] | None = None, snips: int = 1) -> Case:
    """[0, length] x [0, 1] with lines x = c: a kind of crease, "target", or "aux" (not drawn)."""
    xs = [Fraction(0), *[Fraction(x) for x, _ in lines], Fraction(length)]
    kinds = ["", *[kind for _, kind in lines], ""]
    points: dict[str, Any] = {}
    for i, x in enumerate(xs):
        points[f"s{i}"] = [element(x), 0]
        points[f"n{i}"] = [element(x), 1]
    last = len(xs) - 1
    document = bare(points, ["s0", f"s{last}", f"n{last}", "n0"])
    faces = [[2 * i, 2 * i + 2, 2 * i + 3, 2 * i + 1] for i in range(last)]
    walk = [2 * i for i in range(last + 1)] + [2 * i + 1 for i in range(last, -1, -1)]
    cert = certificate([[element(x), y] for x in xs for y in (0, 1)], faces, [walk])
    paths = []
    images, turned, side, at = [], [], 1, Fraction(0)
    for i, x in enumerate(xs):
        if i:
            at += side * (x - xs[i - 1])
        images += [[element(at), 0], [element(at), 1]]
        if kinds[i] in ("mountain", "valley", "either"):
            side = -side
        if side < 0 and i < last:
            turned.append(i)
        if kinds[i] == "target":
            paths.append([f"s{i}", f"n{i}"])
            cert["chains"]["target"].append([2 * i, 2 * i + 1])
        elif kinds[i] not in ("", "aux"):
            document["creases"].append([f"s{i}", f"n{i}", kinds[i]])
            cert["chains"]["creases"].append([2 * i, 2 * i + 1])
    if paths:
        document["target"] = {"paths": paths}
        if snips != 1:
            document["cut"] = {"snips": snips}
    cert["fold"] = {"images": images, "turned": turned}
    cert["order"] = {"stack": list(range(last)) if stack is None else stack, "except": []}
    return sealed((document, cert))


def field_strip(text: str, crease: Any, length: Any, field: dict[str, Any]) -> Case:
    """A strip folded in the middle, whose crease x = text is the element `crease`."""
    document, cert = strip(2, [(1, "valley")])
    document["points"].update(
        {"s1": [text, 0], "n1": [text, "1"], "s2": [f"2*{text}", 0], "n2": [f"2*({text})", "2/2"]}
    )
    cert["field"] = json.loads(json.dumps(field))  # the edits of one test are not for the next
    cert["vertices"][2:] = [[crease, 0], [crease, 1], [length, 0], [length, 1]]
    cert["fold"]["images"] = [[0, 0], [0, 1], [crease, 0], [crease, 1], [0, 0], [0, 1]]
    return sealed((document, cert))


def map22() -> Case:
    """The 2 x 2 map: [0, 2]^2 with three valleys and one mountain, folded on the square [0, 1]^2."""
    points = {f"p{x}{y}": [x, y] for x in range(3) for y in range(3)}
    document = bare(points, ["p00", "p20", "p22", "p02"])
    document["creases"] = [
        ["p10", "p11", "valley"],
        ["p21", "p11", "valley"],
        ["p11", "p12", "mountain"],
        ["p01", "p11", "valley"],
    ]
    n = [[3 * x + y for y in range(3)] for x in range(3)]
    faces = [[n[x][y], n[x + 1][y], n[x + 1][y + 1], n[x][y + 1]] for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))]
    cert = certificate([[x, y] for x in range(3) for y in range(3)], faces, [[0, 3, 6, 7, 8, 5, 2, 1]])
    cert["chains"]["creases"] = [[3, 4], [7, 4], [4, 5], [1, 4]]
    cert["fold"] = {"images": [[x % 2, y % 2] for x in range(3) for y in range(3)], "turned": [1, 3]}
    # around the centre 0 1 2 3; turned 1 above 0 (valley), 1 above 2 (valley), 3 below 2 (mountain), 3 above 0 (valley)
    cert["order"] = {"stack": [0, 3, 2, 1], "except": []}
    return sealed((document, cert))


def square(kinds: tuple[str, str, str, str] = ("valley", "valley", "mountain", "valley"), centre: Any = 1) -> Case:
    """The square [0, 2]^2 with folds from the corners to (centre, 1); a smaller square as target if that is the middle.

    Faces 0-3 are outside the target, 4-7 inside, from the bottom counter-clockwise; all fold on the bottom triangle.
    """
    points = {
        "a": [0, 0],
        "b": [2, 0],
        "c": [2, 2],
        "d": [0, 2],
        "m": [centre, 1],
        "p": ["1/2", 0.5],
        "q": ["3/2", "1/2"],
        "r": [1.5, "3/2"],
        "s": [0.5, 1.5],
    }
    document = bare(points, ["a", "b", "c", "d"])
    document["creases"] = [[corner, "m", kind] for corner, kind in zip("abcd", kinds, strict=True)]
    half, more = "1/2", "3/2"
    vertices = [[0, 0], [2, 0], [2, 2], [0, 2], [centre, 1], [half, half], [more, half], [more, more], [half, more]]
    if centre != 1:
        for name in "pqrs":
            del points[name]
        cert = certificate(vertices[:5], [[i, (i + 1) % 4, 4] for i in range(4)], [[0, 1, 2, 3]])
        cert["chains"]["creases"] = [[i, 4] for i in range(4)]
        return sealed((document, cert))
    document["target"] = {"loops": [["p", "q", "r", "s"]]}
    outer = [[i, (i + 1) % 4, 5 + (i + 1) % 4, 5 + i] for i in range(4)]
    inner = [[5 + i, 5 + (i + 1) % 4, 4] for i in range(4)]
    cert = certificate(vertices, outer + inner, [[0, 1, 2, 3]])
    cert["chains"]["creases"] = [[i, 5 + i, 4] for i in range(4)]
    cert["chains"]["target"] = [[5 + i, 5 + (i + 1) % 4] for i in range(4)]
    images = [[0, 0], [2, 0], [0, 0], [2, 0], [1, 1], [half, half], [more, half], [half, half], [more, half]]
    cert["fold"] = {"images": images, "turned": [1, 3, 5, 7]}
    # valley at b: 1 over 0; mountain at c: 1 under 2; valley at d: 3 over 2; valley at a: 3 over 0
    cert["order"] = {"stack": [0, 1, 2, 3, 4, 5, 6, 7], "except": []}
    return sealed((document, cert))


def windmill(width: int, exceptions: bool = True) -> Case:
    """The square [0, 3]^2 with four arms folded over it, each over the next one around."""
    w, v = width, 3 - width
    at = [
        (0, 0),
        (w, 0),
        (3, 0),
        (3, w),
        (3, 3),
        (v, 3),
        (0, 3),
        (0, v),
        (0, -3),
        (w, -3),
        (6, 0),
        (6, w),
        (3, 6),
        (v, 6),
        (-3, 3),
        (-3, v),
    ]
    names = [f"v{i}" for i in range(16)]
    corners = [8, 9, 1, 10, 11, 3, 12, 13, 5, 14, 15, 7]
    document = bare({name: list(p) for name, p in zip(names, at, strict=True)}, [names[i] for i in corners])
    folds = [(0, 1), (2, 3), (4, 5), (6, 7)]
    document["creases"] = [[names[i], names[j], "valley"] for i, j in folds]
    faces = [[0, 1, 2, 3, 4, 5, 6, 7], [0, 8, 9, 1], [2, 10, 11, 3], [4, 12, 13, 5], [6, 14, 15, 7]]
    walk = [8, 9, 1, 2, 10, 11, 3, 4, 12, 13, 5, 6, 14, 15, 7, 0]
    cert = certificate([list(p) for p in at], faces, [walk])
    cert["chains"]["creases"] = [list(pair) for pair in folds]
    images = [list(p) for p in at[:8]] + [[0, 3], [w, 3], [0, 0], [0, w], [3, 0], [v, 0], [3, 3], [3, v]]
    cert["fold"] = {"images": images, "turned": [1, 2, 3, 4]}
    cert["order"] = {"stack": [0, 4, 3, 2, 1], "except": [[4, 1]] if exceptions else []}
    return sealed((document, cert))


def window() -> Case:
    """The square [0, 3]^2 with the hole [1, 2]^2, not folded: four trapezia."""
    points = {"a": [0, 0], "b": [3, 0], "c": [3, 3], "d": [0, 3], "e": [1, 1], "f": [2, 1], "g": [2, 2], "h": [1, 2]}
    document = bare(points, ["a", "b", "c", "d"])
    document["sheet"]["holes"] = [["e", "f", "g", "h"]]
    vertices = list(points.values())
    faces = [[i, (i + 1) % 4, 4 + (i + 1) % 4, 4 + i] for i in range(4)]
    cert = certificate(vertices, faces, [[0, 1, 2, 3], [4, 5, 6, 7]])
    cert["fold"] = {"images": list(vertices), "turned": []}
    cert["order"] = {"stack": [3, 1, 0, 2], "except": []}
    return sealed((document, cert))


def ladder(rungs: int, snips: int) -> Case:
    """[0, 2] x [0, 2 rungs - 1], not folded; every second unit of the line x = 1 is target."""
    height = 2 * rungs - 1
    points: dict[str, Any] = {"a": [0, 0], "b": [2, 0], "c": [2, height], "d": [0, height]}
    points |= {f"m{y}": [1, y] for y in range(height + 1)}
    document = bare(points, ["a", "b", "c", "d"])
    document["target"] = {"paths": [[f"m{y}", f"m{y + 1}"] for y in range(0, height, 2)]}
    document["cut"] = {"snips": snips}
    middle = list(range(4, 4 + height + 1))
    faces = [[0, *middle, 3], [*reversed(middle), 1, 2]]
    cert = certificate(
        [[0, 0], [2, 0], [2, height], [0, height], *[[1, y] for y in range(height + 1)]],
        faces,
        [[0, middle[0], 1, 2, middle[-1], 3]],
    )
    cert["chains"]["target"] = [[middle[y], middle[y + 1]] for y in range(0, height, 2)]
    cert["fold"] = {"images": list(cert["vertices"]), "turned": []}
    cert["order"] = {"stack": [0, 1], "except": []}
    if snips > 1:
        cert["cut"] = {"snips": [[middle[y], middle[y + 1]] for y in range(0, height, 2)]}
    return sealed((document, cert))


def columns() -> Case:
    """[0, 5] x [0, 2], not folded, in columns one wide; on the line y = 1 the second and the fourth are target. Of the
    whole columns the third, face 3, lies between these, to the right of its left edge's line.
    """
    points: dict[str, Any] = {"a": [0, 0], "b": [5, 0], "c": [5, 2], "d": [0, 2]}
    points |= {f"m{x}": [x, 1] for x in (1, 2, 3, 4)}
    document = bare(points, ["a", "b", "c", "d"])
    document["target"] = {"paths": [["m1", "m2"], ["m3", "m4"]]}
    document["cut"] = {"snips": 2}
    places = [[x, y] for y in (0, 2) for x in range(6)] + [[x, 1] for x in (1, 2, 3, 4)]
    halves = [[1, 2, 13, 12], [12, 13, 8, 7], [3, 4, 15, 14], [14, 15, 10, 9]]
    faces = [[0, 1, 12, 7, 6], *halves[:2], [2, 3, 14, 9, 8, 13], *halves[2:], [4, 5, 11, 10, 15]]
    cert = certificate(places, faces, [[0, 1, 2, 3, 4, 5, 11, 10, 9, 8, 7, 6]])
    cert["chains"]["target"] = [[12, 13], [14, 15]]
    cert["fold"] = {"images": list(places), "turned": []}
    cert["order"] = {"stack": list(range(7)), "except": []}
    cert["cut"] = {"snips": [[12, 13], [14, 15]]}
    return sealed((document, cert))


def tip() -> Case:
    """[0, 9] x [0, 2], in half along y = 1, the left end over and the right end up; the inner vertex 6 folds onto the
    target's line.

    Faces 0-3 are below y = 1, 4-7 above, from the left; face 1 lies still.
    """
    places = [(x, 0) for x in (0, 1, 3, 6, 9)] + [(x, 1) for x in (0, 1, 4, 7, 9)] + [(x, 2) for x in (0, 1, 3, 6, 9)]
    document = bare({f"v{i}": list(p) for i, p in enumerate(places)}, ["v0", "v4", "v14", "v10"])
    folds = [(5, 6), (6, 7), (7, 8), (8, 9), (1, 6), (6, 11), (2, 7), (7, 12)]
    document["creases"] = [[f"v{i}", f"v{j}", "either"] for i, j in folds]
    document["target"] = {"paths": [["v3", "v8", "v13"]]}
    faces = [[i, i + 1, i + 6, i + 5] for i in (0, 1, 2, 3, 5, 6, 7, 8)]
    cert = certificate([list(p) for p in places], faces, [[0, 1, 2, 3, 4, 9, 14, 13, 12, 11, 10, 5]])
    cert["chains"]["creases"] = [list(pair) for pair in folds]
    cert["chains"]["target"] = [[3, 8], [8, 13]]
    low = [[2, 0], [1, 0], [3, 0], [3, 3], [3, 6]]
    cert["fold"] = {"images": [*low, [2, 1], [1, 1], [4, 1], [4, 4], [4, 6], *low], "turned": [0, 2, 3, 5]}
    cert["order"] = {"stack": [1, 5, 4, 0, 6, 7, 2, 3], "except": []}
    return sealed((document, cert))


def crossed() -> Case:
    """[0, 3] x [0, 2], not folded: the target ends at x = 1, its line goes on across the edge x = 2."""
    places = [(0, 0), (1, 0), (2, 0), (3, 0), (0, 1), (1, 1), (0, 2), (1, 2), (2, 2), (3, 2)]
    document = bare({f"v{i}": list(p) for i, p in enumerate(places)}, ["v0", "v3", "v9", "v6"])
    document["target"] = {"paths": [["v4", "v5"]]}
    vertices = [list(p) for p in places]
    faces = [[0, 1, 5, 4], [4, 5, 7, 6], [1, 2, 8, 7, 5], [2, 3, 9, 8]]
    cert = certificate(vertices, faces, [[0, 1, 2, 3, 9, 8, 7, 6, 4]])
    cert["chains"]["target"] = [[4, 5]]
    cert["fold"] = {"images": vertices, "turned": []}
    cert["order"] = {"stack": [0, 1, 2, 3], "except": []}
    return sealed((document, cert))


def refuting(case: Case, refutation: dict[str, Any]) -> Case:
    """The certificate turned into a refutation of the kind that is named."""
    document, cert = case
    for key in ("order", "cut"):
        cert.pop(key, None)
    if refutation["kind"] in ("closure", "maekawa"):
        cert.pop("fold", None)
    cert["proves"] = "refuted"
    cert["refutation"] = json.loads(json.dumps(refutation))
    return document, cert


def grid(n: int, m: int) -> Case:
    """The map of n columns and m rows, pleated in columns and then in rows."""
    points = {f"p{x}_{y}": [x, y] for x in range(n + 1) for y in range(m + 1)}
    document = bare(points, ["p0_0", f"p{n}_0", f"p{n}_{m}", f"p0_{m}"])
    at = [[x * (m + 1) + y for y in range(m + 1)] for x in range(n + 1)]
    cells = [(x, y) for x in range(n) for y in range(m)]
    faces = [[at[x][y], at[x + 1][y], at[x + 1][y + 1], at[x][y + 1]] for x, y in cells]
    walk = [at[x][0] for x in range(n)] + [at[n][y] for y in range(m)]
    walk += [at[x][m] for x in range(n, 0, -1)] + [at[0][y] for y in range(m, 0, -1)]
    cert = certificate([list(p) for p in points.values()], faces, [walk])
    rank = {(x, y): y * n + (n - 1 - x if y % 2 else x) for x, y in cells}
    for x, y in cells:
        for a, b, other in ((x + 1, y, (x + 1, y)), (x, y + 1, (x, y + 1))):
            if other in rank:
                turned_above = (rank[other] > rank[x, y]) == (sum(other) % 2 == 1)
                kind = "valley" if turned_above else "mountain"
                document["creases"].append([f"p{a}_{b}", f"p{x + 1}_{y + 1}", kind])
                cert["chains"]["creases"].append([at[a][b], at[x + 1][y + 1]])
    images = [[x % 2, y % 2] for x in range(n + 1) for y in range(m + 1)]
    cert["fold"] = {"images": images, "turned": [x * m + y for x, y in cells if (x + y) % 2]}
    cert["order"] = {"stack": [x * m + y for x, y in sorted(cells, key=lambda cell: rank[cell])], "except": []}
    return sealed((document, cert))
