"""Rules about what a plan rests on: options, what they leave behind and do to places, shared work, musts, plans."""

from collections.abc import Callable, Mapping

import polars as pl

from collection.risk.rate_rows import RateFile
from collection.validation.problems import ROW, no_problems, problems_of
from collection.validation.session import Session
from schemas.records.catalogue import WHOLE
from schemas.records.plan import FROZEN, LOAN
from schemas.tables import RECORDS

NAMING = ("needs", "excludes", "together_with")  # columns of an option that name other options
c = pl.col


def _standing(rows: pl.DataFrame, record: str, session: Session) -> pl.DataFrame:
    """The rows as they will stand: what they leave empty is as the register holds it."""
    key = RECORDS[record].key
    return session.rows(record).join(rows.select(*key, ROW), on=key)


def option_of_nothing(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """An option is for one object or for one place."""
    its = _standing(rows, "option", session)
    wrong = its.filter(c("object_id").is_null() == c("location_id").is_null())
    return problems_of(wrong, "option_of_nothing", "object_id", value=c("object_id"))


def hours_out_of_order(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Hours are more than none, and low, likely and high rise."""
    its = _standing(rows, "option", session)
    wrong = its.filter(
        (c("hours_likely") <= 0) | (c("hours_low") <= 0) | (c("hours_low") > c("hours_likely"))
        | (c("hours_high") < c("hours_likely"))
    )  # fmt: skip
    return problems_of(wrong, "hours_out_of_order", "hours_likely", value=c("hours_likely"))


def unknown_option_named(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """What an option needs, excludes or goes together with is another option that there is."""
    known = session.rows("option")["option_id"]
    broken = [no_problems()]
    for column in (n for n in NAMING if n in rows.columns):
        each = rows.select(ROW, "option_id", named=column).explode("named").drop_nulls("named")
        wrong = each.filter(~c("named").is_in(known.implode()) | (c("named") == c("option_id")))
        broken.append(problems_of(wrong.unique(ROW), "unknown_option_named", column, value=c("named")))
    return pl.concat(broken)


def needs_in_a_circle(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Of options that need each other in a circle none can be done first."""
    if "needs" not in rows.columns:
        return no_problems()
    pairs = session.rows("option").select("option_id", "needs").drop_nulls().iter_rows()
    needs: dict[str, list[str]] = {option: its for option, its in pairs if its}
    own = rows.select("option_id", ROW).filter(c("option_id").is_in(list(needs)))
    circling = [option for option in own["option_id"] if option in _reached(option, needs)]
    return problems_of(own.filter(c("option_id").is_in(circling)), "needs_in_a_circle", "needs", value=c("option_id"))


def _reached(option: str, needs: Mapping[str, list[str]]) -> set[str]:
    """Every option that has to be done before this one."""
    ahead, reached = list(needs.get(option, ())), set[str]()
    while ahead:
        if (one := ahead.pop()) not in reached:
            reached.add(one)
            ahead += needs.get(one, ())
    return reached


def part_of_option_unknown(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """What an option leaves behind is on a part that its object has."""
    owner = session.rows("option").select("option_id", "object_id").drop_nulls()
    named = rows.filter(c("part") != WHOLE).join(owner, on="option_id")
    lost = named.join(session.rows("part").select("object_id", "part"), on=["object_id", "part"], how="anti")
    return problems_of(lost, "part_unknown", "part", value=c("part"))


def of_an_object(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Only an option for an object leaves something behind."""
    return _of_another_kind(rows, session, "object_id")


def of_a_place(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Only an option for a place acts on all that stands there."""
    return _of_another_kind(rows, session, "location_id")


def _of_another_kind(rows: pl.DataFrame, session: Session, column: str) -> pl.DataFrame:
    other = session.rows("option").filter(c(column).is_null()).select("option_id")
    return problems_of(
        rows.join(other, on="option_id", how="semi"), "option_of_another_kind", "option_id", value=c("option_id")
    )


def unknown_hazard_group(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A place acts on groups of climate and of handling that the rates name."""
    file = RateFile.load()
    climate = {row.climate for table in (file.damage, file.repair) for row in table.values()}
    known = sorted({*climate, *file.handling_groups().values()})
    wrong = rows.filter(~c("hazard_group").is_in(known))
    return problems_of(
        wrong, "unknown_hazard_group", "hazard_group", value=c("hazard_group"), expected=f"one of {', '.join(known)}"
    )


def hours_without_skill(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Hours are somebody's."""
    its = _standing(rows, "setup_group", session)
    return problems_of(its.filter(c("hours") > 0, c("skill").is_null()), "hours_without_skill", "skill")


def must_of_nothing(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A must asks for one object or for one option; one for a loan says for which."""
    its = _standing(rows, "must", session)
    wrong = its.filter(c("object_id").is_null() == c("option_id").is_null())
    loans = its.filter(c("because") == LOAN, c("loan_id").is_null())
    return pl.concat([
        problems_of(wrong, "must_of_nothing", "object_id", value=c("object_id")),
        problems_of(loans, "must_without_loan", "loan_id"),
    ])  # fmt: skip


def frozen_plan_changed(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A plan that was accepted never changes, nor do its lines: another plan follows it."""
    frozen = session.standing("plan").filter(c("status").is_in(FROZEN)).select("plan_id")
    late = rows.join(frozen, on="plan_id", how="semi")
    return problems_of(late, "frozen_plan_changed", "plan_id", value=c("plan_id"))


RULES: Mapping[str, tuple[Callable[[pl.DataFrame, Session], pl.DataFrame], ...]] = {
    "setup_group": (hours_without_skill,),
    "option": (option_of_nothing, hours_out_of_order, unknown_option_named, needs_in_a_circle),
    "option_adds": (of_an_object, part_of_option_unknown),
    "location_effect": (of_a_place, unknown_hazard_group),
    "must": (must_of_nothing,),
    "plan": (frozen_plan_changed,),
    "plan_line": (frozen_plan_changed,),
}
