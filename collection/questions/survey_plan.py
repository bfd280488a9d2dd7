"""How many objects a survey looks at, in words and as margins of each size."""

from collections.abc import Iterator

import numpy as np
import polars as pl

from collection.frames import returns
from collection.questions.selection import BY_NAME, Selection
from collection.questions.words import count
from collection.surveys.design import Design, wanted
from collection.surveys.size import MARGINS, margins
from schemas.vocabularies import vocabulary

POINTS = 40  # of a curve
PERCENT = 100  # in a whole
ALL = "every object of the register that is here"


@returns(MARGINS)
def margins_of(held: int, design: Design) -> pl.DataFrame:
    """Margin of a share by the number looked at, as by lot from all, up to all there are; schema MARGINS."""
    sizes = np.unique(np.linspace(1, held, POINTS).round().astype(int)) if held else np.zeros(0, dtype=int)
    return margins(held, design.share, design.confidence, [int(n) for n in sizes])


def plan_sentence(held: int, design: Design) -> str:
    """*241 of 640 objects tell a share to within 5 % either way, in 95 of 100 such surveys.*"""
    if not held:
        return "There is no object to draw from."
    size = wanted(design, held)
    if size == held:
        return f"All {count(held, 'object')} are looked at: the shares are what they are, without a margin."
    (margin,) = margins(held, design.share, design.confidence, [size])["margin"]
    within = f"within {margin * PERCENT:.2g} % either way, in {design.confidence * PERCENT:g} of {PERCENT} such surveys"
    more = " Drawn by places the margin is wider, by as much as places differ." if _by_places(design) else ""
    return f"{size:,} of {count(held, 'object')} tell a share to {within} (where half are so; else nearer).{more}"


def grouped_sentence(groups: pl.DataFrame | None) -> Iterator[str]:
    """How many of each group, a line each."""
    if groups is None:
        return
    for row in groups.iter_rows(named=True):
        yield f"  {row['stratum']}: {row['drawn']:,} of {row['held']:,}"


def drawn_sentence(selection: Selection) -> str:
    """Which objects could be drawn, in words: *place: L1; technique: cloisonne*."""
    each = [f"{BY_NAME[name].label.lower()}: {', '.join(values)}" for name, values in selection.asked]
    return "; ".join(each) or ALL


def _by_places(design: Design) -> bool:
    return design.sampling in vocabulary("sampling").terms_where("by_cluster")
