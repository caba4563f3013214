"""How lines and papers look: the trade's line conventions, and a palette that also reads in grey.

Nothing is told by colour alone: folds by their dashes, the back of the paper by a hatch, faults by rails, rings and numbers.
"""

from __future__ import annotations

from verify.show.scene import Fold

FOLD_WORDS: dict[Fold, str] = {"mountain": "mountain fold", "valley": "valley fold", "either": "fold, either way"}
ROLE_TEXTURE = {"target": "dots", "inner waste": "lines"}

LIGHT = {
    "ground": "#ffffff",
    "ink": "#20242c",
    "soft": "#6d7480",
    "front": "#fbf8f1",
    "back": "#c3d0db",
    "hatch": "#70869a",
    "target": "#d9a45f",
    "fault": "#8a1f4b",
    "dots": "#9a7a45",
}
DARK = {
    "ground": "#191c22",
    "ink": "#e9e6df",
    "soft": "#a3a9b3",
    "front": "#4a4740",
    "back": "#2f4458",
    "hatch": "#8199b0",
    "target": "#9a6a2a",
    "fault": "#f08bb4",
    "dots": "#d2ad72",
}

# class: what it looks like, in palette names; lengths are page millimetres.
_RULES = """
.ground {{ fill: {ground}; }}
.front {{ fill: {front}; }}
.back {{ fill: {back}; }}
.hatch {{ stroke: {hatch}; stroke-width: 0.3; fill: none; }}
.dots {{ fill: {dots}; }}
.line-texture {{ stroke: {soft}; stroke-width: 0.25; fill: none; }}
.cross {{ stroke: {fault}; stroke-width: 0.3; fill: none; }}
.shade {{ fill: #000000; }}
.shadow {{ fill: none; stroke: #000000; stroke-width: 1.6; stroke-linejoin: round; }}
.rim {{ fill: none; stroke: {ink}; stroke-width: 0.3; stroke-linejoin: round; }}
.outline {{ fill: none; stroke: {ink}; stroke-width: 0.6; stroke-linejoin: round; }}
.mountain {{ fill: none; stroke: {ink}; stroke-width: 0.45; stroke-dasharray: 4 1.1 0.7 1.1; }}
.valley {{ fill: none; stroke: {ink}; stroke-width: 0.45; stroke-dasharray: 2 1.3; }}
.either {{ fill: none; stroke: {ink}; stroke-width: 0.6; stroke-dasharray: 0.01 1.5; stroke-linecap: round; }}
.guide {{ fill: none; stroke: {soft}; stroke-width: 0.2; }}
.ghost {{ fill: none; stroke: {soft}; stroke-width: 0.2; stroke-linejoin: round; }}
.tie {{ fill: none; stroke: {soft}; stroke-width: 0.25; }}
.target-edge {{ fill: none; stroke: {ink}; stroke-width: 2.2; stroke-linejoin: round; }}
.target {{ fill: none; stroke: {target}; stroke-width: 1.7; stroke-linejoin: round; }}
.cut {{ fill: none; stroke: {ink}; stroke-width: 0.8; }}
.blade {{ fill: {ground}; stroke: {ink}; stroke-width: 0.45; stroke-linejoin: round; }}
.clear {{ fill: {ink}; fill-opacity: 0.07; }}
.rail {{ fill: none; stroke: {fault}; stroke-width: 3.5; }}
.bed {{ fill: none; stroke: {front}; stroke-width: 2.7; }}
.ring {{ fill: none; stroke: {fault}; stroke-width: 0.7; }}
.lead {{ fill: none; stroke: {fault}; stroke-width: 0.3; }}
.tag {{ fill: {fault}; }}
.tag-text {{ fill: {ground}; font-weight: bold; }}
.note {{ fill: {ground}; stroke: {ink}; stroke-width: 0.35; }}
.note-text {{ fill: {ink}; font-weight: bold; }}
.text {{ fill: {ink}; }}
.soft-text {{ fill: {soft}; }}
.halo {{ fill: none; stroke: {ground}; stroke-width: 0.8; stroke-linejoin: round; stroke-opacity: 0.85; }}
"""


def css(palette: dict[str, str], scope: str = "") -> str:
    """The style sheet of a palette, each rule under the selector `scope` if there is one."""
    rules = _RULES.format(**palette).strip().splitlines()
    return "\n".join(f"{scope} {rule}" if scope else rule for rule in rules)
