"""The letters made for folding, measured: folds, layers, how true the folds must be, and whether an OCR engine reads
them.

    .venv/bin/python benchmarks/letters.py [--make] [--write] [--pictures FOLDER] [--only KIND]

Every recipe of proofs/recipes/alphabet/ is certified and measured; --make first finds the recipes of all letterforms
afresh; --write stores the tables in its README.md; --pictures draws each kind on one PNG. Needs tesseract-ocr of Debian
and Pillow (which reportlab brings); two or three minutes.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap

from PIL import Image, ImageDraw
from reading import ALPHABET, FONT, HEIGHTS, Reading, Ring, drawn, printed, read_letters, read_words, same

import verify
from verify.construct.letterforms.forms import KINDS, PLAIN, Kind, forms
from verify.construct.letterforms.spelling import file_name
from verify.pattern.drawing import draw
from verify.pattern.recipe import FoldStep, Recipe, UnfoldStep
from verify.tasks.letters import letter_recipes
from verify.tasks.preferred import folds_true_to

FOLDER = Path(__file__).resolve().parent.parent / "proofs" / "recipes" / "alphabet"
PLACES = {kind: FOLDER if kind == "card" else FOLDER / kind for kind in KINDS}
HEADINGS = {
    "card": "On a card (the sheet is the letter's box)",
    "strip": "On a strip (as high as the letter, paper left and right)",
    "margin": "With paper all round",
    "square": "From a plain square, without a template",
    "a4": "From plain A4 paper, without a template",
    "letter": "From plain letter paper, without a template",
}
# Every letter and digit at least once.
WORDS = (
    "LANTERN",
    "HARBOUR",
    "WINTER",
    "FISH",
    "KITES",
    "JUMPY",
    "QUARTZ",
    "VEXED",
    "GLOW",
    "COBALT",
    "1948",
    "2637",
    "50",
)


@dataclass(frozen=True)
class Row:
    """One letter of one kind, measured. `aligned`: folds written as alignments of edges, corners and creases."""

    letter: str
    verdict: str
    folds: int
    all_folds: int
    aligned: int
    layers: int
    every: bool
    guides: int
    allowed: float | None
    rings: tuple[Ring, ...]
    sheet: Ring


def measured(letter: str, path: Path) -> Row:
    recipe = verify.load(path)
    if not isinstance(recipe, Recipe):
        raise TypeError(f"{path}: a pattern")
    result = verify.certify(recipe)
    folds = [s for s in recipe.steps if isinstance(s, FoldStep)]
    places = draw(recipe.base).places

    def ring(names: tuple[str, ...]) -> Ring:
        return [(float(places[n].x), float(places[n].y)) for n in names]

    return Row(
        letter,
        result.verdict,
        len(folds) - sum(s.folds for s in recipe.steps if isinstance(s, UnfoldStep)),
        len(folds),
        sum(s.alignment.kind != "through" for s in folds),
        result.layers_met or 0,
        all(s.layers == "all" for s in folds),
        sum(isinstance(s, UnfoldStep) for s in recipe.steps),
        folds_true_to(recipe),
        tuple(ring(loop) for loop in recipe.base.loops),
        ring(recipe.base.outline),
    )


def rows(kind: str) -> Iterator[Row]:
    for letter in (*ALPHABET, *(file_name(c) for c in "ÄÖÜß-")):
        path = PLACES[kind] / f"{letter}.toml"
        if path.exists():
            yield measured(letter, path)


def table(found: list[tuple[Row, Reading]], plain: bool) -> Iterator[str]:
    template = "guide creases first" if plain else "without a template, from"
    yield (
        f"| letter | folds | layers at the cut | folds of | {template} | each fold true to, mm | read at "
        "32/48/72/100 px | read |"
    )
    yield "|---|---|---|---|---|---|---|---|"
    for row, reading in found:
        allowed = f"{row.allowed:.2g}" if row.allowed is not None else "–"
        kind = "all layers" if row.every else "some layers"
        text = str(reading).replace("|", "\\|")
        sheets = [PLAIN[k] for k in PLAIN if (PLACES[k] / f"{row.letter}.toml").exists()]
        how = f"{row.guides}" if plain else ", ".join(sheets) or "–"
        yield (
            f"| {row.letter} | {row.folds} | {row.layers} | {kind} | {how} | {allowed} | {text} | "
            f"{'yes' if reading.counts else 'no'} |"
        )


def make(kind: Kind) -> Iterator[str]:
    """Find the recipes of a kind afresh and store them; what could not be found is named."""
    PLACES[kind].mkdir(exist_ok=True)
    for letter in forms(kind):
        ((_, one),) = letter_recipes(letter, sheet=kind)
        if isinstance(one.made, Recipe):
            verify.write(one.made, PLACES[kind] / f"{file_name(letter)}.toml")
        else:
            yield f"{kind} {letter}"


def summary(every: list[tuple[Row, Reading]]) -> str:
    """Of the 36 letters and digits; Ä, ß and others stand in the table only."""
    found = [(row, reading) for row, reading in every if row.letter in ALPHABET]
    number = sum(row.folds for row, _ in found)
    aligned, every_fold = sum(row.aligned for row, _ in found), sum(row.all_folds for row, _ in found)
    return (
        f"{len(found)} of 36 letters, {number} folds in all (at most {max(row.folds for row, _ in found)}), at most "
        f"{max(row.layers for row, _ in found)} layers; {sum(reading.counts for _, reading in found)} are "
        f"read; {aligned} of "
        f"{every_fold} folds{' (with guide creases)' if every_fold > number else ''} are alignments of edges, "
        "corners and creases"
    )


def words_read(found: dict[str, Row]) -> str:
    if not any(all(c in found for c in w) for w in WORDS):
        return "no word of the list can be set"
    words = [(w, drawn([found[c].rings for c in w], 48)) for w in WORDS if all(c in found for c in w)]
    texts = read_words(words)
    right = sum(same(word, text) for (word, _), text in zip(words, texts, strict=True))
    misread = ", ".join(f"{w} as {t or '–'}" for (w, _), t in zip(words, texts, strict=True) if not same(w, t))
    return f"{right} of {len(words)} words are read as a whole" + (f"; misread: {misread}" if misread else "")


def picture(found: list[Row], path: Path) -> None:
    """The letters of one kind on one picture: sheet, figure, and what stands in the table."""
    cell_width = round(max(max(x for x, _ in row.sheet) - min(x for x, _ in row.sheet) for row in found)) + 20
    cell_height = round(max(max(y for _, y in row.sheet) - min(y for _, y in row.sheet) for row in found)) + 34
    columns = max(1, min(9, 1800 // cell_width))
    image = Image.new("RGB", (columns * cell_width, -(-len(found) // columns) * cell_height), "white")
    pen = ImageDraw.Draw(image)
    for number, row in enumerate(found):
        left, top = number % columns * cell_width + 8, number // columns * cell_height + 6
        low, high = min(x for x, _ in row.sheet), max(y for _, y in row.sheet)

        def place(
            ring: Ring, left: int = left, top: int = top, low: float = low, high: float = high
        ) -> list[tuple[float, float]]:
            return [(left + x - low, top + high - y) for x, y in ring]

        pen.polygon(place(row.sheet), fill="#f0e4be", outline="#999999")
        for ring in row.rings:
            area = sum(p[0] * q[1] - p[1] * q[0] for p, q in zip(ring, [*ring[1:], ring[0]], strict=True))
            pen.polygon(place(ring), fill="#1e2846" if area > 0 else "#f0e4be")
        pen.text((left, top + cell_height - 28), f"{row.letter}: {row.folds} folds, {row.layers} layers", fill="black")
    image.save(path)


def write(sections: dict[str, list[str]]) -> None:
    """Put sections of the README afresh, and leave the others as they are."""
    readme = FOLDER / "README.md"
    head, *old = readme.read_text(encoding="utf-8").split("\n## ")
    kept = {part.partition("\n")[0]: part.partition("\n")[2].strip() for part in old}
    texts = kept | {heading: "\n".join(lines) for heading, lines in sections.items()}
    pages = [f"## {heading}\n\n{texts[heading]}\n" for heading in HEADINGS.values() if heading in texts]
    readme.write_text(head.rstrip() + "\n\n" + "\n".join(pages), encoding="utf-8")


def yardstick() -> str:
    """How the engine reads the same characters of a common typeface."""
    readings = read_letters([(c, [printed(c, height) for height in HEIGHTS]) for c in ALPHABET])
    misread = ", ".join(f"{c} ({reading})" for c, reading in zip(ALPHABET, readings, strict=True) if not reading.counts)
    return f"Of the same characters in {Path(FONT).stem} the engine reads {sum(r.counts for r in readings)} of 36" + (
        f" (not {misread})" if misread else ""
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument(
        "--make", action="store_true", help="find the recipes of all letterforms afresh, and store them"
    )
    parser.add_argument("--write", action="store_true", help="store the tables in proofs/recipes/alphabet/README.md")
    parser.add_argument("--pictures", type=Path, help="draw each kind into this folder")
    parser.add_argument("--only", choices=list(KINDS), action="append", help="measure this kind only (may be repeated)")
    arguments = parser.parse_args()
    kinds: list[Kind] = arguments.only or list(KINDS)
    sections: dict[str, list[str]] = {}
    failed = [f"{missing}: no recipe" for kind in kinds if arguments.make for missing in make(kind)]
    for kind in kinds:
        found = list(rows(kind))
        failed += [f"{kind} {row.letter}: {row.verdict}" for row in found if row.verdict != "certified"]
        readings = read_letters([(row.letter, [drawn([row.rings], height) for height in HEIGHTS]) for row in found])
        both = list(zip(found, readings, strict=True))
        said = f"{summary(both)}; {words_read({row.letter: row for row in found})}."
        sections[HEADINGS[kind]] = [*wrap(said, 120), "", *table(both, kind in PLAIN)]
        print("\n".join([f"## {HEADINGS[kind]}", "", *sections[HEADINGS[kind]], ""]), flush=True)
        if arguments.pictures:
            arguments.pictures.mkdir(parents=True, exist_ok=True)
            picture(found, arguments.pictures / f"{kind}.png")
        if arguments.write:
            write(sections)
    if not arguments.only:
        print(yardstick())
    if failed:
        print("not certified: " + "; ".join(failed), file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
