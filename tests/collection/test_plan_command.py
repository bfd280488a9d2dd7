"""`enamels plan`: what it answers for a small invented house and for the demonstration, and what it refuses."""

import json
import shutil

import polars as pl
import pytest

from collection.commands.options import DEMONSTRATION_STORE
from collection.store import Change, Store
from schemas.errors import NotFound, WrongUsage
from tests.collection.planning.house import house

pytestmark = pytest.mark.usefixtures("assessed_once")

DAY = ("--as-of", "2026-09-30")


@pytest.fixture(scope="module")
def house_once(tmp_path_factory):
    """The store of the house; to be copied and never written to."""
    settings = [{"name": "today", "value": "2026-09-30"}]
    rows = {n: f.drop("row_version", strict=False) for n, f in house(setting=settings).frames.items() if f.height}
    store = Store(tmp_path_factory.mktemp("house") / "enamels.duckdb")
    store.write(Change(rows), by="tester")
    return store


@pytest.fixture
def housed(store, enamels, house_once):
    shutil.copyfile(house_once.path, store.path)
    return enamels


def test_the_document_has_what_a_program_needs(housed):
    code, out, err = housed("plan", "--years", "2", "--json")
    its = json.loads(out)

    assert code == 0
    assert {"unit", "prevented", "at_2h", "bound", "gap", "proved", "stopped", "lines", "places", "limits", "left_out",
            "rules", "no_hours", "stability", "bias"} <= set(its)  # fmt: skip
    assert all(0 <= line["in_draws"] <= 1 for line in its["lines"])
    assert its["stability"]["prices_held"] is True
    assert its["stability"]["draws"] == 1000
    assert "prices held" in err


def test_a_plan_is_accepted_then_followed(housed, store):
    code, out, _ = housed("plan", "--years", "2", "--accept", "--by", "Ida", "--note", "agreed on Monday")

    assert code == 0
    assert "Accepted as PL1: " in out
    assert "Money [EUR]" in out
    assert " of 250 EUR\n" in out
    assert " of 12 hours of technician\n" in out
    assert store.read()["plan"].select("plan_id", "made_by", "note").rows() == [("PL1", "Ida", "agreed on Monday")]
    code, out, _ = housed("plan", "--followed")
    assert code == 0
    assert out.startswith("PL1, made on figures of 30 September 2026: 0 of ")
    assert json.loads(housed("plan", "--followed", "--json")[1])["totals"][-1]["done"] == 0


def test_what_a_sum_can_finish(housed):
    code, out, _ = housed("plan", "--unspent", "100", "--until", "2027-03-31")

    assert code == 0
    assert out.startswith("With 100 EUR until 31 March 2027: 1 treatment over 1 year prevents")


def test_what_a_loan_displaces_and_that_it_cannot_be_made_ready(housed, store):
    loan = {"loan_id": ["LN 1"], "direction": ["out"], "borrower": ["Invented Gallery"], "status": ["asked_for"]}
    leg = pl.DataFrame({"loan_id": ["LN 1"], "leg": [1], "starts_on": ["2028-05-03"], "ends_on": ["2028-09-01"]})
    store.write(Change({
        "loan": pl.DataFrame(loan), "loan_leg": leg.with_columns(pl.col("starts_on", "ends_on").str.to_date()),
        "loan_object": pl.DataFrame({"loan_id": ["LN 1"] * 2, "object_id": ["A", "D"], "part": ["whole"] * 2}),
    }), by="tester")  # fmt: skip

    code, out, _ = housed("plan", "--years", "1", "--with-loan", "LN 1")
    assert code == 0
    assert "for the loan" in out
    assert "Without it: " in out
    code, out, _ = housed("plan", "--years", "1", "--hours", "2027:technician=5", "--with-loan", "LN 1", "--json")
    assert code == 0
    assert json.loads(out)["together"] is None


REFUSED = [
    (("--followed",), NotFound.code, "no plan was accepted yet"),
    (("--followed", "--accept"), WrongUsage.code, "cannot go with --accept"),
    (("--unspent", "100"), WrongUsage.code, "--until DATE"),
    (("--until", "2027-01-01"), WrongUsage.code, "--unspent AMOUNT"),
    (("--unspent", "100", "--until", "soon"), WrongUsage.code, "'soon' is no day"),
    (("--accept", *DAY), WrongUsage.code, "--accept without --as-of"),
    (("--with-loan", "LN 9"), NotFound.code, "there is no loan LN 9"),
    (("--money", "2027=some"), WrongUsage.code, "'2027=some' cannot be read"),
    (("--hours", "2027:baker=5"), NotFound.code, "there is no skill 'baker'"),
    (("--years", "9"), WrongUsage.code, "no money set for 2030"),
]


@pytest.mark.parametrize(("arguments", "code", "words"), REFUSED, ids=[" ".join(a) for a, _, _ in REFUSED])
def test_what_cannot_be_asked_is_a_sentence_and_a_code(arguments, code, words, housed):
    answered, _, err = housed("plan", *arguments)

    assert answered == code
    assert words in err
    assert "Traceback" not in err


def test_nothing_is_accepted_into_a_demonstration_that_was_not_named(built, enamels, tmp_path, monkeypatch):
    (tmp_path / DEMONSTRATION_STORE.parent).mkdir()
    (tmp_path / DEMONSTRATION_STORE).write_bytes(built.store.path.read_bytes())
    monkeypatch.delenv("ENAMELS_STORE")

    code, _, err = enamels("plan", "--accept", "--by", "Ida")

    assert code == WrongUsage.code
    assert "only the demonstration" in err
    assert Store(tmp_path / DEMONSTRATION_STORE).read()["plan"].is_empty()


def test_the_demonstration_is_planned_within_a_ten_thousandth_of_the_best(built, enamels, tmp_path):
    code, out, _ = enamels("plan", "--json", "--store", str(built.store.path))
    its = json.loads(out)

    assert code == 0
    assert its["proved"]
    assert its["gap"] <= 1e-4 * (1 + 1e-4)
    assert its["stopped"] is None
    assert {line["option_id"] for line in its["lines"] if line["must"]} == {"O0053", "O0079"}
