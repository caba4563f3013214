"""The second checker: extracted from a machine-checked proof, run beside the kernel.

The program is built by `proofs/theory/coq/build.sh` where Coq and OCaml are. It reads the canonical
statement, whose SHA-256 it computes itself, and evidence in its own form: triangles in place of
faces, integers over one denominator, enclosures of the powers of alpha. What this module writes is
untrusted: the program decides whatever it is given, and a mistake here can only make it reject.
"""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import floor, lcm
from pathlib import Path
from typing import Any, NamedTuple

from verify.certificate.second_cut import NoCut, counted
from verify.certificate.second_order import NoOrderProof
from verify.exact.algebraic import element
from verify.exact.effort import EffortSpent, bounded
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import RATIONALS, Field
from verify.exact.plane import Point, around, cross, polygon_area2, with_neighbours
from verify.pattern.document import Document

FOLDER = Path(__file__).resolve().parents[2] / "proofs" / "theory" / "coq"
BITS = 256  # of the enclosures of the powers of alpha
WORK = 10**10  # of exact arithmetic, as `exact.effort` counts it: no more for one certificate
PROGRAM = "CREASEPROOF_SECOND"  # in the environment: another place of the program
SECONDS = 600
HOW_TO_BUILD = (
    "run proofs/theory/coq/build.sh; it needs Coq and zarith (Debian: apt-get install coq libzarith-ocaml-dev)"
)
ERRORS = (
    ArithmeticError,
    AttributeError,
    EffortSpent,
    LookupError,
    TypeError,
    ValueError,
)  # of a certificate without its form

Json = Mapping[str, Any]


class Answer(NamedTuple):
    """What the second checker says.

    `verdict`: `certified`, `refuted`, `rejected`, `unsupported` (not covered), `undecided` (out of time or memory) or
    `not built`. `statement_sha256`: the digest that it computed. `reason` decides nothing.
    """

    verdict: str
    statement_sha256: str = ""
    claims: tuple[str, ...] = ()
    reason: str = ""


def program() -> Path | None:
    """The built program, or None."""
    path = Path(os.environ.get(PROGRAM, FOLDER / "build" / "second"))
    return path if path.is_file() and os.access(path, os.X_OK) else None


def second(document: Document, certificate: Json | bytes) -> Answer:
    """What the second checker says of a document and a certificate.

    Covers patterns: what certifies them, and refutations by `closure`, `order`, `apart` and `stray`.
    Of anything else, and where the program is not built, the answer says so. A `rejected` says nothing about the
    document: it may be a limit of this module (a zero test in a field whose polynomial is reducible).
    """
    if document.steps:
        return Answer("unsupported", reason="a recipe: the steps are outside what the second checker decides")
    found = json.loads(certificate) if isinstance(certificate, bytes) else certificate
    if not isinstance(found, Mapping) or found.get("proves") not in ("certified", "refuted"):
        return Answer("rejected", reason="not a certificate")
    if found["proves"] == "refuted" and not _kind(found, document):
        return Answer("unsupported", reason="a refutation of a kind that the second checker does not decide")
    path = program()
    if path is None:
        return Answer("not built", reason=HOW_TO_BUILD)
    if found.get("statement_sha256") != document.statement_sha256:
        return Answer("rejected", reason="the certificate names another statement")
    try:
        evidence = Export(document, found).text()
    except ERRORS as error:
        return Answer("rejected", reason=f"the certificate is not of its form: {type(error).__name__}: {error}")
    answer = ask(path, document.statement_text(), evidence)
    if answer.verdict in ("certified", "refuted") and answer.statement_sha256 != document.statement_sha256:
        return answer._replace(verdict="rejected", reason="the second checker read another statement")
    return answer


def ask(path: Path, statement: str, evidence: str) -> Answer:
    """One question to the program."""
    try:
        done = subprocess.run(
            [path], input=f"{statement}\n{evidence}\n", capture_output=True, text=True, timeout=SECONDS, check=True
        )
        found = json.loads(done.stdout)
    except subprocess.TimeoutExpired:
        return Answer("undecided", reason=f"{SECONDS} seconds")
    except (subprocess.CalledProcessError, OSError, ValueError) as error:
        return Answer("undecided", reason=f"the program failed: {error}")
    return Answer(found["verdict"], found["statement_sha256"], tuple(found["claims"]), found["reason"])


def _kind(certificate: Json, document: Document) -> str:
    """The kind of a refutation that the second checker decides, or nothing."""
    found = certificate.get("refutation")
    kind = found.get("kind") if isinstance(found, Mapping) else None
    no_cut = kind in ("apart", "stray") and document.has_target
    return str(kind) if kind in ("closure", "order") or no_cut else ""


def evidence_of(document: Document, certificate: Json) -> dict[str, str] | None:
    """The two texts that the second checker reads, or None if the certificate is not of its form."""
    try:
        return {"statement": document.statement_text(), "evidence": Export(document, certificate).text()}
    except ERRORS:
        return None


class Export:
    """The evidence of one certificate, written for the second checker."""

    def __init__(self, document: Document, certificate: Json) -> None:
        self.document, self.certificate = document, certificate
        self.polynomial = [int(c) for c in certificate["field"]["polynomial"]]
        self.degree = len(self.polynomial) - 1
        low, high = map(Fraction, certificate["field"]["root"])
        self.field = RATIONALS if self.degree == 1 else Field(self.polynomial, (low, high), "alpha")
        self.points = sorted(document.points)  # as in the canonical statement
        self.kind = _kind(certificate, document)
        self.turned = set() if self.kind == "closure" else {*certificate["fold"]["turned"]}

    def text(self) -> str:
        """All of it, on one line."""
        with bounded(WORK):
            return " ".join(map(str, self._items()))

    def _items(self) -> Iterator[object]:
        certificate = self.certificate
        yield "second/1"
        yield self.degree
        yield from (-c for c in self.polynomial[:-1])
        yield 1 << BITS
        yield from counted(list(self._enclosures()))
        values = ((key, self._number(value).integers()) for key, value in certificate["field"]["values"].items())
        yield from counted([(key, *numerators, denominator) for key, (numerators, denominator) in values])
        flat = self._flat
        folded = flat if self.kind == "closure" else [self._point(p) for p in certificate["fold"]["images"]]
        snips = self._snips()
        if self.document.snips == 1 and not snips and not self.kind:
            snips = [[len(flat), len(flat) + 1]]
            beside = self._beside_the_paper(folded)
            flat, folded = flat + beside, folded + beside
        denominator = lcm(*(x.integers()[1] for point in flat + folded for x in point))
        yield denominator
        for points in (flat, folded):
            yield from counted([[int(c * denominator) for x in point for c in x.coefficients()] for point in points])
        triangles = list(self._triangles())
        yield from counted(triangles)
        sheet = self._sides()
        at = self._vertices(sheet)
        yield from (len(at), *at)
        for chains in (sheet, certificate["chains"]["creases"], certificate["chains"]["target"]):
            yield from counted([(len(chain), *chain) for chain in chains])
        faces = range(len(certificate["faces"]))
        order: Json = {"stack": faces, "except": []} if self.kind else certificate["order"]
        place = {face: i for i, face in enumerate(order["stack"])}
        yield from (len(faces), *(place[face] for face in faces))
        yield from counted(order["except"])
        yield from counted(snips)
        if self.kind == "closure":
            yield from ("closure", *self._walk(triangles))
        elif self.kind:
            yield from self._against(triangles, folded).items(certificate["refutation"], self.document.snips)

    def _against(self, triangles: Sequence[tuple[int, ...]], images: Sequence[Point]) -> NoCut:
        """What writes why no cut frees the target, or why there is no layer order."""
        chains = self.certificate["chains"]
        if self.kind != "order":
            return NoCut(triangles, images, (edge for chain in chains["target"] for edge in pairwise(chain)))
        mountains = [
            edge
            for crease, chain in zip(self.document.creases, chains["creases"], strict=True)
            if crease.kind == "mountain"
            for edge in pairwise(chain)
        ]
        return NoOrderProof(triangles, images, mountains)

    def _walk(self, triangles: Sequence[tuple[int, ...]]) -> Iterator[object]:
        """The closed walk over triangles: the first, the number of steps, for each the edge and the next triangle."""
        import networkx as nx  # seldom needed, and slow to load

        refutation = self.certificate["refutation"]
        faces, edges = refutation["walk"], [frozenset(edge) for edge in refutation["edges"]]
        on_sides = NoCut(triangles, (), ()).beside
        inside = nx.Graph()
        inside.add_nodes_from(range(len(triangles)))
        for side, both in on_sides.items():
            if len({triangles[n][4] for n in both}) == 1 < len(both):
                inside.add_edge(*both, side=side)

        def beside(face: int, edge: frozenset[int]) -> int:
            found = [n for n in on_sides[edge] if triangles[n][4] == face]
            return found[0]

        first = now = beside(faces[0], edges[-1])
        steps: list[tuple[int, ...]] = []
        for (face, after), edge in zip(around(faces), edges, strict=True):
            way = nx.shortest_path(inside, now, beside(face, edge))
            now = beside(after, edge)
            steps += [(*inside.edges[pair]["side"], pair[1]) for pair in pairwise(way)]
            steps.append((*edge, now))
        yield from (first, *counted(steps))

    # ---- numbers ----

    def _number(self, value: Any) -> Number:
        listed = value if isinstance(value, list) else [value] + [0] * (self.degree - 1)
        if len(listed) != self.degree:
            raise ValueError("an element with the wrong number of coefficients")
        return element(self.field, [Fraction(c) for c in listed])

    def _point(self, value: Any) -> Point:
        x, y = value
        return Point(self._number(x), self._number(y))

    def _enclosures(self) -> Iterator[tuple[int, int]]:
        """Integers round 2^BITS alpha^k, each pair from the last by a product rounded outwards."""
        size = 1 << BITS
        low, high = size, size
        yield low, high
        for _ in range(1, self.degree):
            alpha = self.field.floor_of_root(BITS)
            ends = [a * b for a in (low, high) for b in (alpha, alpha + 1)]
            low, high = min(ends) // size, -(-max(ends) // size)
            yield low, high

    @cached_property
    def _flat(self) -> list[Point]:
        return [self._point(p) for p in self.certificate["vertices"]]

    # ---- what the kernel does not need to be told ----

    def _triangles(self) -> Iterator[tuple[int, int, int, int, int]]:
        """Each face in triangles, none of them flat, ear by ear: that whose area, or the rest's, is not the least."""
        for number, face in enumerate(self.certificate["faces"]):
            turned, rest = int(number in self.turned), list(face)
            while len(rest) > 3:
                best = max(range(len(rest)), key=lambda m: self._worst(rest, m))
                yield *list(with_neighbours(rest))[best], turned, number
                del rest[best]
            yield *rest, turned, number

    def _worst(self, rest: Sequence[int], m: int) -> Number:
        """The lesser of an ear's area and the area of what is left without it."""
        at = [self._flat[v] for v in rest]
        without = at[:m] + at[m + 1 :]
        return min(cross(without[m - 1], at[m], without[m % len(without)]), polygon_area2(without))

    def _sides(self) -> list[list[int]]:
        """The chain of each side of the sheet: the walks, cut at the vertices that are its corners."""
        points = self.document.points
        numbers = read_numbers(self.document.numbers).numbers
        sides = []
        loops = [self.document.outline, *self.document.holes]
        for walk, loop in zip(self.certificate["chains"]["sheet"], loops, strict=True):
            vertex = {self._flat[v]: v for v in walk}
            corners = [vertex[Point(*(numbers[text] for text in points[name]))] for name in loop]
            ring = [*walk, *walk]
            for start, end in around(corners):
                first = ring.index(start)
                last = ring.index(end, first + 1)
                sides.append(ring[first : last + 1])
        return sides

    def _vertices(self, sides: Sequence[Sequence[int]]) -> list[int]:
        """The vertex of each named point, in the order of the statement; 0 for a point that no line names."""
        document, at = self.document, dict[str, int]()
        creases = [(crease.start, crease.end) for crease in document.creases]
        lines = document.sheet_lines() + creases + document.target_lines()
        chains = [*sides, *self.certificate["chains"]["creases"], *self.certificate["chains"]["target"]]
        for (a, b), chain in zip(lines, chains, strict=True):
            at[a], at[b] = chain[0], chain[-1]
        return [at.get(name, 0) for name in self.points]

    def _snips(self) -> list[list[int]]:
        """The ends of each snip; of a whole cut those of a target edge off the sheet's edge, if there is one."""
        if self.kind or not self.document.has_target:
            return []
        if self.document.snips != 1:
            return [list(snip) for snip in self.certificate["cut"]["snips"]]
        border = set[frozenset[int]]()
        for face in self.certificate["faces"]:
            for pair in around(face):
                border ^= {frozenset(pair)}
        edges = [(u, v) for chain in self.certificate["chains"]["target"] for u, v in pairwise(chain)]
        return [list(edge) for edge in edges if frozenset(edge) not in border][:1]

    def _beside_the_paper(self, images: Sequence[Point]) -> list[Point]:
        """Two places on a line that misses the folded sheet: for a target that is all raw edge."""
        far = element(self.field, [floor(max(place.x for place in images)) + 2])
        return [Point(far, element(self.field, [y])) for y in (0, 1)]
