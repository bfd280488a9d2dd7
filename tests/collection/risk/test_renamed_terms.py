"""Code names no term: every term renamed in the vocabularies and in the data gives the same numbers, classes and order."""

import json
import tomllib

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.as_of import as_known
from collection.attention.classify import attention
from collection.pipeline import assess
from collection.risk.rate_rows import UNSTABLE
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store.engines import PolarsEngine
from schemas.fields import FromVocabulary
from schemas.tables import RECORDS
from schemas.vocabularies import folder, load_parameters, vocabularies
from tests.benchmarks.made_up import AS_OF, made_up

# Fields of the value files that hold words or the names of functions, never terms.
NO_TERMS = {
    "handling_row",
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
    "hours_of",
}


def new(term):
    return f"x_{term}"


def names_a_term(name, value, terms, inside):
    """A table of a term, the odds of one, or a row for one over unstable glass."""
    of_term = name in terms and inside not in ("vocabulary", "rule") and (isinstance(value, dict) or inside == "damage")
    return of_term or name.removesuffix(UNSTABLE) in terms - {name}


def renamed(value, terms, key="", inside=""):
    """A value file with each term renamed, as key of a table and as value."""
    if isinstance(value, dict):
        return {new(k) if names_a_term(k, v, terms, key) else k: renamed(v, terms, k, key) for k, v in value.items()}
    if isinstance(value, list):
        return [renamed(item, terms, key) for item in value]
    return new(value) if isinstance(value, str) and value in terms and key not in NO_TERMS else value


def inline(value):
    """A value as TOML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(inline, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


@pytest.fixture
def other_words(tmp_path, monkeypatch):
    """The folder of vocabularies with every term renamed, in use while the test runs."""
    terms = {term for its in vocabularies().values() for term in its.term}
    for path in folder().glob("*.toml"):
        whole = renamed(tomllib.loads(path.read_text("utf-8")), terms)
        (tmp_path / path.name).write_text(
            "\n".join(f"{json.dumps(k)} = {inline(v)}" for k, v in whole.items()), "utf-8"
        )

    def use():
        monkeypatch.setenv("ENAMELS_VOCABULARIES", str(tmp_path))
        load_parameters.cache_clear()
        vocabularies.cache_clear()

    yield use
    monkeypatch.undo()
    load_parameters.cache_clear()
    vocabularies.cache_clear()


def in_other_words(collection):
    """The same data with each term renamed, in columns that hold terms."""
    frames = {}
    for name, frame in collection.frames.items():
        held = RECORDS[name].marked(FromVocabulary)
        each = pl.concat_str(pl.lit("x_"), pl.element())
        frames[name] = frame.with_columns(
            pl.col(c.name).list.eval(each) if c.several else ("x_" + pl.col(c.name)).alias(c.name) for c in held
        )
    return Collection((), frames)


def answer(collection):
    known = as_known(collection, AS_OF)
    rates = RatesTable.of(known)
    risk = assess(known, rates, PolarsEngine())
    return risk, attention(risk, known, rates)


def test_every_term_renamed_gives_the_same_numbers_and_classes(other_words):
    collection = made_up(1_500, 9_000, 2_000)
    risk, classes = answer(collection)

    other_words()
    other, renamed_classes = answer(in_other_words(collection))

    assert_frame_equal(other.objects.drop("look"), risk.objects.drop("look"), rel_tol=1e-12)
    told = renamed_classes.with_columns(pl.col("attention").str.strip_prefix("x_"))
    assert_frame_equal(told.sort("object_id"), classes.sort("object_id"))
