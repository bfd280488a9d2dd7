"""Photographs by view, with the outlines of what the tables number."""

from collections.abc import Iterator, Mapping

from collection.report.case import Case
from collection.report.cells import Row, joined, paragraphs
from collection.report.document import Block
from collection.report.words import say, text, title


def pictures(case: Case) -> Iterator[Block]:
    """One picture of each view, the latest by the day; outlines carry the numbers of the tables."""
    latest = {row["view"]: row for row in case.rows("photo", "taken_on", "photo_id") if _by_then(case, row)}
    if latest:
        rows = tuple(
            _picture(case, row) for row in sorted(latest.values(), key=lambda r: (r["view"] or "", r["photo_id"]))
        )
        yield Block("pictures", title("pictures"), rows)
    else:
        yield Block("text", title("pictures"), paragraphs([text("no_picture")]))


def _by_then(case: Case, row: Row) -> bool:
    return row["taken_on_earliest"] is None or row["taken_on_earliest"] <= case.made_on


def _picture(case: Case, row: Row) -> Mapping[str, str]:
    drawn = [r for r in case.rows("region", "region_id") if r["photo_id"] == row["photo_id"] and _number(case, r)]
    outlines = sorted({_number(case, r) for r in drawn}, key=lambda n: (len(n), n))
    view = row["view"] or say("view_not_said")
    word = "photo_alt" if drawn else "photo_unoutlined"
    return {
        "caption": say("photo", view=view, day=row["taken_on"] or say("undated")),
        "photo": row["photo_id"],
        "alt": say(word, number=case.object_id, view=view, outlines=joined(*outlines)),
        "outlines": "|".join(f"{_number(case, r)}:{r['outline']}" for r in drawn),
    }


def _number(case: Case, region: Row) -> str:
    return case.numbers.get(region["damage_id"] or region["repair_id"] or "", "")
