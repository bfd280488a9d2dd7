"""What a museum has set, typed; a bad value is said where it comes in."""

from datetime import date
from typing import Annotated, Literal
from zoneinfo import available_timezones

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from collection.snapshot import Collection
from schemas.errors import WrongUsage
from schemas.fields import Currency
from schemas.records.house import Setting


def _known_zone(name: str) -> str:
    if name not in available_timezones():
        raise ValueError("not a time zone such as Europe/London")
    return name


class Settings(BaseModel):
    """The museum's own settings; one that is absent has the default.

    treat_from [share of an object's value a year] and unsure_from_times [factor] replace the values of lines.toml.
    hour_price [money an hour] weighs hours against money where a plan compares them. facts_in_reports: names of
    further facts, with `;` between them, that condition reports print; without it they print none.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    treat_from: Annotated[float, Field(gt=0, lt=1)] | None = None
    unsure_from_times: Annotated[float, Field(gt=1, le=1e9)] | None = None
    value_basis: Literal["value_points", "insured_value"] = "value_points"
    currency: Currency | None = None
    hours_a_week: Annotated[float, Field(gt=0, le=168)] | None = None
    hour_price: Annotated[float, Field(gt=0, le=1e6)] | None = None
    today: date | None = None
    time_zone: Annotated[str, AfterValidator(_known_zone)] | None = None
    museum: str = ""
    invented: str = ""
    facts_in_reports: str = ""

    @property
    def zone(self) -> str | None:
        """Name of the museum's time zone."""
        return self.time_zone

    @classmethod
    def of(cls, collection: Collection) -> "Settings":
        """What is set; a stored value that cannot be used is left out (`unusable` names it)."""
        stored = dict(collection[Setting.record].select("name", "value").iter_rows())
        return cls.model_validate({name: value for name, value in stored.items() if not problem(name, value)})


def problem(name: str, value: str) -> str:
    """Why a setting cannot have this value, in words; empty where it can."""
    if name not in Settings.model_fields:
        return f"there is no setting {name}; there are {', '.join(Settings.model_fields)}"
    try:
        Settings.model_validate({name: value})
    except ValidationError as error:
        return error.errors()[0]["msg"].removeprefix("Value error, ")
    return ""


def unusable(collection: Collection) -> list[str]:
    """A sentence for each stored setting that cannot be used; its default stands in its place."""
    stored = collection[Setting.record].select("name", "value").sort("name").iter_rows()
    wrong = [(name, value, problem(name, value)) for name, value in stored]
    return [f"The setting {name} = '{value}' is not used: {why}." for name, value, why in wrong if why]


def as_of_day(stated: str | None, collection: Collection) -> date:
    """The day asked for; else the register's own day (a demonstration has one); else today.

    Raises WrongUsage for what is no day.
    """
    if not stated:
        return Settings.of(collection).today or date.today()
    try:
        return date.fromisoformat(stated)
    except ValueError:
        expected = "a day such as 2026-11-25"
        raise WrongUsage("--as-of", f"'{stated}' is no day", expected, "Write year-month-day.") from None
