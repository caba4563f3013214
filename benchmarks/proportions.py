"""Better proportions for a letter: those near its own, folded, measured and read.

    .venv/bin/python benchmarks/proportions.py LETTER [--kind card|strip|margin] [--most 2] [--tries 60] [--read]

Every variation of the letter's grid is searched for folds and certified; the best come first: read (with --read, which
needs tesseract-ocr), then folds, layers, and how true each fold must be. What is better goes into
verify/construct/letterforms/forms.toml by hand.
"""

from __future__ import annotations

import argparse
import sys
import tomllib
from itertools import islice
from pathlib import Path
from typing import Any

from reading import HEIGHTS, drawn, read_letters
from variations import variations

import verify
from verify.construct.letterforms.forms import KINDS, PLAIN, LetterForm, made
from verify.tasks.preferred import folds_true_to

STORED = Path(__file__).resolve().parent.parent / "verify" / "construct" / "letterforms" / "forms.toml"


def measured(form: LetterForm) -> tuple[int, int, float] | None:
    """Folds, layers, and minus how far off each fold may be; None if there is no recipe."""
    found = verify.recipe(form.document(), folds=6, seconds=5, square=False, all_layers=True, prefer="accuracy")
    if found.recipe is None:
        return None
    return found.folds, found.layers, -(folds_true_to(found.recipe) or 0.0)


def right(form: LetterForm) -> int:
    """At how many heights the letter is read."""
    rings = [[(float(x), float(y)) for x, y in loop] for loop in form.loops]
    return read_letters([(form.character, [drawn([rings], height) for height in HEIGHTS])])[0].right


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("letter")
    parser.add_argument("--kind", choices=[k for k in KINDS if k not in PLAIN], default="card")
    parser.add_argument("--most", type=int, default=2, help="change at most so many rows and columns")
    parser.add_argument("--tries", type=int, default=60)
    parser.add_argument("--read", action="store_true")
    arguments = parser.parse_args()
    keys: dict[str, Any] = tomllib.loads(STORED.read_text(encoding="utf-8"))[arguments.kind][arguments.letter]
    rows = []
    for varied in islice(variations(keys, arguments.most), arguments.tries):
        try:
            form = made(arguments.letter, arguments.kind, varied)
        except ValueError:
            continue
        found = measured(form)
        if found is not None:
            rows.append((-right(form) if arguments.read else 0, *found, varied))
    rows.sort(key=lambda row: row[:4])
    for read, folds, layers, allowed, varied in rows:
        said = f", read at {-read} of {len(HEIGHTS)} heights" if arguments.read else ""
        print(
            f"{folds} folds, {layers} layers, true to {-allowed:.2g} mm{said}: rows {varied['rows']}, "
            f"columns {varied['columns']}"
        )
    return 0 if rows else 1


if __name__ == "__main__":
    sys.exit(main())
