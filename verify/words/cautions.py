"""Scissors, craft knives, children: the usual cautions, the same wherever a cut is shown."""

from __future__ import annotations

TITLE = "Scissors, knives, children"
CAUTIONS = (
    "Sit down to cut, with your fingers clear of the line.",
    "Close the blades before you pass scissors on, and pass them handle first.",
    (
        "Use a craft knife on a mat, against a metal rule, cutting away from the body; it is for adults, or for "
        "use under an adult's eye only."
    ),
    "Children work under close supervision, in small groups.",
    "The rules of your school, club or country come first.",
)
