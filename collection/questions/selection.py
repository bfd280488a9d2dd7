"""What a person asked to see: the filters, once for pages, addresses and commands, and the objects they leave."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import polars as pl

from collection.questions.places import below
from collection.questions.search import matching
from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

BETWEEN = "~"  # between several values in an address; no term and no place needs it
CHECKED, NOT_CHECKED = "yes", "no"
PLACE = "location_id"
Values = tuple[str, ...]


@dataclass(frozen=True)
class Filter:
    """One way to narrow a list.

    name : in the address. option : at the command line. vocabulary : whose terms are the choices, where they are terms.
    holds : the rows of `Triage.objects` that stay, given what was asked. hint : what an empty field of words says.
    """

    name: str
    option: str
    label: str
    holds: Callable[[Triage, Values], pl.Expr]
    vocabulary: str = ""
    choices: Mapping[str, str] | None = None
    hint: str = ""

    def labels(self) -> Mapping[str, str]:
        """Choices with their labels; empty where anything may be asked."""
        return vocabulary(self.vocabulary).labels() if self.vocabulary else self.choices or {}

    def choice(self, text: str) -> str | None:
        """The value a person means by a term or its label; None where there is none such."""
        labels = self.labels()
        by_label = {label.lower(): value for value, label in labels.items()}
        return text if text in labels or not labels else by_label.get(text.strip().lower())


def _in_place(triage: Triage, values: Values) -> pl.Expr:
    places = [below(triage.collection["location"], place) for place in values]
    return pl.col("location_id").is_in(pl.concat(places).implode())


def _of_term(column: str, name: str) -> Callable[[Triage, Values], pl.Expr]:
    """Objects whose catalogue names one of the terms or a narrower one."""

    def holds(triage: Triage, values: Values) -> pl.Expr:
        terms = pl.col(column).is_in(_narrower(name, values))
        objects = triage.collection["object"].explode(column, empty_as_null=True) if _several(triage, column) else (
            triage.collection["object"]
        )  # fmt: skip
        return pl.col("object_id").is_in(objects.filter(terms)["object_id"].unique().implode())

    return holds


def _several(triage: Triage, column: str) -> bool:
    return isinstance(triage.collection["object"].schema[column], pl.List)


def _is_checked(_: Triage, values: Values) -> pl.Expr:
    state = pl.when(pl.col("last_checked_on").is_null()).then(pl.lit(NOT_CHECKED)).otherwise(pl.lit(CHECKED))
    return state.is_in(values)


def _matches(triage: Triage, values: Values) -> pl.Expr:
    return pl.col("object_id").is_in(matching(triage, values).implode())


FILTERS: tuple[Filter, ...] = (
    Filter("find", "find", "Find", _matches, hint="Number, title, maker, year, place"),
    Filter(PLACE, "location", "Place", _in_place),
    Filter("technique", "technique", "Technique", _of_term("technique", "technique"), vocabulary="technique"),
    Filter("base_metal", "metal", "Base metal", _of_term("base_metal", "metal"), vocabulary="metal"),
    Filter("attention", "attention", "Attention", lambda _, values: pl.col("attention").is_in(values),
           vocabulary="attention"),
    Filter("checked", "checked", "Checked", _is_checked,
           choices={CHECKED: "Checked by somebody", NOT_CHECKED: "Never checked, or only a remark"}),
)  # fmt: skip
BY_NAME: Mapping[str, Filter] = {its.name: its for its in FILTERS}


@dataclass(frozen=True)
class Selection:
    """What was asked of each filter, in the order of FILTERS; nothing where nothing was asked.

    `to_query` and `of_query` undo each other.
    """

    asked: tuple[tuple[str, Values], ...] = ()

    @classmethod
    def of(cls, **values: str | Iterable[str]) -> "Selection":
        """From the values of filters by name; empty ones ask for nothing."""
        several = {name: (v,) if isinstance(v, str) else tuple(v) for name, v in values.items()}
        stripped = {name: tuple(v.strip() for v in each if v.strip()) for name, each in several.items()}
        return cls(tuple((name, stripped[name]) for name in BY_NAME if stripped.get(name)))

    def __getitem__(self, name: str) -> Values:
        """What was asked of one filter."""
        return dict(self.asked).get(name, ())

    def to_query(self) -> dict[str, str]:
        """As parameters of an address; what was not asked is left out."""
        return {name: _joined(name, values) for name, values in self.asked}

    @classmethod
    def of_query(cls, query: Mapping[str, str]) -> "Selection":
        """From parameters of an address; others are ignored here (`unknown_values` names what the register has not)."""
        return cls.of(**{name: _split(name, query[name]) for name in BY_NAME if name in query})


def _joined(name: str, values: Values) -> str:
    return BETWEEN.join(values) if BY_NAME[name].labels() else values[0]


def _split(name: str, text: str) -> Iterable[str]:
    return text.split(BETWEEN) if BY_NAME[name].labels() else (text,)


def unknown_values(triage: Triage, selection: Selection) -> list[str]:
    """A sentence for each value asked for that the register does not have."""
    lost = [
        f"'{value}' is no {BY_NAME[name].label.lower()} the register knows"
        for name, values in selection.asked
        for value in values
        if (labels := BY_NAME[name].labels()) and value not in labels
    ]
    places = [value for value in selection[PLACE] if value not in triage.places]
    return lost + [f"'{place}' is no place the register knows" for place in places]


def select(triage: Triage, selection: Selection) -> pl.DataFrame:
    """Objects that were asked for, in the one order; schema of `Triage.objects`. Rows are picked: no figure changes."""
    holding = [BY_NAME[name].holds(triage, values) for name, values in selection.asked]
    return triage.objects.filter(*(its.fill_null(value=False) for its in holding)) if holding else triage.objects


def asked_words(triage: Triage, selection: Selection) -> str:
    """What was asked for, as a person says it: *East Store, room E1; Cloisonné*. Empty where nothing was."""
    named = triage.collection["location"].select("location_id", pl.coalesce("name", "location_id"))
    places = dict(named.iter_rows())
    words = [_words(BY_NAME[name], values, places) for name, values in selection.asked]
    return "; ".join(filter(None, words))


def _words(its: Filter, values: Values, places: Mapping[str, str]) -> str:
    labels = its.labels() or (places if its.name == PLACE else {})
    if not labels and its.name != PLACE:
        return f"\u201c{values[0]}\u201d"
    return " or ".join(labels[value] for value in values if value in labels)


def _narrower(name: str, asked: Values) -> list[str]:
    """The terms asked for and all that are narrower."""
    terms = vocabulary(name)
    return [key for key in terms.term if {key, *_above(name, key)} & set(asked)]


def _above(name: str, key: str) -> list[str]:
    broader = vocabulary(name).term[key].broader
    return [] if broader is None else [broader, *_above(name, broader)]
