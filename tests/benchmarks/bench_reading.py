"""What is read of invented phrases in nine languages: right, wrong, silent and said so, silent and unsaid.

python tests/benchmarks/bench_reading.py [--show]

Three files of phrases: `tuned.txt`, by which the rules were mended; `hold_out.txt`, written before the last mending and
not used for it; `other_languages.txt`, columns in languages that are not read, of which nothing may be concluded.
All phrases are invented in the words of the trade: common practice, no source.
"""

import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import polars as pl

from collection.intake import languages
from collection.intake.text.clauses import FLAGGED, NOT_ON_METAL, NOT_READ
from collection.intake.text.dates import read_dates
from collection.intake.text.dimensions import read_sizes
from collection.intake.text.grades import read_grades
from collection.intake.text.materials import AMBIGUOUS, read_materials
from collection.intake.text.remarks import read_remarks
from schemas.vocabularies import vocabulary

PHRASES = Path(__file__).parent / "reading_phrases"
SIZES = ("height_mm", "width_mm", "depth_mm", "diameter_mm")
OUTCOMES = ("right", "wrong", "silent and said", "silent and unsaid")
INEXACT, UNSAID_KIND = "~", "?"
ALL = languages.load()
UNSPECIFIED = {None, *vocabulary("technique").terms_where("unspecified")}


class Phrase(NamedTuple):
    """One line of a file of phrases."""

    language: str
    reading: str
    text: str
    right: str


class Answer(NamedTuple):
    """What is right of one field, what was read of it, and whether the reader said that it does not know."""

    field: str
    right: Any
    read: Any
    doubted: bool = False


def phrases(path: Path) -> list[Phrase]:
    """Every phrase of a file; lines that begin with # are notes."""
    lines = path.read_text("utf-8").splitlines()
    return [Phrase(*line.split("|")) for line in lines if line and not line.startswith("#")]


def of_materials(phrase: Phrase) -> Iterator[Answer]:
    """Whether it is enamel on metal; technique, metal and finish where it is."""
    row = read_materials(pl.DataFrame({"materials_text": [phrase.text]}), ALL).row(0, named=True)
    outside = row["verdict"] == NOT_ON_METAL
    doubted = row["verdict"] in {NOT_READ, FLAGGED}
    yield Answer("enamel or not", phrase.right == "outside", None if doubted else outside, doubted)
    asked = doubted or row["unknown_words"] is not None
    read = row["technique"][-1] if row["technique"] else None
    read = None if asked and read in UNSPECIFIED else read
    if phrase.right == "outside":
        return
    technique, metal, finish = (None if w == "-" else w for w in phrase.right.split(", "))
    yield Answer("technique", technique, technique if technique in UNSPECIFIED and read is None else read, asked)
    yield Answer("metal", metal, row["base_metal"], asked or row["certainty"] == AMBIGUOUS)
    yield Answer("finish", finish, row["metal_finish"], doubted)


def of_dates(phrase: Phrase) -> Iterator[Answer]:
    """First and last year, and whether they are exact where that is asked; no year read is listed by intake, and so are
    years beside an unknown word."""
    row = read_dates(pl.DataFrame({"date_text": [phrase.text]}), ALL).row(0, named=True)
    read = (row["earliest_year"], row["latest_year"])
    right = tuple(int(year) if year else None for year in phrase.right.rstrip(INEXACT).split(".."))
    asked = read == (None, None) or row["word_beside"] is not None
    believed = None if read == (None, None) or (asked and read != right) else read
    if phrase.right.endswith(INEXACT):
        believed = believed and (*believed, row["date_circa"])
        right = (*right, True)
    yield Answer("years", right, believed, asked)


def of_sizes(phrase: Phrase) -> Iterator[Answer]:
    """Height, width, depth and diameter in mm."""
    row = read_sizes(pl.DataFrame({"dimensions_text": [phrase.text]}), ALL).row(0, named=True)
    for name, text in zip(SIZES, phrase.right.split(" x "), strict=True):
        yield Answer("sizes", None if text == "-" else float(text), row[name], row["size_left"] or all(row[n] is None for n in SIZES))


def of_remarks(phrase: Phrase) -> Iterator[Answer]:
    """Damage with its activity, and repairs."""
    row = read_remarks(pl.Series([phrase.text]), ALL).row(0, named=True)
    kinds, repairs = (sorted(w for w in part.strip().split(", ") if w) for part in phrase.right.split("+"))
    states = dict(zip(row["kinds"], row["activities"], strict=True))
    asked = {kind.split("=")[0]: kind for kind in kinds}
    read = sorted(f"{kind}={state}" if "=" in asked.get(kind, "") else kind for kind, state in states.items())
    nothing = row["doubted"] or row["partly"] or not (row["kinds"] or row["repair_materials"])
    read = sorted([*read, *([UNSAID_KIND] if row["unsaid"] else [])])
    yield Answer("damage", kinds or None, read or None, nothing)
    yield Answer("repairs", repairs or None, sorted(row["repair_materials"]) or None, nothing)


def of_grades(phrase: Phrase) -> Iterator[Answer]:
    """The grade; one that is not read stays a word that intake lists as none of its terms."""
    read = read_grades(pl.Series([phrase.text]), ALL)[0]
    yield Answer("grade", phrase.right if phrase.right != "-" else None, read, read is None)


READERS = {"m": of_materials, "d": of_dates, "s": of_sizes, "r": of_remarks, "g": of_grades}


def outcome(answer: Answer) -> str:
    """One of `OUTCOMES`."""
    if answer.read == answer.right:
        return "right"
    if isinstance(answer.right, list) and isinstance(answer.read, list) and set(answer.read) < set(answer.right):
        return "silent and said" if answer.doubted else "silent and unsaid"  # some of what is named
    if answer.read is not None and not (answer.field == "metal" and answer.doubted):
        return "wrong"
    return "silent and said" if answer.doubted else "silent and unsaid"


def measure(path: Path, show: bool) -> None:
    """Print the counts of a file by language and by field, and each answer that is not right."""
    counts: dict[str, Counter[str]] = {}
    for phrase in phrases(path):
        for answer in READERS[phrase.reading](phrase):
            result = outcome(answer)
            for name in (phrase.language, answer.field, "all"):
                counts.setdefault(name, Counter())[result] += 1
            if show and result != "right":
                print(
                    f"  {phrase.language} {phrase.text}: {answer.field} {answer.read}, right {answer.right} ({result})"
                )
    print(f"{path.stem:<16}{'n':>6}" + "".join(f"{name:>20}" for name in OUTCOMES))
    for name, its in sorted(counts.items()):
        print(f"{name:<16}{its.total():>6}" + "".join(f"{its[result]:>20}" for result in OUTCOMES))


if __name__ == "__main__":
    for part in ("tuned", "hold_out"):
        measure(PHRASES / f"{part}.txt", "--show" in sys.argv and part == "tuned")
