"""One object a rule and a way it lapses: its records, the class, the reason and, where it matters, the first step."""

from schemas.vocabularies import vocabulary
from tests.collection.attention.cases import (
    MUCH,
    Records,
    acted,
    damage,
    danger,
    day,
    decided,
    loan,
    looked,
    moved,
    of,
    piece,
    repair,
    repaired,
    seen,
    target,
    together,
)  # fmt: skip

SECURE, MOVE, LOAN, SAFE, UNCHECKED, LEFT, TREAT, AGAIN, MONITOR, NOTHING = vocabulary("attention").term

LIFTING = seen("lifting", "active")
CHIP = seen("chip", "stable")
HARMED = {"harmed_band": "under_0_1"}
FIGURES = together(
    looked("2025-06-01", "B{o}"), seen("crack", "stable", length_mm=9.0, change="unchanged", compared_with="B{o}", measurement_error=0.5),
    {"observation": [{"check_id": "B{o}", "damage_id": "D{o}", "activity": "stable", "length_mm": 4.0}]},
)  # fmt: skip
# name: (records beside the object, class, words of a reason)
Case = tuple[Records, str, str]
CASES: dict[str, Case] = {
    # act now: secure it
    "active lifting": (LIFTING, SECURE, "active lifting, seen 1 June 2026: material may fall at the next touch"),
    "active blind lifting": (seen("blind_lifting", "active"), SECURE, "active blind lifting"),
    "active flaking": (seen("flaking", "active"), SECURE, "active flaking"),
    "active sugaring": (seen("sugaring", "active"), SECURE, "active sugary breakdown"),
    "crizzling in scales": (seen("crizzling", "active", stage=5), SECURE, "active crizzling"),
    "active loose joint": (seen("loose_joint", "active"), SECURE, "active loose joint"),
    "active wire": (seen("wire_lift", "active"), SECURE, "active lifted wire"),
    "loose fragment as damage": (seen("fragment_loose", "unknown"), SECURE, "lies loose in its place"),
    "loose fragment as a piece": (together(looked(), piece()), SECURE, "fragment Floose fragment as a piece lies loose"),
    "join that has let go": (repaired("holds", "failed"), SECURE, "wax join has let go"),
    "join letting go, journey planned": (
        together(repaired("holds", "failing"), loan("2027-10-01")), SECURE, "a journey is planned for 1 October 2027"),
    "coat over active lifting": (
        together(seen("dulling", "stable"), repair("covers", "harmful", **HARMED), damage("salts", "suspected", "E{o}")),
        SECURE, "salts beneath it: wax coating harms what it lies on"),
    "mount pressing beside a fresh chip": (
        together(seen("mount_stress", "active"), damage("chip", "stable", "E{o}", onset="since_last_look", first_seen_on="2026-06-01")),
        SECURE, "presses or snags beside fresh damage"),
    "wire lifted beside a fresh chip": (
        together(seen("wire_lift", "stable"), damage("chip", "stable", "E{o}", onset="since_last_look", first_seen_on="2026-06-01")),
        SECURE, "beside fresh damage"),
    "danger presumed": (together(looked(), danger()), SECURE, "danger to people not yet made safe: radium"),
    "danger without precautions": (together(looked(), danger("mercury", basis="tested")), SECURE, "not yet made safe: mercury"),
    # act now: move it, or mend its place
    "active weeping": (seen("weeping", "active"), MOVE, "active weeping"),
    "suspected crizzling": (seen("crizzling", "suspected", stage=2), MOVE, "suspected crizzling"),
    "active salts": (seen("salts", "active"), MOVE, "active salts"),
    "metal corroding at the glass": (seen("glass_induced_metal_corrosion", "active"), MOVE, "its place may feed it"),
    "chlorides": (seen("chloride_corrosion", "active"), MOVE, "active chloride corrosion"),
    "spreading rust": (seen("fe_rust", "active"), MOVE, "active rust"),
    "mould": (seen("organic_attack", "active"), MOVE, "active mould or insects"),
    "under a drip": (together(looked(), of(location_id="under the drip")), MOVE, "drip: drips, seen 1 September 2026"),
    "unstable glass outside its target": (
        together(looked(), of(location_id="damp", glass_stability="known_unstable"), target()),
        MOVE, "outside its target 100 % of the time since the last check (target: weeps)"),
    # before it leaves
    "suspected lifting, on a loan": (together(seen("lifting", "suspected"), loan()), LOAN, "not fit to travel: suspected lifting"),
    "not inspected lately, on a loan": (together(looked("2026-02-01"), loan()), LOAN, "longer ago than 6 months"),
    "never checked, on a loan": (loan(), LOAN, "never inspected"),
    "leaves later than the days set": (together(seen("wire_lift", "unknown"), loan("2027-06-01")), AGAIN, "lifted wire"),
    "fit to travel": (together(looked(), loan()), NOTHING, "nothing moving, nothing failing"),
    # made safe, and each way that lapses
    "lifting on its own tray": (together(LIFTING, acted("own_tray")), SAFE, "(on its own tray on 1 July 2026)"),
    "lifting, named": (together(LIFTING, acted("own_box", hazard_id="damage:D{o}")), SAFE, "in its own box"),
    "weeping unwrapped": (together(seen("weeping", "active"), acted("unwrapped")), SAFE, "(unwrapped on 1 July 2026)"),
    "danger labelled": (together(looked(), danger(), acted("labelled")), SAFE, "radium (labelled on 1 July 2026)"),
    "join supported": (together(repaired("holds", "failed"), acted("supported")), SAFE, "wax join has let go"),
    "place mended": (together(looked(), of(location_id="mended")), SAFE, "place mended on 2 September 2026"),
    "action of another kind": (together(seen("weeping", "active"), acted("own_tray")), MOVE, "active weeping"),
    "action for another hazard": (together(LIFTING, acted("own_tray", hazard_id="damage:X")), SECURE, "active lifting"),
    "action before the last check": (together(LIFTING, acted("own_tray", "2026-05-01")), SECURE, "active lifting"),
    "action past its last day": (together(LIFTING, acted("own_tray", until=day("2026-10-01"))), SECURE, "active lifting"),
    "moved since the action": (together(LIFTING, acted("own_tray"), moved("2026-08-01")), SECURE, "active lifting"),
    "a piece loose since the action": (
        together(LIFTING, acted("own_tray"), piece(checked_on=day("2026-08-01"))), SECURE, "lies loose in its place"),
    "one of two causes answered": (
        together(LIFTING, damage("flaking", "active", "E{o}"), acted("own_tray", hazard_id="damage:D{o}")),
        SECURE, "active flaking"),
    # not checked
    "never checked": ({}, UNCHECKED, "nobody has checked it"),
    "catalogue remark only": (looked(look="remark", grade="poor"), UNCHECKED, "only a remark"),
    "not found at an audit": (looked(visit="not_found"), UNCHECKED, ""),
    # left, and each way it lapses
    "left, the object": (together(CHIP, decided()), LEFT, "Leave on 2 June 2026: lost long ago; think again on 1 January 2030"),
    "left, the damage": (together(CHIP, decided(damage_id="D{o}")), LEFT, "lost long ago"),
    "left, the repair": (together(repaired("fills", "failing"), decided(repair_id="R{o}")), LEFT, "lost long ago"),
    "left, a decision for one of two": (together(CHIP, damage("abrasion", "stable", "E{o}"), decided(damage_id="D{o}")), NOTHING, ""),
    "left, a damage seen after the decision": (
        together(looked("2026-05-01", "B{o}"), damage("chip", "stable", at="B{o}"), looked("2026-08-01"),
                 damage("abrasion", "stable", "E{o}"), decided()), NOTHING, ""),
    "a decision never hides what is to be secured": (together(LIFTING, decided()), SECURE, "active lifting"),
    "decision past its day": (together(CHIP, decided(review="2026-10-01")), NOTHING, "checked 1 June 2026"),
    "decision without a day": (together(CHIP, decided(review=None)), NOTHING, ""),
    "decision older than the check": (together(CHIP, decided("2026-05-31")), NOTHING, ""),
    "active since the decision": (together(seen("dent", "active", "2026-10-01"), decided("2026-05-01")), MONITOR, "something moves"),
    "accident since the decision": (together(CHIP, decided(), moved("2026-07-01", accident=True)), AGAIN, "accident"),
    "on loan since the decision": (together(CHIP, decided(), loan("2026-07-01")), NOTHING, ""),
    "loan begun, then decided": (together(CHIP, decided("2026-07-02"), loan("2026-07-01")), LEFT, "lost long ago"),
    "moved outside its target since": (
        together(CHIP, decided(), of(location_id="damp"), target(), moved("2026-07-01", moved_to="damp")),
        AGAIN, "outside its target"),
    "watched is not left": (together(CHIP, decided(choice="monitor")), MONITOR, "Monitor on 2 June 2026: lost long ago"),
    # treat, or check again
    "above the limit and sure": (seen("dent", "active", **MUCH), TREAT, "active dent"),
    "above, a proposal open": (
        together(seen("dent", "active", **MUCH), {"option": [{"option_id": "P{o}", "object_id": "{o}", "status": "open"}]}),
        TREAT, "active dent"),
    "above, a proposal accepted": (
        together(seen("dent", "active", **MUCH), {"option": [{"option_id": "P{o}", "object_id": "{o}", "status": "accepted"}]}),
        TREAT, "active dent"),
    "above and unsure": (seen("bend", "active", extent_band=None), AGAIN, "its figure is rough: 8 times less or more"),
    "above, nobody assessed": (seen("crack", None, **MUCH), AGAIN, "its figure is rough"),
    "just below the limit": (seen("abrasion", "active", "2026-10-01", extent_band="from_1_to_5"), MONITOR, "something moves"),
    "suspected in a fast kind": (seen("wire_lift", "suspected"), AGAIN, "suspected lifted wire, seen 1 June 2026"),
    "not assessed in a fast kind": (seen("wire_lift", "unknown"), AGAIN, "lifted wire, not assessed at the check of 1 June 2026"),
    "active in a fast kind, in no class above": (seen("bend", "active"), AGAIN, "active bend"),
    "check overdue": (looked("2020-01-01"), AGAIN, "check was due on 1 January 2025"),
    "day set at the check is past": (looked(next_check_on=day("2026-09-01")), AGAIN, "day set at the last check"),
    "moved with an accident": (together(looked(), moved("2026-07-01", accident=True)), AGAIN, "accident on the way, moved 1 July 2026"),
    "crated journey since": (together(looked(), moved("2026-07-01", packed="crated")), AGAIN, "moved 1 July 2026, not checked since"),
    "carried by hand since": (together(looked(), moved("2026-07-01", packed="by_hand")), NOTHING, ""),
    "lifting carried since": (together(seen("lifting", "stable"), moved("2026-07-01", packed="by_hand")), AGAIN, "not checked since"),
    "join carried since": (together(repaired("holds", "sound"), moved("2026-07-01")), AGAIN, "not checked since"),
    "climate event since": (
        together(looked(), looked("2026-08-01", "B{o}", look="remark", occasion="climate_event")), AGAIN, "after a climate event"),
    "figures disagree": (FIGURES, AGAIN, "said to be unchanged, but length [mm] 9.0 after 4.0"),
    "dormant, nobody measured": (seen("weeping", "dormant"), AGAIN, "weeping"),
    "outside a target it can stand": (together(looked(), of(location_id="damp"), target()), AGAIN, "outside its target"),
    "size not recorded, could cross": (
        together(seen("dent", "active", extent_band=None, area_mm2=160.0), of(height_mm=None, width_mm=None)),
        AGAIN, "its size is not recorded: measure it first"),
    "join letting go, supported or not": (repaired("holds", "failing"), AGAIN, "is it supported?"),
    "join letting go, supported": (together(looked("2026-10-01"), repair("holds", "failing"), acted("supported", "2026-10-02")), MONITOR, "made safe, not yet treated"),
    "harm nobody wrote where": (repaired("fills", "harmful"), AGAIN, "said to do harm, and nobody wrote where"),
    "graded poor without a cause": (looked(grade="poor"), AGAIN, "graded poor, and no cause is on record"),
    # monitor
    "fill letting go": (repaired("fills", "failing"), MONITOR, "letting go; check again by 1 June 2027"),
    "lifting, not moving": (seen("lifting", "stable"), MONITOR, "parted from metal"),
    "appears stable": (seen("chip", "appears_stable"), MONITOR, "not yet compared"),
    "a place that gathers dust": (together(looked(), of(location_id="dust")), MONITOR, "dust: dust, seen 1 September 2026"),
    # nothing
    "danger made safe": (together(looked(), danger(precautions="bagged", basis="tested")), NOTHING, "nothing moving"),
    "danger safe as kept": (together(looked(), danger(made_safe_on=day("2026-01-01"))), NOTHING, "nothing moving"),
    "stable crack": (seen("crack", "stable"), NOTHING, "next check by 1 June 2031"),
    "missing": (together(LIFTING, of(status="missing")), NOTHING, "Missing"),
    "checked in its case": (together(looked(visit="through_glass")), NOTHING, "next check by 1 June 2027"),
}  # fmt: skip
STEPS = {
    "active sugaring": "do not touch, blow on, wrap or move it",
    "crizzling in scales": "do not touch, blow on, wrap or move it",
    "active wire": "no cloth and no loose cuffs near it",
    "loose fragment as damage": "photograph it; the conservator takes it off",
    "active loose joint": "take the weight off it",
    "active lifting": "do not lift it alone",
    "active blind lifting": "do not lift it alone",
    "loose fragment as a piece": "photograph it; the conservator takes it off",
    "join that has let go": "find the piece",
    "join letting go, journey planned": "take the weight off it, do not test it by hand; not lent",
    "coat over active lifting": "leave it alone: no peeling",
    "mount pressing beside a fresh chip": "no cloth and no loose cuffs near it",
    "danger presumed": "leave it closed where it is",
    "danger without precautions": "label it, gloves, hands washed",
    "active weeping": "unwrap it",
    "suspected crizzling": "unwrap it",
    "metal corroding at the glass": "look for wood, felt",
    "chlorides": "to a dry place of its own",
    "spreading rust": "dry and off the floor",
    "mould": "close it in a clear bag",
    "under a drip": "move it off this shelf today",
    "unstable glass outside its target": "check it today",
    "suspected lifting, on a loan": "it is not packed as recorded",
    "lifting on its own tray": "leave it as it was made safe",
    "catalogue remark only": "check it: only a remark tells of it",
    "never checked": "check it: nobody has",
    "left, the object": "leave it; think again on the day set",
    "size not recorded, could cross": "measure it first",
    "above, a proposal accepted": "the accepted proposal is to be begun",
    "above, a proposal open": "decide on the proposal on record",
    "above the limit and sure": "ask the conservator for a proposal",
    "join letting go, supported or not": "say whether it is supported",
    "check overdue": "check it again before deciding",
    "a place that gathers dust": "check it again on its day",
    "fill letting go": "check it again on its day",
    "stable crack": "nothing until its next check",
}
