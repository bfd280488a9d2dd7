"""Finding objects by what a person remembers: any spelling of the number, former numbers, title, maker, year, place."""

import re
import unicodedata
from collections.abc import Sequence

import polars as pl

from collection.frames import returns
from collection.questions.places import above
from collection.questions.triage import Triage
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

NUMBERS = ("object_id", "other_numbers")
TEXTS = ("title", "maker", "culture", "period_text", "materials_text", "inscription", "marks", "credit_line")
JOINED = ("place_words", "facts")  # of the place it lies in, and of headings of the museum's own
YEAR = re.compile(r"\d{4}")
SEARCHED = pl.Schema(
    {
        "object_id": pl.String,
        "numbers": pl.String,
        "text": pl.String,
        "earliest_year": pl.Int64,
        "latest_year": pl.Int64,
    }
)


def matching(triage: Triage, asked: Sequence[str]) -> pl.Series:
    """object_id of the objects in which every word asked for stands: in a number, a text, a term, a year or a place."""
    words = [plain(word) for text in asked for word in text.split()]
    whole = compact(" ".join(asked))
    rows = searched(triage.collection)
    in_number = pl.col("numbers").str.contains(whole, literal=True) if whole else pl.lit(value=False)
    in_words = pl.all_horizontal(pl.lit(value=True), *(_holds(word) for word in words))
    return rows.filter((in_number | in_words).fill_null(value=False))["object_id"]


def by_any_spelling(collection: Collection, number: str) -> str | None:
    """The object a person means by a number: as written, else in another spelling, else by a former number.

    None where there is none, or where several could be meant.
    """
    objects = collection["object"].select("object_id", "other_numbers")
    if number in objects["object_id"]:
        return number
    wanted = compact(number)
    own = objects.filter(_compact(pl.col("object_id")) == wanted)
    former = objects.filter(
        pl.col("other_numbers").str.split(";").list.eval(_compact(pl.element())).list.contains(wanted)
    )
    for rows in (own, former):
        if rows.height:
            return str(rows["object_id"][0]) if rows.height == 1 else None
    return None


def _holds(word: str) -> pl.Expr:
    """A word stands in the text or a number, or is a year the object can be of."""
    stands = pl.col("text").str.contains(word, literal=True)
    number = pl.col("numbers").str.contains(compact(word), literal=True) if compact(word) else pl.lit(value=False)
    if YEAR.fullmatch(word):
        return stands | number | pl.lit(int(word)).is_between("earliest_year", "latest_year")
    return stands | number


def plain(text: str) -> str:
    """Small letters without accents."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def compact(text: str) -> str:
    """Letters and digits only, so that VH 54/3, vh.54.3 and vh54-3 are one number."""
    return "".join(letter for letter in plain(text) if letter.isalnum())


@returns(SEARCHED)
def searched(collection: Collection) -> pl.DataFrame:
    """What is searched of each object, schema SEARCHED: small letters without accents; numbers without signs."""
    objects = collection["object"]
    numbers = pl.concat_str([pl.col(n).fill_null("") for n in NUMBERS], separator=" ")
    terms = [_labels("technique", "technique"), _labels("base_metal", "metal"), _labels("object_type", "object_type")]
    texts = [pl.col(n).fill_null("") for n in TEXTS]
    placed = objects.join(_place_words(collection["location"]), on="location_id", how="left", maintain_order="left")
    facts = collection["further_fact"].group_by("object_id").agg(facts=pl.col("text").str.join(" "))
    joined = placed.join(facts, on="object_id", how="left", maintain_order="left").select(
        "object_id",
        numbers=numbers,
        text=pl.concat_str([numbers, *texts, *terms, *(pl.col(n).fill_null("") for n in JOINED)], separator=" "),
        earliest_year="earliest_year",
        latest_year="latest_year",
    )
    return joined.with_columns(text=_plain(pl.col("text")), numbers=_compact(pl.col("numbers"))).select(
        pl.col(n).cast(t) for n, t in SEARCHED.items()
    )


def _plain(text: pl.Expr) -> pl.Expr:
    return text.str.normalize("NFKD").str.replace_all(r"\p{M}", "").str.to_lowercase()


def _compact(text: pl.Expr) -> pl.Expr:
    return _plain(text).str.replace_all(r"[^\p{L}\p{N}]", "")


def _labels(column: str, name: str) -> pl.Expr:
    """Terms of a column as their labels, several joined."""
    labels = vocabulary(name).labels()
    if column == "technique":
        return pl.col(column).list.eval(pl.element().replace(labels)).list.join(" ").fill_null("")
    return pl.col(column).replace(labels).fill_null("")


def _place_words(locations: pl.DataFrame) -> pl.DataFrame:
    """location_id to its number and name and those of all it lies in."""
    within = dict(locations.select("location_id", "within").iter_rows())
    names = dict(locations.select("location_id", pl.coalesce("name", "location_id")).iter_rows())
    words = [
        (place, " ".join(f"{each} {names.get(each, '')}" for each in (*above(within, place), place)))
        for place in within
    ]
    return pl.DataFrame(words, schema={"location_id": pl.String, "place_words": pl.String}, orient="row")
