"""How much of a part a damage can still cost, by what its kind puts at risk.

Shares are worked by hand from the areas written beside them. Widths of lines and edges, typical areas and the middles of
bands are those of the value files: judgement, as these say; no published source.
"""

import math

import pytest

from tests.collection.risk.builders import assessed, check, register


def hazard(kind="crack", damage=None, sides=(100.0, 80.0), part=None, object_=None, **line):
    """The hazard of one damage on a plaque of 8,000 mm² with one line."""
    rows = {"object_id": "O", "object_type": "plaque", "height_mm": sides[0], "width_mm": sides[1]} | (object_ or {})
    collection = register(
        object=[rows],
        part=[{"object_id": "O", "part": "whole"} | (part or {})],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": kind} | (damage or {})],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "stable"} | line],
    )
    (row,) = assessed(collection).hazards.to_dicts()
    return row


@pytest.mark.parametrize(
    ("kind", "line", "share", "basis"),
    [
        ("crack", {"length_mm": 40.0}, 40 * 4 / 8000, "measured"),  # line: length x 4 mm
        ("crack", {"length_mm": 40.0, "area_mm2": 4000.0, "count": 3}, 0.02, "measured"),  # never added
        ("crack", {"extent_band": "from_1_to_5"}, 0.022, "band"),
        ("crack", {"count": 2}, 2 * 40 / 8000, "count"),  # two of the typical 40 mm²
        ("crack", {}, 0.022, "assumed"),
        ("abrasion", {"area_mm2": 800.0}, 0.1, "measured"),
        ("chip", {"length_mm": 30.0}, 30 * 2 / 8000, "measured"),  # edge: length x 2 mm
        ("chip", {"area_mm2": 50.0, "count": 4}, 2 * 2 * math.sqrt(math.pi * 50 * 4) / 8000, "measured"),
        ("chip", {"extent_band": "from_5_to_25"}, 0.011, "band"),  # a tenth of what is lost already
        ("chip", {"count": 4}, 2 * 2 * math.sqrt(math.pi * 16 * 4) / 8000, "count"),  # four of 4 mm²
        ("fragment_kept", {"area_mm2": 20.0}, 20 / 8000, "measured"),
    ],
)
def test_the_kind_says_what_is_at_risk(kind, line, share, basis):
    row = hazard(kind, **line)

    assert row["affected_share"] == pytest.approx(share, rel=1e-12)
    assert row["extent_basis"] == basis


def test_an_empty_factor_never_reads_as_no_risk():
    row = hazard(activity=None, object_={"height_mm": None, "width_mm": None, "object_type": None})

    assert row["log_kept"] < 0
    assert all(value is not None for name, value in row.items() if name not in {"location_id"})
    assert row["state_assumed"]


def test_no_more_than_the_enamel_that_is_left():
    """A loss of 7,600 of 8,000 mm² leaves 0.05 of the part."""
    collection = register(
        object=[{"object_id": "O", "enamel_area_mm2": 8000.0}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[
            {"damage_id": d, "object_id": "O", "part": "whole", "kind": k} for d, k in (("1", "loss"), ("2", "lifting"))
        ],
        observation=[
            {"check_id": "k", "damage_id": "1", "activity": "stable", "area_mm2": 7600.0},
            {"check_id": "k", "damage_id": "2", "activity": "active", "extent_band": "from_25_to_50"},
        ],
    )

    shares = dict(assessed(collection).hazards.select("term", "affected_share").iter_rows())

    assert shares["lifting"] == pytest.approx(0.05, rel=1e-12)


def test_a_standard_error_gives_the_limits():
    """40 mm with s 4: 1 + 1.64485 x 4 / 40 = 1.164485 either way."""
    row = hazard(length_mm=40.0, measurement_error=4.0, part={"enamel_area_mm2": 8000.0})

    assert row["affected_high"] == pytest.approx(0.02 * 1.164485)
    assert row["affected_low"] == pytest.approx(0.02 / 1.164485)


@pytest.mark.parametrize(
    ("object_type", "sizes", "area"),
    [
        ("plaque", {"height_mm": 10.0, "width_mm": 20.0}, 200),
        ("dish", {"diameter_mm": 100.0}, math.pi * 100**2 / 2),
        ("vase", {"diameter_mm": 50.0, "height_mm": 200.0}, 0.8 * math.pi * 50 * 200),
        ("box", {"height_mm": 30.0, "width_mm": 50.0, "depth_mm": 40.0}, 2 * (30 * 50 + 30 * 40 + 50 * 40)),
    ],
)
def test_the_area_comes_from_dimensions_and_shape(object_type, sizes, area):
    """Worked by hand from the shapes of rates.toml, which are judgement: plaque h.w; bowl, dish pi.d²/2; vase, cup 0.8.pi.d.h; box 2(hw+hd+wd)."""
    plain = {"height_mm": None, "width_mm": None, "object_type": object_type}

    row = hazard("abrasion", area_mm2=area / 4, object_=plain | sizes)

    assert row["affected_share"] == pytest.approx(0.25, rel=1e-12)
    assert row["area_estimated"]
    assert not row["area_assumed"]


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({"lid": (0.6, None), "body": (0.2, None)}, {"lid": 0.75, "body": 0.25}),  # normalised
        ({"lid": (None, 100.0), "body": (None, 300.0)}, {"lid": 0.25, "body": 0.75}),  # by area
        ({"lid": (None, None), "body": (None, 300.0)}, {"lid": 0.5, "body": 0.5}),  # alike
        ({"lid": (0.9, None), "body": (None, None)}, {"lid": 0.9, "body": 0.1}),  # the rest
        ({"lid": (1.0, None), "body": (None, None)}, {"lid": 1 / 1.01, "body": 0.01 / 1.01}),  # a trace at least
    ],
)
def test_part_shares_sum_to_1_and_none_is_nothing(given, expected):
    collection = register(
        object=[{"object_id": "O"}],
        part=[{"object_id": "O", "part": p, "value_share": s, "enamel_area_mm2": a} for p, (s, a) in given.items()],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": p, "object_id": "O", "part": p, "kind": "crack"} for p in given],
        observation=[{"check_id": "k", "damage_id": p, "activity": "stable"} for p in given],
    )

    shares = dict(assessed(collection).hazards.select("part", "part_share").iter_rows())

    assert shares == pytest.approx(expected)


def test_a_part_nobody_listed_still_counts():
    collection = register(
        object=[{"object_id": "O"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": "d", "object_id": "O", "part": "foot", "kind": "crack"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "active"}],
    )

    (row,) = assessed(collection).hazards.to_dicts()

    assert row["part_share"] == 1
    assert row["log_kept"] < 0
