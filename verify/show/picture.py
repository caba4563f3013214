"""Pictures of one result as SVG: the pattern, folded sheet, stack pulled apart, cut and pieces.

True to scale in page millimetres (but for the stack, an oblique view), of any result, certified or not; what cannot be
drawn is said. `bare` pictures are for a page that brings style sheet, title and notes; `prefix` keeps the ids of
several apart. A picture proves nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from verify.pattern.source import printable
from verify.show import marks
from verify.show.labels import Labels
from verify.show.page import XY, as_it_is, box_of
from verify.show.paper import FoldedPaper, draw_fold_line, draw_paper, draw_torn, draw_transparent, paper_legend
from verify.show.scene import Scene, scale_text, scene_of, title_of
from verify.show.scissors import draw_cut, draw_pieces, draw_sides, write_layer_counts
from verify.show.sheet import draw_lines, keys_of, outline_of
from verify.show.stack import columns, draw_column
from verify.show.surface import Key, band, key
from verify.show.svg import Canvas, tag
from verify.tasks.certify import Result, Source, result_of
from verify.words.findings import counted


def pattern_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The flat sheet: outline, creases in the trade's lines, target, and each failing finding at its place."""
    scene = _scene(source)
    if not isinstance(scene, Scene):
        return _unreached(scene, "Pattern")
    canvas = _canvas(scene.flat, prefix, bare)
    flat = scene.flat
    canvas.fill(outline_of(scene, as_it_is), "front")
    canvas.reach(flat)
    marks.draw_fault_faces(canvas, scene, flat)
    marks.draw_rails(canvas, scene, flat)
    labels = Labels()
    letters = draw_lines(canvas, scene, as_it_is, labels)
    for entry in keys_of(scene, letters):
        canvas.key(entry)
    marks.add_hits(canvas, scene, flat)
    marks.draw_rings(canvas, scene, flat, labels)
    marks.draw_tags(canvas, scene, labels, flat)
    marks.write_point_names(canvas, scene, labels)
    if scene.takes_either:
        canvas.note("Folds that the document leaves open (either) are shown as the proof takes them.")
    marks.write_findings(canvas, scene)
    return _finish(canvas, scene, "pattern")


def folded_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The folded sheet from above: upper layers cover lower ones and are lighter; the back of the paper is hatched.

    Without a layer order the panels are transparent; without a fold map they are shown torn, where they fail to meet.
    """
    scene = _scene(source)
    if not isinstance(scene, Scene):
        return _unreached(scene, "Folded sheet")
    canvas = _canvas(scene.folded or scene.flat, prefix, bare)
    if scene.folded is None:
        draw_torn(canvas, scene)
        marks.write_findings(canvas, scene)
        return _finish(canvas, scene, "no folded state")
    folded = scene.folded
    canvas.reach(folded, 1)
    if scene.has_layers:
        draw_paper(canvas, FoldedPaper.folded(scene))
        paper_legend(canvas, scene)
        what = "folded sheet"
        refused = scene.refused
        if refused is not None:
            what = f"the sheet before step {refused.step}, which cannot be done"
            if refused.line is not None:
                draw_fold_line(canvas, scene, scene.folded_page(refused.line[0]), scene.folded_page(refused.line[1]))
            marks.draw_fault_faces(canvas, scene, folded)
    else:
        draw_transparent(canvas, scene)
        what = "where the panels would lie"
    labels = Labels()
    s = scene.subdivision
    labels.avoid_lines([folded[v] for v in e.ends] for e in s.edges)
    marks.draw_rails(canvas, scene, folded, line=True)
    marks.add_hits(canvas, scene, folded)
    marks.draw_rings(canvas, scene, folded, labels)
    marks.draw_tags(canvas, scene, labels, folded)
    marks.write_spot_names(canvas, scene, labels)
    if not scene.has_layers:
        canvas.note(
            "No layer order is known: nothing lies over anything here. All panels are drawn transparent "
            "where the folds put them."
        )
    if scene.repaints:
        canvas.note("There is a cycle of layers: flaps tucked under one another.")
    marks.write_findings(canvas, scene)
    return _finish(canvas, scene, what, scene.magnified)


_STACK = "stack pulled apart, from below upwards; oblique view"


def stack_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The stack pulled apart, seen obliquely: one level over the other, each with its number, folds as upright ties.

    A level holds the layers that can be lifted off together; level 1 is at the bottom.
    """
    scene = _scene(source)
    if not isinstance(scene, Scene):
        return _unreached(scene, "Stack")
    canvas = Canvas(prefix, bare)
    if not scene.has_layers:
        _say(canvas, "No layer order, so there is no stack to pull apart.")
        marks.write_findings(canvas, scene)
        return _finish(canvas, scene, "no stack")
    parts, note = columns(scene, in_a_row=not bare)
    drawn = []
    for number, column in enumerate(parts):
        if bare and number:
            drawn.append(_finish(canvas, scene, _STACK, None))
            canvas = Canvas(f"{prefix}{number}-", bare)
        draw_column(canvas, scene, column)
    paper_legend(canvas, scene)
    if note:
        canvas.note(note)
    if scene.repaints:
        canvas.note("There is a cycle of layers; they are lifted off in the order of the stack.")
    drawn.append(_finish(canvas, scene, _STACK, None))
    return tag("div", *(tag("div", one) for one in drawn), class_="columns") if len(drawn) > 1 else drawn[0]


def cut_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The folded sheet with the cut line (or the snips), how many layers it meets, and what falls on either side."""
    scene = _scene(source)
    if not isinstance(scene, Scene):
        return _unreached(scene, "Cut")
    canvas = _canvas(scene.folded or scene.flat, prefix, bare)
    cutting, line = scene.cutting, scene.cut_line
    if scene.folded is None or (cutting is None and line is None):
        words = "There is no folded sheet to cut." if scene.folded is None else "The document claims no cut."
        _say(canvas, words)
        marks.write_findings(canvas, scene)
        return _finish(canvas, scene, "no cut")
    folded = scene.folded
    canvas.reach(folded, 1)
    if scene.has_layers:
        draw_paper(canvas, FoldedPaper.folded(scene), roles=scene.role_of)
    else:
        draw_transparent(canvas, scene)
    labels = Labels()
    s = scene.subdivision
    labels.avoid_lines([folded[v] for v in e.ends] for e in s.edges)
    target = [[folded[v] for v in e.ends] for e in s.edges if e.is_cut]
    if target:
        band(canvas, target)
        canvas.key(key("target"))
    marks.draw_rails(canvas, scene, folded, line=True)
    marks.draw_rings(canvas, scene, folded, labels)
    ends = draw_cut(canvas, scene, labels)
    if ends is not None:
        draw_sides(canvas, scene, labels, ends)
    if cutting is not None and write_layer_counts(canvas, scene, labels):
        canvas.note(f"n×: the cut meets n layers there; {scene.result.layers_met} at most.")
    marks.draw_tags(canvas, scene, labels, folded)
    if any(role == "target" for role in scene.role_of.values()):
        canvas.key(Key("front", "paper of the figure", "dots"))
    if any(role == "inner waste" for role in scene.role_of.values()):
        canvas.key(Key("front", "inner waste", "lines"))
    if not scene.has_layers:
        canvas.note("No layer order is known: the panels are drawn transparent.")
    marks.write_findings(canvas, scene, ("cut", "advice"))
    return _finish(canvas, scene, "cut line on the folded sheet", scene.magnified)


def pieces_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """What lies on the table after the cut, unfolded, piece beside piece with its area."""
    scene = _scene(source)
    if not isinstance(scene, Scene):
        return _unreached(scene, "Pieces")
    canvas = Canvas(prefix, bare)
    parts, _s = scene.parts
    if not parts:
        known = "No cut is claimed, so the sheet stays whole."
        _say(canvas, known if not scene.result.document.has_target else "The pieces are not known.")
        return _finish(canvas, scene, "pieces")
    draw_pieces(canvas, scene)
    if scene.pieces_are_proved:
        return _finish(canvas, scene, "the sheet after the cut")
    canvas.note("It is not proved that this folding and cut make these pieces; they follow from its lines alone.")
    return _finish(canvas, scene, "the pieces that the figure stands for")


ALL = {"pattern": pattern_svg, "folded": folded_svg, "stack": stack_svg, "cut": cut_svg, "pieces": pieces_svg}


def picture(source: Source) -> dict[str, str]:
    """All pictures of a result (or of a document or the file of one) as SVG texts, by name: pattern, folded sheet,
    stack, cut and pieces. Each says the verdict; none proves anything.
    """
    result = result_of(source)
    drawn = scene_of(result) or result
    return {name: draw(drawn) for name, draw in ALL.items()}


def _scene(source: Result | Scene) -> Scene | Result:
    """The scene, or a result that has none."""
    return source if isinstance(source, Scene) else scene_of(source) or source


def _canvas(places: Sequence[XY], prefix: str, bare: bool) -> Canvas:
    """A canvas for these places. Pictures beside each other on a page have names of one size."""
    left, low, right, high = box_of(places)
    return Canvas(prefix, bare, max(right - left, high - low))


def _say(canvas: Canvas, words: str) -> None:
    """Words in place of a picture."""
    canvas.reach([XY(0, 0), XY(100, -8)])
    canvas.write(XY(0, -5), words)


def _finish(canvas: Canvas, scene: Scene, what: str, times: int | None = 1) -> str:
    """The finished picture; `times` as large as the scale of the flat sheet, None for no scale at all."""
    result = scene.result
    scale = "not to scale"
    if times is not None:
        scale = f"scale {scale_text(scene.scale * times)}, sheet {scene.size}"
    subtitle = f"{what}; {scale}; {result.verdict}"
    describe = f"{counted(len(scene.subdivision.panels), 'panel')}. The verdict on the document is {result.verdict}."
    title = "" if canvas.bare else title_of(result.document)
    return canvas.svg(title, printable(subtitle), describe)


def _unreached(result: Result, what: str) -> str:
    canvas = Canvas()
    _say(canvas, "The drawing did not get far enough for a picture.")
    for finding in result.findings:
        canvas.note(printable(finding.message))
    return canvas.svg(title_of(result.document), f"{what.lower()}; {result.verdict}", "Nothing was drawn.")
