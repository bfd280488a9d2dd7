"""What a plan is worked out from: plain frames with named schemas, in the unit of worth that holds for all of them.

Keys are ids of records. Years named `year` are calendar years; lists of ids may be empty, never null.
"""

from dataclasses import dataclass, fields
from datetime import date, timedelta
from functools import cached_property

import polars as pl

from collection.frames import require

IDS = pl.List(pl.String)
# value_share: of the collection's value. insured_value: null where nobody set one. left: a decision to leave or to
# watch it is in force. away: calendar years it is out of reach, all of them if it is missing.
OBJECT = pl.Schema(
    {"object_id": pl.String, "value_share": pl.Float64, "insured_value": pl.Float64, "left": pl.Boolean}
    | {"away": pl.List(pl.Int32)}
)
# reach [share of the part]: mean over its range, with low, likely and high for the draws. years of `collection.risk`.
# chance_per_move, moves_a_year: of ordinary moves. climate, handling: groups that a place option may act on.
# rate_row: the row of the rates it comes from, by which rates are judged otherwise and drawn together.
HAZARD = pl.Schema(
    {"object_id": pl.String, "hazard_id": pl.String, "part": pl.String}
    | dict.fromkeys(("part_share", "reach", "reach_low", "reach_likely", "reach_high", "loss_depth"), pl.Float64)
    | dict.fromkeys(("years_short", "years_likely", "years_long", "modifier"), pl.Float64)
    | dict.fromkeys(("chance_per_move", "moves_a_year"), pl.Float64)
    | dict.fromkeys(("climate", "handling", "rate_row"), pl.String)
)
# Moves of planned journeys, as many as they count for this hazard, in a calendar year.
JOURNEY = pl.Schema({"object_id": pl.String, "hazard_id": pl.String, "year": pl.Int32, "moves": pl.Float64})
# An option on an object, or (PLACE_OPTION) on a place. open: it may still be planned. done: it was carried out.
# given_worth: worth where it does not come from hazards (in the plan's unit, the same in every year).
OPTION = pl.Schema(
    {"option_id": pl.String, "object_id": pl.String, "money": pl.Float64, "currency": pl.String}
    | {"loss_in_doing": pl.Float64, "lasts_years": pl.Float64, "setup_group": pl.String}
    | {"needs": IDS, "excludes": IDS, "together_with": IDS}
    | {"prevents_loss": pl.Boolean, "open": pl.Boolean, "done": pl.Boolean, "given_worth": pl.Float64}
)
PLACE_OPTION = pl.Schema(
    {"option_id": pl.String, "location_id": pl.String, "money": pl.Float64, "currency": pl.String}
    | {"yearly_cost": pl.Float64, "lasts_years": pl.Float64, "together_with": IDS, "open": pl.Boolean}
)
# Hours of an option by skill; `bench_days` is a skill whose unit is the day. No row at all: nobody estimated any.
OPTION_HOURS = pl.Schema({"option_id": pl.String, "skill": pl.String, "hours": pl.Float64})
EFFECT = pl.Schema({"option_id": pl.String, "hazard_id": pl.String, "rate_left": pl.Float64})
# What an option leaves behind that can fail: sound for some years, then ageing; columns as of HAZARD.
ADDED = pl.Schema(
    {"option_id": pl.String, "part": pl.String}
    | dict.fromkeys(("part_share", "reach", "loss_depth", "ageing_depth"), pl.Float64)
    | dict.fromkeys(("years_short", "years_likely", "years_long"), pl.Float64)
    | dict.fromkeys(("ageing_short", "ageing_likely", "ageing_long", "modifier"), pl.Float64)
    | dict.fromkeys(("chance_per_move", "moves_a_year"), pl.Float64)
    | {"climate": pl.String, "handling": pl.String}
)
# hazard_group: a group of climate or of handling; rate_factor from 0 to 1.
PLACE_EFFECT = pl.Schema({"option_id": pl.String, "hazard_group": pl.String, "rate_factor": pl.Float64})
# Which objects stand where a place option acts.
PROTECTED = pl.Schema({"option_id": pl.String, "object_id": pl.String})
SETUP = pl.Schema({"setup_group": pl.String, "skill": pl.String, "hours": pl.Float64, "money": pl.Float64})
# One of object_id and option_id is set. because: words of the record.
MUST = pl.Schema(
    {"must_id": pl.String, "object_id": pl.String, "option_id": pl.String, "done_by": pl.Date, "because": pl.String}
)
MONEY = pl.Schema(
    {"year": pl.Int32, "fund": pl.String, "money": pl.Float64, "currency": pl.String, "spend_by": pl.Date}
    | {"carries_over": pl.Boolean}
)
HOURS = pl.Schema({"year": pl.Int32, "skill": pl.String, "hours": pl.Float64})
SCHEMAS = {
    "objects": OBJECT, "hazards": HAZARD, "journeys": JOURNEY, "options": OPTION, "place_options": PLACE_OPTION,
    "option_hours": OPTION_HOURS, "effects": EFFECT, "added": ADDED, "place_effects": PLACE_EFFECT,
    "protected": PROTECTED, "setups": SETUP, "musts": MUST, "money": MONEY, "hours": HOURS,
}  # fmt: skip


@dataclass(frozen=True)
class Situation:
    """All that a plan rests on; each frame has the schema that SCHEMAS names.

    horizon [year] from the first day of `first_year`. insured : worth in money, where every object with an option has
    an insured value; else in shares of the collection's value. hour_price : money an hour, 0 where the museum set none.
    """

    first_year: int
    years: int
    horizon: float
    objects: pl.DataFrame
    hazards: pl.DataFrame
    journeys: pl.DataFrame
    options: pl.DataFrame
    place_options: pl.DataFrame
    option_hours: pl.DataFrame
    effects: pl.DataFrame
    added: pl.DataFrame
    place_effects: pl.DataFrame
    protected: pl.DataFrame
    setups: pl.DataFrame
    musts: pl.DataFrame
    money: pl.DataFrame
    hours: pl.DataFrame
    insured: bool = False
    hour_price: float = 0.0

    def __post_init__(self) -> None:
        """Raise TypeError where a frame has another schema; sort each by all its plain columns, so that order of rows
        changes no plan.
        """
        for field in fields(self):
            frame = getattr(self, field.name)
            if isinstance(frame, pl.DataFrame):
                require(frame, SCHEMAS[field.name], field.name)
                plain = [n for n, t in frame.schema.items() if not isinstance(t, pl.List)]
                object.__setattr__(self, field.name, frame.sort(plain))

    @property
    def currency(self) -> str | None:
        """The currency of the money on record."""
        named = self.money["currency"].drop_nulls().unique().sort()
        return str(named[0]) if named.len() else None

    @cached_property
    def values(self) -> dict[str, float]:
        """Value of each object in the unit of the plan."""
        column = "insured_value" if self.in_money else "value_share"
        return dict(self.objects.select("object_id", pl.col(column).fill_null(0.0)).iter_rows())

    @cached_property
    def in_money(self) -> bool:
        """Whether worth is money: chosen so, and every object with an option is insured."""
        planned = self.objects.filter(pl.col("object_id").is_in(self.options["object_id"].implode()))
        return self.insured and not planned["insured_value"].has_nulls()

    def last_year(self, done_by: date) -> int:
        """The last year of the plan (1, 2, ...) that ends on or before a day; below 1 where none does."""
        ended = (done_by + timedelta(days=1)).year - 1
        return min(ended - self.first_year + 1, self.years)


def situation(first_year: int, years: int, horizon: float, **given: pl.DataFrame | bool | float) -> Situation:
    """A Situation whose frames that are not given are empty."""
    empty = {name: pl.DataFrame(schema=schema) for name, schema in SCHEMAS.items()}
    return Situation(first_year, years, horizon, **{**empty, **given})  # type: ignore[arg-type]
