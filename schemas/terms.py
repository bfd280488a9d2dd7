"""The properties a term may have, one model a vocabulary: a misspelt property is refused where the file is read.

A vocabulary that is not in `TERM_MODELS` has terms without properties.
"""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Status = Literal["V", "V2", "M", "A", "J"]  # verified, verified in a weak source, from memory, advice, judgement
Flag = Annotated[bool, Field(strict=True)]
Percent = Annotated[float, Field(ge=0, le=100)]
Year = Annotated[int, Field(ge=-5000, le=2200)]


class TermDefinition(BaseModel):
    """One term; what depends on it are the further properties of its vocabulary."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    label: str = Field(min_length=1)
    definition: str = Field(min_length=1)
    status: Status
    source: str = Field(min_length=1)
    aat: str | None = Field(default=None, pattern=r"^300[0-9]{6}$")
    broader: str | None = None

    def get(self, name: str, default: Any = None) -> Any:
        """A property by its name; `default` where it is not set. AttributeError where the vocabulary has none such."""
        value = getattr(self, name)
        return default if value is None else value


class Activity(TermDefinition):
    """Whether change is under way; `instead` names the states whose years stand in where a kind has none."""

    moving: Flag = False
    suspected: Flag = False
    one_sighting: Flag = False
    not_compared: Flag = False
    not_assessed: Flag = False
    needs_compared_with: Flag = False
    needs_climate_held: Flag = False
    instead: tuple[str, ...] = ()
    handling_row: str
    grade_row: str | None = None
    grade_row_slow: str | None = None
    grade_row_fast: str | None = None


class Attention(TermDefinition):
    """A class of attention: the rule that decides it, its first step, whether it cannot wait."""

    rule: str
    first_step: str
    now: Flag = False
    to_do_words: str | None = None


class Damage(TermDefinition):
    """A kind of damage; with `rows_by_stage` each stage has its row of the rates."""

    secure: Flag = False
    secure_always: Flag = False
    isolate: Flag = False
    unstable_glass: Flag = False
    chloride: Flag = False
    lifts: Flag = False
    snags: Flag = False
    kept_apart: Flag = False
    without: tuple[str, ...] = ()
    rows_by_stage: tuple[str, ...] = ()
    stage_assumed: Annotated[int, Field(ge=1)] | None = None


class Stability(TermDefinition):
    """What state a repair is in."""

    ages: Flag = False
    failing: Flag = False
    failed: Flag = False
    harmful: Flag = False
    lets_go: Flag = False
    no_longer_works: Flag = False
    does_harm: Flag = False
    not_assessed: Flag = False
    years_by_material: Flag = False
    handling_row: str


class RepairFunction(TermDefinition):
    """What a repair does."""

    bears: Flag = False
    usual: Flag = False
    over_surface: Flag = False
    only_colour: Flag = False


class RepairMaterial(TermDefinition):
    """What a repair is made of."""

    not_assessed: Flag = False


class Technique(TermDefinition):
    """How the enamel was made; `after` lists words of an object that make the reading certain."""

    unspecified: Flag = False
    flagged: Flag = False
    after: tuple[str, ...] = ()


class Metal(TermDefinition):
    """A metal or alloy."""

    paint_likely: Flag = False
    generic: Flag = False


class ObjectType(TermDefinition):
    """A type of object: the shape its area is reckoned by, and the words that name it."""

    shape: str | None = None
    words: tuple[str, ...] = ()


class Period(TermDefinition):
    """A named period with its years and the words that name it."""

    first: Year
    last: Year
    words: tuple[str, ...] = ()
    named_with: Flag = False


class CenturyPart(TermDefinition):
    """A part of a century, by its first and last year."""

    first: int
    last: int


class ExtentBand(TermDefinition):
    """A band of extent: low, likely and high, in % of the part."""

    percent: tuple[Percent, Percent, Percent]


class Visibility(TermDefinition):
    """How plainly a place shows: the exponent of the reach."""

    weight: Annotated[float, Field(gt=0)]


class Look(TermDefinition):
    """How closely an object was looked at."""

    from_catalogue: Flag = False
    in_person: Flag = False
    each_damage: Flag = False


class Occasion(TermDefinition):
    """Why an object was looked at."""

    accident: Flag = False
    from_catalogue: Flag = False


class CheckSource(TermDefinition):
    """Where a check comes from."""

    legacy: Flag = False
    from_catalogue: Flag = False


class Change(TermDefinition):
    """What changed since the look compared with."""

    grown: Flag = False
    says_nothing: Flag = False


class Onset(TermDefinition):
    """When a damage began."""

    old: Flag = False
    new: Flag = False


class PartKind(TermDefinition):
    """What a part is."""

    enamelled: Flag = False
    organic: Flag = False


class LocationKind(TermDefinition):
    """What a place is."""

    holds_rooms: Flag = False
    lost: Flag = False


class Visit(TermDefinition):
    """Whether an object was reached."""

    reached: Flag = False


class Grade(TermDefinition):
    """An overall grade."""

    needs_cause: Flag = False


class Seen(TermDefinition):
    """Whether a side was seen."""

    looked: Flag = False


class Origin(TermDefinition):
    """Damage of use, or a flaw of manufacture."""

    flaw: Flag = False


class DangerAgent(TermDefinition):
    """A danger to people."""

    keeps_out: Flag = False


class DangerBasis(TermDefinition):
    """How a danger is known."""

    not_made_safe: Flag = False


class GlassStability(TermDefinition):
    """Chemical stability of the glass."""

    unstable: Flag = False


class ObjectStatus(TermDefinition):
    """Whether an object is here."""

    away: Flag = False


class FragmentStatus(TermDefinition):
    """Where a fragment is."""

    loose: Flag = False


class Enclosure(TermDefinition):
    """How a place is closed."""

    own_air: Flag = False


class PlaceFault(TermDefinition):
    """What is wrong with a place."""

    better_place: Flag = False


class Packing(TermDefinition):
    """How an object travelled; `counts_as` names the row of [per_move] a journey counts as."""

    counts_as: str | None = None


class Choice(TermDefinition):
    """What was decided."""

    leaves: Flag = False
    watches: Flag = False


class OptionStatus(TermDefinition):
    """What became of a proposal."""

    backlog: Flag = False


class LoanDirection(TermDefinition):
    """Out or in."""

    roles_swapped: Flag = False


TERM_MODELS: Mapping[str, type[TermDefinition]] = {
    "activity": Activity,
    "attention": Attention,
    "century_part": CenturyPart,
    "change": Change,
    "check_source": CheckSource,
    "choice": Choice,
    "damage": Damage,
    "danger_agent": DangerAgent,
    "danger_basis": DangerBasis,
    "enclosure": Enclosure,
    "extent_band": ExtentBand,
    "fragment_status": FragmentStatus,
    "glass_stability": GlassStability,
    "grade": Grade,
    "loan_direction": LoanDirection,
    "location_kind": LocationKind,
    "look": Look,
    "metal": Metal,
    "object_status": ObjectStatus,
    "object_type": ObjectType,
    "occasion": Occasion,
    "onset": Onset,
    "option_status": OptionStatus,
    "origin": Origin,
    "packing": Packing,
    "part_kind": PartKind,
    "period": Period,
    "place_fault": PlaceFault,
    "repair_function": RepairFunction,
    "repair_material": RepairMaterial,
    "seen": Seen,
    "stability": Stability,
    "technique": Technique,
    "visibility": Visibility,
    "visit": Visit,
}
