"""A picture as PNG, by cairosvg (the optional extra `png`)."""

from __future__ import annotations

from typing import Any

from verify.errors import CreaseproofError

DPI = 144


class NoPng(CreaseproofError, RuntimeError):
    """PNG is asked for, and cairosvg (or the cairo library that it needs) is not there."""


def renderer() -> Any:
    """The library that renders. Raises `NoPng` where the optional extra is not installed."""
    try:
        import cairosvg
    except (ImportError, OSError) as error:
        raise NoPng(f"PNG needs cairosvg (pip install 'creaseproof[png]'): {error}") from None
    return cairosvg


def png(svg: str) -> bytes:
    """The SVG text as PNG, at `DPI` dots for 25.4 mm. Raises `NoPng`."""
    # A px of CSS is 1/96 in, so the scale is the dots asked for over 96.
    image: bytes = renderer().svg2png(bytestring=svg.encode(), scale=DPI / 96)
    return image
