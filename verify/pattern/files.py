"""Files put in place whole: the only writer of files here."""

from __future__ import annotations

import errno
import os
import stat
from contextlib import suppress
from pathlib import Path

_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a named pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


def place_of(path: str | Path) -> tuple[Path, os.stat_result | None]:
    """Where a file of that name really lies, symbolic links followed, and its state; None if it is not there.

    Raises OSError if something is there that is no regular file, or that must not be written.
    """
    real = Path(os.path.realpath(path))
    try:
        state = real.stat()
    except FileNotFoundError:
        return real, None
    if not stat.S_ISREG(state.st_mode):
        found = next((name for is_kind, name in _KINDS if is_kind(state.st_mode)), "something else")
        raise OSError(errno.EINVAL, f"found {found}; expected a regular file", str(path))
    if not os.access(real, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
    return real, state


def put(path: str | Path, content: bytes) -> None:
    """Write `content` to the file `path`: all of it, or nothing.

    It is written to a new file in the same folder, which then takes the place of the old one: a full disk, or a crash,
    leaves the old file as it was. Symbolic links are followed; the old file's mode is kept, and its owner where that is
    allowed. Another hard link to the old file keeps the old content. Raises OSError, also for what is no regular file.
    """
    real, old = place_of(path)
    half = real.with_name(f".creaseproof-{os.urandom(6).hex()}.part")
    mode = 0o666 if old is None else stat.S_IMODE(old.st_mode)
    try:
        with open(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as out:
            if old is not None:
                _own(half, old)
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        half.replace(real)
    finally:
        with suppress(OSError):
            half.unlink()


def _own(path: Path, old: os.stat_result) -> None:
    """Owner and mode as they were; who may not give a file away keeps it."""
    if hasattr(os, "chown"):
        with suppress(OSError):
            os.chown(path, old.st_uid, old.st_gid)
    path.chmod(stat.S_IMODE(old.st_mode))
