"""The command, called in this process."""

from __future__ import annotations

from click.testing import CliRunner, Result

from verify.cli import main


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])
