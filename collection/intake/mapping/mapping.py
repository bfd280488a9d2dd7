"""Which heading means which column, in which unit, and what a file writes for *unknown*: shown, edited, reused."""

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from schemas.errors import WrongUsage
from schemas.tables import RECORDS

# Headings whose text is read for several columns at once; they are targets of a mapping beside an object's own columns.
PROSE = ("materials_text", "classification_text", "date_text", "dimensions_text", "object_type_text", "location_text")
TAKE_ANYWAY = "take_anyway"  # where a person overrules the reading *not enamel on metal*
OBJECT = RECORDS["object"].name
UNSAID = ""  # the heading is known to be left out, or the unit is known not to be stated


@dataclass(frozen=True)
class ColumnMap:
    """`columns`: heading to column (empty: left out); the rest by column."""

    record: str
    columns: Mapping[str, str]
    units: Mapping[str, str] = field(default_factory=dict)  # a unit, or the order of a date such as dd/mm/yyyy
    unknown: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    decimal_comma: tuple[str, ...] = ()

    def headings_of(self, column: str) -> list[str]:
        """Headings that fill this column, in the order of the file."""
        return [heading for heading, target in self.columns.items() if target == column]

    def as_toml(self) -> str:
        """The mapping as a person edits it."""
        lines = [f"record = {_quoted(self.record)}", f"decimal_comma = {json.dumps(list(self.decimal_comma))}", ""]
        lines += ["[columns]", *(f"{_quoted(h)} = {_quoted(t)}" for h, t in self.columns.items()), ""]
        lines += ["[units]", *(f"{c} = {_quoted(u)}" for c, u in self.units.items()), ""]
        lines += ["[unknown]", *(f"{c} = {json.dumps(list(w), ensure_ascii=False)}" for c, w in self.unknown.items())]
        return "\n".join(lines) + "\n"


class _Written(BaseModel):
    model_config = ConfigDict(extra="forbid")
    record: str
    columns: dict[str, str]
    units: dict[str, str] = {}
    unknown: dict[str, tuple[str, ...]] = {}
    decimal_comma: tuple[str, ...] = ()


def targets(record: str) -> tuple[str, ...]:
    """Every column a heading may be mapped to."""
    own = tuple(c.name for c in RECORDS[record].columns)
    return own + ((*PROSE, TAKE_ANYWAY) if record == OBJECT else ())


def as_toml(maps: Mapping[str, ColumnMap]) -> str:
    """Mappings of one or several sheets as one file to edit and to give to `--mapping`."""
    if len(maps) == 1:
        return next(iter(maps.values())).as_toml()
    return "\n".join(_table(f"sheet.{_quoted(name)}", made.as_toml()) for name, made in maps.items())


def _table(prefix: str, text: str) -> str:
    lines = (f"[{prefix}.{line[1:]}" if line.startswith("[") else line for line in text.splitlines())
    return "\n".join([f"[{prefix}]", *lines]) + "\n"


def load(path: Path) -> Mapping[str, ColumnMap]:
    """Read mappings that a person saved, by name of sheet (empty: for any sheet).

    Raises WrongUsage with the place and what was expected there.
    """
    try:
        whole = tomllib.loads(path.read_text("utf-8-sig"))
        written = {name: _Written.model_validate(raw) for name, raw in whole.get("sheet", {UNSAID: whole}).items()}
    except FileNotFoundError:
        raise WrongUsage(
            str(path), "there is no such mapping", "a mapping saved by `enamels intake`", "Check the name."
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        raise WrongUsage(str(path), f"the mapping cannot be read ({error})", "TOML", "Mend the line named.") from None
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"]))
        raise WrongUsage(str(path), f"{where}: {first['msg']}", "", "Mend the entry named.") from None
    made = {name: ColumnMap(**one.model_dump()) for name, one in written.items()}
    for one in made.values():
        _check(str(path), one)
    return made


def _check(where: str, made: ColumnMap) -> None:
    if made.record not in RECORDS:
        raise WrongUsage(where, f"record '{made.record}' does not exist", ", ".join(RECORDS), "Choose one of them.")
    known = targets(made.record)
    wrong = [
        t for t in {*made.columns.values(), *made.units, *made.unknown, *made.decimal_comma} if t and t not in known
    ]
    if wrong:
        what = f"'{sorted(wrong)[0]}' is not a column of {made.record}"
        raise WrongUsage(where, what, ", ".join(known), "Choose one of them, or leave it empty.")


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
