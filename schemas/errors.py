"""Every error this project raises on purpose, and the exit code each one ends a command with.

    RegisterError                 1  (never raised itself)
    ├── WrongUsage                2  an option or a mapping that cannot be understood
    │   └── OutputRefused         2  a file that would be written over something, or cannot be written
    ├── SourceRefused             3  a file that gave no row at all
    │   └── Unsettable            3  text that no available font can set
    ├── StoreUnusable             4
    │   ├── StoreEmpty            4  nothing was ever written to it
    │   ├── StoreBusy             4  another process holds the store
    │   ├── StoreTooNew           4  written by a later version of the register
    │   ├── StoreUnwritable       4  the disk is full or read-only, or permission is refused
    │   └── StoreDamaged          4  not a store, or one that cannot be read
    ├── NotFound                  5  asked for something the register does not have
    └── VocabularyError           1  a vocabulary or value file of the register itself is wrong

A bad row is never an error: it is data with a reason (see `collection.validation.problems`).
Every message says where, what, what was expected and what to do.
"""

from dataclasses import dataclass


@dataclass
class RegisterError(Exception):
    """An error a person can act on."""

    where: str
    what: str
    expected: str
    to_do: str

    code = 1

    def __str__(self) -> str:
        """One sentence for each of the four parts, empty ones left out."""
        expected = f" Expected: {self.expected}." if self.expected else ""
        to_do = f" {self.to_do}" if self.to_do else ""
        return f"{self.where}: {self.what}.{expected}{to_do}"

    def as_dict(self) -> dict[str, object]:
        """The error as one JSON document."""
        parts = {"where": self.where, "what": self.what, "expected": self.expected, "to_do": self.to_do}
        return {"error": {"code": self.code, **parts}}


class WrongUsage(RegisterError):
    """An option, address or mapping that cannot be understood."""

    code = 2


class OutputRefused(WrongUsage):
    """A file that would be written over something that is there, or that cannot be written."""


class SourceRefused(RegisterError):
    """A file that gave no row at all."""

    code = 3


class Unsettable(SourceRefused):
    """Text with characters that no available font can set."""


class StoreUnusable(RegisterError):
    """The store cannot be used now."""

    code = 4


class StoreEmpty(StoreUnusable):
    """There is no store yet: no file, or one that nothing was ever written to."""


class StoreBusy(StoreUnusable):
    """Another process holds the store."""


class StoreTooNew(StoreUnusable):
    """The store was written by a later version of the register."""


class StoreUnwritable(StoreUnusable):
    """The store can be read and not written, or not reached: full disk, read-only medium, permission refused."""


class StoreDamaged(StoreUnusable):
    """The file is not a store, or cannot be read."""


class NotFound(RegisterError):
    """Asked for something the register does not have."""

    code = 5


class VocabularyError(RegisterError):
    """A vocabulary or value file of the register itself is wrong."""
