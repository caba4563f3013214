"""The paper of a recipe, folded step by step: that each step can be done as it is written, and what it comes to.

The certificate names fold lines, images and places; all are verified exactly. Which faces move, what holds them and how
they then lie on each other is computed here from verified images alone.

Why this suffices: before a step the layers lie in an order that passes through nothing. The faces that move are above
all others where they overlap on their side of the line (below, if they go behind); so they swing around it freely, and
lie on top in opposite order, where no edge runs between two of their neighbours. Two faces that moved in the same steps
have one isometry; of all others the last step in which one of them moved settles the order. So what is the highest at a
place does not depend on how the certificate numbers the faces.
"""

from collections.abc import Callable, Iterable, Sequence
from itertools import chain
from typing import NamedTuple

from .alignment import Alignment, satisfies, solvable
from .boxes import members
from .cut import Cut
from .folded import Fold, check_fold
from .numbers import Field
from .plane import Line, Point, contains, cross, line, mirrored, read_point, same_place, side
from .reading import CERTIFICATE, Json, Rejected, quoted, require
from .recipe import FoldStep, MarkStep, Step, UnfoldStep
from .statement import Statement
from .subdivision import BORDER, Subdivision
from .table import Table

ENTRIES = {FoldStep: ("marks", "line", "images"), MarkStep: ("place", "face", "image", "marks")}  # the others are empty
REASONS = {  # why a step cannot be done, and what the entry of its certificate then has
    "no-solution": ("not exactly one line satisfies the alignment, or `moves` lies on it", ("marks",)),
    "few-layers": ("there are fewer layers", ("marks", "line")),
    "blocked": ("another layer holds what moves", ("marks", "line")),
}


class State(NamedTuple):
    """The folded paper between two steps; `over` says whether it lies turned over, the others how it lay if not."""

    fold: Fold
    stack: list[int]  # faces, bottom to top
    over: bool


class Paper:
    """The sheet, the steps to be done, and how it lies after those so far; of a pattern there are none.

    `marks` are places on the flat sheet. What lies in the folded plane is kept as if the paper were not turned over.
    """

    def __init__(self, field: Field, sub: Subdivision, at: dict[str, Point], steps: list[Step]) -> None:
        self.field, self.sub, self.marks, self.steps = field, sub, dict(at), steps
        self.now = State(Fold(sub.vertices, frozenset()), [*range(len(sub.faces))], False)
        self.before: list[State] = []  # for each fold that is not unfolded
        self.lines: dict[int, Line] = {}  # of the fold steps, by their numbers

    def has_place(self, f: int, place: Point) -> bool:
        """Whether the closed face contains a place of the flat sheet."""
        return contains(self.field, [self.sub.vertices[v] for v in self.sub.faces[f]], place)

    def covers(self, f: int, point: Point) -> bool:
        """Whether the closed image of the face contains a point of the folded plane."""
        return contains(self.field, [self.now.fold.images[v] for v in self.sub.faces[f]], point)

    def carries(self, f: int, place: Point, image: Point) -> bool:
        """Whether the closed face contains the place, and carries it to the image."""
        return self.has_place(f, place) and self.now.fold.carries(self.field, self.sub, f, place, image)

    def read_image(self, value: object, where: str) -> Point:
        """A point of the folded plane; a certificate has it as it lies, with the paper turned over or not."""
        point = read_point(self.field, value, where)
        return mirrored((1, 0, 0), point) if self.now.over else point  # in the line x = 0

    def read_marks(self, value: object, names: Sequence[str], where: str) -> list[Point]:
        """Where marks lie in the folded plane; assumes (and checks) that the certificate says so of exactly these."""
        images = {}
        for name, item in CERTIFICATE.table(value, where, names).items():
            face, at = CERTIFICATE.items(item, where, 2, 2)
            f = CERTIFICATE.whole(face, where, 0, len(self.sub.faces))
            image = self.read_image(at, where)
            require(self.carries(f, self.marks[name], image), "steps.mark", f"{where}: {quoted(name)} is not there")
            images[name] = image
        return [images[name] for name in names]

    def read_line(self, value: object, alignment: Alignment, at: list[Point], where: str) -> tuple[Point, Point]:
        """Two points of the one line that satisfies the alignment; assumes (and checks) that it does."""
        p, q = (self.read_image(item, where) for item in CERTIFICATE.items(value, where, 2, 2))
        holds = not same_place(self.field, p, q) and solvable(self.field, alignment.form, at)
        holds = holds and satisfies(self.field, line(p, q), alignment, at)
        require(holds, "steps.line", f"{where}: not the line of the alignment")
        return p, q

    def spread(self, faces: Iterable[int], passes: Callable[[int], bool]) -> set[int]:
        """The faces, and all that are joined to them across edges that pass."""
        waiting = [*faces]
        reached = {*waiting}
        for f in waiting:  # grows on the way
            for e in self.sub.face_edges(f):
                self.field.work.spend(2)
                across = [g for g in self.sub.beside[e] if g != BORDER and g not in reached and passes(e)]
                reached.update(across)
                waiting += across
        return reached

    def lies_flat(self, e: int) -> bool:
        """Whether the two faces of an edge show the same side."""
        f, g = self.sub.beside[e]
        return (f in self.now.fold.turned) == (g in self.now.fold.turned)

    def layers(self, faces: Iterable[int]) -> set[int]:
        """All faces of the layers of these: of one layer are those that are joined across edges that lie flat."""
        return self.spread(faces, self.lies_flat)

    def take(self, number: int, entry: object) -> None:
        """Carries out a step; assumes (and checks) that it can be done and that the certificate describes it."""
        this, where = self.steps[number - 1], f"steps[{number - 1}]"
        root = CERTIFICATE.table(entry, where, ENTRIES.get(type(this), ()))
        if isinstance(this, FoldStep):
            self.fold(this, number, root, where, {})
        elif isinstance(this, MarkStep):
            self.mark(this, root, where)
        elif isinstance(this, UnfoldStep):
            self.now = self.before[-this.folds]
            self.before = self.before[: -this.folds]
        else:
            self.now = self.now._replace(over=not self.now.over)

    def mark(self, this: MarkStep, root: Json, where: str) -> None:
        """Adds a mark; assumes (and checks) that this is its place, on the highest face of those asked for."""
        named = [*chain(*this.through), *this.on]
        at = dict(zip(named, self.read_marks(root["marks"], named, where), strict=True))
        place, x = read_point(self.field, root["place"], where), self.read_image(root["image"], where)
        first, second = [self.lines[k] for k in this.folds] + [line(at[a], at[b]) for a, b in this.through]
        meet = self.field.sign(cross(first, second)) != 0
        meet = meet and side(self.field, first, x) == side(self.field, second, x) == 0
        require(meet, "steps.crossing", f"{where}: the lines do not meet in one point, or not there")
        face = CERTIFICATE.whole(root["face"], where, 0, len(self.sub.faces))
        faces = [f for f in self.now.stack if all(self.has_place(f, self.marks[name]) for name in this.on)]
        asked = self.layers(faces) if this.on else {*faces}
        outer = self.seen(self.now.stack, over=True)
        higher = asked & {*outer[: outer.index(face)]}
        good = face in asked and self.carries(face, place, x)
        good = good and all(self.has_place(g, place) for g in higher if self.covers(g, x))
        require(good, "steps.mark", f"{where}: not the place of the new mark {quoted(this.name)}")
        self.marks[this.name] = place

    def seen(self, stack: list[int], over: bool) -> list[int]:
        """The stack with the outermost face first, on top of the paper as it lies or behind; and the way back."""
        return stack[::-1] if over != self.now.over else stack

    def fold(self, this: FoldStep, number: int, root: Json, where: str, refutation: Json) -> None:
        """Folds; assumes (and checks) that this can be done, or cannot for the reason that a refutation states."""

        def fails(reason: str, holds: bool) -> bool:
            """Whether the step cannot be done for this reason; rejects unless that agrees with the reason stated."""
            said = f"{where}: it is {'so' if holds else 'not so'} that {REASONS[reason][0]}"
            require(holds == (refutation.get("why") == reason), f"steps.{reason}", said)
            return holds

        *at, x = self.read_marks(root["marks"], [*this.alignment.marks, this.moves], where)
        if "line" not in root and fails("no-solution", not solvable(self.field, this.alignment.form, at)):
            return
        along = line(*self.read_line(root["line"], this.alignment, at, where))
        forward = side(self.field, along, x)
        if fails("no-solution", forward == 0):
            return
        signs = [side(self.field, along, p) * forward for p in self.now.fold.images]  # of each vertex: 1 is beyond
        movable = {f for f, face in enumerate(self.sub.faces) if any(signs[v] > 0 for v in face)}
        outer = self.seen(self.now.stack, this.over)
        chosen = self.chosen(this, [f for f in outer if f in movable], x)
        if fails("few-layers", not chosen):
            return
        faces = self.spread(chosen, lambda e: any(signs[v] > 0 for v in self.sub.edges[e]))
        corners = {v for f in faces for v in self.sub.faces[f]}
        split = any(signs[v] < 0 for v in corners)
        require(not split, "steps.split", f"{where}: a face that moves is on both sides")
        held, holding = faces, movable - faces
        if "faces" in refutation:
            f, g = CERTIFICATE.numbers(refutation["faces"], "refutation.faces", len(self.sub.faces), 2, 2)
            held, holding = faces & {f}, holding & {g}
        if fails("blocked", self.is_blocked(outer, held, holding)):
            return
        images = self.read_images(root["images"], sorted(v for v in corners if signs[v] > 0), along, where)
        outer = [f for f in reversed(outer) if f in faces] + [f for f in outer if f not in faces]
        self.lines[number] = along
        self.before.append(self.now)
        self.now = State(Fold(images, self.now.fold.turned ^ faces), self.seen(outer, this.over), self.now.over)

    def read_images(self, value: object, moved: list[int], along: Line, where: str) -> list[Point]:
        """The images of all vertices after a fold; assumes (and checks) that the certificate has those of the moved."""
        images = [*self.now.fold.images]
        for v, item in zip(moved, CERTIFICATE.items(value, where, len(moved), len(moved)), strict=True):
            vertex, at = CERTIFICATE.items(item, where, 2, 2)
            image = self.read_image(at, where)
            moves = CERTIFICATE.whole(vertex, where, 0, len(images)) == v
            moves = moves and same_place(self.field, mirrored(along, images[v]), image)
            require(moves, "steps.image", f"{where}: not the image of vertex {v}, which is the next to move")
            images[v] = image
        return images

    def chosen(self, this: FoldStep, movable: list[int], x: Point) -> list[int]:
        """The faces that the step takes, of those that can move, the outermost first; others may come along.

        Empty if there are fewer layers where the mark lies.
        """
        if this.layers == "all":
            return movable
        if isinstance(this.layers, str):  # the flap that holds the mark
            return [f for f in movable if self.has_place(f, self.marks[this.moves])]
        taken, count = list[int](), 0
        counted = set[int]()  # the faces of the layers so far
        for f in (f for f in movable if self.covers(f, x)):
            if f not in counted:
                counted |= self.layers([f])
                count += 1
            if count > this.layers:
                break
            taken.append(f)
        return taken if count >= this.layers else []

    def is_blocked(self, outer: list[int], held: set[int], holding: set[int]) -> bool:
        """Whether a face of `held` overlaps one of `holding` that is further out."""
        table: Table | None = None
        further = set[int]()
        for f in outer:
            if f in holding:
                further.add(f)
            elif f in held and further:
                table = table or Table(self.field, self.sub, self.now.fold)
                if not further.isdisjoint(members(table.overlaps(f))):
                    return True
        return False

    def folded(self) -> Table:
        """The table of the sheet as it is folded now; checks the fold map once more."""
        kinds = [kind if kind == "border" or self.lies_flat(e) else "either" for e, kind in enumerate(self.sub.kind)]
        sub = self.sub._replace(kind=kinds)
        return Table(self.field, sub, check_fold(self.now.fold, sub, self.field))


def follow(paper: Paper, statement: Statement, root: Json) -> tuple[object, Cut]:
    """Follows all steps, to the layer order and the cut; assumes (and checks) what the certificate says of them."""
    along, count = statement.along, len(paper.steps)
    for number, entry in enumerate(CERTIFICATE.items(root["steps"], "steps", count, count), 1):
        paper.take(number, entry)
    order, table, n = {"stack": paper.now.stack, "except": []}, paper.folded(), None
    if along is not None and statement.snips > 0:
        cut = CERTIFICATE.table(root["cut"], "cut", ("line", "marks"))
        at = paper.read_marks(cut["marks"], along.marks, "cut")
        n = table.add_line(*paper.read_line(cut["line"], along, at, "cut"))
    return order, Cut(table, statement.snips, n)


def check_step(root: Json, paper: Paper) -> None:
    """Follows the steps up to the last that the certificate has; assumes (and checks) that it cannot be done."""
    *entries, last = CERTIFICATE.items(root["steps"], "steps", 1, len(paper.steps))
    for number, entry in enumerate(entries, 1):
        paper.take(number, entry)
    this, where = paper.steps[len(entries)], f"steps[{len(entries)}]"
    refutation = CERTIFICATE.table(root["refutation"], "refutation", ("kind",), None)
    keys = ("kind", "why", "faces") if refutation.get("why") == "blocked" else ("kind", "why")
    CERTIFICATE.table(refutation, "refutation", keys)
    why = CERTIFICATE.text(refutation["why"], "refutation.why", REASONS)
    if not isinstance(this, FoldStep):
        raise Rejected("refutation.step", f"{where}: only folds can be refuted")
    entry = CERTIFICATE.table(last, where, REASONS[why][1], ("line",))
    paper.fold(this, len(entries) + 1, entry, where, refutation)
