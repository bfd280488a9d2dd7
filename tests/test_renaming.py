"""Code names no term: every term renamed, in vocabularies, language files and the demonstration's own files, and the
demonstration brought in again, gives the same numbers, classes and order."""

import csv
import io
import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter

from collection.intake import languages
from collection.intake.mapping.headings import plain
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.pipeline import held_or_empty, open_files
from collection.store import Store
from collection.validation.cell_values import term_words
from demo_collection import manifest
from schemas.fields import FromVocabulary
from schemas.tables import RECORDS
from schemas.vocabularies import folder, vocabularies

MARK = "zz_"
# Fields of the value files that hold words or the names of functions, never terms.
NO_TERMS = {
    "label",
    "definition",
    "source",
    "status",
    "at_risk",
    "shape",
    "rule",
    "words",
    "culture_words",
    "of",
    "text",
    "keep",
    "because",
    "handling_row",
    "hours_of",
    "title",
}

# Tables whose keys are names of their own, though some are spelt like a term.
NO_TERMS_UNDER = {"vocabulary", "shape", "area_mm2", "rule"}

RUN = """
import json, sys
from pathlib import Path
from collection import pipeline
from collection.commands import demo
from collection.commands.output import json_text
from collection.settings import as_of_day
from collection.store import Store
from demo_collection import manifest
manifest.FILES = Path(sys.argv[1])
store = Store(Path(sys.argv[2]))
if not store.path.exists():
    demo.build(store)
found = pipeline.assess_store(store, lambda c: as_of_day(None, c))
rows = found.objects.drop("look").join(found.collection["object"].select("object_id", "height_mm"), on="object_id")
print(json_text(rows))
"""


def renamed(value: object, terms: set[str], key: str = "", every: bool = False) -> object:
    """`every`: keys with a plain value are terms too, as in the table of grades."""
    if isinstance(value, dict):
        return {
            MARK + k
            if k in terms and (every or isinstance(v, dict | list)) and key not in NO_TERMS_UNDER
            else k: renamed(v, terms, k, every or k == "grade_floor" or (key, k) == ("remark_odds", "damage"))
            for k, v in value.items()
        }
    if isinstance(value, list):
        return [renamed(item, terms, key, every) for item in value]
    return MARK + value if isinstance(value, str) and value in terms and key not in NO_TERMS else value


def inline(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(inline, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def rewrite_toml(source: Path, target: Path, terms: set[str]) -> None:
    target.mkdir()
    for path in source.glob("*.toml"):
        whole = renamed(tomllib.loads(path.read_text("utf-8")), terms)
        (target / path.name).write_text("\n".join(f"{json.dumps(k)} = {inline(v)}" for k, v in whole.items()), "utf-8")


def rewrite_cells(headings: list[str], rows: list[list[object]], mapping: ColumnMap) -> list[list[object]]:
    """Cells of columns that hold terms: each term, in whatever word it was written, becomes the renamed term."""
    held = {c.name: c.mark(FromVocabulary).vocabulary for c in RECORDS[mapping.record].marked(FromVocabulary)}
    of_column = {i: held[mapping.columns[h]] for i, h in enumerate(headings) if mapping.columns.get(h) in held}

    def word(name: str, text: str) -> str:
        key = term_words(name).get(plain(text))
        return MARK + key if key else text

    return [
        [
            ";".join(word(of_column[i], p) for p in str(c).split(";")) if i in of_column and c else c
            for i, c in enumerate(row)
        ]
        for row in rows
    ]


def rewrite_files(target: Path) -> None:
    target.mkdir()
    for delivery in manifest.DELIVERIES:
        for path in delivery.paths:
            sources = open_files([path], held_or_empty(Store(target / "none.duckdb")), delivery.record).sources
            write = rewrite_workbook if path.suffix == ".xlsx" else rewrite_csv
            write(path, target / path.name, {s.first.name: s.mapping for s in sources})
    for name in manifest.CLIMATE_FILES:
        (target / name).write_bytes((manifest.FILES / name).read_bytes())


def rewrite_csv(source: Path, target: Path, maps: dict[str, ColumnMap]) -> None:
    (mapping,) = maps.values()
    text = source.read_bytes().decode("utf-8-sig", "replace")
    delimiter = ";" if text.split("\n")[0].count(";") > text.split("\n")[0].count(",") else ","
    terms = {c.name for c in RECORDS[mapping.record].marked(FromVocabulary)}
    if not terms & set(mapping.columns.values()):
        target.write_bytes(source.read_bytes())  # a catalogue's words are the language files' business
        return
    lines = text.split("\n")
    at = next(i for i, line in enumerate(lines) if set(parsed(line, delimiter)) & set(mapping.columns))
    headings = parsed(lines[at], delimiter)
    kept = [line if i <= at else rewrite_line(line, delimiter, headings, mapping) for i, line in enumerate(lines)]
    target.write_text("\n".join(kept), "utf-8", newline="")


def parsed(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line.rstrip("\r")], delimiter=delimiter, strict=True), [])
    except csv.Error:
        return []


def rewrite_line(line: str, delimiter: str, headings: list[str], mapping: ColumnMap) -> str:
    """A line that is no whole, clean record stays as it is: the planted mistakes must stay mistakes."""
    cells = parsed(line, delimiter)
    if len(cells) != len(headings):
        return line
    (changed,) = rewrite_cells(headings, [cells], mapping)
    if changed == cells:
        return line
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="").writerow(changed)
    return out.getvalue()


def rewrite_workbook(source: Path, target: Path, maps: dict[str, ColumnMap]) -> None:
    book = openpyxl.load_workbook(source)
    with xlsxwriter.Workbook(target) as out:
        for sheet in book.worksheets:
            rows = [
                ["" if c is None else str(c).removesuffix(" 00:00:00") for c in row]
                for row in sheet.iter_rows(values_only=True)
            ]
            if sheet.title in maps:
                at = next(i for i, row in enumerate(rows) if set(row) & set(maps[sheet.title].columns))
                rows = [*rows[: at + 1], *rewrite_cells(rows[at], rows[at + 1 :], maps[sheet.title])]
            page = out.add_worksheet(sheet.title)
            for line, row in enumerate(rows):
                for column, cell in enumerate(row):
                    if cell:
                        page.write_string(line, column, str(cell))


@pytest.fixture(scope="module")
def both(
    tmp_path_factory: pytest.TempPathFactory, demonstration: Store
) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    work = tmp_path_factory.mktemp("renamed")
    terms = {term for its in vocabularies().values() for term in its.term}
    rewrite_toml(folder(), work / "vocabularies", terms)
    rewrite_toml(Path(languages.__file__).parent / "languages", work / "languages", terms)
    rewrite_files(work / "files")
    plain_run = answer(manifest.FILES, demonstration.path, {})
    other = {"ENAMELS_VOCABULARIES": str(work / "vocabularies"), "ENAMELS_LANGUAGES": str(work / "languages")}
    return plain_run, answer(work / "files", work / "b.duckdb", other)


def answer(files: Path, store: Path, environment: dict[str, str]) -> list[dict[str, object]]:
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(files), str(store)],
        env=os.environ | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def test_the_demonstration_in_other_words_has_the_same_order_and_numbers(both):
    before, after = both

    assert [r["object_id"] for r in before] == [r["object_id"] for r in after]
    for one, other in zip(before, after, strict=True):
        assert MARK + str(one.pop("attention")) == other.pop("attention")
        assert {k: v for k, v in one.items() if not isinstance(v, float)} == {
            k: v for k, v in other.items() if not isinstance(v, float)
        }
        for key in (k for k, v in one.items() if isinstance(v, float)):
            assert other[key] == pytest.approx(one[key], rel=1e-12)
