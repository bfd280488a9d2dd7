"""What is not original: every fill, retouch, coating and replacement, and how it can be seen.

What it dissolves in is no matter of a loan: water, warmth and solvents keep away from all of it.
"""

from collections.abc import Iterator, Mapping

from collection.documents.case import Case
from collection.documents.cells import Row, coded, day_words, extent, joined, paragraphs, part, quantity, term, where
from collection.documents.document import Block
from collection.documents.words import columns, say, text, title

LINES = ("no", "where", "does", "material", "extent", "since", "state", "recognised")


def added(case: Case) -> Iterator[Block]:
    """Old repairs and the materials of treatments on record."""
    rows = (*map(_repair, case.repairs), *(_used(case, row) for row in used_besides(case)))
    if rows:
        yield Block("table", title("added"), rows, columns(*LINES))
        yield Block("text", "", paragraphs([text("added_rule")]))
    else:
        yield Block("text", title("added"), paragraphs([text("nothing_added")]))


def treatments(case: Case) -> Iterator[Block]:
    """What was done, by name of step only."""
    done = [
        row for row in case.rows("treatment", "started_on", "treatment_id") if row["finished_on"] or row["started_on"]
    ]
    rows = tuple(
        {"dates": _dates(row), "done": term("treatment", "steps", row["steps"]) or say("not_said")} for row in done
    )
    yield Block("table", title("treatments"), rows, columns("dates", "done"))


def documents(case: Case) -> Iterator[Block]:
    """Reports, radiographs and analyses on record."""
    rows = tuple(
        {
            "kind": joined(term("evidence", "kind", row["kind"]), row["evidence_id"]),
            "dates": day_words(row["dated"]) or say("undated"),
            "shows": row["what_it_shows"] or say("not_said"),
        }
        for row in case.rows("evidence", "dated", "evidence_id")
    )
    yield Block("table", title("documents"), rows, columns("kind", "dates", "shows"))


def fragments(case: Case) -> Iterator[Block]:
    """Pieces that came off and are kept."""
    rows = tuple(
        {
            "no": case.numbers.get(row["from_damage_id"] or "", ""),
            "where": joined(part(row["part"]), row["position"]),
            "label": joined(row["container"], row["bag_label"]) or say("not_said"),
            "state": term("fragment", "status", row["status"]) or say("not_said"),
        }
        for row in case.rows("fragment", "fragment_id")
    )
    yield Block("table", title("fragments"), rows, columns("no", "where", "label", "state"))


def _repair(row: Row) -> Mapping[str, str]:
    label = term("repair_state", "stability", row["state"])
    signs = term("repair_state", "signs", row["signs"]).lower()
    covers = {True: "covers_original", False: "bare_original"}.get(row["covers_original"])
    printed = {
        "no": row["no"],
        "where": where(row),
        "does": joined(term("repair", "function", row["function"]), say(covers) if covers else ""),
        "material": material(row),
        "extent": extent({**row, "area_mm2": row["area_mm2"] or row["area_mm2_of_check"]}, "repair_state")
        or say("not_said"),
        "since": joined(day_words(row["done_on"]), row["done_by"], row["documented"]) or say("not_said"),
        "state": joined(
            say("seen_on", state=label, day=day_words(row["seen_on"])) if row["seen_on"] else label, signs, by="; "
        ),
        "recognised": _recognised(row),
    }
    names = ("part", "side", "function", "material", "area_mm2", "extent_band", "seen_on")
    return printed | coded(stability=row["state"], **{name: row[name] for name in names})


def _recognised(row: Row) -> str:
    """At what distance and in what light it shows, its colour under ultraviolet, its thickness."""
    colour, thick = row["fluorescence"], quantity("repair", "thickness_mm", row["thickness_mm"])
    return joined(
        term("repair", "recognised_by", row["recognised_by"]).lower(),
        say("under_uv", colour=colour) if colour else "",
        say("thickness", v=thick) if thick else "",
        by="; ",
    ) or say("not_said")


def material(row: Row) -> str:
    """Material of a repair, and how it is known."""
    named, how = term("repair", "material", row["material"]), term("repair", "certainty", row["certainty"])
    return say("certainty", material=named, how=how.lower()) if how else named


def used_besides(case: Case) -> list[Row]:
    """Materials of finished treatments that no repair of the same treatment already names."""
    named = {(r["treatment_id"], r["part"], r["material"], r["function"]) for r in case.rows("repair")}
    done = {row["treatment_id"] for row in case.rows("treatment")}
    used = case.rows("material_use", "treatment_id", "part", "material", "function")
    rows = [r for r in used if r["treatment_id"] in done]
    return [r for r in rows if (r["treatment_id"], r["part"], r["material"], r["function"]) not in named]


def _used(case: Case, row: Row) -> Mapping[str, str]:
    treatment = next(t for t in case.rows("treatment") if t["treatment_id"] == row["treatment_id"])
    printed = {
        "no": "",
        "where": part(row["part"]),
        "does": term("material_use", "function", row["function"]),
        "material": joined(term("material_use", "material", row["material"]), row["batch"]),
        "extent": extent({**row, "extent_band": None}, "observation") or say("not_said"),
        "since": _dates(treatment),
        "state": say("not_said"),
        "recognised": say("not_said"),
    }
    return printed | coded(**{name: row[name] for name in ("part", "function", "material", "area_mm2")})


def _dates(row: Row) -> str:
    first, last = row["started_on"], row["finished_on"]
    if first and last and first != last:
        return say("dates", first=day_words(first), last=day_words(last))
    return day_words(last or first) or say("undated")
