"""What is read of invented phrases in nine languages: right, wrong, silent and said so, silent and unsaid.

python tests/benchmarks/bench_reading.py [--show]

Three files of phrases: `tuned.txt`, by which the rules were mended; `hold_out.txt`, written before the last mending, with
what came of it at first sight; `other_languages.txt`, columns in languages that are not read, of which nothing may be concluded.
All phrases are invented in the words of the trade: common practice, no source.
"""

import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import polars as pl

from collection.intake import languages
from collection.intake.opening import open_files
from collection.intake.pipeline import examine
from collection.intake.text.clauses import FLAGGED, NOT_ON_METAL, NOT_READ
from collection.intake.text.dates import read_dates
from collection.intake.text.dimensions import read_sizes
from collection.intake.text.materials import AMBIGUOUS, read_materials
from collection.intake.text.remarks import read_grades, read_remarks
from collection.snapshot import Collection
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
    if phrase.right == "outside":
        return
    technique, metal, finish = (None if w == "-" else w for w in phrase.right.split(", "))
    asked = doubted or row["unknown_words"] is not None
    read = row["technique"][-1] if row["technique"] else None
    silent = asked and read in UNSPECIFIED and technique not in UNSPECIFIED  # that there is enamel, and a question
    yield Answer("technique", technique, None if silent else read, asked)
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
        yield Answer(
            "sizes",
            None if text == "-" else float(text),
            row[name],
            row["size_left"] or all(row[n] is None for n in SIZES),
        )


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


HEADINGS = {"m": "Material", "d": "Date", "r": "Condition"}


def measure_columns(path: Path) -> None:
    """Print what a museum's list in each other language comes to: rows put outside, dates with a word that are exact and
    unsaid, damage that was read, and which share of the words of each column is known."""
    listed = [
        Phrase(*line.split("|"), "") for line in path.read_text("utf-8").splitlines() if line[:1] not in ("", "#")
    ]
    print(f"{'other languages':<16}{'rows':>6}{'outside':>9}{'exact':>7}{'damage':>8}  words known")
    for language in dict.fromkeys(phrase.language for phrase in listed):
        columns = {h: [p.text for p in listed if p[:2] == (language, r)] for r, h in HEADINGS.items()}
        rows = max(map(len, columns.values()))
        padded = {h: texts + [None] * (rows - len(texts)) for h, texts in columns.items()}
        print(
            f"{language:<16}{rows:>6}{_of_columns(pl.DataFrame({'Inv. no.': [f'A.{n}' for n in range(rows)], **padded}))}"
        )


def _of_columns(cells: pl.DataFrame) -> str:
    """Counts of one list as intake reads it."""
    with tempfile.TemporaryDirectory() as folder:
        cells.write_csv(Path(folder) / "list.csv")
        held = Collection.of({})
        examined = examine(open_files([Path(folder) / "list.csv"], held), held, by="benchmark", with_readings=True)
    answer = examined.answer
    asked = answer.problems.filter(pl.col("rule").str.starts_with("date_"))["source_row"]
    dated = answer.readings.filter(pl.any_horizontal(pl.col("earliest_year", "latest_year").is_not_null()))
    worded = cells.with_row_index("source_row", 2).filter(pl.col("Date").str.contains(r"\p{L}"))["source_row"]
    exact = dated.filter(pl.col("source_row").is_in(worded.implode()), ~pl.col("source_row").is_in(asked.implode()))
    damage = examined.change.rows.get("damage", pl.DataFrame()).height
    known = ", ".join(f"{column} {share:.0%}" for column, share in answer.unread.words["column", "share_known"].rows())
    return f"{answer.files['outside'].sum():>9}{exact.height:>7}{damage:>8}  {known}"


if __name__ == "__main__":
    for part in ("tuned", "hold_out"):
        measure(PHRASES / f"{part}.txt", "--show" in sys.argv and part == "tuned")
    measure_columns(PHRASES / "other_languages.txt")
