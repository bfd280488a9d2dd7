"""Five loans (over, refused, made ready with a piece that lifts, a plaque that came in, asked for), and what moved."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import cache

from demo_collection.generator.chance import stream
from demo_collection.generator.documents import last_looks
from demo_collection.generator.museum import TODAY, room_of, shelf
from demo_collection.generator.objects import NEVER, Item, checked, items
from demo_collection.generator.simulation import simulate
from demo_collection.generator.tables import Row, grouped, row, sorts, table

OVER, AHEAD, INCOMING, ASKED = "LN 2023/1", "LN 2026/2", "LN 2026/IN", "LN 2027/1"
CHECKED_FOR_LOANS = {AHEAD: date(2026, 9, 22), ASKED: date(2026, 9, 24)}
GUEST = "L2026.1"
CALM = ("guilloche", "cloisonne", "jewel", "champleve")
TIDIED = 60  # objects that moved when shelves were put in order
SLIPPED = (8, 9)  # which of them


@cache
def travelling() -> Mapping[str, list[Item]]:
    """Which objects are on which loan; the first of those made ready has lifting enamel."""
    ours = [t for t in checked() if t.status == "in_collection" and not t.missing and not t.parts]
    here = [t for t in ours if t.number in last_looks()]
    calm = [t for t in here if not simulate().moving(t.number) and t.group in CALM]
    ready = [next(t for t in here if simulate().lifts(t.number)), *calm[10:13]]
    return {OVER: calm[3:5], AHEAD: ready, INCOMING: [t for t in checked() if t.number == GUEST]}


def workbook_sheets() -> Mapping[str, list[Row]]:
    """Sheets of the workbook of loans; one cell holds a formula that nobody let calculate."""
    objects = list(_loan_objects())
    unseen = next(t.number for t in items() if t.looked == NEVER)
    objects.append({**objects[-1], "object_id": unseen, "crate_no": '=CONCATENATE("N-",2)'})
    objects += [row("loan_object", line) for line in table("loans_asked")]
    sheets = {"loans": table("loans"), "venues": table("loan_venues")}
    return sheets | {"objects": objects, "states": list(_loan_states())}


def _loan_objects() -> Iterator[Row]:
    """Rows of record loan_object."""
    for loan_id, lent in travelling().items():
        for place, item in enumerate(lent, start=1):
            watched = [f"{d.kind.replace('_', ' ')}, {d.side}" for d in simulate().open_damage(item.number)]
            values = {"loan_id": loan_id, "object_id": item.number, "crate_no": f"{loan_id[-1]}-{place}"}
            treat = simulate().moving(item.number) and loan_id == AHEAD
            values |= {"conditions_before_packing": "treat what lifts" if treat else ""}
            yield row("loan_object", values, areas_to_watch="; ".join(watched[:3]))


def checks_for_loans() -> Iterator[Row]:
    """Rows of record condition_check: every object made ready or asked for was taken up and looked at."""
    for number, (loan_id, object_id) in enumerate(looked_at(), start=1):
        values = {"check_id": f"CL-{number:02d}", "object_id": object_id, "loan_id": loan_id}
        day = CHECKED_FOR_LOANS[loan_id]
        yield row("loan_check", values, checked_on=day, signed_on=day, grade=last_looks()[object_id]["grade"])


def looked_at() -> list[tuple[str, str]]:
    """Loan and object of every check that was made for a loan."""
    ready = [(AHEAD, item.number) for item in travelling()[AHEAD]]
    asked = [(ASKED, line["object_id"]) for line in table("loans_asked") if line["loan_id"] == ASKED]
    return [*ready, *asked]


def lines_for_loans() -> Mapping[str, list[Row]]:
    """Rows of records observation and repair_state at those checks: what was open, as it was before."""
    damages: list[Row] = []
    repairs: list[Row] = []
    for number, (_, object_id) in enumerate(looked_at(), start=1):
        check = f"CL-{number:02d}"
        for damage in (d for d in simulate().open_damage(object_id) if d.last):
            last = damage.last
            same = {"change": "unchanged", "compared_with": last["check_id"], "evidence": ""}
            damages.append({**last, "check_id": check, **same})
        for repair in simulate().open_repairs(object_id):
            if repair.number:
                repairs.append({**_last_line("repair_state", "repair_id", repair.number), "check_id": check})
    return {"observation": damages, "repair_state": repairs}


def _last_line(record: str, key: str, number: str) -> Row:
    return next(line for line in reversed(simulate().rows[record]) if line[key] == number)


def _loan_states() -> Iterator[Row]:
    """Rows of record loan_state: five of the loan that is over, two of the one that came in."""
    for loan_id, states in grouped("loan_states", "loan_id").items():
        for item in travelling()[loan_id]:
            for line in states:
                day, state = line["day"], line["state"]
                values = {"loan_id": loan_id, "object_id": item.number, "state": state, "place": line["place"]}
                values |= {"stated_on": f"{day}T10:30:00", "signed_ours_on": f"{day}T11:00:00"}
                values |= {"packing_as_found": "as packed" if state in ("incoming", "return") else ""}
                yield row("loan_state", values, signed_theirs_on=f"{day}T11:05:00")


def moves() -> Iterator[Row]:
    """Rows of record move, in order of days."""
    journeys = sorted([*_lent(), *_tidied()], key=lambda values: values["moved_on"])
    for number, values in enumerate(journeys, start=1):
        yield row("move", values, move_id=f"M{number:03d}")


def _lent() -> Iterator[Row]:
    """To a borrower and back."""
    for item in travelling()[OVER]:
        crated = {"object_id": item.number, "packed": "crated"}
        yield crated | {"moved_on": "2023-03-28", "moved_from": item.home, "moved_to": "LOANS", "reason": "loan"}
        back = {"moved_on": "2023-10-06", "moved_from": "LOANS", "moved_to": item.home}
        yield crated | back | {"reason": "back from loan"}


def _tidied() -> Iterator[Row]:
    """From shelf to shelf, three times in four before the last look; two objects slipped from their tray."""
    chance = stream("moves")
    ours = [t for t in checked() if t.status == "in_collection" and not t.missing and t.sort in sorts()]
    movable = [t for t in ours if t.number in last_looks()]
    for place, item in enumerate(chance.sample(movable, TIDIED)):
        days = (-900, -40) if place % 4 else (5, 60)
        day = last_looks()[item.number]["checked_on"] + timedelta(chance.randint(*days))
        if day < TODAY:
            values = {"object_id": item.number, "moved_on": str(day), "moved_to": item.home}
            values |= {"moved_from": shelf({room_of(item.home): 1}, chance)}
            slipped = {"reason": "slipped from the tray", "packed": "on_tray", "accident": "yes"}
            usual = {"reason": "shelves put in order", "packed": "by_hand", "accident": "no"}
            yield values | (slipped if place in SLIPPED else usual)
