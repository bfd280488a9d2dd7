"""Fonts a report is set in: Typst's own, those of the extra `fonts`, a museum's folder. Never those of the machine.

A character that none of them has is found before the page is set; nothing is ever printed as a box.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import typst

from collection.documents.words import words
from collection.environment import Environment

PROBE = "#set text(font: json(bytes(sys.inputs.fonts)), fallback: false)\n#sys.inputs.text"
STANDARD: "typst.PDFStandards" = ["a-3a"]
LACKING = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}|\\(.)")


@dataclass(frozen=True)
class FontSet:
    """Fonts, and the order in which a character is looked for in them."""

    fonts: typst.Fonts
    families: tuple[str, ...]

    def lacking(self, characters: frozenset[str]) -> frozenset[str]:
        """Those characters that none of the fonts has."""
        return frozenset(c for c in characters if not self._has(characters)[c])

    def _has(self, characters: frozenset[str]) -> Mapping[str, bool]:
        known = _KNOWN.setdefault(self.families, {})
        unknown = "".join(sorted(c for c in characters if c not in known))
        if unknown:
            lacking = _probe(self, unknown)
            known.update((c, c not in lacking) for c in unknown)
        return known


# What was found of each set of fonts in this process: characters are few, reports are many.
_KNOWN: dict[tuple[str, ...], dict[str, bool]] = {}


def _probe(fonts: FontSet, text: str) -> set[str]:
    inputs = {"fonts": as_json(fonts.families), "text": "\n".join(text)}
    try:
        typst.compile(PROBE.encode(), font_paths=fonts.fonts, sys_inputs=inputs, pdf_standards=STANDARD)
    except typst.TypstError as error:
        lacking = characters_in(error)
        if not lacking:
            raise
        return lacking
    return set()


def characters_in(error: typst.TypstError) -> set[str]:
    """Characters that Typst says it could not set; none where the error is about something else."""
    quoted = LACKING.findall(error.diagnostic) + LACKING.findall(error.message)
    return {c for text in quoted for c in ESCAPED.sub(_unescaped, text)}


def _unescaped(match: re.Match[str]) -> str:
    return chr(int(match[1], 16)) if match[1] else {"n": "\n", "r": "\r", "t": "\t"}.get(match[2], match[2])


def as_json(families: tuple[str, ...]) -> str:
    """Names of fonts, as the template reads them."""
    return "[" + ",".join(f'"{name}"' for name in families) + "]"


@cache
def font_set(folder: str | None = None) -> FontSet:
    """Fonts there are; `folder` is a museum's own (else ENAMELS_FONTS names it)."""
    own = Path(folder) if folder else Environment.read().fonts
    return fonts_in((*extra_folders(), *([own] if own else [])))


def extra_folders() -> tuple[Path, ...]:
    """Where the packages of the extra `fonts` lie, those that are installed."""
    specs = (find_spec(name) for name in words()["fonts"]["packages"])
    return tuple(Path(spec.origin).parent for spec in specs if spec and spec.origin)


def fonts_in(folders: tuple[Path, ...]) -> FontSet:
    """Typst's own fonts and those in some folders, never the machine's: every machine sets the same page."""
    order = words()["fonts"]
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=list(folders))
    there = sorted(name for name in set(fonts.families()) if name not in order["never"])
    first = [name for name in order["first"] if name in there]
    last = [name for name in order["last"] if name in there]
    middle = [name for name in there if name not in (*first, *last)]
    return FontSet(fonts, (*first, *middle, *last))
