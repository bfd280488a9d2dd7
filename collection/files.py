"""Files read and written with care: what may be read, where an output may go, and whole files or none."""

import errno
import fcntl
import hashlib
import os
import shutil
import stat
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from schemas.errors import OutputRefused, SourceRefused

GIB = 2**30
# The largest file of any kind that is read whole: beyond it a workbook or table belongs in parts.
MOST_BYTES = 2 * GIB
DRAFT = ".part"
_READ_WRITE = 0o666
_REASONS = {
    errno.ENOSPC: ("the disk is full", "Make room, or name another place."),
    errno.EDQUOT: ("the quota on this disk is used up", "Make room, or name another place."),
    errno.EROFS: ("the medium is read-only", "Name a place that can be written to."),
    errno.EACCES: ("permission is refused", "Ask for the right to it, or name another place."),
    errno.EPERM: ("permission is refused", "Ask for the right to it, or name another place."),
    errno.ENAMETOOLONG: ("the name is too long", "Choose a shorter name."),
    errno.ENOENT: ("there is no such file or folder", "Look at the spelling of the path."),
    errno.ENOTDIR: ("a part of the path is a file, not a folder", "Look at the spelling of the path."),
    errno.EEXIST: ("a file is where a folder should be", "Look at the spelling of the path."),
    errno.EISDIR: ("this is a folder", "Name a file."),
    errno.EILSEQ: ("the name cannot be written on this disk", "Choose another name."),
    errno.EIO: ("the disk reports an error", "Look at the disk before anything else, then try again."),
}


def digest(path: Path) -> str:
    """SHA-256 of a file, as 64 hexadecimal digits."""
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def digest_of_bytes(data: bytes) -> str:
    """SHA-256 of bytes, as 64 hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def reason(error: OSError) -> tuple[str, str]:
    """What an error of the operating system means, and what to do about it."""
    named = _REASONS.get(error.errno or 0)
    return named or ((error.strerror or str(error)).lower(), "Look at the path and the disk, then try again.")


@contextmanager
def output_errors(path: Path) -> Iterator[None]:
    """Raise OutputRefused in place of any OSError of the block, for the output at `path`."""
    try:
        yield
    except OSError as error:
        what, to_do = reason(error)
        raise OutputRefused(str(path), f"this cannot be written: {what}", "", to_do) from None


def require_source(path: Path, most_bytes: int = MOST_BYTES) -> None:
    """Raise SourceRefused for anything that is no regular file, and for one of more than `most_bytes` bytes."""
    try:
        status = os.stat(path)
    except (OSError, ValueError) as error:
        what, to_do = reason(error) if isinstance(error, OSError) else ("this is no path", "Look at the spelling.")
        raise SourceRefused(str(path), what, "a file that can be read", to_do) from None
    if not stat.S_ISREG(status.st_mode):
        what = "this is a folder" if stat.S_ISDIR(status.st_mode) else "this is a device or a pipe, not a file"
        raise SourceRefused(str(path), what, "a file", "Name a file.")
    if status.st_size > most_bytes:
        what = f"the file has {status.st_size:,} bytes"
        raise SourceRefused(str(path), what, f"at most {most_bytes:,} bytes", "Divide it, and bring in the parts.")


def read_source(path: Path, most_bytes: int = MOST_BYTES) -> bytes:
    """The bytes of a regular file. Raises SourceRefused where it is none, is larger, or cannot be read."""
    require_source(path, most_bytes)
    try:
        with path.open("rb") as handle:
            data = handle.read(most_bytes + 1)
    except OSError as error:
        what, to_do = reason(error)
        raise SourceRefused(str(path), f"this cannot be read: {what}", "", to_do) from None
    if len(data) > most_bytes:  # it has grown since it was looked at
        raise SourceRefused(str(path), "the file is growing while it is read", "", "Wait until it is whole.")
    return data


def require_free(
    path: Path, *, store: Path | None, sources: Iterable[Path] = (), replace: Callable[[Path], bool] | bool = False
) -> None:
    """Raise OutputRefused unless an output may be written to `path`.

    No output is ever written onto the store or its log, onto one of the `sources`, onto a folder, device or pipe, or
    onto a file that is there. `replace` may allow the last: True, or a function that says whether the file is ours.
    """
    with output_errors(path):
        for other, name in [*_of_store(store), *((source, "a file that is read") for source in sources)]:
            if _is_same(path, other):
                raise OutputRefused(str(path), f"this is {name}", "a file of its own", "Name another file.")
        if not os.path.lexists(path):
            return
        kind = os.stat(path).st_mode if path.exists() else os.lstat(path).st_mode
        if not stat.S_ISREG(kind):
            what = "this is a folder" if stat.S_ISDIR(kind) else "this is a device, a pipe or a broken link"
            raise OutputRefused(str(path), what, "the name of a new file", "Name another file.")
    if not (replace(path) if callable(replace) else replace):
        raise OutputRefused(str(path), "a file of this name is there", "the name of a new file", "Name another file.")


def _of_store(store: Path | None) -> list[tuple[Path, str]]:
    if store is None:
        return []
    return [(store, "the store"), (store.parent / f"{store.name}.wal", "the log of the store")]


def _is_same(one: Path, other: Path) -> bool:
    """The same file, by whatever name or link; a file that is not there yet is compared by its name."""
    with suppress(OSError):
        return os.path.samefile(one, other)
    return os.path.realpath(one) == os.path.realpath(other)


@contextmanager
def draft_of(target: Path, *, mode: int | None = None) -> Iterator[Path]:
    """A private, empty file beside `target` to write to; it is removed at the end if it is still there.

    The name cannot be guessed and nothing at it is followed. While the block runs the draft is held by a lock, so that
    `clear_drafts` can tell a draft in work from one that a killed process left. `mode`: permissions; else those of the
    target, else those a new file gets.
    """
    handle, name = tempfile.mkstemp(prefix=f".{_short(target.name)}.", suffix=DRAFT, dir=target.parent)
    draft = Path(name)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        os.fchmod(handle, mode_of(target) if mode is None else mode)
        yield draft
    finally:
        draft.unlink(missing_ok=True)
        os.close(handle)


@contextmanager
def draft_folder(target: Path) -> Iterator[Path]:
    """A private, empty folder beside `target`, held by a lock as `draft_of` holds a file, and removed at the end."""
    folder = Path(tempfile.mkdtemp(prefix=f".{_short(target.name)}.", suffix=DRAFT, dir=target.parent))
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        os.close(handle)


def _short(name: str) -> str:
    """A name that leaves room for what makes it unique; 255 bytes is the most common limit."""
    return os.fsdecode(os.fsencode(name)[:200]).replace("\udcff", "")


def mode_of(path: Path, usual: int = _READ_WRITE) -> int:
    """Permissions of what is at a path, else those that a new file gets."""
    with suppress(OSError):
        return stat.S_IMODE(os.stat(path).st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return usual & ~mask


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Write a file whole or not at all: the block writes to the path given, which then takes the place of `path`.

    Raises OutputRefused where the disk is full, read-only, or may not be written to.
    """
    with output_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        with draft_of(path) as draft:
            yield draft
            sync(draft)
            os.replace(draft, path)
            sync(path.parent)


def write_whole(path: Path, data: bytes) -> None:
    """Write bytes to a file, whole or not at all. Raises OutputRefused."""
    with replacing(path) as draft:
        draft.write_bytes(data)


def sync(path: Path) -> None:
    """Have the disk hold what was written to a file, or the names in a folder."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def clear_drafts(folder: Path, name_begins: str) -> None:
    """Remove drafts whose name begins so and that no process holds: a kill left them."""
    for draft in [*folder.glob(f".{_glob_safe(name_begins)}*{DRAFT}")]:
        if not _is_abandoned(draft):
            continue
        if draft.is_dir():
            shutil.rmtree(draft, ignore_errors=True)
        else:
            draft.unlink(missing_ok=True)
            draft.with_name(f"{draft.name}.wal").unlink(missing_ok=True)


def _is_abandoned(draft: Path) -> bool:
    try:
        handle = os.open(draft, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    finally:
        os.close(handle)
    return True


def put_new(draft: Path, target: Path) -> None:
    """Give a draft the name `target`, at which nothing may be. Raises FileExistsError, or another OSError."""
    try:
        os.link(draft, target, follow_symlinks=False)
    except OSError as error:
        if error.errno not in (errno.EPERM, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EMLINK):
            raise
        if os.path.lexists(target):  # a disk without links: looking first is the best there is
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from None
        os.rename(draft, target)
    sync(target.parent)


def _glob_safe(text: str) -> str:
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in text)
