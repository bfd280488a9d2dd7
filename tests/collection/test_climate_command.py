"""`enamels climate` on the demonstration: its two events are found by the program, figures have days and method."""

import json

import pytest

from schemas.errors import NotFound

pytestmark = pytest.mark.usefixtures("assessed_once")

FIGURE = {"location_id", "what", "unit", "value", "low", "high", "n", "method", "refused"}


@pytest.fixture
def asked(demonstration, enamels):
    return lambda *words: enamels("climate", "--store", str(demonstration.path), *words)


def test_all_rooms_in_sentences_with_what_to_mend_first(asked):
    code, out, _ = asked()

    assert code == 0
    assert "Mend this: microclimate in Lower Store, room L2 (P0001)" in out
    assert out.count("attention now;") >= 6
    assert "exposed to damp beyond what something on it bears" in out


@pytest.mark.parametrize(
    ("place", "starts", "kind"), [("L2", "2022-10-04", "damp"), ("Gallery, warm side", "2024-07-15", "heat")]
)
def test_what_befell_a_room_is_its_worst_spell(asked, place, starts, kind):
    _, out, _ = asked("--location", place, "--json")
    worst = json.loads(out)["spells"][0]

    assert (worst["starts"], worst["kind"]) == (starts, kind)


def test_figures_have_limits_days_and_method_or_a_reason(asked):
    _, out, _ = asked("--logger", "log-e1", "--json")
    document = json.loads(out)

    assert document["places"] == ["E1"]
    assert all(set(f) == FIGURE for f in document["figures"])
    assert all(f["refused"] or (f["value"] is not None and f["n"] > 300 and f["method"]) for f in document["figures"])
    assert {g["kind"] for g in document["logger_gaps"]} <= {"gap", "stuck", "jump", "out_of_range", "clock"}


@pytest.mark.parametrize(("option", "name"), [("--location", "Attic of nobody"), ("--logger", "X-0")])
def test_what_the_register_does_not_have_is_said(asked, option, name):
    code, _, err = asked(option, name)

    assert code == NotFound.code
    assert name in err
