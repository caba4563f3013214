"""A picture as PNG, by cairosvg (the optional extra `png`)."""

from __future__ import annotations

from typing import Any

from verify.errors import optional

DPI = 144


def renderer() -> Any:
    """The library that renders. Raises `NotInstalled`."""
    return optional("cairosvg", "png", "PNG")


def png(svg: str) -> bytes:
    """The SVG text as PNG, at `DPI` dots for 25.4 mm. Raises `NotInstalled`."""
    # A px of CSS is 1/96 in, so the scale is the dots asked for over 96.
    image: bytes = renderer().svg2png(bytestring=svg.encode(), scale=DPI / 96)
    return image
