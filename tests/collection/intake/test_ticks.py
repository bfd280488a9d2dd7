"""Lists that tick damage: a mark under a heading is a damage of the kind that the mapping names."""

import polars as pl
import pytest

from collection.store import Change, Store

HEADINGS = 'N = "object_id"\n'
TICKS = '[ticks]\n"Lifting" = "damage:lifting"\n"Loose" = "damage: Lifting"\n"Cracks" = "damage:crack"\n'
CATALOGUE = f'record = "object"\n[columns]\n{HEADINGS}Remark = "condition_remark"\n{TICKS}'
CHECKS = f'record = "condition_check"\n[columns]\n{HEADINGS}Day = "checked_on"\nSeen = "summary_observed"\n{TICKS}'


@pytest.fixture
def with_mapping(bring_in, write_csv, tmp_path):
    """Bring in lines of a file with the text of a mapping."""

    def bring(mapping: str, name: str, *lines: str):
        (tmp_path / "m.toml").write_text(mapping, "utf-8")
        return bring_in(write_csv(name, *lines), mapping=tmp_path / "m.toml")

    return bring


def seen(store) -> list[tuple[str, ...]]:
    """Object, kind, check and note of each observation."""
    held = store.read()
    return lines_of(held["observation"], held["damage"])


def lines_of(observations, damage) -> list[tuple[str, ...]]:
    lines = observations.join(damage, on="damage_id").sort("check_id", "kind")
    return lines.select("object_id", "kind", "check_id", "note").rows()


@pytest.fixture(scope="module")
def one_object(tmp_path_factory):
    """A register with one object."""
    store = Store(tmp_path_factory.mktemp("one") / "enamels.duckdb")
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="tester")
    return store.read()


@pytest.mark.parametrize("mark", ["x", "X", " x ", "1", "ja", "JA", "yes", "oui", "✓"])
def test_a_mark_in_a_list_of_checks_is_a_damage_of_its_kind(mark, judge, write_csv, tmp_path, one_object):
    (tmp_path / "m.toml").write_text(CHECKS, "utf-8")
    path = write_csv("c.csv", "N,Day,Lifting,Cracks", f"V.1,2021-04-03,{mark},no")

    judged = judge(path, mapping=tmp_path / "m.toml", held=one_object)

    assert lines_of(judged.rows("observation"), judged.rows("damage")) == [
        ("V.1", "lifting", "V.1/2021-04-03", "Lifting")
    ]


def test_a_damage_that_is_ticked_again_is_one_damage_with_two_observations(with_mapping, store):
    with_mapping('record = "object"\n[columns]\nN = "object_id"\n', "o.csv", "N", "V.1")
    with_mapping(CHECKS, "c.csv", "N,Day,Lifting", "V.1,2021-04-03,x")
    with_mapping(CHECKS, "d.csv", "N,Day,Lifting", "V.1,2022-04-03,x")

    assert store.read()["damage"]["first_seen_on"].to_list() == ["2021-04-03"]
    assert [line[2] for line in seen(store)] == ["V.1/2021-04-03", "V.1/2022-04-03"]


def test_words_and_ticks_of_one_check_tell_of_a_damage_once(with_mapping, store):
    with_mapping('record = "object"\n[columns]\nN = "object_id"\n', "o.csv", "N", "V.1")

    with_mapping(CHECKS, "c.csv", "N,Day,Seen,Lifting,Cracks", "V.1,2021-04-03,lifting,x,x")

    assert [line[:3] for line in seen(store)] == [
        ("V.1", "crack", "V.1/2021-04-03"),
        ("V.1", "lifting", "V.1/2021-04-03"),
    ]


def test_marks_in_a_catalogue_are_damage_of_a_check_without_words(with_mapping, store):
    with_mapping(CATALOGUE, "o.csv", "N,Remark,Lifting,Loose", "V.1,,x,x", "V.2,cracked,,x", "V.3,,,0", "V.4,cracked,,")

    assert [line[:3] for line in seen(store)] == [
        ("V.1", "lifting", "V.1/remark"),
        ("V.2", "crack", "V.2/remark"),
        ("V.2", "lifting", "V.2/remark"),
        ("V.4", "crack", "V.4/remark"),
    ]
    assert seen(store)[0][3] == "Lifting, Loose"
    checks = store.read()["condition_check"].sort("check_id")
    assert checks["check_id"].to_list() == ["V.1/remark", "V.2/remark", "V.4/remark"]
    assert checks["look"].n_unique() == 1


def test_a_cell_that_is_no_mark_is_no_damage_and_is_said(with_mapping, store):
    result = with_mapping(CATALOGUE, "o.csv", "N,Lifting,Cracks", "V.1,at the rim,", "V.2,nein,-")

    assert store.read()["damage"].is_empty()
    assert result.unread.cells.select("column", "rule", "cells", "examples").rows() == [
        ("Lifting", "tick_not_read", 1, ["at the rim"])
    ]
    assert result.unread.headings == {}


def test_ticks_are_remembered(with_mapping, bring_in, write_csv, store):
    with_mapping(CATALOGUE, "o.csv", "N,Lifting", "V.1,")

    bring_in(write_csv("p.csv", "N,Lifting", "V.2,x"))

    assert [line[:2] for line in seen(store)] == [("V.2", "lifting")]


def test_ticks_of_rows_that_are_held_unchanged_are_used(with_mapping, store):
    with_mapping(CATALOGUE, "o.csv", "N,Remark", "V.1,cracked", "V.2,")

    with_mapping(CATALOGUE, "p.csv", "N,Remark,Lifting", "V.1,cracked,x", "V.2,,x")

    assert [line[:3] for line in seen(store)] == [
        ("V.1", "crack", "V.1/remark"),
        ("V.1", "lifting", "V.1/remark"),
        ("V.2", "lifting", "V.2/remark"),
    ]
    remarks = store.read()["condition_check"].sort("check_id")["summary_observed"].to_list()
    assert remarks == ["cracked", None], "a tick takes nothing away"


def test_ticks_of_a_check_that_is_held_unchanged_are_used(with_mapping, store):
    with_mapping('record = "object"\n[columns]\nN = "object_id"\n', "o.csv", "N", "V.1")
    with_mapping(CHECKS, "c.csv", "N,Day", "V.1,2021-04-03")

    with_mapping(CHECKS, "d.csv", "N,Day,Lifting", "V.1,2021-04-03,x")

    assert [line[:3] for line in seen(store)] == [("V.1", "lifting", "V.1/2021-04-03")]


def test_ticks_that_came_before_change_nothing(with_mapping, store):
    lines = ("N,Remark,Lifting", "V.1,cracked,x", "V.2,,x")
    with_mapping(CATALOGUE, "o.csv", *lines)
    before = store.read()

    done = with_mapping(CATALOGUE, "again.csv", *lines)

    assert not done.written.added
    assert not done.written.changed
    assert store.read()["observation"].equals(before["observation"])
