"""Explain of every object of the demonstration recomputes, from its printed JSON alone, to triage's number."""

import json
import math
from itertools import groupby

import pytest
from polars.testing import assert_frame_equal

from collection.commands.cli import run
from collection.commands.output import json_text
from collection.questions.explain import explain
from collection.store import Store, journal


def recomputed(hazards: list[dict[str, object]]) -> float:
    """annual_loss by section 3 of the risk model, from reach, rate and depth alone; areas on one spot lie in each other."""
    total = 0.0
    for _, rows in groupby(sorted(hazards, key=lambda h: str(h["part"])), key=lambda h: h["part"]):
        mine = list(rows)
        apart = [h for h in mine if not h["nested"]]
        left = math.prod(1 - h["reach"] * -math.expm1(-h["loss_rate"] * h["loss_depth"]) for h in apart)
        left *= 1 - on_one_spot([h for h in mine if h["nested"]])
        total += mine[0]["part_share"] * (1 - left)
    return total


def on_one_spot(nested: list[dict[str, object]]) -> float:
    """The nested union: what the smaller place loses is within what the larger has."""
    ordered = sorted(nested, key=lambda h: -h["reach"])
    areas = [*(h["reach"] for h in ordered), 0.0]
    lost, kept = 0.0, 1.0
    for place, h in enumerate(ordered):
        kept *= math.exp(-h["loss_rate"] * h["loss_depth"])
        lost += (areas[place] - areas[place + 1]) * (1 - kept)
    return lost


def test_every_object_is_explained_to_the_last_digits(ranked):
    with_hazards = 0
    for object_id, annual_loss in ranked.objects.select("object_id", "annual_loss").iter_rows():
        printed = json.loads(json_text(explain(ranked, object_id)))
        if printed:
            with_hazards += 1
            assert sum(h["contribution"] for h in printed) == pytest.approx(1, abs=1e-9)
            assert recomputed(printed) == pytest.approx(annual_loss, rel=1e-9, abs=1e-15)
            assert all(h["words"] for h in printed)
        else:
            assert annual_loss == 0

    assert with_hazards > 200


def test_the_list_holds_every_object_once(ranked):
    assert sorted(ranked.objects["object_id"]) == sorted(ranked.collection["object"]["object_id"])


def test_the_command_prints_what_triage_ranks_by(brought_in, capsys, ranked):
    first = ranked.objects["object_id"][0]

    assert run(["explain", "--json", "--as-of", "2026-09-30", "--store", str(brought_in.store.path), "--", first]) == 0
    printed = json.loads(capsys.readouterr().out)

    assert recomputed(printed["hazards"]) == pytest.approx(ranked.objects["annual_loss"][0], rel=1e-9)
    assert "judgement" in printed["rates_are"]


def test_the_journal_replayed_gives_the_whole_demonstration(brought_in):
    replayed = journal.replay(brought_in.store.read_journal())

    for name, frame in brought_in.store.read().frames.items():
        assert_frame_equal(frame, replayed[name], check_row_order=False)


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_the_whole_demonstration_goes_out_and_comes_back_byte_for_byte(brought_in, tmp_path, form):
    first = brought_in.store.publish(tmp_path / "one", form)
    other = Store(tmp_path / "other.duckdb")
    other.import_package(tmp_path / "one")

    assert other.publish(tmp_path / "two", form).rows() == first.rows()
