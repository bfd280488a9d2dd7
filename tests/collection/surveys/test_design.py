"""Drawing by every design: how many, with what chance, and that the chances add up to all there are."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.surveys.design import FRAME, Design, drawn, groups, wanted

HALF_OF_ALL = Design("simple", 0.05, 0.95)


def frame_of(*places: int, strata: int = 1) -> pl.DataFrame:
    """Places with so many objects each, the objects in turn of so many groups."""
    rows = [(f"O{p:02}{n:03}", f"g{n % strata}", f"P{p:02}") for p, held in enumerate(places) for n in range(held)]
    return pl.DataFrame(rows, schema=FRAME, orient="row")


def test_the_size_is_that_of_the_handbook_and_what_was_asked_goes_before():
    """640 objects, .05 at .95: 241 (Cochran, Sampling Techniques, 4)."""
    assert wanted(HALF_OF_ALL, 640) == 241
    assert wanted(Design("simple", 0.05, 0.95, size=30), 640) == 30
    assert wanted(Design("simple", 0.05, 0.95, size=30), 12) == 12
    assert wanted(Design("whole", 0.05, 0.95), 640) == 640
    assert wanted(HALF_OF_ALL, 0) == 0


def test_groups_share_it_by_how_many_they_are_how_much_they_differ_and_what_a_check_costs():
    """58 of 155, 62 and 93, alike: 29.0, 11.6, 17.4, by hand (Neyman; the book's own example is in
    test_sizes_and_estimates). A dear group and one that hardly differs get fewer.
    """
    frame = pl.concat([frame_of(n).with_columns(stratum=pl.lit(f"g{k}")) for k, n in enumerate((155, 62, 93))])
    alike = groups(frame, {}, {}, 58)
    dear = groups(frame, {}, {"g0": 1.0, "g1": 4.0, "g2": 1.0}, 58)

    assert alike["drawn"].to_list() == [29, 12, 17]
    assert dear["drawn"].sum() == 58
    assert dear["drawn"][1] < alike["drawn"][1]
    assert groups(frame, {"g0": 0.01}, {}, 58)["drawn"][0] < 29


@given(st.lists(st.integers(1, 30), min_size=2, max_size=12), st.integers(1, 60), st.integers(0, 10_000))
def test_chances_add_up_to_all_there_are_and_the_same_seed_gives_the_same(places, size, seed):
    """Horvitz and Thompson (1952): the sum of 1/chance is the number there is, exactly for one stage without groups."""
    frame = frame_of(*places)
    design = Design("simple", 0.05, 0.95, size=size)
    rows = drawn(frame, design, seed)

    assert rows.height == min(size, frame.height)
    assert (1 / rows["chance"]).sum() == pytest.approx(frame.height)
    assert rows.equals(drawn(frame.reverse(), design, seed))
    assert rows["draw_order"].to_list() == list(range(1, rows.height + 1))


@given(st.lists(st.integers(2, 20), min_size=2, max_size=4), st.integers(0, 1000))
def test_of_each_group_as_many_as_it_was_given(places, seed):
    frame = frame_of(*places, strata=2)
    shared = groups(frame, {}, {}, frame.height // 2 + 4 if frame.height > 8 else frame.height)
    rows = drawn(frame, Design("stratified", 0.05, 0.95), seed, shared)

    assert dict(rows.group_by("stratum").len().iter_rows()) == dict(shared.select("stratum", "drawn").iter_rows())
    assert (1 / rows["chance"]).sum() == pytest.approx(frame.height)
    assert rows["unit_id"].n_unique() == rows.height


@given(st.lists(st.integers(1, 20), min_size=2, max_size=15), st.integers(1, 40), st.integers(0, 1000))
def test_whole_places_come_with_all_that_lies_there(places, size, seed):
    frame = frame_of(*places)
    rows = drawn(frame, Design("clusters", 0.05, 0.95, size=size), seed)
    counts = dict(rows.group_by("cluster").len().iter_rows())

    assert counts == {f"P{p:02}": n for p, n in enumerate(places) if f"P{p:02}" in counts}
    assert len(counts) >= 2
    assert set(rows["chance"]) == set(rows["cluster_chance"]) == {len(counts) / len(places)}


@given(st.lists(st.integers(1, 20), min_size=2, max_size=15), st.integers(1, 5), st.integers(0, 1000))
def test_of_places_in_part_no_more_than_was_asked(places, each, seed):
    frame = frame_of(*places)
    rows = drawn(frame, Design("two_stage", 0.05, 0.95, size=10, in_a_cluster=each), seed)
    counts = dict(rows.group_by("cluster").len().iter_rows())

    assert all(n == min(each, places[int(place[1:])]) for place, n in counts.items())
    for row in rows.iter_rows(named=True):
        held = places[int(row["cluster"][1:])]
        assert row["chance"] == pytest.approx(row["cluster_chance"] * min(each, held) / held)


def test_what_has_no_place_is_not_drawn_with_places_and_of_nothing_nothing_is_drawn():
    frame = frame_of(3, 4).with_columns(cluster=pl.when(pl.col("cluster") == "P00").then("cluster"))

    assert drawn(frame, Design("clusters", 0.05, 0.95), 1)["cluster"].unique().to_list() == ["P00"]
    assert drawn(frame.clear(), Design("clusters", 0.05, 0.95), 1).is_empty()
    assert drawn(frame.clear(), HALF_OF_ALL, 1).is_empty()
