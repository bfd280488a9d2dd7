"""The report as a value: its text on a worked case, its one JSON, its code."""

import json
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest

from collection.documents.document import code_of, read_document
from collection.documents.loan_report import loan_report
from collection.documents.public import public
from collection.documents.words import words
from collection.snapshot import Collection
from schemas.errors import NotFound, SourceRefused
from schemas.vocabularies import vocabulary
from tests.collection.documents.builders import DAY, frame
from tests.collection.documents.papers import report_of

GOLDEN = Path(__file__).parent / "golden" / "V.1.txt"


def report(collection, object_id="V.1", state="outgoing", made_on=DAY):
    return loan_report(public(collection, object_id), object_id, state, made_on)


def text_of(document):
    lines = []
    for block in document.blocks:
        lines += [
            f"# {block.title} [{block.kind}]",
            *(f"  {line}" for line in list(block.lines())[bool(block.title) :]),
        ]
    return "\n".join(lines) + "\n"


def block(document, title):
    return next(b for b in document.blocks if b.title == words()["title"][title])


def test_the_text_of_a_worked_case(triage, tmp_path):
    now = tmp_path / GOLDEN.name
    now.write_text(text_of(report_of(triage)), "utf-8")

    as_meant = f"where the difference is meant: cp {now} {GOLDEN}"
    assert now.read_text("utf-8") == GOLDEN.read_text("utf-8"), as_meant


@pytest.mark.parametrize(
    ("named", "lines"), [("", []), ("shelf mark; Colour", [("Colour", "blue"), ("Shelf mark", "R 2, withheld")])]
)
def test_of_further_facts_only_those_are_printed_that_the_museum_names(named, lines, small):
    facts = [("Colour", "blue"), ("Fund", "Miller"), ("Shelf mark", "R 2, North strongroom")]
    more = frame("further_fact", *({"object_id": "V.1", "name": n, "text": t} for n, t in facts))
    setting = frame("setting", {"name": "facts_in_reports", "value": named})
    document = report(Collection.of({**small, "further_fact": more, "setting": setting}))

    printed = [(row["label"], row["text"]) for row in block(document, "identity").rows if row["key"] == "further_fact"]
    withheld = words()["withheld"]["word"]
    assert printed == [(label, text.replace("withheld", withheld)) for label, text in lines]
    assert "Miller" not in text_of(document)


def test_the_json_is_read_back_as_the_same_document_with_the_same_code(collected):
    document = report(collected)
    again = read_document(document.canonical())

    assert again.content_hash() == document.content_hash() == code_of(document.canonical())
    assert text_of(again) == text_of(document)
    assert json.loads(document.canonical())["made_on"] == DAY.isoformat()


@pytest.mark.parametrize(
    "data",
    [b"", b"[]", b"{}", b'{"format": "other"}', b"\xff", b'{"format": "enamel condition report 1", "blocks": []}'],
)
def test_what_is_no_report_is_refused(data):
    with pytest.raises(SourceRefused):
        read_document(data)


def test_the_same_records_give_the_same_code_whatever_else_is_kept(small):
    whole, alone = report(Collection.of(small)), report(Collection.of(small | {"object": small["object"].head(1)}))

    assert whole.content_hash() == alone.content_hash()


def test_an_unknown_object_is_not_found(collected):
    with pytest.raises(NotFound):
        report(collected, "V.99")


def test_one_nobody_examined_says_so_and_claims_nothing(collected):
    text = text_of(report(collected, "V.2"))

    assert "Nobody has examined this object" in text
    assert "No open damage" not in text
    assert "No loan of this object is on record" in text


def test_a_flaw_of_firing_is_listed_apart_and_what_is_missing_is_nothing_to_watch(small):
    more = frame(
        "damage",
        {"damage_id": "D8", "object_id": "V.1", "part": "whole", "side": "front", "kind": "pinhole"},
        {"damage_id": "D9", "object_id": "V.1", "part": "whole", "side": "front", "kind": "part_missing"},
    )
    made = report(Collection.of(small | {"damage": pl.concat([small["damage"], more], how="diagonal")}))

    condition = block(made, "condition").rows
    (missing,) = (row for row in condition if "Part missing" in row["what"])
    (lifting,) = (row for row in condition if "Lifting" in row["what"])
    assert "Pinhole, open bubble" in [row["kind"] for row in block(made, "flaws").rows]
    assert "Pinhole" not in str(condition)
    assert missing["journey"] != lifting["journey"]  # lifting is not to travel, what is missing cannot move


def test_a_severity_is_explained_by_what_it_means_for_the_kind(small):
    severe = small["observation"].with_columns(severity=pl.lit("severe"))

    rows = block(report(Collection.of(small | {"observation": severe})), "words_used").rows

    assert {"term": "Severe (lifting)", "definition": "Larger, or several"} in rows
    assert {"term": "Severe (loss)", "definition": "Larger, or several"} in rows


def test_what_a_repair_dissolves_in_is_no_matter_of_a_loan(small):
    soluble = {"soluble_in": pl.lit("white spirit"), "soluble_in_basis": pl.lit("tested")}
    document = report(Collection.of(small | {"repair": small["repair"].with_columns(**soluble)}))
    (rule,) = next(b for b in document.blocks if b.rows and "solvents away" in str(b.rows)).rows

    assert [row["no"] for row in block(document, "added").rows] == ["R1", ""]
    assert b"white spirit" not in document.canonical()
    assert b"acetone" not in document.canonical()
    assert rule["text"].startswith("Keep water, warmth and solvents away")


def test_a_material_a_repair_already_names_stands_once(small):
    repair = frame(
        "repair",
        {
            "repair_id": "R2",
            "object_id": "V.1",
            "part": "whole",
            "function": "holds",
            "material": "acrylic_b72",
            "treatment_id": "T1",
        },
    )
    both = Collection.of(small | {"repair": pl.concat([small["repair"], repair], how="diagonal")})

    assert [row["no"] for row in block(report(both), "added").rows] == ["R1", "R2"]


@pytest.mark.parametrize(
    ("look", "days", "said"),
    [("sweep", 3, "The last check was a sweep"), ("inspection", 29, "more than 28 days"), ("inspection", 28, "")],
)
def test_a_look_that_does_not_suffice_is_said(small, look, days, said):
    day = (DAY - timedelta(days=days)).isoformat()
    check = frame("condition_check", {"check_id": "C9", "object_id": "V.2", "checked_on": day, "look": look})
    rows = block(report(Collection.of(small | {"condition_check": check}), "V.2"), "check").rows
    found = next((row["text"] for row in rows if row["key"] == "rests_on"), "")

    assert said in found
    assert bool(found) == bool(said)


def test_a_danger_made_safe_no_longer_keeps_it_here(small):
    safe = small | {
        "danger_to_people": small["danger_to_people"].with_columns(
            made_safe_on=pl.lit(date(2024, 1, 1)), basis=pl.lit("tested")
        )
    }

    assert "NOT ASSESSED" in block(report(Collection.of(small)), "dangers").rows[0]["caution"]
    assert "NOT ASSESSED" not in block(report(Collection.of(safe)), "dangers").rows[0]["caution"]


def test_without_a_loan_the_limits_are_the_objects_own_target(small):
    target = frame(
        "target",
        {
            "target_id": "A",
            "object_id": "V.2",
            "rh_low": 42.0,
            "rh_high": 44.0,
            "reason": "weeping",
            "set_on": date(2024, 1, 1),
        },
    )
    rows = block(report(Collection.of(small | {"target": target}), "V.2"), "limits").rows

    assert (rows[0]["agreed"], rows[0]["needs"], rows[0]["reason"]) == (
        "no figure agreed",
        "42 to 44 %",
        "weeping, 1 January 2024",
    )


def test_a_loan_that_ended_is_not_this_loan(collected):
    rows = block(report(collected, made_on=date(2027, 6, 1)), "check").rows

    assert "No loan" in {row["key"]: row["text"] for row in rows}["loan"]


@pytest.mark.parametrize("state", list(vocabulary("loan_state").term))
def test_every_state_is_written(collected, state):
    document = report(collected, state=state)

    assert document.state == vocabulary("loan_state").term[state].label
    assert document.canonical()


def test_a_signed_state_prints_who_signed_and_one_signature_is_unilateral(collected):
    document = report(collected, state="interim")

    assert "Odo Ferrant, 1 September 2026, 11:00 (UTC)" in list(block(document, "sign").lines())
    assert "one signature: unilateral" in text_of(document)


def test_numbers_of_outlines_are_those_of_the_tables(small):
    photo = frame("photo", {"photo_id": "a" * 64, "object_id": "V.1", "view": "front", "taken_on": "2026-09-20"})
    region = frame(
        "region",
        {"region_id": "1", "photo_id": "a" * 64, "damage_id": "D2", "outline": "1,1 2,2 3,1"},
        {"region_id": "2", "photo_id": "a" * 64, "repair_id": "R1", "outline": "5,5 6,6"},
    )
    (picture,) = block(report(Collection.of(small | {"photo": photo, "region": region})), "pictures").rows

    assert picture["outlines"] == "2:1,1 2,2 3,1|R1:5,5 6,6"
    assert "2, R1" in picture["alt"]
