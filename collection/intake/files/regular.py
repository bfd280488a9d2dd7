"""Only regular files of a stated largest size are read: a pipe would hang for ever, a device never ends."""

import stat
from pathlib import Path

from schemas.errors import RegisterError


def require_regular(path: Path, most_bytes: int, error: type[RegisterError], expected: str) -> None:
    """Raise `error` where there is no such file, it is a folder, pipe or device, or it is larger than `most_bytes`."""
    try:
        found = path.stat()
    except (OSError, ValueError) as why:
        missing = isinstance(why, FileNotFoundError)
        reason = getattr(why, "strerror", None) or str(why)
        what = "there is no such file" if missing else f"the file cannot be opened ({reason})"
        raise error(str(path), what, expected, "Check the name.") from None
    if not stat.S_ISREG(found.st_mode):
        raise error(str(path), "this is no regular file", expected, "Name a file, or copy what it holds into one.")
    if found.st_size > most_bytes:
        what = f"the file has {found.st_size:,} bytes, more than the {most_bytes:,} that are read"
        raise error(str(path), what, expected, "Divide it into smaller files.")
