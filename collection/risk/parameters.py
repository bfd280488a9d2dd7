"""Shapes of the value files, checked on load: a wrong figure is a `VocabularyError` with its dotted key."""

from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, Literal, Self, TypeVar, cast

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError, model_validator

from schemas.errors import VocabularyError
from schemas.vocabularies import load_parameters

T = TypeVar("T")
PERCENT = 100  # in a whole
DAYS_A_YEAR = 365.25
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Fraction = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
Three = tuple[Positive, Positive, Positive]
AtRisk = Literal["area", "line", "edge", "piece", "glass"]


class Strict(BaseModel):
    """No field but those named; never changed after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class YearsRow(Strict):
    """Years to the next loss [year] as short, likely, long, and the share of the value at risk lost at one event."""

    years: Three
    loss_depth: Fraction | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if list(self.years) != sorted(self.years):
            raise ValueError("years are short, likely, long in that order")
        return self


class StatesRow(BaseModel):
    """States with their `YearsRow`; `judged_as` is the term whose figures were taken over."""

    model_config = ConfigDict(extra="allow", frozen=True, defer_build=True)
    __pydantic_extra__: dict[str, YearsRow] = Field(init=False)
    judged_as: str | None = None

    @property
    def states(self) -> Mapping[str, YearsRow]:
        """State to its years."""
        return self.__pydantic_extra__


class Row(StatesRow):
    """One row of a table of rates; what is not named here is a state with its `YearsRow`."""

    layer: str = ""
    at_risk: AtRisk
    enamel_gone: bool = False
    sheds: bool
    climate: str
    handling: str
    handling_active: str | None = None
    assumed_percent: Three
    harmed_percent: Three | None = None
    typical_mm2: Positive
    loss_depth_else: Fraction = 0


class AtRiskFigures(Strict):
    """Widths [mm] and the share by which what can still be lost is found."""

    line_width_mm: Positive
    edge_width_mm: Positive
    missing_edge_share: Fraction
    glass_times: Annotated[float, Field(ge=1)]


class Limit(Strict):
    """A limit of climate and the multiplier of the rate if outside it all the time."""

    limit: float
    multiplier: Annotated[float, Field(ge=1)]


class Response(Strict):
    """What climate does to a group of hazards; an absent side has no limit."""

    rh_low: Limit | None = None
    rh_high: Limit | None = None
    temperature_high: Limit | None = None
    temperature_rise_24h: Limit | None = None


class Lines(BaseModel):
    """The museum's lines that the risk model reads; others in the table belong to other questions."""

    model_config = ConfigDict(extra="ignore", frozen=True)
    treat_from: Annotated[float, Field(gt=0, lt=1)]
    unsure_from_times: Annotated[float, Field(gt=1)]
    unsure_upward_from_times: Annotated[float, Field(gt=1)]
    common_share: Fraction
    unassessed_worth_objects: Positive
    growth_beyond: Positive
    growth_twice_beyond: Positive
    false_event_chance: Fraction
    fewest_expected_events: Positive
    p12_counts_losses_from: Fraction
    outside_share_of_time: Fraction
    dormant_outside_share: Fraction
    fast_kind_years: Positive
    excursion_modifier: Positive
    planned_within_months: Annotated[int, Field(gt=0)]
    before_loan_days: Annotated[int, Field(gt=0)]


class HowSure(Strict):
    """Of which objects at the head of the list it is asked whether they stay there, and from which shares of the draws
    an object is always there, or as likely out as in.
    """

    first: Annotated[int, Field(gt=0)]
    always: Fraction
    open: Fraction


class Assumed(Strict):
    """What stands in for an empty field."""

    value_points: Positive
    trace_share: Fraction


class AreaRange(Strict):
    """Factors within which an area is right, by how it is known."""

    measured: Positive
    from_dimensions: Positive
    assumed: Positive


class Journey(Strict):
    """How many moves a journey counts as, for hazards that are loose or moving and for those at rest."""

    moving: Positive
    at_rest: Positive


class NeedsItsTarget(Strict):
    """Metals that do not stand being outside their target."""

    base_metal: tuple[str, ...]


class Climate(Strict):
    """How climate is compared: days [d]; `rise_hours` [h]."""

    days_compared: int
    fewest_days: int
    rise_hours: int


class Group(Strict):
    """Conditions on an object: one of each list must fit; an absent field fits all."""

    technique: tuple[str, ...] = ()
    not_technique: tuple[str, ...] = ()
    glass_stability: tuple[str, ...] = ()
    base_metal: tuple[str, ...] = ()
    provenance_class: tuple[str, ...] = ()
    visit: tuple[str, ...] = ()
    culture_words: tuple[str, ...] = ()
    latest_year_at_most: int | None = None
    earliest_year_at_most: int | None = None


class Interval(Group):
    """Months to the next look, where a rule or the conditions fit."""

    months: int
    words: str
    rule: str | None = None
    watch: bool


class Look(Strict):
    """Months to the next look where no row fits."""

    else_months: int
    sound_months: int
    after_event_months: int


class Product(Strict):
    """Factor times one dimension times another [mm²]."""

    factor: Positive
    of: tuple[str, str]


def read(shape: type[T], file: str, *keys: str) -> T:
    """The part of a value file under `keys`, as `shape`; raises VocabularyError with the dotted key."""
    part: Any = load_parameters(file)
    try:
        for key in keys:
            part = part[key]
        checked: T = _adapter(cast(Any, shape)).validate_python(part)
    except KeyError:
        raise VocabularyError(f"{file}.toml", f"{'.'.join(keys)} is missing", "", "Restore the file.") from None
    except ValidationError as error:
        first = error.errors()[0]
        dotted = ".".join(map(str, (*keys, *first["loc"])))
        raise VocabularyError(f"{file}.toml, {dotted}", first["msg"], "", "Mend the file.") from None
    return checked


@cache
def _adapter(shape: Any) -> TypeAdapter[Any]:
    """Building one costs more than using it many times."""
    return TypeAdapter(shape)
