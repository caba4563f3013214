"""What the commands share: exit statuses, progress, options, and how a failure is said."""

from __future__ import annotations

import errno
import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from importlib import import_module
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from verify.cli.options import Decimal, is_given
from verify.errors import NotInstalled
from verify.pattern.limits import LimitReached, Limits, Progress
from verify.pattern.source import NotRead, printable
from verify.version import __version__

if TYPE_CHECKING:
    from verify.tasks.certify import Result

EXIT = {"certified": 0, "refuted": 1, "malformed": 2, "undecided": 3, "unsupported": 4, "internal": 70}
_STOPPED, _UNREAD = 130, 141  # as shells have it: stopped by Ctrl-C, or no one reads on; no verdicts
_UNWRITABLE = {errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOSPC, errno.EDQUOT, errno.ENOTDIR}
_WIDE = 160
_COUNTS = ("panels", "folds", "layers", "tried")


class CommandFailed(click.ClickException):
    """The command could not be carried out: a file cannot be written, an extra is not installed. No verdict: status 2,
    never 1.
    """

    exit_code = 2


def unwritable(path: str | Path, error: OSError) -> CommandFailed:
    return CommandFailed(f"{printable(str(path))}: cannot be written: {error.strerror or error}")


class _Command(click.Command):
    """A command that returns a verdict, or its exit status. What could not be read is said alike by all of them."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        given = [*args]
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            dashed = next((printable(one) for one in given if one.startswith("-") and os.path.isfile(one)), None)
            if dashed is None:
                raise
            said = error.format_message().rstrip(".")
            raise click.UsageError(f"{said}; the file {dashed} is written ./{dashed}", ctx) from None

    def invoke(self, ctx: click.Context) -> NoReturn:
        try:
            came_to = super().invoke(ctx)
        except NotRead as error:
            given = [ctx.params[one.name] for one in self.params if isinstance(one, click.Argument) and one.name]
            named = [str(path) for one in given for path in (one if isinstance(one, tuple) else (one,))]
            keys = malformed_keys(error.source if error.source in named else named[0], error)
            came_to = error.verdict
            tell(keys, [f"{came_to}: {error}"])
        except LimitReached as limit:  # before the command could say more of it
            from verify.words.findings import answer, of_limit

            came_to = "undecided"
            tell(answer(came_to, of_limit(limit)), [f"{came_to}: {limit}"])
        ctx.exit(EXIT.get(came_to, came_to))


class _Group(click.Group):
    """Commands that are imported when they are wanted, and whose unforeseen errors end with exit status 70.

    `modules` has the module of each command; importing it adds the command. `says`: what is said of each in their list.
    """

    command_class = _Command

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.modules: dict[str, str] = {}
        self.says: dict[str, str] = {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(self.modules)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in self.modules:
            import_module(self.modules[cmd_name])
        return super().get_command(ctx, cmd_name)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            from verify.pattern.document import perhaps  # seldom needed

            raise click.UsageError(error.message.rstrip(".") + perhaps(args[0], self.modules), ctx) from None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Each command with the first sentence of its help, none of them imported."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, self.says[name]) for name in self.list_commands(ctx)])

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nothing is left to be flushed at the end
            raise click.exceptions.Exit(_UNREAD) from None
        except NotInstalled as error:
            raise CommandFailed(str(error)) from None
        except KeyboardInterrupt:
            click.echo("stopped", err=True)
            raise click.exceptions.Exit(_STOPPED) from None
        except Exception as error:
            if isinstance(error, OSError) and error.errno in _UNWRITABLE:
                raise unwritable(error.filename or "standard output", error) from None
            if os.environ.get("CREASEPROOF_TRACE"):
                raise
            click.echo(
                f"internal error: {type(error).__name__}: {error}\n"
                "This is a bug in creaseproof, and no verdict. Set CREASEPROOF_TRACE=1 to see where it happened.",
                err=True,
            )
            raise click.exceptions.Exit(EXIT["internal"]) from None


@contextmanager
def reporting(what: str) -> Iterator[Progress | None]:
    """A line on standard error that says for how long it has been going on, and what is being done to `what`; nothing
    when that is not a terminal.
    """
    if not sys.stderr.isatty():
        yield None
        return
    from rich import progress  # slow to load
    from rich.console import Console

    name = Path(what).name
    words = progress.TextColumn("{task.description}", markup=False)
    columns = progress.SpinnerColumn(), progress.TimeElapsedColumn(), words
    with progress.Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(name, total=None)
        yield lambda message: shown.update(task, description=f"{name}: {message}")


def _say_table(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> None:
    """A table on standard output: counts to the right, all else to the left; what is too long goes on below. Off a
    terminal the names in the second column are whole.
    """
    from rich.console import Console  # slow to load
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    terminal = sys.stdout.isatty()
    for head in heads:
        whole = head == heads[1] and not terminal
        table.add_column(head, justify="right" if head in _COUNTS else "left", overflow="fold", no_wrap=whole)
    for row in rows:
        table.add_row(*map(printable, row))
    width = None if terminal else _WIDE + max(len(name) for _, name, *_ in rows)
    console = Console(width=width, highlight=False, markup=False)
    with console.capture() as printed:
        console.print(table)
    for line in printed.get().splitlines():
        click.echo(line.rstrip())


def with_notes(lines: Iterable[str], notes: Iterable[str]) -> Iterator[str]:
    """The lines of an answer, with notes right below the first two: the verdict, and of what."""
    told = iter(lines)
    yield from islice(told, 2)
    yield from (f"  note: {note}" for note in notes)
    yield from told


Table = tuple[tuple[str, ...], Sequence[tuple[str, ...]]]


def tell(keys: Mapping[str, Any], lines: Iterable[str], table: Table | None = None) -> None:
    """The answer on standard output: with `--json` one JSON object, else a table (its heads and its rows) and lines."""
    as_json = is_given("as_json")
    if table is not None and not as_json:
        _say_table(*table)
    for line in [json.dumps(keys)] if as_json else map(printable, lines):
        click.echo(line)


def worst(verdicts: Iterable[str]) -> str:
    """The verdict that several documents come to."""
    return max(verdicts, key=EXIT.__getitem__)


def in_numbers(verdicts: Sequence[str], with_warnings: int) -> str:
    """How many documents have which verdict."""
    told = ", ".join(f"{verdicts.count(verdict)} {verdict}" for verdict in EXIT if verdict in verdicts)
    return told + (f"; {with_warnings} with warnings" if with_warnings else "")


json_option = click.option(
    "--json", "as_json", is_flag=True, expose_value=False, help="One JSON object on standard output."
)  # for `tell`


def seconds_for(what: str, default: float | None = None) -> Callable[[Any], Any]:
    """The option `--seconds`; `what` it does is its help."""
    return click.option("--seconds", type=Decimal("seconds", 10**9), default=default, help=what)


seconds_option = seconds_for("Give up searching, or carrying out a recipe, after this time (undecided).")


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"], "show_default": True})
@click.version_option(__version__, prog_name="creaseproof")
def main() -> None:
    """Prove that a crease pattern folds flat and that one straight cut frees exactly the target.

    Exit status: 0 certified, 1 refuted, 2 malformed, 3 undecided, 4 unsupported, 70 internal error.
    """


def malformed_keys(path: str, error: NotRead) -> dict[str, Any]:
    from verify.words.findings import Finding, answer

    value = {"found": error.found, "expected": error.expected, "line": error.line}
    where = (error.place,) if error.place else ()
    finding = Finding("document", error.verdict, "fails", str(error), where, value)
    return answer(error.verdict, finding, document=path)


def certified(path: str, seconds: float | None, label: str = "") -> Result:
    """The result for a document, whatever its verdict, with the repairs that would mend it. Raises `Malformed`."""
    from verify.tasks.certify import certify
    from verify.tasks.repair import with_repairs

    limits = Limits(seconds=seconds)
    with reporting(label or path) as progress:
        return with_repairs(certify(path, limits, progress), limits)
