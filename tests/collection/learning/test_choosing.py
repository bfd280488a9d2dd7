"""Rates at the command line and chosen through the store; the back-test in words and as a document."""

import json
from datetime import date

import pytest

from collection.as_of import as_known
from collection.commands import cli
from collection.learning.back_test import back_test
from collection.pipeline import assess
from collection.questions import back_test as words
from collection.questions.learned_rates import RATE_ROWS, cell_words, rate_rows, sentence, years_words
from collection.recording.rates import choose, missing
from collection.risk.inspections import inspections
from collection.risk.rates import RatesTable
from collection.snapshot import SYSTEM_COLUMNS, Collection
from collection.store import Change, Store
from collection.store.engines import PolarsEngine
from tests.collection.learning.builders import one_damage
from tests.collection.learning.test_back_test import CUT, UNTIL, many_objects

ACTIVE = "damage/lifting/active"


def write(store: Store, collection: Collection) -> Store:
    rows = {n: f.drop(*SYSTEM_COLUMNS) for n, f in collection.frames.items() if not f.is_empty()}
    store.write(Change(rows), by="tester")
    return store


@pytest.fixture
def filled(enamels, tmp_path):
    write(Store(tmp_path / "enamels.duckdb"), many_objects())
    return enamels


def known_rows(store: Store):
    known = as_known(store.read(), UNTIL)
    return known, rate_rows(known, inspections(known))


def test_the_command_lists_both_years_with_what_lies_behind_them(filled):
    code, out, _ = filled("rates", "--as-of", "2026-09-30")

    assert code == 0
    assert out.startswith("The checks bear on 1 rate: 20 recorded losses in 720 years watched; none uses")
    assert "judgement, published by nobody" in out
    assert "lifting" in out  # cells of the table are wrapped: its words as a whole are checked as a document below


def test_rates_as_a_document(filled):
    (row,) = json.loads(filled("rates", "--as-of", "2026-09-30", "--json")[1])["rates"]

    assert (row["cell"], row["events"], row["objects"], row["chosen"]) == (ACTIVE, 20, 60, "starting")
    assert row["starting"] == "about 1 year (1 to 3)"
    assert 15 < row["years_likely"] < 60


def test_choosing_is_journalled_and_used_by_the_model(filled, tmp_path):
    code, out, _ = filled(
        "rates", "--as-of", "2026-09-30", "--choose", ACTIVE, "learned", "--by", "Ida", "--why", "720 years"
    )

    store = Store(tmp_path / "enamels.duckdb")
    assert code == 0
    assert "what its own checks say" in out
    own = store.read()["own_rate"].row(0, named=True)
    assert (own["chosen"], own["set_by"], own["why"]) == ("learned", "Ida", "720 years")
    assert own["basis"] == "20 recorded losses in 720 years watched, 60 objects, as of 30 September 2026"
    row = RatesTable.of(store.read()).damage.filter(cell=ACTIVE).row(0, named=True)
    assert row["learned"]
    assert row["years_likely"] == own["years_likely"]
    assert "own_rate" in store.read_journal(record="own_rate")["record_name"].to_list()
    assert known_rows(store)[1]["chosen"].to_list() == ["learned"]


def test_going_back_to_the_starting_value(filled, tmp_path):
    filled("rates", "--as-of", "2026-09-30", "--choose", ACTIVE, "learned", "--by", "Ida", "--why", "w")
    code, out, _ = filled("rates", "--as-of", "2026-09-30", "--choose", ACTIVE, "starting", "--by", "Ida", "--why", "w")

    assert code == 0
    assert "about 1 year (1 to 3): judgement" in out
    assert RatesTable.of(Store(tmp_path / "enamels.duckdb").read()).damage.filter(cell=ACTIVE)["learned"].to_list() == [
        False
    ]


REFUSED = [
    (("nowhere/x/y", "learned"), ("--by", "Ida", "--why", "w"), 5),
    ((ACTIVE, "own"), ("--by", "Ida", "--why", "w"), 2),
    ((ACTIVE, "learned"), ("--by", "Ida"), 2),
]


@pytest.mark.parametrize(("choice", "more", "code"), REFUSED, ids=str)
def test_what_cannot_be_chosen_is_said(filled, tmp_path, choice, more, code):
    got, _, err = filled("rates", "--as-of", "2026-09-30", "--choose", *choice, *more)

    assert got == code
    assert "--choose" in err
    assert Store(tmp_path / "enamels.duckdb").read()["own_rate"].is_empty()


def test_a_stale_choice_is_refused(store):
    write(store, many_objects())
    known, rows = known_rows(store)
    seen = rows.row(0, named=True)

    first = choose(store, known, seen, "learned", by="Ida", why="first", today=UNTIL)
    second = choose(store, known, seen, "starting", by="Ben", why="second", today=UNTIL)

    assert first.startswith("For lifting, active the register now goes by")
    assert "meanwhile" in second
    assert store.read()["own_rate"]["why"].to_list() == ["first"]


def test_what_is_missing_is_asked(store):
    write(store, many_objects())
    row = known_rows(store)[1].row(0, named=True)

    assert missing(row, "learned", by=" ", why="") == "First give your name and say why."
    assert missing(row, "learned", by="Ida", why="w") == ""
    assert "nothing learned" in missing(row | {"years_likely": None}, "learned", by="Ida", why="w")


def test_without_two_checks_the_sentence_says_so():
    known = as_known(one_damage({"on": "2020-01-01"}), UNTIL)

    rows = rate_rows(known, inspections(known))

    assert rows.schema == RATE_ROWS
    assert "no damage was checked twice yet" in sentence(rows)


def test_every_row_of_the_rates_has_words():
    rates = RatesTable.of(Collection.of({}))

    said = [cell_words(cell) for cell in rates.rows["cell"].unique()]

    assert "crizzling, stage 1 or 2, dormant" in said
    assert "join, failing" in said
    assert not [words for words in said if "_" in words]
    assert years_words(0.34, 0.884, 2.41) == "about 0.88 years (0.34 to 2.4)"


def test_the_back_test_as_a_command(filled):
    code, out, _ = filled("backtest", "--from", "2021-09-30", "--years", "5")

    assert code == 0
    assert out.startswith("Five years ago this register expected about ")
    assert "its checks found about 3.3 %, in 60 objects checked before and since." in out
    assert "Objects checked again are not a random choice." in out
    assert "judgement" in out


def test_the_back_test_as_a_document(filled):
    read = json.loads(filled("backtest", "--from", "2021-09-30", "--json")[1])

    assert read["objects"] == 60
    assert read["seen_loss"] == pytest.approx(20 / 60 * 0.1)
    assert {row["by"] for row in read["scores"]} == set(words.BY.values())


@pytest.mark.parametrize("stated", ["yesterday", "2999-01-01"])
def test_a_day_that_cannot_be_tested_is_said(filled, stated):
    code, _, err = filled("backtest", "--from", stated)

    assert code == 2
    assert stated in err


def test_too_few_events_give_no_figure():
    test = back_test(many_objects(6), CUT, UNTIL, lambda c, r: assess(c, r, PolarsEngine()))

    assert words.TOO_FEW in words.score_sentence(test.judged["starting"], "starting")
    assert words.calibration_groups(test).is_empty()
    assert words.scores(test)["skill"].null_count() == 2


def test_where_nothing_was_checked_since_the_sentence_says_so():
    test = back_test(one_damage({"on": "2015-01-01"}), CUT, UNTIL, lambda c, r: assess(c, r, PolarsEngine()))

    assert words.storeroom_sentence(test) == (
        "No object was checked both before and after 30 September 2021: nothing can be compared yet."
    )


def test_the_commands_are_listed():
    assert {"rates", "backtest"} <= set(cli.COMMANDS)
    assert date(2026, 9, 30) == UNTIL
