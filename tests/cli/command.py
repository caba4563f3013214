"""The command, called in this process, and drawings for it."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner, Result

from verify.cli import main

SHARED = {"verdict", "statement_sha256", "claims", "findings", "facts"}
"""The keys that every answer in JSON has, as proofs/commands.md says."""


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def draw_svg(path: Path, wide: int, high: int, inside: str) -> Path:
    """Write an SVG drawing of black lines, so many millimetres wide and high, with a unit of a millimetre; where it
    is.
    """
    size = f'width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}"'
    lines = f'<g fill="none" stroke="black">{inside}</g>'
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{lines}</svg>')
    return path
