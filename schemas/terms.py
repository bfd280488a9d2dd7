"""The properties a term may have, one model a vocabulary: a misspelt property is refused where the file is read.

A vocabulary that is not in `TERM_MODELS` has terms without properties.
"""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, create_model

from schemas.term_flags import FLAGS

Status = Literal["V", "V2", "M", "A", "J"]  # verified, verified in a weak source, from memory, advice, judgement
Flag = Annotated[bool, Field(strict=True)]
Percent = Annotated[float, Field(ge=0, le=100)]
Year = Annotated[int, Field(ge=-5000, le=2200)]
Text = Annotated[str, Field(min_length=1)]


class TermDefinition(BaseModel):
    """One term; what depends on it are the further properties of its vocabulary."""

    # Built when a term of its vocabulary is first read: to build all takes a command longer than to read its terms.
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)
    label: str = Field(min_length=1)
    definition: str = Field(min_length=1)
    status: Status
    source: str = Field(min_length=1)
    aat: str | None = Field(default=None, pattern=r"^300[0-9]{6}$")
    broader: str | None = None

    def get(self, name: str, default: Any = None) -> Any:
        """A property by its name; `default` where it is not set, or where terms of this vocabulary have none such."""
        value = getattr(self, name, None)
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
    at_rest: Flag = False
    instead: tuple[str, ...] = ()
    handling_row: str
    grade_row: str | None = None
    grade_row_slow: str | None = None
    grade_row_fast: str | None = None


class Attention(TermDefinition):
    """A class of attention: the rule that decides it, whether it cannot wait, which actions answer it meanwhile."""

    rule: str
    listed: Annotated[int, Field(ge=1)]
    now: Flag = False
    answered_by: tuple[str, ...] = ()
    to_do_words: str | None = None


class Damage(TermDefinition):
    """A kind of damage, or a flaw of firing that is mistaken for one.

    looks_like, mistaken_for : how one who is no conservator knows it, what it is mixed up with (signs_source: whence).
    anchors : what each term of severity means for the kind, in their order; words: what else a person may write for it.
    no_hazard : it costs nothing more, so it has no rates; flaw: it came out of the kiln so, whatever its origin says.
    rows_by_stage : each stage has its row of the rates; `stages` is the vocabulary that says how a stage looks.
    """

    looks_like: Text | None = None
    mistaken_for: Text | None = None
    signs_source: Text | None = None
    anchors: tuple[Text, ...] = ()
    words: tuple[Text, ...] = ()
    no_hazard: Flag = False
    flaw: Flag = False
    stages: Text | None = None
    secure: Flag = False
    secure_always: Flag = False
    isolate: Flag = False
    unstable_glass: Flag = False
    chloride: Flag = False
    lifts: Flag = False
    snags: Flag = False
    kept_apart: Flag = False
    beneath: Flag = False
    spreads: Flag = False
    bares_metal: Flag = False
    bars_travel: Flag = False
    alkaline: Flag = False
    moves_badly: Flag = False
    without: tuple[str, ...] = ()
    rows_by_stage: tuple[str, ...] = ()
    stage_assumed: Annotated[int, Field(ge=1)] | None = None


class Stability(TermDefinition):
    """What state a repair is in; `without_extent` names the state it counts as where nobody wrote where it harms."""

    words: str
    without_extent: str | None = None
    ages: Flag = False
    failing: Flag = False
    failed: Flag = False
    harmful: Flag = False
    lets_go: Flag = False
    no_longer_works: Flag = False
    does_harm: Flag = False
    not_assessed: Flag = False
    years_by_material: Flag = False
    spoils: Flag = False
    at_rest: Flag = False
    handling_row: str


class RepairFunction(TermDefinition):
    """What a repair does, and what such a repair is called."""

    noun: str
    plural: str | None = None
    bears: Flag = False
    usual: Flag = False
    over_surface: Flag = False
    only_colour: Flag = False
    moves_badly: Flag = False


class Technique(TermDefinition):
    """How the enamel was made; `after` lists words of an object that make the reading certain.

    `on_any_body`: the same word is used of glass and ceramic.
    """

    unspecified: Flag = False
    flagged: Flag = False
    on_any_body: Flag = False
    fragile: Flag = False
    after: tuple[str, ...] = ()


class Selection(TermDefinition):
    """How a survey chose its objects; `tilt` names the row of [unchecked.tilt] where they are not representative."""

    representative: Flag = False
    by_lot: Flag = False
    not_known: Flag = False
    tilt: str | None = None


class SurveyOutcome(TermDefinition):
    """What came of an object of a survey; `visit`: that of its check, by which it is known."""

    visit: str | None = None
    waits: Flag = False


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


class FragmentStatus(TermDefinition):
    """Where a detached piece stands; `hazard_kind` is the kind of damage it counts as."""

    loose: Flag = False
    hazard_kind: str | None = None


class Packing(TermDefinition):
    """How an object travelled; `counts_as` names the row of [per_move] a journey counts as."""

    counts_as: str | None = None


def _with_flags(name: str, flags: tuple[str, ...]) -> type[TermDefinition]:
    fields: dict[str, Any] = dict.fromkeys(flags, (Flag, False))
    return create_model(name, __base__=TermDefinition, **fields)


TERM_MODELS: Mapping[str, type[TermDefinition]] = {
    "activity": Activity,
    "attention": Attention,
    "century_part": CenturyPart,
    "damage": Damage,
    "extent_band": ExtentBand,
    "fragment_status": FragmentStatus,
    "object_type": ObjectType,
    "packing": Packing,
    "period": Period,
    "repair_function": RepairFunction,
    "selection": Selection,
    "survey_outcome": SurveyOutcome,
    "stability": Stability,
    "technique": Technique,
    "visibility": Visibility,
    **{name: _with_flags(name, flags) for name, flags in FLAGS.items()},
}
