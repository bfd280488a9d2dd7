"""May it travel? Each rule once against a journey or for conditions, and once silent."""

import pytest

from collection.loans.rules import CONDITIONS, FIT, NOT_FIT, RULES, travel_reasons, verdicts
from tests.collection.attention.cases import (
    Records,
    asked,
    damage,
    danger,
    day,
    facts_of,
    loan,
    looked,
    of,
    piece,
    repaired,
    requirement,
    seen,
    target,
    together,
)  # fmt: skip

LATELY = looked("2026-10-01")
GLASS = of(glass_stability="known_unstable")
HELD = target()
# name: (records beside the object, verdict, name of the rule, words of a reason)
CASES: dict[str, tuple[Records, str, str, str]] = {
    "loose piece": (together(LATELY, piece()), NOT_FIT, "fragment", "fragment Floose piece lies loose in its place"),
    "boxed piece": (together(LATELY, piece(status="kept")), FIT, "", ""),
    "active lifting": (seen("lifting", "active"), NOT_FIT, "damage", "active lifting"),
    "suspected blind lifting": (seen("blind_lifting", "suspected"), NOT_FIT, "damage", "suspected blind lifting"),
    "suspected weeping": (together(seen("weeping", "suspected"), HELD), NOT_FIT, "damage", "suspected weeping"),
    "loose joint": (seen("loose_joint", "active"), NOT_FIT, "damage", "active loose joint"),
    "loose fragment": (seen("fragment_loose", "unknown"), NOT_FIT, "damage", "fragment loose in place"),
    "chlorides": (seen("chloride_corrosion", "active"), NOT_FIT, "damage", "chloride"),
    "active dent": (seen("dent", "active"), FIT, "", ""),
    "lifting nobody assessed": (seen("lifting", "unknown"), NOT_FIT, "not_assessed", "lifting, not assessed"),
    "crack nobody assessed": (seen("crack", "unknown"), FIT, "", ""),
    "join letting go": (repaired("holds", "failing"), NOT_FIT, "repair", "wax join is letting go"),
    "join that let go": (repaired("holds", "failed"), NOT_FIT, "repair", "wax join has let go"),
    "ageing join": (repaired("holds", "ageing"), FIT, "", ""),
    "harmful coating": (repaired("covers", "harmful", harmed_band="under_0_1"), NOT_FIT, "repair", "harms what it lies on"),
    "failed fill": (repaired("fills", "failed"), FIT, "", ""),
    "lead, not assessed": (together(LATELY, danger("lead")), NOT_FIT, "danger", "danger to people, not assessed: lead"),
    "lead, safe as kept": (together(LATELY, danger("lead", made_safe_on=day("2026-01-01"))), FIT, "", ""),
    "radium, safe as kept": (
        together(LATELY, danger("radium", made_safe_on=day("2026-01-01"))), NOT_FIT, "release", "without a written release"),
    "unstable glass without a target": (together(LATELY, GLASS), NOT_FIT, "target", "no conservator has set the climate"),
    "unstable glass with a room's default": (together(LATELY, GLASS, target(reason=None)), NOT_FIT, "target", ""),
    "unstable glass with the target of its place": (
        together(
            LATELY,
            of(glass_stability="known_unstable", location_id="case"),
            {"target": [{"target_id": "P{o}", "location_id": "case", "rh_high": 45.0, "reason": "weeps"}]},
        ),
        FIT,
        "",
        "",
    ),
    "unstable glass with its target": (together(LATELY, GLASS, HELD), FIT, "", ""),
    "lifting, stable": (seen("lifting", "stable", "2026-10-01"), CONDITIONS, "lifting", "stable lifting, seen 1 October 2026: level on a rigid padded tray"),
    "lifting, appears stable": (seen("lifting", "appears_stable", "2026-10-01"), CONDITIONS, "lifting", "apparently stable lifting"),
    "crack, stable": (seen("crack", "stable"), FIT, "", ""),
    "dulling, stable": (seen("dulling", "stable"), FIT, "", ""),
    "never inspected": ({}, NOT_FIT, "inspection", "never inspected"),
    "a sweep is no inspection": (looked(look="sweep"), NOT_FIT, "inspection", "never inspected"),
    "inspected seven months ago": (looked("2026-04-01"), NOT_FIT, "inspection", "last inspected 1 April 2026"),
    "inspected six months ago": (looked("2026-05-01"), FIT, "", ""),
    "plique-a-jour": (together(LATELY, of(technique=["plique_a_jour"])), CONDITIONS, "technique", "crate of its own"),
    "champleve": (together(LATELY, of(technique=["champleve"])), FIT, "", ""),
    "heavy sign": (together(LATELY, of(base_metal="steel", mass_g=26_000.0)), CONDITIONS, "mass", "heavy iron or steel: crate of its own"),
    "light sign": (together(LATELY, of(base_metal="steel", mass_g=24_000.0)), FIT, "", ""),
    "heavy copper": (together(LATELY, of(base_metal="copper", mass_g=26_000.0)), FIT, "", ""),
    "three journeys": (
        together(LATELY, *(loan(f"2025-0{n}-01", number=f"L{n}{{o}}") for n in (1, 4, 8))), CONDITIONS, "journeys", "3 journeys in 24 months"),
    "two journeys": (together(LATELY, *(loan(f"2025-0{n}-01", number=f"L{n}{{o}}") for n in (1, 4))), FIT, "", ""),
    "three, one long ago": (
        together(LATELY, *(loan(f"202{y}-08-01", number=f"L{y}{{o}}") for y in (3, 5, 6))), FIT, "", ""),
    "a permit": (together(LATELY, loan(permits="CITES")), CONDITIONS, "permit", "needs: CITES: the permit is at hand"),
    "no permit": (together(LATELY, loan()), FIT, "", ""),
    "stable lifting, inspected five months ago": (seen("lifting", "stable"), NOT_FIT, "inspection", "longer ago than 3 months"),
    "limits beyond its target": (
        together(LATELY, GLASS, HELD, loan(rh_low=38.0, rh_high=50.0)), NOT_FIT, "conflict",
        "relative humidity: agreed 38 to 50 %, it needs at most 45 %"),
    "limits within its target": (together(LATELY, GLASS, HELD, loan(rh_low=38.0, rh_high=45.0)), FIT, "", ""),
    "limits beyond, and a case": (
        together(LATELY, GLASS, HELD, loan(rh_high=50.0, case_need="sealed, 42 %")), CONDITIONS, "bridged", "it needs at most 45 %: the case agreed is ready"),
    "more light than it stands": (
        together(LATELY, loan(lux_most=300.0), requirement(lux_most=200.0)), NOT_FIT, "conflict", "light: agreed at most 300 lx"),
    "light, and a case for air": (
        together(LATELY, loan(lux_most=300.0, case_need="sealed"), requirement(lux_most=200.0)), NOT_FIT, "conflict", "light"),
    "one line open": (
        together(LATELY, loan(conditions_before_packing="box the pieces\nset the mount")), NOT_FIT, "open_condition", "before packing: set the mount"),
    "lines done": (
        together(LATELY, loan(conditions_before_packing="box the pieces", conditions_met_on=day("2026-10-20"))), FIT, "", ""),
    "radium, released for this loan": (
        together(LATELY, danger("radium", made_safe_on=day("2026-01-01"), cleared_to_travel_on=day("2026-10-20")), loan()), FIT, "", ""),
    "radium, released before it was asked for": (
        together(LATELY, danger("radium", made_safe_on=day("2026-01-01"), cleared_to_travel_on=day("2026-01-20")), asked("2026-09-01")),
        NOT_FIT, "release", "without a written release"),
    "limits of a loan that was refused": (
        together(LATELY, GLASS, HELD, asked(None, status="refused", rh_high=50.0)), FIT, "", ""),
    "worst decides": (together(seen("lifting", "stable", "2026-10-01"), damage("flaking", "active", "E{o}")), NOT_FIT, "damage", "active flaking"),
}  # fmt: skip


@pytest.fixture(scope="module")
def facts():
    return facts_of({name: records for name, (records, *_) in CASES.items()})


@pytest.fixture(scope="module")
def reasons(facts):
    return travel_reasons(facts).collect()


@pytest.mark.parametrize("name", CASES)
def test_verdict_and_reason(name, facts, reasons):
    _, verdict, rule, words = CASES[name]
    mine = reasons.filter(object_id=name)

    assert dict(verdicts(facts).collect().iter_rows())[name] == verdict, mine["reason"].to_list()
    assert any(its == rule and words in reason for its, reason in mine.select("rule", "reason").iter_rows()) or not rule
    assert mine.is_empty() == (verdict == FIT)


def test_every_rule_speaks_of_some_case(facts, reasons):
    names = {name for _, _, name, _ in CASES.values() if name}

    assert names <= set(reasons["rule"])
    assert len({rule.__name__ for rule in RULES}) == len(RULES)
    assert len(names) >= len(RULES)


def test_a_reason_that_rests_on_a_hazard_names_it(reasons):
    of_hazard = reasons.filter(rule="damage")

    assert of_hazard["hazard_id"].null_count() == 0
    assert "damage:Dactive lifting" in of_hazard["hazard_id"].to_list()
