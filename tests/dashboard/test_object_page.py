"""What the page of one object says, read as the person reads it who has the object before them."""

from datetime import date

import polars as pl
import pytest

from collection.questions import back_test, growth, history
from dashboard import charts
from tests.dashboard.test_charts import encodings

# Object: words of its page, and words that were on it and are no English or no help.
SAID = {
    "1961.1": (
        ("Vellmouth (invented), Lower Store, room L2, Cabinet L2-1, L2-1 shelf 2", "was seen at least once; of others",
         "In 100 of 100 draws of the starting values it is among the 20 objects", "That takes about ", "17,700",
         "Dimensions as written"),
        ("Lower Store, Lower Store", "was seen once", "Dimensions text"),
    ),
    "1979.177": (("In none of 100 draws of the starting values is it among", "apparently stable chip, seen"), ("in 0 of",)),
    "1968.1": (
        ("nobody has estimated how long all of it takes", "Light exposure, at most [lx h]", "300,000",
         "the last check looked more closely"),
        ("Lux most", "looked harder"),
    ),
    "1971.2": (("what is asked for before packing is done, with its day on record",), ("taken as 1 times slower", "it is done, and")),
    "L2026.1": (("No loan out is ahead; judged as if",), ("On no loan to come",)),
}  # fmt: skip


@pytest.mark.parametrize("number", SAID)
def test_words_of_the_page_of_an_object(to_read, said, number):
    there, not_there = SAID[number]

    words = said(to_read("object", object_id=number))

    assert [each for each in there if each not in words] == []
    assert [each for each in not_there if each in words] == []


@pytest.mark.parametrize(
    ("first", "last", "written"),
    [
        (date(1978, 5, 1), date(1978, 5, 31), "%-d %b %Y"),  # only the month is known
        (date(2025, 3, 1), date(2026, 9, 4), "%b %Y"),
        (date(2017, 8, 8), date(2026, 9, 4), "%Y"),
    ],
)
def test_each_day_of_an_axis_is_told_without_the_others(first, last, written):
    events = pl.DataFrame({"on": [first], "until": [last], "lane": ["Checked"]}, schema_overrides=history.EVENTS)
    sizes = pl.DataFrame({"seen_on": [first, last], "size_unit": ["size [mm]"] * 2}, schema_overrides=growth.GROWTHS)
    empty = (pl.DataFrame(schema=history.EVENTS), pl.DataFrame(schema=growth.GROWTHS))
    frames = [pl.concat([e, f], how="diagonal") for e, f in zip(empty, (events, sizes), strict=True)]

    drawn = [
        draw(frame).to_dict() for draw, frame in zip((charts.history_chart, charts.growth_chart), frames, strict=True)
    ]

    for spec in drawn:
        assert {c["axis"]["format"] for name, c in encodings(spec) if name == "x" and "axis" in c} == {written}


@pytest.mark.parametrize(
    ("draw", "schema"),
    [(charts.history_chart, history.EVENTS), (charts.calibration_chart, back_test.GROUPS)],
    ids=["history", "calibration"],
)
def test_a_legend_fits_a_phone(draw, schema):
    """At 390 px four side by side, or two of several words, were cut at the edge."""
    spec = draw(pl.DataFrame(schema=schema)).to_dict()

    legends = [c["legend"] for _, c in encodings(spec) if isinstance(c, dict) and c.get("legend")]

    assert legends
    assert all(legend["columns"] <= 2 for legend in legends)
