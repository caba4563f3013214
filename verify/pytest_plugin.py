"""A pytest plugin for whoever maintains documents, or a program that writes them.

With `creaseproof_documents` in the ini file, patterns of files relative to it, each document that fits is a test: it
passes if the document is certified. A pattern that no file fits is an error. The fixture `certified` does the same for
what a test makes: a document, a mapping with its keys, or a path. What fails says the finding; `--creaseproof-pictures
FOLDER` draws it, too. Without that nothing is written.

    [tool.pytest.ini_options]
    creaseproof_documents = ["patterns/*.toml"]
    creaseproof_seconds = "60"       # the limit of each search for a layer order

    def test_my_generator(certified):
        result = certified(my_generator(7))     # fails with the reason unless it is certified
        assert result.cutting.most_layers <= 12
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from verify.pattern.document import Document
    from verify.pattern.limits import Limits
    from verify.pattern.recipe import Recipe
    from verify.tasks.certify import Result


class DocumentNotCertified(Exception):
    """A document that is not certified: verdict, findings, and where a picture is; or malformed, and where."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addini("creaseproof_documents", "documents that must be certified (glob patterns)", type="args", default=[])
    parser.addini("creaseproof_seconds", "limit of each search for a layer order", default="60")
    group = parser.getgroup("creaseproof")
    group.addoption(
        "--creaseproof-pictures", metavar="FOLDER", help="draw documents that are not certified into this folder"
    )


def pytest_configure(config: pytest.Config) -> None:
    """Fail at once, and not at each document, for a limit that is none, or documents that are none."""
    _limits(config)
    root = _root(config)
    for pattern in config.getini("creaseproof_documents"):
        if Path(pattern).is_absolute() or next(root.rglob(pattern), None) is None:
            raise pytest.UsageError(
                f"creaseproof_documents: found {pattern!r}, which no file in {root} fits; expected patterns of files: "
                'creaseproof_documents = ["patterns/*.toml"] in pyproject.toml, patterns/*.toml alone in pytest.ini'
            )


def _root(config: pytest.Config) -> Path:
    """The folder of the ini file."""
    return config.inipath.parent if config.inipath else config.rootpath


def _limits(config: pytest.Config) -> Limits:
    from verify.pattern.limits import Limits

    text = str(config.getini("creaseproof_seconds"))
    try:
        return Limits(seconds=float(text))
    except ValueError:
        raise pytest.UsageError(f"creaseproof_seconds: found {text!r}; expected a number of seconds above 0") from None


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    patterns = parent.config.getini("creaseproof_documents")
    try:
        relative = file_path.relative_to(_root(parent.config))
    except ValueError:
        return None
    if any(relative.match(pattern) for pattern in patterns) and not file_path.name.endswith(".certificate.json"):
        return DocumentFile.from_parent(parent, path=file_path)
    return None


class DocumentFile(pytest.File):
    """One document, one test."""

    def collect(self) -> Iterator[pytest.Item]:
        yield DocumentItem.from_parent(self, name="certified")


class DocumentItem(pytest.Item):
    """Passes if the document is certified."""

    def runtest(self) -> None:
        check(self.path, self.config)

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        if isinstance(excinfo.value, DocumentNotCertified):
            return str(excinfo.value)
        return super().repr_failure(excinfo, style)

    def reportinfo(self) -> tuple[Path, int, str]:
        return self.path, 0, f"document {self.path.name}"


def check(source: Document | Recipe | Mapping[str, Any] | str | Path, config: pytest.Config) -> Result:
    """Certify; `DocumentNotCertified` with the reasons (and a picture, if that was asked for) if it is not, or cannot
    be understood.
    """
    from verify.pattern.recipe import load_any, read_any
    from verify.pattern.source import Malformed
    from verify.tasks.certify import certify

    try:
        if isinstance(source, Mapping):
            source = read_any(source)
        elif isinstance(source, str | Path):
            source = load_any(source)
        result = certify(source, _limits(config))
    except Malformed as error:
        raise DocumentNotCertified(f"malformed: {error}") from None
    if result.verdict != "certified":
        reasons = [f.message for f in result.findings if f.level == "fails" or f.check == "limit"]
        lines = [f"{result.verdict}: {source.title or source.source}", *(f"  {reason}" for reason in reasons)]
        lines += [f"  picture: {path}" for path in _pictures(result, config)]
        raise DocumentNotCertified("\n".join(lines))
    return result


def _pictures(result: Result, config: pytest.Config) -> list[Path]:
    """The picture of a result, drawn into the folder that was asked for; none without one."""
    folder = config.getoption("creaseproof_pictures")
    if folder is None:
        return []
    from verify.pattern.files import put
    from verify.show.picture import pattern_svg

    path = Path(folder) / f"{Path(result.document.source).stem or 'document'}-{result.statement_sha256[:8]}.svg"
    path.parent.mkdir(parents=True, exist_ok=True)
    put(path, pattern_svg(result).encode())
    return [path]


@pytest.fixture
def certified(request: pytest.FixtureRequest) -> Callable[[Any], Result]:
    """A function that certifies a document, a mapping with its keys, or a path, and fails the test unless it is
    certified.
    """

    def function(source: Any) -> Result:
        __tracebackhide__ = True
        try:
            return check(source, request.config)
        except DocumentNotCertified as error:
            reason = str(error)
        pytest.fail(reason, pytrace=False)

    return function
