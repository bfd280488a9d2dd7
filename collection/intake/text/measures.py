"""One statement of a size text: its measures, and how labels before, behind or above them name their axes."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby

# Exact by definition: BIPM, The International System of Units (metre and its parts); the inch is 25.4 mm by the
# international yard and pound agreement of 1959, the foot 12 inches.
MM_PER: Mapping[str, float] = {"mm": 1.0, "cm": 10.0, "dm": 100.0, "m": 1000.0, "inch": 25.4, "ft": 304.8}
METRIC = frozenset({"mm", "cm", "dm", "m"})
NUMBER = re.compile(
    r"(?<![\w.,/])(?:(?P<whole>\d{1,4})[ -]+)?(?P<upper>\d{1,3})\s?/\s?(?P<lower>\d{1,3})(?![\d/])"
    r"|(?<![\w/])(?P<digits>\d{1,3}(?:[.,' ]\d{3})+(?![\d.,])|\d+[.,]\d+|\d+|(?<!\d)[.,]\d+)(?!\d)",
    re.ASCII,
)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}([.,' ]\d{3})+")


@dataclass(frozen=True, slots=True)
class Amount:
    """A number at its place in the text; `fine` when written with decimals or a fraction of an eighth or finer."""

    value: float
    start: int
    end: int
    fine: bool


def amounts(shown: str) -> list[Amount]:
    """Every number of the text: 11.4, 8,5, 4 1/2, 1/2, 1,250."""
    return [amount for m in NUMBER.finditer(shown) if (amount := _amount(m)) is not None]


def _amount(match: re.Match[str]) -> Amount | None:
    if match["digits"]:
        text = match["digits"]
        thousands = bool(_THOUSANDS.fullmatch(text)) and "." not in text
        plain = re.sub(r"[.,' ]", "", text) if thousands else text.replace(",", ".")
        return Amount(float(plain), match.start(), match.end(), not thousands and "." in plain)
    if int(match["lower"]) == 0:
        return None
    value = int(match["whole"] or 0) + int(match["upper"]) / int(match["lower"])
    return Amount(value, match.start(), match.end(), int(match["lower"]) >= 8)


@dataclass(slots=True)
class Measure:
    """One measured number of a statement: its unit, its label, whether it stood in brackets."""

    value: float
    fine: bool
    bracket: bool
    chain: int  # numbers joined by a times sign share a chain
    start: int
    end: int
    unit: str | None = None
    label: str | None = None

    @property
    def mm(self) -> float | None:
        """Millimetres, or None without a unit."""
        factor = MM_PER.get(self.unit or "")
        return None if factor is None else self.value * factor


def better(first: Measure, second: Measure) -> Measure:
    """Of two statements of one length, the metric one, unless it is rounded and the other is not."""
    metric, other = (first, second) if first.unit in METRIC else (second, first)
    if metric.mm is None or other.mm is None:
        return metric if other.mm is None else other
    agree = abs(metric.mm - other.mm) <= 1.0
    return metric if agree or metric.fine or not other.fine or metric.unit == "mm" else other


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
                used = {m.label for m in chain}
                free = [axis for axis in USUAL_ORDER[1:] if axis not in used]
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
