"""What a command writes: one writer, which loses nothing that was there.

A command says first what it will read and write, before it works, and is refused at once where a file of its own would
be lost: a document that it reads, an existing file of another kind, or a document that was written by hand. `--force`
replaces those. What is no regular file (a folder, a named pipe) is never replaced.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

import click

from verify.cli.frame import CommandFailed, unwritable
from verify.cli.options import is_given
from verify.pattern.document import Document
from verify.pattern.files import place_of, put
from verify.pattern.recipe import load_any
from verify.pattern.source import DIGEST, Malformed, printable
from verify.pattern.write import as_text
from verify.words.findings import counted

_HEAD = 4096
_STAMP = b"<!-- written by creaseproof -->\n"


@dataclass(frozen=True)
class Kind:
    """A kind of file that commands write: its name; how it begins, and what is anywhere in it (of a document: what it
    must be); what the writer adds so that it is known again.
    """

    name: str
    begins: bytes = b""
    has: bytes = b""
    stamp: bytes = b""
    is_wanted: Callable[[Document], bool] | None = None

    def known(self, path: Path) -> bool:
        if self.is_wanted is not None:
            with suppress(Malformed):
                return self.is_wanted(load_any(path))
            return False
        with path.open("rb") as file:
            if re.match(rb"\s*" + self.begins, file.read(_HEAD), re.S) is None:
                return False
        return not self.has or self.has in path.read_bytes()


PATTERN = Kind("a pattern with creases", is_wanted=lambda d: bool(d.creases))
TARGET = Kind("a target without creases", is_wanted=lambda d: not d.steps and not d.creases)
RECIPE = Kind("a recipe", is_wanted=lambda d: bool(d.steps))
DOCUMENT = Kind("a pattern or a recipe", is_wanted=lambda d: True)
CERTIFICATE = Kind("a certificate", rb'\{\s*"format"\s*:\s*"creaseproof-certificate/')
SVG = Kind("an SVG drawing by creaseproof", rb"(<\?xml|<svg)", _STAMP, _STAMP)
HTML = Kind("a report by creaseproof", rb"<!DOCTYPE html>", _STAMP, _STAMP)
PDF = Kind("a handout by creaseproof", rb"%PDF-", b"creaseproof")
DXF = Kind("a DXF drawing by creaseproof", rb"0\s+SECTION", b"score mountain")
PNG = Kind("a PNG picture", rb"\x89PNG\r\n")
JUNIT = Kind("a JUnit report by creaseproof", rb'.{0,99}<testsuites? name="creaseproof"')
SARIF = Kind("a SARIF report by creaseproof", rb'\{.{0,999}"runs".{0,99}"tool".{0,99}"name": "creaseproof"')
JOURNAL = Kind("a journal of a sweep", rb'\{"document": "')


def output_option(
    words: str, *, required: bool = True, default: Path | None = None, **path: bool
) -> Callable[[Any], Any]:
    """The option `-o`; `words` are its help."""
    place = click.Path(path_type=Path, **path)
    given: dict[str, Any] = {} if default is None else {"default": default}  # to some versions of click None is given
    return click.option("-o", "--output", type=place, required=required, help=words, **given)


certificate_option = click.option("--certificate", type=click.Path(path_type=Path), help="Write its certificate here.")
force_option = click.option(
    "--force",
    is_flag=True,
    expose_value=False,
    help="Replace even files of another kind or written by hand, and the document that is read.",
)


class Outputs:
    """The files that one call of a command writes. `inputs` are those that it reads."""

    def __init__(self, inputs: Iterable[str | Path] = ()) -> None:
        self.inputs = [Path(path) for path in inputs]
        self.force = is_given("force")
        self._expected: dict[Path, tuple[Kind, bool]] = {}
        self._real: set[Path] = set()

    def expect(self, path: Path | None, kind: Kind, *, folder: bool = False) -> None:
        """Refuse now, before the work is done, what `write` would refuse; nothing where there is no path. `folder`: a
        folder was asked for, and is made when the file is written, if it is not there; else the file's own folder must
        be.
        """
        if path is None:
            return
        real = self._allowed(path, kind, folder)
        if real in self._real:
            raise CommandFailed(f"{_said(path)}: found two outputs with this name; expected different names")
        self._real.add(real)
        self._expected[path] = kind, folder

    def expect_named(self, option: str, path: Path, kinds: Mapping[str, Kind]) -> Kind:
        """Expect a file whose kind, one of these, the end of its name says; which it is."""
        kind = kinds.get(path.suffix.lower())
        if kind is None:
            raise click.UsageError(f"{option} {path}: expected a name that ends in {' or '.join(kinds)}")
        self.expect(path, kind)
        return kind

    def expect_certificate(self, given: Path | None, document: str | Path, several: bool = False) -> Path | None:
        """Expect the certificate of a document, and say where it goes: to `given` itself or, where that is a folder, as
        it is for several documents, to a file in it named like the document. None: nowhere.
        """
        if given is None:
            return None
        folder = several or given.is_dir()
        place = given / f"{Path(document).stem}.certificate.json" if folder else given
        self.expect(place, CERTIFICATE, folder=folder)
        return place

    def write(self, path: Path, content: bytes | str) -> None:
        """Write a file that was expected. Raises `CommandFailed`."""
        kind, folder = self._expected[path]
        self._allowed(path, kind, folder)
        data = content if isinstance(content, bytes) else content.encode()
        try:
            if folder:
                path.parent.mkdir(parents=True, exist_ok=True)
            put(path, data + kind.stamp)
        except OSError as error:
            raise unwritable(path, error) from None

    def write_document(self, path: Path | None, document: Document | None, remarks: Iterable[str] = ()) -> None:
        """Write a pattern or a recipe, if there is one and a place for it: TOML, with a digest of it in the first line
        and its notes and the remarks as comments, if the name ends in `.toml`, else JSON.
        """
        if path is not None and document is not None:
            text = as_text(document, path)
            said = "".join(f"# {printable(remark)}\n" for remark in dict.fromkeys([*document.notes, *remarks]))
            self.write(path, _signed(said + text) if path.suffix.lower() == ".toml" else text)

    def write_certificate(self, path: Path | None, certificate: Mapping[str, Any] | None) -> None:
        """Write a certificate, if there is one and a place for it."""
        if path is not None and certificate is not None:
            self.write(path, json.dumps(certificate, separators=(",", ":")) + "\n")

    def _allowed(self, path: Path, kind: Kind, folder: bool) -> Path:
        if path.parts[:1] == ("-",):
            raise CommandFailed(
                "-: found no name of a file or folder; expected one: standard output has the answer alone"
            )
        try:
            real, there = place_of(path)
            if there is None:
                if kind.is_wanted is not None and path.suffix.lower() not in ("", ".toml", ".json"):
                    raise CommandFailed(
                        f"{_said(path)}: found a name that ends in {path.suffix}; expected .toml or .json"
                    )
                if not folder and not real.parent.is_dir():
                    raise FileNotFoundError(2, f"there is no folder {real.parent}")
                return real
            if self.force or not there.st_size:
                return real
            if any(os.path.samefile(real, one) for one in self.inputs if one.exists()):
                raise CommandFailed(f"{_said(path)}: found what this command reads; expected another name, or --force")
            if not kind.known(real):
                raise CommandFailed(
                    f"{_said(path)}: found a file that is not {kind.name}; expected a new name, {kind.name}, "
                    "or --force to replace it"
                )
            if kind.is_wanted is not None and _by_hand(real):
                raise CommandFailed(
                    f"{_said(path)}: found a document that was written or edited by hand; expected a new name, "
                    "or --force to replace it"
                )
        except OSError as error:
            raise unwritable(path, error) from None
        return real


def _by_hand(path: Path) -> bool:
    """Whether a document is not what a command wrote: its text has not the digest of its first line or, without such a
    line, is not laid out as commands write it, with nothing else: no comments, no other order.
    """
    text = path.read_text("utf-8")
    if text.startswith(DIGEST):
        return text != _signed(text.partition("\n")[2])
    return text != as_text(load_any(path), path)


def _signed(text: str) -> str:
    """The text of a TOML document below a line with its digest."""
    return f"{DIGEST}{sha256(text.encode()).hexdigest()}\n{text}"


def _said(path: Path) -> str:
    return printable(str(path))


def to_print(path: Path, pdf: bytes) -> str:
    """What is said of a PDF that was written: how many pages it has (as its tree of pages says), and how to print it
    where a sheet at full size is among them (as its keywords say).
    """
    found = re.search(rb"/Count ([0-9]+) /Kids", pdf)
    pages = f", {counted(int(found[1]), 'page')}" if found else ""
    how = "; print at 100 % and measure the ruler" if b"/Keywords (full size)" in pdf else ""
    return f"written to {_said(path)}{pages}{how}"
