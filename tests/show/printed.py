"""What is printed on the pages of a PDF, read by a library that did not write it (pdfplumber, on pdfminer)."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pdfplumber

from verify.show.texts import sentences

TITLE, *CAUTIONS = (words.lstrip("#– ") for words in sentences("cautions", "box"))


def opened(pdf: Path | bytes) -> pdfplumber.PDF:
    return pdfplumber.open(io.BytesIO(pdf if isinstance(pdf, bytes) else pdf.read_bytes()))


def text_of(page: Any) -> str:
    return " ".join(page.extract_text().split())


def texts(pdf: Path | bytes) -> list[str]:
    """The text of each page."""
    return [text_of(page) for page in opened(pdf).pages]
