"""The table of rates: every join finds one row, the museum's own over the starting values, wrong files are said so."""

import polars as pl
import pytest

from collection.risk.parameters import Lines, Row, read
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.errors import VocabularyError
from schemas.terms import Damage
from schemas.vocabularies import terms, vocabulary
from tests.collection.risk.builders import register


def test_every_combination_has_exactly_one_row_and_no_empty_factor():
    rates = RatesTable.of(Collection.of({}))
    activities, stabilities = (len(vocabulary(name).term) for name in ("activity", "stability"))
    stages = sum(1 + len(its.rows_by_stage) for its in terms("damage", Damage).values() if not its.no_hazard)
    uses, materials = (len(vocabulary(name).term) for name in ("repair_function", "repair_material"))

    assert rates.damage.height == stages * activities
    over = rates.repair.filter(pl.col("stage") > 0)
    assert rates.repair.height - over.height == uses * materials * stabilities
    assert set(over.select("term", "state").rows()) == {("covers", "unknown"), ("faces", "unknown")}
    assert rates.damage.select("term", "stage", "state").is_unique().all()
    assert rates.repair.select("term", "material", "state", "stage").is_unique().all()
    only_some = ["moving_years", "spread", "harmed_low", "harmed_likely", "harmed_high"]
    assert rates.rows.drop(only_some).null_count().sum_horizontal().item() == 0
    assert rates.rows["rate_row"].to_list() == list(range(rates.rows.height))


@pytest.mark.parametrize(
    ("chosen", "years", "basis"),
    [("own", 2.0, "eleven years of checks"), ("starting", 1.0, "starting value, judgement")],
)
def test_own_rates_lie_over_the_starting_values_where_the_museum_chose_so(chosen, years, basis):
    own = {"rate_table": "damage", "term": "lifting", "state": "active", "years_likely": 2.0}
    rates = RatesTable.of(register(own_rate=[own | {"chosen": chosen, "basis": "eleven years of checks"}]))

    row = rates.damage.filter(term="lifting", state="active").row(0, named=True)

    assert (row["years_likely"], row["loss_depth"], row["basis"]) == (years, 0.3, basis)


def test_settings_lie_over_the_lines():
    rates = RatesTable.of(register(setting=[{"name": "treat_from", "value": "0.02"}]))

    assert rates.lines.treat_from == 0.02
    assert rates.lines.before_loan_days == read(Lines, "lines", "lines").before_loan_days


def test_a_wrong_figure_is_said_with_its_dotted_key(monkeypatch):
    raw = {"rate": {"crack": {"at_risk": "volume", "sheds": False, "climate": "x", "handling": "y"}}}
    monkeypatch.setattr("collection.risk.parameters.load_parameters", lambda name: raw)

    with pytest.raises(VocabularyError, match=r"rates.toml, rate.crack.at_risk"):
        read(dict[str, Row], "rates", "rate")


def test_a_missing_table_is_said(monkeypatch):
    monkeypatch.setattr("collection.risk.parameters.load_parameters", lambda name: {})

    with pytest.raises(VocabularyError, match="rate is missing"):
        read(dict[str, Row], "rates", "rate")
