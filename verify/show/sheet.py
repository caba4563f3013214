"""The flat sheet: outline, creases in the trade's lines, target, and where findings speak of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from verify.pattern.document import IN_MM
from verify.pattern.subdivision import Subdivision
from verify.show.labels import Labels
from verify.show.page import XY, At
from verify.show.scene import Scene, runs
from verify.show.style import FOLDS, LETTERS, STYLES
from verify.show.surface import Key, Surface, band, folds, key, name

_FINEST = 0.12


def strokes(s: Subdivision, places: Sequence[XY], edges: Iterable[int]) -> list[list[XY]]:
    """Edges as single strokes over the page where they go straight on, from end to end."""
    walks = ([places[v] for v in walk] for walk in runs(s, places, edges))
    return [[walk[0], walk[-1]] if walk[0] != walk[-1] else walk for walk in walks]


def target_walks(scene: Scene, at: At) -> list[list[XY]]:
    """The target's lines (or what is really cut, where no target is drawn) on the flat sheet."""
    s = scene.really_cut or scene.subdivision
    places = [at(scene.to_page(p)) for p in s.vertices]
    return strokes(s, places, [n for n, e in enumerate(s.edges) if e.is_cut])


def guides_of(scene: Scene) -> list[int]:
    """Lines that are drawn and not folded."""
    return [n for n, e in enumerate(scene.subdivision.edges) if e.kind == "flat" and e.crease is not None]


def outline_of(scene: Scene, at: At) -> list[list[XY]]:
    """The sheet's outline and its holes."""
    here, s = [at(p) for p in scene.flat], scene.subdivision
    return [[here[v] for v in loop] for loop in s.outlines(range(len(s.faces)))]


def draw_lines(
    surface: Surface, scene: Scene, at: At, labels: Labels | None = None, small: bool = False, letters: bool = True
) -> bool:
    """Target, guide lines, folds, outline; whether short folds got their letter (with `labels` and `letters`)."""
    here = [at(p) for p in scene.flat]
    target = target_walks(scene, at)
    outline = outline_of(scene, at)
    s = scene.subdivision
    guides = strokes(s, here, guides_of(scene))
    band(surface, target, small)
    if guides:
        surface.lines(guides, "guide")
    short: list[tuple[str, XY]] = []
    width = _crease_width(scene, at, 0.22 if small else None)
    for kind in FOLDS:
        chosen = strokes(s, here, [n for n, k in enumerate(scene.fold_kinds) if k == kind])
        short += [(LETTERS[kind], place) for place in folds(surface, chosen, kind, width)]
        if labels is not None:
            labels.avoid_lines(chosen)
    surface.lines(outline, "outline", closed=True, width=0.3 if small else None)
    if labels is not None:
        labels.avoid_lines([[*loop, loop[0]] for loop in outline])
        labels.avoid_lines(target)
        if letters:
            written = [name(surface, labels, place, letter, away=0.5, size=2.2) for letter, place in short]
            return any(written)
    return False


def _crease_width(scene: Scene, at: At, usual: float | None) -> float | None:
    """How broad creases are drawn: less where dashes of near parallel ones would run together; None: as usual."""
    hands = scene.result.hands
    if hands is None or hands.gap is None:
        return usual
    page_mm = at(XY(0.0, 0.0)).distance(at(XY(1.0, 0.0))) * float(scene.scale * IN_MM[hands.unit])
    fine = max(_FINEST, hands.gap.size * page_mm / 3)
    return fine if fine < (usual or STYLES["valley"].width) else usual


def keys_of(scene: Scene, letters: bool = False) -> list[Key]:
    """What the legend of a flat sheet says: only what is drawn. `letters`: some folds have theirs."""
    shown = [kind for kind in FOLDS if kind in scene.fold_kinds]
    entries = [key(kind) for kind in ("outline", *shown)]
    if guides_of(scene):
        entries.append(key("guide"))
    if scene.result.document.has_target:
        entries.append(key("target"))
    elif scene.really_cut is not None:
        entries.append(Key("target", "what the scissors cut"))
    if letters:
        entries.append(Key("letters", "mountain, valley: fold too short for its dashes"))
    return entries
