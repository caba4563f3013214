"""Findings on what is hard for hands: one with the measures, and notes and warnings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from fractions import Fraction

from verify.cutting.hands import Hands, Measured
from verify.pattern.document import IN_MM
from verify.words.findings import Finding, Level, counted, finding, listed, rounded_float

# A note, and a warning: our own choices, no source: what fingers and a ruler can still do with care, and what they
# cannot.
SHORT_MM = 5.0, 2.0
_MEET_MM = SHORT_MM[1] / 5  # so short by chance: nobody has a sheet five times as large
GAP_MM = 3.0, 1.0
PANEL_MM2 = 25.0, 4.0
TRUE_MM = 0.08, 0.04
CREASES = 40, 100
# Common practice, no source: eight layers want a bone folder; sixteen are bent and not folded, and no scissors close on
# them.
FOLD_LAYERS = 9, 16
CUT_LAYERS = 16
_NAMES = 6
# From so many warnings on, so many layers at the cut or so many creases one sentence says that all is too much.
_WARNINGS, _LAYERS, _CREASES = 3, 32, CREASES[1]


def of_hands(hands: Hands) -> Iterator[Finding]:
    """What hands meet. Nothing of it is proved, and nothing of it changes the verdict."""
    hard = list(_hard(hands))
    if hands.creases or hands.recipe:
        said = any(one.kind == "fine-creases" for one in hard)
        yield finding("what-hands-meet", measures="; ".join([*measures(hands), *(() if said else how_true(hands))]))
    many = sum(one.level == "warning" for one in hard) >= _WARNINGS
    if many or hands.at_cut >= _LAYERS or (hands.creases >= _CREASES and not hands.recipe):
        tiny = hands.shortest is not None and hands.shortest.size * float(IN_MM[hands.unit]) < _MEET_MM
        yield finding("not-for-hands", says="meet") if tiny and not hands.recipe else finding("not-for-hands")
    yield from hard


def _hard(hands: Hands) -> Iterator[Finding]:
    """A note or a warning for each thing that is hard or too much."""
    scale = float(IN_MM[hands.unit])
    shortest, gap, panel, thickest = hands.shortest, hands.gap, hands.panel, hands.thickest
    if shortest is not None and (level := _below(shortest.size * scale, SHORT_MM)):
        what, places = "fold" if hands.recipe else "crease", ", ".join(map(spoken, shortest.where))
        size = _only(shortest, hands.unit)
        yield finding("short-crease", shortest.where, level=level, what=what, size=size, places=places)
    if gap is not None and (level := _below(gap.size * scale, GAP_MM)):
        places = " and ".join(map(spoken, gap.where))
        yield finding("narrow-gap", gap.where, level=level, size=_only(gap, hands.unit), places=places)
    if panel is not None and (level := _below(panel.size * scale * scale, PANEL_MM2)):
        at = f", near {panel.near}" if "(" in panel.where[0] else f": {spoken(panel.where[0])}"
        yield finding("small-panel", panel.where, level=level, size=_only(panel, hands.unit), at=at)
    if hands.true_to is not None and (level := _below(hands.true_to * scale, TRUE_MM)):
        yield finding("fine-creases", level=level, true_mm=hands.true_to * scale)
    if thickest is not None and (level := _above(thickest.layers, FOLD_LAYERS)):
        bends = "bends" if hands.recipe else "takes in"
        hard = "that will not fold properly" if level == "warning" else "press it with a bone folder"
        value = {"layers": thickest.layers}
        yield finding("thick-fold", [thickest.where], value, level=level, bends=bends, hard=hard, most=FOLD_LAYERS[1])
    if hands.at_cut >= CUT_LAYERS:
        yield finding("too-thick", value={"layers": hands.at_cut}, most=CUT_LAYERS)
    if not hands.recipe and (level := _above(hands.creases, CREASES)):
        yield finding("many-creases", value={"creases": hands.creases}, level=level)
    if hands.circular:
        names = listed([spoken(name.removeprefix("panel ")) for name in hands.circular], _NAMES)
        yield finding("circular-layers", hands.circular, panels=names)


def in_one(findings: Iterable[Finding]) -> list[Finding]:
    """Findings without what is hard for hands one by one, where one of them says that all is too much."""
    found = list(findings)
    if not any(f.kind == "not-for-hands" for f in found):
        return found
    return [f for f in found if f.check != "hands" or f.kind in ("not-for-hands", "what-hands-meet")]


def warned(kinds: Iterable[str]) -> str:
    """The kinds of some warnings as words, for a table."""
    return ", ".join(kind.replace("-", " ") for kind in dict.fromkeys(kinds))


def keys(hands: Hands) -> dict[str, object]:
    """The measures for JSON; lengths in the document's unit, rounded to a double."""

    def measured(one: Measured | None) -> dict[str, object] | None:
        return {"size": one.size, "where": list(one.where)} if one is not None else None

    return {
        "unit": hands.unit,
        "creases": hands.creases,
        "shortest": measured(hands.shortest),
        "gap": measured(hands.gap),
        "panel": measured(hands.panel),
        "folds": [fold._asdict() for fold in hands.folds],
        "circular": list(hands.circular),
        "true_to": hands.true_to,
    }


def measures(hands: Hands) -> Iterator[str]:
    """What hands meet, in a few words each; what is narrow or small is told by itself."""
    unit, thickest, (count, what) = hands.unit, hands.thickest, _to_make(hands)
    shortest = f", the shortest {_size(hands.shortest, unit)}" if hands.shortest and count > 1 else ""
    yield counted(count, what if hands.recipe else f"straight {what}") + shortest
    if thickest is not None:
        yield f"at most {counted(thickest.layers, 'layer')} in one fold"


def to_make(hands: Hands | None) -> str:
    """How many folds, or straight creases of a pattern, hands make, for a table; empty where nothing was measured."""
    return counted(*_to_make(hands)) if hands is not None else ""


def _to_make(hands: Hands) -> tuple[int, str]:
    return (len(hands.folds), "fold") if hands.recipe else (hands.creases, "crease")


def how_true(hands: Hands) -> Iterator[str]:
    """How true all creases must be if their errors add up in the worst way."""
    if hands.true_to is not None:
        true_mm = hands.true_to * float(IN_MM[hands.unit])
        yield f"creases true to {true_mm:.2g} mm keep the cut within 1 mm, even if all errors add up"


def _size(measured: Measured, unit: str) -> str:
    return f"{rounded_float(float(f'{measured.size:.3g}'))} {unit}"


def _only(measured: Measured, unit: str) -> str:
    """A size that is small: `only 3 mm`, `less than 0.01 mm`."""
    size = _size(measured, unit)
    return size if size.startswith("less") else f"only {size}"


def spoken(name: str) -> str:
    """A name for people: places without a name to a tenth, and not too long."""
    name = _PLACE.sub(_to_a_tenth, name)
    return name if len(name) <= 80 else f"{name[:79]}…"


_PLACE = re.compile(r"\(([^() ]+), ([^() ]+)\)")  # such as (38.75, 2768/37)


def _to_a_tenth(place: re.Match[str]) -> str:
    with suppress(ValueError):
        x, y = (float(Fraction(number.rstrip("…"))) for number in place.groups())
        return f"({round(x, 1) + 0:g}, {round(y, 1) + 0:g})"
    return place[0]


def _below(size: float, limits: tuple[float, float]) -> Level | None:
    note, warning = limits
    return "warning" if size < warning else "note" if size < note else None


def _above(count: int, limits: tuple[int, int]) -> Level | None:
    note, warning = limits
    return "warning" if count >= warning else "note" if count >= note else None
