"""What a handout is about: a result, its scene, its sheet in true mm, words that several pages say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from verify.cutting.cut import LAYERS_IN_PRACTICE
from verify.cutting.hands import straight_creases
from verify.cutting.tolerance import stack_thickness
from verify.exact.plane import around
from verify.pattern.limits import Progress
from verify.pattern.source import printable
from verify.show.handout.pages import PaperName, Running, text_width
from verify.show.page import At
from verify.show.scene import Scene, runs, scene_of, title_of
from verify.tasks.certify import Result
from verify.words.crease_words import crease_words
from verify.words.cut_findings import THICK
from verify.words.findings import Finding, counted, finding
from verify.words.hands_findings import how_true, in_one, measures, spoken

_MANY_NOTES, _LONGEST = 6, 600
# said in other words, said by the page's first line, or of use to whoever writes the document alone
_UNPRINTED = ("thick", "open-target", "unnamed-pieces")


@dataclass(frozen=True)
class Subject:
    """A result to be printed on pages of a size, and the certified `recipe` that makes the pattern, if there is one."""

    result: Result
    paper: PaperName
    progress: Progress | None = None
    recipe: Result | None = None

    @cached_property
    def scene(self) -> Scene | None:
        """What is drawn; None where the sheet was never divided into panels."""
        return scene_of(self.result)

    @cached_property
    def title(self) -> str:
        """The document's title, or where it comes from."""
        return title_of(self.result.document)

    @cached_property
    def wide(self) -> float:
        """How wide the text is, in millimetres."""
        return text_width(self.paper)

    def part(self, name: str, bookmark: bool = False) -> Running:
        """From here on the head of the page names this part."""
        digest = self.result.statement_sha256
        file = Path(self.result.document.source)
        about = [printable(file.name)] if file.suffix else []
        about += [f"statement {digest[:16]}…"] if digest else []
        return Running(self.title, ", ".join(about), name, bookmark)

    @property
    def cut_after_steps(self) -> bool:
        """Whether it is folded step by step and then cut."""
        by_steps = self.recipe is not None or bool(self.result.document.steps)
        return by_steps and self.result.verdict == "certified" and self.result.document.has_target

    @property
    def snips(self) -> int:
        """How many straight cuts the document means."""
        return self.result.document.snips or 1

    def claim(self) -> str:
        """What is certified, for the table."""
        if not self.result.document.has_target:
            return "the sheet folds flat. No figure is drawn, so nothing is claimed about a cut."
        one, several = ("frees", "free") if self.result.frees_something else ("runs along", "run along")
        how = f"one straight cut {one}" if self.snips == 1 else f"{self.snips} straight snips {several}"
        opened = [f"; {f.message}" for f in self.result.findings if f.kind == "open-target"]
        return f"the sheet folds flat, and {how} exactly the figure{''.join(opened)}."

    def facts(self, scene: Scene, by_steps: bool, numbers: Mapping[str, int]) -> Iterator[str]:
        """The sheet, the folds, the layers, and whatever report and picture note, too: of what is drawn, which may be
        a recipe that makes the pattern. `by_steps`: steps follow, which count the folds and say how true they must be.
        `numbers`: of creases, as a following page has them.
        """
        result = scene.result
        yield f"Sheet: {scene.size}."
        if not by_steps:
            yield _lines(scene)
        if scene.takes_either:
            yield "Folds that the document leaves open (either) are drawn as the proof takes them."
        most = result.layers_met
        if most:
            thick = (
                f"The scissors meet {counted(most, 'layer')} at most, about "
                f"{stack_thickness(most):.2g} mm of office paper"
            )
            beyond = f" {THICK[0].upper()}{THICK[1:]}."
            warned = any(f.kind == "too-thick" for f in result.warnings)
            yield f"{thick}.{beyond if most > LAYERS_IN_PRACTICE and not warned else ''}"
        told = result.told
        if scene.repaints and not any(f.kind == "circular-layers" for f in told):
            yield "There is a cycle of layers: flaps tucked under one another."
        hands = result.hands
        in_short = in_one(told)
        for one in in_short:
            if one.kind == "what-hands-meet" and hands is not None:
                said = by_steps or any(f.kind == "fine-creases" for f in in_short)
                yield f"By hand: {printable('; '.join([*measures(hands), *(() if said else how_true(hands))]))}."
            elif one.kind not in _UNPRINTED:
                yield _told(one, numbers)
        yield from _of_drawing(self.result.document.notes)


def _of_drawing(notes: Sequence[str]) -> Iterator[str]:
    """What was assumed in reading the drawing, or changed in it."""
    for note in notes[:_MANY_NOTES]:
        yield f"Of the drawing: {printable(note.removeprefix('moved: '))[:_LONGEST]}."
    if len(notes) > _MANY_NOTES:
        yield f"… and {len(notes) - _MANY_NOTES} more; creaseproof explain lists all."


def _lines(scene: Scene) -> str:
    """How many lines are folded each way, on how many creases."""
    lines = {}
    for kind in ("valley", "mountain"):
        chosen = [n for n, k in enumerate(scene.fold_kinds) if k == kind]
        lines[kind] = len(runs(scene.subdivision, scene.flat, chosen))
    counts = " and ".join(counted(n, f"{kind} line") for kind, n in lines.items() if n)
    creases = straight_creases(scene.subdivision)
    if sum(lines.values()) == len(creases):
        return f"Folds: {counts or 'none'} on the flat sheet."
    both = sum({"valley", "mountain"} <= {scene.fold_kinds[e] for e in crease.edges} for crease in creases)
    which = f" ({both} valley in places and mountain in others)" if both else ""
    return f"Folds: {counts or 'none'} on the flat sheet, on {counted(len(creases), 'straight crease')}{which}."


def _told(told: Finding, numbers: Mapping[str, int]) -> str:
    """A warning or a note as a sentence; creases by their numbers, if they have some."""
    message = told.message
    if told.kind == "along-a-fold" and all(name in numbers for name in told.where):
        message = finding("along-a-fold", [crease_words(sorted({numbers[name] for name in told.where}))]).message
    for name in sorted(told.where, key=len, reverse=True):
        if name in numbers:
            message = message.replace(spoken(name), f"crease {numbers[name]}")
    if told.kind == "small-panel":
        message = _near_creases(message, told.where[0], numbers)
    words = printable(message)
    begin = "Warning: " if told.level == "warning" else ""
    words = words if begin else words[:1].upper() + words[1:]
    return f"{begin}{words[:_LONGEST]}" + ("…" if len(words) > _LONGEST else ".")


def _near_creases(message: str, panel: str, numbers: Mapping[str, int]) -> str:
    """A message on a panel, with the numbers of the creases round it, or of one that ends near it, if there are any."""
    sides = around(panel.removeprefix("panel ").split("–"))
    found = {numbers[name] for a, b in sides for name in (f"{a}–{b}", f"{b}–{a}") if name in numbers}
    before, near, point = message.partition(": ")[0].partition(", near ")
    if found:
        return f"{before}, beside {crease_words(sorted(found))}"
    number = min((n for name, n in numbers.items() if near and point in name.split("–")), default=0)
    return f"{before}, near crease {number}" if number else message


def true_scale(scene: Scene) -> At:
    """A place of the scene's page in millimetres of paper."""
    times = float(1 / scene.scale)
    return lambda p: p.scaled(times)
