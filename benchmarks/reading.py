"""Whether letterforms are read by something that nobody here wrote: tesseract (Debian: tesseract-ocr), an OCR engine.

A letter is drawn black on white at four heights and read in three ways: as a single character, as one out of the 36 of
the alphabet, and as a word of one of the 36. It counts as read if one of the ways reads it at three of the four heights
at least. Lower case counts as upper case (C, O, S, V, W, X, Z have one form); O and 0 count for each other, and I and
1.
"""

from __future__ import annotations

import os
import string
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

Ring = Sequence[tuple[float, float]]

HEIGHTS = (32, 48, 72, 100)
ALPHABET = string.ascii_uppercase + string.digits
ENOUGH = 3
_ALIKE = str.maketrans("0I", "O1")
_FINE = 8
# page segmentation (10: a single character, 8: a word) and whether only the alphabet's characters are expected
_WAYS = ((10, False), (10, True), (8, True))
FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"


@dataclass(frozen=True)
class Reading:
    """What was read at each height in the way that reads best, and whether that counts as read."""

    texts: tuple[str, ...]
    right: int

    @property
    def counts(self) -> bool:
        return self.right >= ENOUGH

    def __str__(self) -> str:
        return "/".join(t or "–" for t in self.texts)


def same(expected: str, text: str) -> bool:
    """Whether a text says what was expected, lower case for upper case, O for 0 and I for 1."""
    return text.upper().translate(_ALIKE) == expected.upper().translate(_ALIKE)


def drawn(figures: Sequence[Sequence[Ring]], height: int, gap: float = 0.2) -> Image.Image:
    """Figures side by side, each by its rings (outer ones counter-clockwise, counters clockwise), black on white."""
    pad = height // 2
    placed = []
    across = 0.0
    for rings in figures:
        xs = [x for ring in rings for x, _ in ring]
        ys = [y for ring in rings for _, y in ring]
        scale = height / (max(ys) - min(ys))
        placed.append((rings, across - min(xs) * scale, max(ys), scale))
        across += (max(xs) - min(xs)) * scale + gap * height
    size = round(across - gap * height) + 2 * pad, height + 2 * pad
    image = Image.new("L", (size[0] * _FINE, size[1] * _FINE), 255)
    pen = ImageDraw.Draw(image)
    for rings, left, top, scale in placed:
        for ring in rings:
            area = sum(p[0] * q[1] - p[1] * q[0] for p, q in zip(ring, [*ring[1:], ring[0]], strict=True))
            corners = [((pad + left + x * scale) * _FINE, (pad + (top - y) * scale) * _FINE) for x, y in ring]
            pen.polygon(corners, fill=0 if area > 0 else 255)
    return image.resize(size, Image.Resampling.LANCZOS)


def printed(character: str, height: int) -> Image.Image:
    """A character of a common typeface (DejaVu Sans Bold), to see how well the engine reads at all."""
    font = ImageFont.truetype(FONT, round(height / 0.729 * 4))
    left, top, right, bottom = font.getbbox(character)
    pad = 2 * height
    image = Image.new("L", (round(right - left) + 2 * pad, round(bottom - top) + 2 * pad), 255)
    ImageDraw.Draw(image).text((pad - left, pad - top), character, font=font, fill=0)
    return image.resize((image.width // 4, image.height // 4), Image.Resampling.LANCZOS)


def engine(images: Sequence[Image.Image], segmentation: int, *, listed: bool) -> list[str]:
    """What tesseract reads in each picture, by one process of the lowest priority."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{number}.png" for number in range(len(images))]
        for path, image in zip(paths, images, strict=True):
            image.save(path, dpi=(300, 300))
        names = Path(folder) / "names"
        names.write_text("".join(f"{path}\n" for path in paths), encoding="utf-8")
        command = ["nice", "-n", "19", "tesseract", str(names), "-", "--psm", str(segmentation), "-l", "eng"]
        command += ["-c", "page_separator=\f"]
        if listed:
            command += ["-c", f"tessedit_char_whitelist={ALPHABET}"]
        done = subprocess.run(
            command, capture_output=True, text=True, check=True, env={**os.environ, "OMP_THREAD_LIMIT": "1"}
        )
    return ["".join(page.split()) for page in done.stdout.split("\f")[: len(images)]]


def read_letters(pictures: Sequence[tuple[str, Sequence[Image.Image]]]) -> list[Reading]:
    """The best reading of each letter, given with its pictures at all heights."""
    flat = [image for _, images in pictures for image in images]
    best: list[Reading | None] = [None] * len(pictures)
    for segmentation, listed in _WAYS:
        texts = engine(flat, segmentation, listed=listed)
        for number, (letter, images) in enumerate(pictures):
            mine, texts = texts[: len(images)], texts[len(images) :]
            reading = Reading(tuple(mine), sum(same(letter, text) for text in mine))
            known = best[number]
            if known is None or reading.right > known.right:
                best[number] = reading
    return [reading for reading in best if reading is not None]


def read_words(words: Sequence[tuple[str, Image.Image]]) -> list[str]:
    """What is read of each word of the alphabet's characters."""
    return engine([image for _, image in words], 8, listed=True)
