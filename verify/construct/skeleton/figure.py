"""The figure to cut: the target as lines that meet only at their ends, with exact unit vectors."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from typing import TYPE_CHECKING

from verify.construct.skeleton.units import unit_vectors
from verify.exact.plane import Point, length
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.subdivision import Subdivision

if TYPE_CHECKING:
    import networkx as nx


_EDGE = -1  # stands for the sheet's edge among points


@dataclass(frozen=True)
class Figure:
    """A target as a plane graph, in a sheet.

    `points` and `lines` (pairs of indices) hold every target line once, cut where target lines meet, without points in
    the middle of a straight line; `directions` are the lines' unit vectors. `loops` are the sheet's outline and its
    holes. All coordinates are exact, in one field. `folded` are the lines along which the sheet is folded: a line whose
    two sides come to lie on the same side of the cut. The fewest (by length) are taken with which every two pieces of
    paper beside each other differ otherwise; they are none if at each point an even number of lines meet.
    """

    document: Document
    points: tuple[Point, ...]
    lines: tuple[tuple[int, int], ...]
    directions: tuple[Point, ...]
    loops: tuple[tuple[Point, ...], ...]
    folded: frozenset[int]


def figure_of(document: Document, limits: Limits = Limits()) -> Figure:
    """The figure that a document's target draws. Its creases are not looked at.

    Raises `Malformed` for a drawing without meaning, `LimitReached` if the lines' unit vectors need a field of too high
    a degree.
    """
    return next(figures_of(document, limits))


def figures_of(document: Document, limits: Limits = Limits()) -> Iterator[Figure]:
    """The same; then, if it lies along the sheet's edge or ends there, the figure without what lies there, which is cut
    already: at the edge any number of lines may be left. Now this needs fewer folds, now that. Raises as `figure_of`.
    """
    drawing = draw(document, limits)
    s = subdivide(drawing, limits)
    target = [i for i, edge in enumerate(s.edges) if edge.target]
    whole = _figure(document, s, target, set(), limits)
    yield whole
    rim = {v for edge in s.edges if edge.kind == "border" for v in edge.ends}
    inside = [i for i in target if s.edges[i].kind != "border"]
    if not rim.isdisjoint(v for i in inside for v in s.edges[i].ends):
        other = _figure(document, s, inside, rim, limits)
        if (other.lines, other.folded) != (whole.lines, whole.folded):
            yield other


def _figure(document: Document, s: Subdivision, target: list[int], rim: set[int], limits: Limits) -> Figure:
    """The figure of some target edges; at vertices of the `rim` any number of lines may be left unfolded."""
    lines = sorted(s.straight(target))
    corners = list(dict.fromkeys(chain.from_iterable(lines)))
    index = {v: i for i, v in enumerate(corners)}
    ends = [(index[a], index[b]) for a, b in lines]
    # the sheet's corners come along, so that all coordinates are in one field
    sheet = [place for loop in s.drawing.loops for place in loop]
    places = [*(s.vertices[v] for v in corners), *sheet]
    points, directions = unit_vectors(places, ends, s.drawing.tower, limits)
    rest = iter(points[len(corners) :])
    loops = tuple(tuple(next(rest) for _ in loop) for loop in s.drawing.loops)
    points = points[: len(corners)]
    free = {index[v] for v in rim if v in index}
    return Figure(document, tuple(points), tuple(ends), tuple(directions), loops, _folded(points, ends, free))


def _folded(points: Sequence[Point], ends: list[tuple[int, int]], rim: set[int]) -> frozenset[int]:
    """The lines to fold along: a shortest set that at each point off the rim leaves an even number of the others."""
    odd = [v for v, lines in Counter(chain.from_iterable(ends)).items() if lines % 2 and v not in rim]
    forced, left = (set[int](), set(odd)) if rim else _along_trees(ends, set(odd))
    if not left:
        return frozenset(forced)
    import networkx as nx  # seldom needed, and slow to load

    graph = nx.Graph()
    for i, (a, b) in enumerate(ends):
        graph.add_edge(a, b, weight=length(points[a], points[b]), line=i)
    graph.add_edges_from(((v, _EDGE) for v in rim), weight=0.0)  # there it does not matter how many are left
    chosen = joined(graph, [*odd, _EDGE] if len(odd) % 2 else odd)
    return frozenset(graph.edges[pair]["line"] for pair in chosen if _EDGE not in pair)


def _along_trees(ends: list[tuple[int, int]], odd: set[int]) -> tuple[set[int], set[int]]:
    """The lines of trees that every set of lines holds of which an odd number end at the `odd` points and there alone;
    and the points, on outlines that close, between which there is still a choice.
    """
    at: dict[int, set[int]] = defaultdict(set)
    for i, line in enumerate(ends):
        for v in line:
            at[v].add(i)
    forced: set[int] = set()
    ahead = [v for v, lines in at.items() if len(lines) == 1]
    for v in ahead:
        for i in at[v]:  # one, or none if its other end came first
            other = sum(ends[i]) - v
            at[other].discard(i)
            if v in odd:
                forced.add(i)
                odd ^= {v, other}
            if len(at[other]) == 1:
                ahead.append(other)
    return forced, odd


def joined(graph: nx.Graph, odd: list[int]) -> set[frozenset[int]]:
    """A least set of edges of which an odd number end at exactly these nodes (a minimum T-join).

    Edmonds and Johnson 1973: shortest paths between the nodes of a least perfect matching of them; what two paths
    have in common cancels. Weights are floats: the set is right, that it is the least is not proved. nx.NetworkXNoPath
    if there is no such set.
    """
    import networkx as nx  # slow to load

    pairs = nx.Graph()
    paths = {}
    for i, a in enumerate(odd):
        far, way = nx.single_source_dijkstra(graph, a)
        for b in odd[:i]:
            if b in far:
                pairs.add_edge(a, b, weight=far[b])
                paths[a, b] = paths[b, a] = way[b]
    matching = nx.min_weight_matching(pairs)
    if 2 * len(matching) != len(odd):
        raise nx.NetworkXNoPath("some points cannot be joined")
    chosen: set[frozenset[int]] = set()
    for a, b in sorted(tuple(sorted(pair)) for pair in matching):
        path = paths[a, b]
        chosen ^= {frozenset(pair) for pair in pairwise(path)}
    return chosen
