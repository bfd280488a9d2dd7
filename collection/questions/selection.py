"""What a person asked to see: a frozen value that travels in the address, and the objects it leaves, in rank order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import polars as pl

from collection.questions.places import below
from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

BETWEEN = "~"  # between several values in an address; no term and no place needs it


@dataclass(frozen=True)
class Selection:
    """Empty fields ask for nothing. `to_query` and `of_query` undo each other."""

    location_id: str = ""
    technique: tuple[str, ...] = ()
    base_metal: tuple[str, ...] = ()
    attention: tuple[str, ...] = ()
    find: str = ""

    def to_query(self) -> dict[str, str]:
        """As parameters of an address; what was not asked is left out."""
        said = {f.name: getattr(self, f.name) for f in fields(self)}
        return {k: v if isinstance(v, str) else BETWEEN.join(v) for k, v in said.items() if v}

    @classmethod
    def of_query(cls, query: Mapping[str, str]) -> "Selection":
        """From parameters of an address; others are ignored here (`unknown_values` names what the register has not)."""
        texts = {n: query.get(n, "").strip() for n in ("location_id", "find")}
        several = {
            n: tuple(v for v in query.get(n, "").split(BETWEEN) if v) for n in ("technique", "base_metal", "attention")
        }
        return cls(**texts, **several)  # type: ignore[arg-type]


def unknown_values(found: Triage, selection: Selection) -> list[str]:
    """A sentence for each value asked for that the register does not have."""
    known: Mapping[str, Sequence[str] | frozenset[str]] = {
        "technique": list(vocabulary("technique").term),
        "base_metal": list(vocabulary("metal").term),
        "attention": list(vocabulary("attention").term),
    }
    lost = [
        f"'{v}' is no {n.replace('_', ' ')} the register knows"
        for n in known
        for v in getattr(selection, n)
        if v not in known[n]
    ]
    if selection.location_id and selection.location_id not in found.places:
        lost.append(f"'{selection.location_id}' is no place the register knows")
    return lost


def select(found: Triage, selection: Selection) -> pl.DataFrame:
    """Objects that were asked for, in rank order; columns of `Triage.objects`. Rows are picked: no figure changes."""
    rows = found.in_order
    if selection.location_id:
        rows = rows.filter(
            pl.col("location_id").is_in(below(found.collection["location"], selection.location_id).implode())
        )
    if selection.attention:
        rows = rows.filter(pl.col("attention").is_in(list(selection.attention)))
    wanted = _of_kind(found, selection)
    return rows if wanted is None else rows.join(wanted, on="object_id", how="semi", maintain_order="left")


def _of_kind(found: Triage, selection: Selection) -> pl.DataFrame | None:
    """object_id of those whose catalogue row fits; a broader term takes in its narrower ones."""
    objects = found.collection["object"]
    if selection.technique:
        asked = _narrower("technique", selection.technique)
        objects = objects.filter(
            pl.col("technique").list.eval(pl.element().is_in(asked)).list.any().fill_null(value=False)
        )
    if selection.base_metal:
        objects = objects.filter(pl.col("base_metal").is_in(_narrower("metal", selection.base_metal)))
    if selection.find:
        texts = pl.concat_str([pl.col(c).fill_null("") for c in ("object_id", "title", "other_numbers")], separator=" ")
        objects = objects.filter(texts.str.to_lowercase().str.contains(selection.find.lower(), literal=True))
    return objects.select("object_id") if objects.height < found.objects.height else None


def _narrower(name: str, asked: Sequence[str]) -> list[str]:
    terms = vocabulary(name)
    return [key for key in terms.term if {key, *_above(name, key)} & set(asked)]


def _above(name: str, key: str) -> list[str]:
    broader = vocabulary(name).term[key].broader
    return [] if broader is None else [broader, *_above(name, broader)]


def asked_words(found: Triage, selection: Selection) -> str:
    """What was asked for, as a person says it: *East Store, room E1; Cloisonné*. Empty where nothing was."""
    places = found.collection["location"].select("location_id", pl.coalesce("name", "location_id"))
    said = [dict(places.iter_rows()).get(selection.location_id, "")] if selection.location_id else []
    for name, values in (("technique", "technique"), ("base_metal", "metal"), ("attention", "attention")):
        labels = vocabulary(values).labels()
        said.append(" or ".join(labels[t] for t in getattr(selection, name) if t in labels))
    said.append(f"\u201c{selection.find}\u201d" if selection.find else "")
    return "; ".join(filter(None, said))
