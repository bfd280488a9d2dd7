"""The engine seam: one definition, the same result, and no engine that quietly works in the other."""

from dataclasses import replace

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.as_of import as_known
from collection.pipeline import assess
from collection.questions.triage import in_order
from collection.risk.climate import HOURS, Targets, outside
from collection.risk.handling import moves
from collection.risk.hazards import HAZARDS, hazards
from collection.risk.inspections import inspections, known, looks
from collection.risk.object_risk import RISK, object_risk
from collection.risk.quiet import quiet
from collection.risk.rates import RatesTable
from collection.store.engines import READ, DuckDBEngine, PolarsEngine
from tests.benchmarks.made_up import AS_OF, made_up


@pytest.fixture(scope="module")
def small():
    return as_known(made_up(2_000, 12_000, 3_000), AS_OF)


@pytest.mark.parametrize("engine", [PolarsEngine(), PolarsEngine(streaming=True), DuckDBEngine()], ids=lambda e: e.name)
def test_both_engines_give_the_schemas(engine, small):
    risk = assess(small, RatesTable.of(small), engine)

    assert risk.hazards.schema == HAZARDS
    assert risk.objects.schema == RISK
    assert risk.objects.height == small["object"].height


def test_both_engines_give_the_same_rows_in_the_same_order(small):
    rates = RatesTable.of(small)
    one, other = (assess(small, rates, engine) for engine in (PolarsEngine(), DuckDBEngine()))

    assert_frame_equal(one.hazards.sort("hazard_id"), other.hazards.sort("hazard_id"), rel_tol=1e-12)
    ordered = [
        in_order(risk.objects.with_columns(attention=pl.lit(None, pl.String), turn=pl.lit(0))) for risk in (one, other)
    ]
    assert_frame_equal(*ordered, rel_tol=1e-9)
    assert ordered[0]["object_id"].to_list() == ordered[1]["object_id"].to_list()


def test_duckdb_stays_a_relation_until_it_is_collected(small, monkeypatch):
    rates, engine = RatesTable.of(small), DuckDBEngine()
    checks = inspections(small)
    hours = pl.DataFrame(schema=HOURS)
    beside = {
        "outside": outside(small, checks, hours, rates),
        "moves": moves(small),
        "quiet": quiet(small, checks, rates),
        "held": Targets(small, hours).held(looks(checks), rates.lines.dormant_outside_share),
        "known": known(small, checks, looks(checks), rates),
    }
    tables = rates.tables()
    frames = {name: small[name] for name in READ}

    def refused(*args, **kwargs):
        raise AssertionError("Polars ran during the DuckDB run")

    monkeypatch.setattr(pl.LazyFrame, "collect", refused)
    f = {**engine.to_lazy(frames), **engine.to_lazy({**tables, **beside})}
    found = hazards(f, rates, f["outside"])
    risk = object_risk(found, f["known"], rates)

    assert isinstance(found.to_native(), duckdb.DuckDBPyRelation)
    assert isinstance(risk.to_native(), duckdb.DuckDBPyRelation)
    assert engine.collect(risk).height == small["object"].height


def test_order_is_equal_on_100_000_objects_with_equal_hazards():
    """Every object has the same two damages: only the number of the object can order them."""
    ids = [f"O{(i * 7919) % 100_000:06d}" for i in range(100_000)]
    known_ = pl.DataFrame({"object_id": ids}).with_columns(
        location_id=pl.lit(None, pl.String),
        look=pl.lit("inspection"),
        last_checked_on=pl.lit(AS_OF),
        value_share=1 / pl.len(),
        value_assumed=pl.lit(False),
        unchecked_loss=pl.lit(0.0),
    )
    alike = _alike(ids)
    order = []
    for engine in (PolarsEngine(), DuckDBEngine()):
        g = engine.to_lazy({"hazards": alike, "objects": known_})
        risk = engine.collect(object_risk(g["hazards"], g["objects"], RatesTable.of(made_up(1, 2, 1))))
        order.append(in_order(risk.with_columns(attention=pl.lit(None, pl.String), turn=pl.lit(0))))

    assert order[0]["object_id"].to_list() == sorted(ids)
    assert order[0].select("object_id", "annual_loss").equals(order[1].select("object_id", "annual_loss"))


def _alike(ids):
    """Three hazards an object in two parts, the same for all, in shuffled rows."""
    parts = pl.DataFrame(
        {"part": ["a", "a", "b"], "log_kept": [-0.1, -0.003, -0.0000007], "part_share": [0.3, 0.3, 0.7]}
    )
    every = pl.DataFrame({"object_id": ids}).join(parts, how="cross").sample(fraction=1, shuffle=True, seed=3)
    plain = {"years_short": 1.0, "years_long": 3.0, "affected_low": 0.1, "affected_high": 0.3, "loss_rate": 0.3}
    flags = dict.fromkeys(("state_assumed", "share_assumed", "area_assumed", "area_estimated"), False)
    plain |= {"mean_log_kept": -0.1}
    rest = {"reach": 0.3, "loss_depth": 0.3, "extent_basis": "measured"}
    return every.with_columns(pl.lit(value).alias(name) for name, value in (plain | flags | rest).items())


def test_a_folder_of_published_parquet_gives_the_same(small, tmp_path):
    rates = RatesTable.of(small)
    for name in READ:
        small.frames[name].write_parquet(tmp_path / f"{name}.parquet")
    results = []
    for engine in (PolarsEngine(streaming=True), DuckDBEngine()):
        f = {**engine.frames(tmp_path), **engine.to_lazy({**rates.tables(), **_nothing_beside(small, rates)})}
        results.append(engine.collect(hazards(f, rates, f["outside"])).sort("hazard_id"))

    expected = assess(small, rates, PolarsEngine()).hazards.sort("hazard_id")
    for result in results:
        assert_frame_equal(result, expected, rel_tol=1e-12)


def _nothing_beside(collection, rates):
    nobody = pl.DataFrame(schema={"object_id": pl.String})
    return {
        "outside": outside(collection, inspections(collection), pl.DataFrame(schema=HOURS), rates),
        "moves": moves(collection),
        "quiet": quiet(collection, inspections(collection), rates),
        "held": nobody,
    }


@pytest.mark.parametrize("engine", [PolarsEngine(), DuckDBEngine()], ids=lambda e: e.name)
def test_withdrawn_rows_are_not_read(engine, small):
    damage = small.frames["damage"]
    gone = damage.with_columns(withdrawn_on=pl.lit(AS_OF))
    emptied = replace(small, frames={**small.frames, "damage": gone, "repair": small.frames["repair"].clear()})

    risk = assess(emptied, RatesTable.of(small), engine)

    assert risk.hazards.is_empty()
    assert risk.objects["annual_loss"].sum() == 0
