"""Scissors, craft knives, children: the usual cautions, said alike wherever a cut is shown."""

from __future__ import annotations

TITLE = "Scissors, knives, children"
CAUTIONS = (
    "Cut sitting down, with the fingers clear of the line.",
    "Close the blades before you pass scissors on, and pass them handle first.",
    (
        "A craft knife is used on a mat, against a metal rule, with the cut away from the body, and only by "
        "adults or under their eyes."
    ),
    "Children work under close supervision, in small groups.",
    "The rules of your school, club or country come first.",
)
