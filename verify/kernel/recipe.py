"""Recipes: the folds of a document made one after the other, as the specification's section 10 says.

The certificate names fold lines, images and places; all are verified by exact
products. Which faces move, what holds them and how they then lie on each other
is computed here from verified images alone.

Why this suffices: before a step the layers lie in an order that passes through
nothing. The faces that move are above all others where they overlap on their
side of the line (below, if they go behind); so they swing around it freely, and
lie on top in opposite order, where no edge runs between two of their neighbours.
Two faces that moved in the same steps have one isometry; of all others the last
step in which one of them moved settles the order. So what is the highest at a
place does not depend on how the certificate numbers the faces.
"""

from collections.abc import Callable, Iterable
from functools import cache
from itertools import product, takewhile
from typing import NamedTuple

from .expression import DIGITS
from .folded import Fold, Table, check_fold, congruent
from .numbers import Field, Number
from .plane import Point, around, cross, dot, line, read_point, same_place, side, step
from .reading import CERTIFICATE, DOCUMENT, Malformed, quoted, require
from .statement import Names, Statement, parse, statement_of
from .subdivision import BORDER, Subdivision

FORMAT = "creaseproof-recipe/1"
STEPS = 200
FORMS = {  # of alignments, by keys: how many marks each key has, and which marks must differ
    "through": ((2,), [(0, 1)]),
    "point onto": ((1, 1), [(0, 1)]),
    "line onto": ((2, 2), [(0, 1), (2, 3)]),
    "square through": ((2, 1), [(0, 1)]),
    "point onto through landing": ((1, 2, 1), [(1, 2), (0, 3)]),
    "point onto square": ((1, 2, 2), [(1, 2), (3, 4)]),
}
REASONS = {  # why a step cannot be done
    "no-solution": "that not exactly one line satisfies the alignment, or `moves` lies on it,",
    "few-layers": "that there are fewer layers",
    "blocked": "that another layer holds what moves",
}
UNSUPPORTED = "points onto"  # two points onto two lines: understood, not decided
Two = tuple[Point, Point]  # of a line
Json = dict[str, object]


class Alignment(NamedTuple):
    form: str
    marks: Names  # in the order of the form
    landing: int = 0  # -1 first, +1 second


class FoldStep(NamedTuple):
    alignment: Alignment
    moves: str
    over: bool
    layers: str | int


class MarkStep(NamedTuple):
    name: str
    crossing: list[Names | int]  # two lines, through two marks or of an earlier step
    on: str | None


Step = FoldStep | MarkStep | int  # how many folds to unfold; 0 to turn over


class Recipe(NamedTuple):
    """What the document of a recipe says beside the statement that it has in common with a pattern."""

    steps: list[Step]
    along: Alignment | None  # of a cut that is claimed


def known(value: object, where: str, names: dict[str, str]) -> str:
    """A mark by its name; `names` has all that there are so far, and "?" for the mark for which a step is repeated."""
    name = DOCUMENT.text(value, where)
    require(name in names, "document.name", f"{where}: no mark {quoted(name)} so far", Malformed)
    return names[name]


def known_pair(value: object, where: str, names: dict[str, str]) -> Names:
    return tuple(known(mark, where, names) for mark in DOCUMENT.items(value, where, 2, 2))


def read_alignment(value: object, where: str, names: dict[str, str]) -> Alignment:
    root = DOCUMENT.table(value, where, (), {"points", *" ".join(FORMS).split()})
    if root.keys() == {"points", "onto"}:
        lines = DOCUMENT.items(root["onto"], where, 2, 2)
        pairs = [known_pair(pair, where, names) for pair in (root["points"], *lines)]
        return Alignment(UNSUPPORTED, tuple(name for pair in pairs for name in pair))
    form = next((form for form in FORMS if root.keys() == {*form.split()}), "")
    require(form != "", "document.key", f"{where}: no alignment has these keys", Malformed)
    marks: Names = ()
    for key, count in zip(form.split(), FORMS[form][0], strict=False):
        marks += known_pair(root[key], where, names) if count == 2 else (known(root[key], where, names),)
    landing = DOCUMENT.text(root.get("landing", "first"), where, ("first", "second"))
    return Alignment(form, marks, 1 if landing == "second" else -1)


def known_line(value: object, where: str, names: dict[str, str], steps: list[Step]) -> Names | int:
    """A line through two marks, or that of an earlier step."""
    if isinstance(value, list):
        return known_pair(value, where, names)
    k = DOCUMENT.whole(value, where, 1, len(steps) + 1)
    require(isinstance(steps[k - 1], FoldStep), "document.range", f"{where}: step {k} is no fold", Malformed)
    return k


def read_steps(value: object, names: dict[str, str]) -> list[Step]:
    """The steps, each that is for several marks once for each; adds the new marks to the names."""
    steps: list[Step] = []
    for i, item in enumerate(DOCUMENT.items(value, "steps", 1, STEPS)):
        where, keys = f"steps[{i}]", item.keys() if isinstance(item, dict) else ()
        if "fold" in keys:
            root = DOCUMENT.table(item, where, ("fold", "moves"), ("direction", "layers", "each"))
            over = DOCUMENT.text(root.get("direction", "over"), where, ("over", "behind")) == "over"
            layers = root.get("layers", "all")
            if not isinstance(layers, str) or layers not in ("all", "flap"):
                layers = DOCUMENT.whole(layers, where, 1, 10**DIGITS)
            marks = DOCUMENT.items(root.get("each", [None]), where, 1, STEPS)
            for each in [known(mark, where, names) for mark in marks] if "each" in root else [None]:
                called = names if each is None else names | {"?": each}
                alignment, moves = read_alignment(root["fold"], where, called), known(root["moves"], where, called)
                steps.append(FoldStep(alignment, moves, over, layers))
        elif "mark" in keys:
            root = DOCUMENT.table(item, where, ("mark", "crossing"), ("on",))
            crossing = [known_line(k, where, names, steps) for k in DOCUMENT.items(root["crossing"], where, 2, 2)]
            on, name = known(root["on"], where, names) if "on" in root else None, DOCUMENT.text(root["mark"], where)
            require(name not in {"", *names}, "document.name", f"{where}: the new name is empty or taken", Malformed)
            names[name] = name
            steps.append(MarkStep(name, crossing, on))
        elif "unfold" in keys:
            standing = sum(1 if isinstance(k, FoldStep) else -k for k in steps if not isinstance(k, MarkStep))
            steps.append(DOCUMENT.whole(DOCUMENT.table(item, where, ("unfold",))["unfold"], where, 1, standing + 1))
        else:
            DOCUMENT.text(DOCUMENT.table(item, where, ("turn",))["turn"], where, ("over",))
            steps.append(0)
        require(len(steps) <= STEPS, "document.length", f"{where}: more than {STEPS} steps", Malformed)
    return steps


def read_document(data: bytes, toml: bool) -> tuple[Statement, Recipe | None]:
    """The statement of a pattern or a recipe, and of a recipe its steps; says nothing on the geometry."""
    root = parse(data, toml)
    if not isinstance(root, dict) or root.get("format") != FORMAT:
        return statement_of(root), None
    DOCUMENT.table(root, "document", ("format", "points", "sheet", "steps"), ("title", "unit", "target", "cut"))
    cut = DOCUMENT.table(root.get("cut", {}), "cut", (), ("snips", "along"))
    names = {name: name for name in root["points"]} if isinstance(root["points"], dict) else {}
    steps = read_steps(root["steps"], names)
    along = read_alignment(cut["along"], "cut.along", names) if "along" in cut else None
    plain = {key: value for key, value in root.items() if key not in ("steps", "cut")}
    plain |= {"cut": {"snips": cut["snips"]}} if "snips" in cut else {}
    full = cut | {"snips": cut.get("snips", 1)} if "target" in root else cut
    statement = statement_of(plain, {"format": FORMAT, "steps": root["steps"], "cut": full or None})
    require(along is None or statement.snips <= 1, "document.key", "cut: along and many snips", Malformed)
    asked = [this.alignment for this in steps if isinstance(this, FoldStep)] + ([along] if along else [])
    cubic = any(alignment.form == UNSUPPORTED for alignment in asked)
    require(not cubic, "document.unsupported", "an alignment carries two points onto two lines")
    return statement, Recipe(steps, along if statement.snips else None)


def flipped(along: Two, u: Point) -> Point:
    """The mirror image of a vector in a line of direction d, times |d|^2: d^2 conj(u)."""
    (a, b, _), (x, y, w) = step(*along), u
    return (a * a - b * b) * x + 2 * a * b * y, 2 * a * b * x - (a * a - b * b) * y, w


def reflected(along: Two, p: Point, a: Point) -> Point:
    """The vector from a to the mirror image of p, times |d|^2."""
    d, (x, y, w), (s, t, v) = step(*along), flipped(along, step(along[0], p)), step(a, along[0])
    return s * dot(d, d) * w + x * v, t * dot(d, d) * w + y * v, v * w


def satisfies(field: Field, along: Two, alignment: Alignment, at: list[Point]) -> bool:
    """Whether the line meets the condition of the alignment, if that is `solvable`."""

    def zero(*numbers: Number) -> bool:
        return not any(map(field.sign, numbers))

    def on(*points: Point) -> bool:
        return not any(side(field, line(*along), p) for p in points)

    form, d, (p, q, *_), u = alignment.form, step(*along), at, step(at[0], at[1])
    if form in ("through", "point onto"):
        return on(p, q) if form == "through" else zero(*reflected(along, p, q)[:2])
    if form == "square through":
        return zero(dot(d, u)) and on(at[2])
    if form == "line onto":
        v, image = step(at[2], at[3]), flipped(along, u)
        onto = zero(cross(reflected(along, p, at[2]), v), cross(image, v))
        return onto and field.sign(dot(image, v)) > 0
    u = step(at[1], at[2])
    lands = zero(cross(reflected(along, p, at[1]), u))
    if form == "point onto square":
        return lands and zero(dot(d, step(at[3], at[4])))
    return lands and on(at[3]) and field.sign(dot(reflected(along, p, at[3]), u)) * alignment.landing >= 0


def solvable(field: Field, form: str, at: list[Point]) -> bool:
    """Whether exactly one line satisfies the alignment; if not, the step has no solution."""
    if any(same_place(field, at[i], at[j]) for i, j in FORMS[form][1]):
        return False
    u, v = step(at[0], at[1]), step(at[-2], at[-1])
    if form == "line onto":
        return field.sign(cross(u, v)) != 0 or field.sign(dot(u, v)) > 0
    if form == "point onto square":
        return field.sign(cross(step(at[1], at[2]), v)) != 0
    if form == "point onto through landing":  # |p - q| is at least the distance of q from ab
        r, e, w = step(at[3], at[0]), step(at[1], at[2]), step(at[1], at[3])
        distance, reach = cross(e, w) * r[2], dot(r, r) * dot(e, e) * (w[2] * w[2])
        return field.sign(reach - distance * distance) >= 0
    return True


class State(NamedTuple):
    """The folded paper between two steps."""

    images: list[Point]
    turned: frozenset[int]
    stack: list[int]  # faces, bottom to top
    over: bool  # the whole lies turned over


class Paper:
    """Follows the steps. `marks` are places on the flat sheet, `lines` of folds lie in the folded plane.

    `refuted` is the claim that fails, once a step is found that cannot be done.
    """

    def __init__(self, field: Field, sub: Subdivision, at: dict[str, Point]) -> None:
        self.field, self.sub, self.marks = field, sub, dict(at)
        self.now = State(sub.vertices, frozenset(), list(range(len(sub.faces))), False)
        self.before: list[State] = []  # for each fold that is not unfolded
        self.lines, self.refuted = dict[int, Two](), list[str]()

    def contains(self, f: int, p: Point, folded: bool = False) -> bool:
        """Whether the closed face contains a place of the flat sheet, or its closed image one of the folded plane."""
        at, front = (self.now.images, -1 if f in self.now.turned else 1) if folded else (self.sub.vertices, 1)
        return all(side(self.field, line(at[u], at[v]), p) * front >= 0 for u, v in around(self.sub.faces[f]))

    def lies(self, f: int, place: Point, image: Point) -> bool:
        """Whether the closed face contains the place, and carries it to the image."""
        (a, b), at, to = self.sub.faces[f][:2], self.sub.vertices, self.now.images
        flat, folded = (step(at[a], at[b]), step(at[a], place)), (step(to[a], to[b]), step(to[a], image))
        return self.contains(f, place) and congruent(self.field, flat, folded, -1 if f in self.now.turned else 1)

    def read_marks(self, value: object, names: Iterable[str], where: str) -> dict[str, Point]:
        """Where marks lie in the folded plane; assumes (and checks) that the certificate says so of exactly these."""
        images = {}
        for name, item in CERTIFICATE.table(value, where, names).items():
            face, image = CERTIFICATE.items(item, where, 2, 2)
            images[name] = read_point(self.field, image, where)
            f = CERTIFICATE.whole(face, where, 0, len(self.sub.faces))
            require(self.lies(f, self.marks[name], images[name]), "steps.mark", f"{where}: {quoted(name)} not there")
        return images

    def read_line(self, value: object, alignment: Alignment, marks: dict[str, Point], where: str) -> Two:
        """Two points of the one line that satisfies the alignment; assumes (and checks) that it does."""
        p, q = (read_point(self.field, item, where) for item in CERTIFICATE.items(value, where, 2, 2))
        at = [marks[name] for name in alignment.marks]
        holds = not same_place(self.field, p, q) and solvable(self.field, alignment.form, at)
        holds = holds and satisfies(self.field, (p, q), alignment, at)
        require(holds, "steps.line", f"{where}: not the line of the alignment")
        return p, q

    def spread(self, faces: list[int], passes: Callable[[int, int], bool]) -> set[int]:
        """The faces, and all that are joined to them across edges e to faces g that pass."""
        waiting, reached = [*faces], {*faces}
        for f in waiting:  # grows on the way
            for e in self.sub.face_edges(f):
                found = [g for g in self.sub.beside[e] if g != BORDER and g not in reached and passes(e, g)]
                reached.update(found)
                waiting += found
        return reached

    def layers(self) -> list[int]:
        """For each face the number of its layer: two faces are in one if they are joined across edges that lie flat."""
        flat = [(f in self.now.turned) == (g in self.now.turned) for f, g in self.sub.beside]
        layer = [-1] * len(self.sub.faces)
        for f in range(len(layer)):
            for g in self.spread([f], lambda e, _: flat[e]) if layer[f] < 0 else ():
                layer[g] = f
        return layer

    def take(self, this: Step, number: int, entry: object, refutation: Json) -> None:
        """Carries out a step; assumes (and checks) that it can be done and that the certificate describes it."""
        now, where = self.now, f"steps[{number - 1}]"
        if isinstance(this, FoldStep):
            return self.fold(this, number, entry, refutation)
        require(not refutation, "refutation.step", f"{where}: only folds can be refuted")
        if isinstance(this, MarkStep):
            return self.mark(this, entry, where)
        CERTIFICATE.table(entry, where, ())
        turned = frozenset(now.stack) - now.turned
        over = State([(-x, y, w) for x, y, w in now.images], turned, now.stack[::-1], not now.over)
        self.now = self.before[-this] if this else over
        self.before = self.before[: len(self.before) - this]
        if self.now.over != now.over:
            self.lines = {k: ((-a, b, c), (-p, q, r)) for k, ((a, b, c), (p, q, r)) in self.lines.items()}

    def mark(self, this: MarkStep, entry: object, where: str) -> None:
        root = CERTIFICATE.table(entry, where, ("place", "face", "image", "marks"))
        named = [name for part in this.crossing if not isinstance(part, int) for name in part]
        at = self.read_marks(root["marks"], named if this.on is None else [*named, this.on], where)
        place, x = (read_point(self.field, root[key], where) for key in ("place", "image"))
        lines = [self.lines[k] if isinstance(k, int) else (at[k[0]], at[k[1]]) for k in this.crossing]
        meet = self.field.sign(cross(step(*lines[0]), step(*lines[1]))) != 0
        meet = meet and not any(side(self.field, line(p, q), x) for p, q in lines)
        require(meet, "steps.crossing", f"{where}: the lines do not meet in one point, or not there")
        faces, layer = self.now.stack, self.layers()
        if this.on is not None:
            its = {layer[f] for f in faces if self.contains(f, self.marks[this.on])}
            faces = [f for f in faces if layer[f] in its]
        face = CERTIFICATE.whole(root["face"], where, 0, len(layer))
        higher = takewhile(lambda g: g != face, reversed(faces))
        hidden = any(self.contains(g, x, folded=True) and not self.contains(g, place) for g in higher)
        good = face in faces and self.lies(face, place, x) and not hidden
        require(good, "steps.mark", f"{where}: not the place of the new mark {quoted(this.name)}")
        self.marks[this.name] = place

    def fold(self, this: FoldStep, number: int, entry: object, refutation: Json) -> None:
        """Folds; or, with a refutation, assumes (and checks) that the step cannot be done for the reason stated."""
        where, why, now, faces = f"steps[{number - 1}]", str(refutation.get("why")), self.now, self.sub.faces
        CERTIFICATE.table(refutation, "refutation", (), ("kind", "why", *["faces"] * (why == "blocked")))
        need = ("marks", "line", "images")[: {"no-solution": 1, "few-layers": 2, "blocked": 2}.get(why, 3)]
        root = CERTIFICATE.table(entry, where, need, ("line",) if why == "no-solution" else ())
        marks = self.read_marks(root["marks"], {*this.alignment.marks, this.moves}, where)

        def stated(reason: str, holds: bool) -> bool:
            """Whether this is the reason stated; then it must hold, else it must not."""
            require(
                holds == (why == reason), f"steps.{reason}", f"{where}: {REASONS[reason]} is {'not ' * (not holds)}so"
            )
            self.refuted = ["folds-flat"] * holds
            return holds

        at = [marks[name] for name in this.alignment.marks]
        if "line" not in root and stated("no-solution", not solvable(self.field, this.alignment.form, at)):
            return
        along = self.read_line(root["line"], this.alignment, marks, where)
        forward = side(self.field, line(*along), marks[this.moves])
        if stated("no-solution", forward == 0):
            return
        signs = [side(self.field, line(*along), x) * forward for x in now.images]
        movable = {f for f, face in enumerate(faces) if any(signs[v] > 0 for v in face)}
        outer = now.stack[::-1] if this.over else now.stack
        seeds = self.seeds(this, [f for f in outer if f in movable], marks[this.moves])
        if stated("few-layers", not seeds):
            return
        moved = self.spread(seeds, lambda e, g: g in movable and any(signs[v] > 0 for v in self.sub.edges[e]))
        rest, rank = movable - moved, {f: i for i, f in enumerate(outer)}
        changed = {v for f in moved for v in faces[f] if signs[v] > 0}
        split = any(signs[v] < 0 for f in moved for v in faces[f]) or any(v in changed for f in rest for v in faces[f])
        require(not split, "steps.split", f"{where}: a face that moves is on both sides of the line, or torn off")
        pairs, table = product(moved, rest), cache(lambda: Table(self.field, self.sub, Fold(now.images, now.turned)))
        if why == "blocked":
            f, g = CERTIFICATE.numbers(refutation.get("faces"), "refutation.faces", len(faces), 2, 2)
            pairs = product({f} & moved, {g} & rest)
        blocked = any(rank[g] < rank[f] and table().overlap(f, g) for f, g in pairs)
        if stated("blocked", blocked):
            return
        images = list(now.images)
        listed = CERTIFICATE.items(root["images"], where, len(changed), len(changed))
        for v, item in zip(sorted(changed), listed, strict=True):
            vertex, image = CERTIFICATE.items(item, where, 2, 2)
            images[v] = read_point(self.field, image, where)
            moves = not any(map(self.field.sign, reflected(along, now.images[v], images[v])[:2]))
            moves = moves and CERTIFICATE.whole(vertex, where, 0, len(images)) == v
            require(moves, "steps.image", f"{where}: not the image of vertex {v}, which is the next to move")
        stay, go = [f for f in now.stack if f not in moved], [f for f in reversed(now.stack) if f in moved]
        self.lines, self.before = self.lines | {number: along}, [*self.before, now]
        self.now = State(images, now.turned ^ moved, stay + go if this.over else go + stay, now.over)

    def seeds(self, this: FoldStep, movable: list[int], x: Point) -> list[int]:
        """The faces taken to move, of those that can (the outermost first); none if there are not so many layers."""
        if isinstance(this.layers, str):
            return movable if this.layers == "all" else [f for f in movable if self.contains(f, self.marks[this.moves])]
        layer, at = self.layers(), [f for f in movable if self.contains(f, x, folded=True)]
        first = list(dict.fromkeys(layer[f] for f in at))[: this.layers]
        return list(takewhile(lambda f: layer[f] in first, at)) if len(first) == this.layers else []

    def follow(self, recipe: Recipe, root: Json, refutation: Json) -> tuple[Table | None, int | None]:
        """The paper after the last step (none if a step is refuted), and the line of the cut if the document has
        one.
        """
        ends, steps = refutation.get("kind") == "step", recipe.steps
        entries = CERTIFICATE.items(root["steps"], "steps", 1 if ends else len(steps), len(steps))
        for i, entry in enumerate(entries, 1):
            self.take(steps[i - 1], i, entry, refutation if ends and i == len(entries) else {})
        if ends:
            return None, None
        turned, kinds = self.now.turned, zip(self.sub.beside, self.sub.kind, strict=True)
        kind = ["either" if k == "flat" and (f in turned) != (g in turned) else k for (f, g), k in kinds]
        self.sub = self.sub._replace(kind=kind)
        table = Table(self.field, self.sub, check_fold(Fold(self.now.images, turned), self.sub, self.field))
        if recipe.along is None:
            return table, None
        cut = CERTIFICATE.table(root["cut"], "cut", ("line", "marks"))
        marks = self.read_marks(cut["marks"], recipe.along.marks, "cut")
        return table, table.add_line(line(*self.read_line(cut["line"], recipe.along, marks, "cut")))


def check_off(root: Json, table: Table, _: int, along: int | None) -> str:
    """A target edge whose image is not on the line of the cut that the document names."""
    edge = table.sub.edge(root["edge"], "refutation.edge")
    off = along is not None and table.target >> edge & 1 and not table.on_line(along) >> edge & 1
    require(bool(off), "refutation.off", "refutation.edge: not target, or on the line of the cut")
    return "cut-exact"
