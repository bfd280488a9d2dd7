"""One statement of a size text: its measures, and how labels before, behind or above them name their axes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from collection.intake.measures import Measure, better

STATED, IMPLIED_FIRST, NO_BASIS = "stated", "implied_first", "none"
AXES = ("height", "width", "depth", "diameter")
USUAL_ORDER = AXES[:3]  # of two or three unlabelled numbers, as museums give them


@dataclass(slots=True)
class Statement:
    """The measures of one statement, and where the labels stood: before their numbers, after them, or nowhere."""

    measures: list[Measure]
    labels: list[tuple[int, str]] = field(default_factory=list)  # place in the text, axis
    basis: str = NO_BASIS

    def label_all(self) -> None:
        """Give each measure its axis, from labels or from the usual order."""
        if self.labels:
            leading = self.labels[0][0] < self.measures[0].start
            runs = list(_runs(self.labels, self.measures))
            if any(len(run) > 1 for run in runs) and len(runs) == 1:
                self._by_position(runs[0])
            elif leading:
                self._from_before()
            else:
                self._from_behind()
            self._follow()
            self.basis = STATED
        self._brackets()
        if not self.labels:
            self._usual_order()

    def _by_position(self, run: Sequence[str]) -> None:
        for chain in self._chains():
            for measure, axis in zip(chain, run, strict=False):
                measure.label = axis

    def _from_before(self) -> None:
        plain = [m for m in self.measures if not m.bracket]
        for place, axis in self.labels:
            ahead = next((m for m in self.measures if m.start > place), None)
            until = next((p for p, _ in self.labels if p > place), None)
            if ahead is not None and ahead.label is None and (until is None or ahead.start < until or ahead in plain):
                ahead.label = axis
            elif ahead is None and plain and plain[-1].label is None:
                plain[-1].label = axis

    def _from_behind(self) -> None:
        for place, axis in self.labels:
            behind = [m for m in self.measures if m.end <= place and m.label is None]
            if behind:
                behind[-1].label = axis
                if behind[-1].bracket:
                    self._outside(behind[-1], axis)

    def _outside(self, inner: Measure, axis: str) -> None:
        before = [m for m in self.measures if not m.bracket and m.end < inner.start and m.label is None]
        if before and len([m for m in self.measures if m.chain == inner.chain]) == 1:
            before[-1].label = axis

    def _follow(self) -> None:
        """`H: 6 x 2 x 1 cm`: what follows a labelled height in its chain goes on in the usual order."""
        for chain in self._chains():
            if chain[0].label == USUAL_ORDER[0] and len(chain) > 1 and not chain[0].bracket:
                taken = {m.label for m in chain}
                free = [axis for axis in USUAL_ORDER[1:] if axis not in taken]
                for measure in chain[1:]:
                    if measure.label is None and free:
                        measure.label = free.pop(0)

    def _chains(self) -> list[list[Measure]]:
        return [list(group) for _, group in groupby(self.measures, key=lambda m: m.chain)]

    def _brackets(self) -> None:
        """A bracketed chain says the same as the numbers before it, in another unit."""
        for inner in (chain for chain in self._chains() if chain[0].bracket):
            outer = [m for m in self.measures if not m.bracket and m.end <= inner[0].start][-len(inner) :]
            if len(outer) == len(inner):
                for one, other in zip(inner, outer, strict=True):
                    one.label, other.label = one.label or other.label, other.label or one.label

    def _usual_order(self) -> None:
        for chain in self._chains():
            if 2 <= len(chain) <= len(USUAL_ORDER):
                self.basis = IMPLIED_FIRST
                for measure, axis in zip(chain, USUAL_ORDER, strict=False):
                    measure.label = axis

    def sizes(self) -> dict[str, float]:
        """Axis to mm: the largest stated, the better of two statements of one number."""
        best: dict[str, float] = {}
        for axis in AXES:
            outer = [m for m in self.measures if m.label == axis and not m.bracket]
            inner = [m for m in self.measures if m.label == axis and m.bracket]
            paired = (
                [better(a, b) for a, b in zip(outer, inner, strict=True)]
                if len(outer) == len(inner)
                else [*inner, *outer]
            )
            lengths = [m.mm for m in paired if m.mm]
            if lengths:
                best[axis] = max(lengths)
        return best


def _runs(labels: Sequence[tuple[int, str]], measures: Sequence[Measure]) -> Iterator[list[str]]:
    """Labels that no number separates."""
    for _, group in groupby(labels, key=lambda label: sum(m.start < label[0] for m in measures)):
        yield [axis for _, axis in group]
