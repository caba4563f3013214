"""What `recipe` and `steps` write: a recipe and its certificate, if it was certified; and what they say of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from verify.cli.output import CERTIFICATE, RECIPE, Outputs, certificate_path, output_option
from verify.pattern.document import Document
from verify.pattern.recipe import Recipe
from verify.tasks.certify import Result
from verify.tasks.explain import summary

_output_option = output_option("Write the recipe here (.toml or .json).", required=False)
_certificate_option = click.option("--certificate", type=click.Path(path_type=Path), help="Write its certificate here.")


def recipe_options(command: Callable[..., Any]) -> Any:
    """`-o` and `--certificate`."""
    return _output_option(_certificate_option(command))


class RecipeFiles:
    """Where a recipe and its certificate go; None: nowhere. `beside` is what the certificate is named after else."""

    def __init__(self, outputs: Outputs, output: Path | None, certificate: Path | None, beside: str) -> None:
        self.outputs, self.output, self.certificate, self.in_folder = outputs, output, certificate, False
        if output is not None:
            outputs.expect(output, RECIPE)
        if certificate is not None:
            self.certificate, self.in_folder = certificate_path(certificate, output or beside)
            outputs.expect(self.certificate, CERTIFICATE, folder=self.in_folder)

    def write(self, recipe: Recipe | None, result: Result | None) -> None:
        """Write what there is."""
        if self.output is not None and recipe is not None:
            self.outputs.write_document(self.output, recipe)
        if self.certificate is not None and result is not None and result.certificate is not None:
            self.outputs.write_certificate(self.certificate, result.certificate, folder=self.in_folder)

    def summary(self, document: Document, recipe: Recipe, result: Result) -> Iterator[str]:
        """What is said of a recipe that was found for a document: it has the name of its file."""
        source = str(self.output) if self.output is not None else document.source
        yield from summary(replace(result, document=replace(recipe, base=replace(recipe.base, source=source))))
