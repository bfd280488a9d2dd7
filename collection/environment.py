"""What this computer's environment says; read without the register's declarations, so that help comes at once."""

import os
from dataclasses import dataclass
from pathlib import Path

from schemas.errors import WrongUsage

DEFAULT_STORE = Path("enamels.duckdb")


@dataclass(frozen=True)
class Environment:
    """What the environment says, read when it is asked: ENAMELS_STORE, ENAMELS_PERSON, ENAMELS_LANGUAGES,
    ENAMELS_FONTS, ENAMELS_TRACE. (ENAMELS_VOCABULARIES is read by `schemas.vocabularies`.)
    """

    store: Path | None
    person: str | None
    languages: Path | None
    fonts: Path | None
    trace: bool

    @classmethod
    def read(cls) -> "Environment":
        """The environment now. Raises WrongUsage for a folder that is not there."""
        text = {name: os.environ.get(f"ENAMELS_{name}", "").strip() for name in ("STORE", "PERSON", "TRACE")}
        return cls(
            store=Path(text["STORE"]) if text["STORE"] else None,
            person=text["PERSON"] or None,
            languages=_folder("ENAMELS_LANGUAGES"),
            fonts=_folder("ENAMELS_FONTS"),
            trace=bool(text["TRACE"]),
        )


def _folder(name: str) -> Path | None:
    stated = os.environ.get(name)
    if stated and not Path(stated).is_dir():
        raise WrongUsage(name, f"there is no folder {stated}", "a folder", "Correct the variable or unset it.")
    return Path(stated) if stated else None
