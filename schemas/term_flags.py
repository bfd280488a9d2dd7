"""Properties that are true or not, by vocabulary, of terms that have no others."""

from collections.abc import Mapping

FLAGS: Mapping[str, tuple[str, ...]] = {
    "action": ("secures", "supports", "betters_place", "makes_safe"),
    "change": ("grown", "says_nothing", "nothing_earlier"),
    "check_source": ("legacy", "from_catalogue"),
    "choice": ("leaves", "watches"),
    "danger_agent": ("keeps_out", "alkaline"),
    "danger_basis": ("not_made_safe",),
    "enclosure": ("own_air",),
    "glass_stability": ("unstable",),
    "grade": ("needs_cause",),
    "loan_direction": ("roles_swapped",),
    "loan_state": ("arriving", "leaving", "back"),
    "loan_outcome": ("unlike_before",),
    "loan_status": ("waits_for_answer", "under_way", "off"),
    "location_kind": ("holds_rooms", "room", "lost", "shows"),
    "look": ("from_catalogue", "in_person", "each_damage"),
    "metal": ("paint_likely", "generic", "heavy"),
    "object_status": ("away",),
    "occasion": ("accident", "arrival", "from_catalogue", "follows_treatment"),
    "onset": ("old", "new"),
    "option_status": ("backlog", "agreed"),
    "orientation": ("not_level",),
    "origin": ("flaw", "happened"),
    "part_kind": ("enamelled", "organic"),
    "place_fault": ("better_place",),
    "repair_sign": ("alkaline",),
    "repair_material": ("not_assessed",),
    "seen": ("looked",),
    "visit": ("reached", "on_display"),
}
