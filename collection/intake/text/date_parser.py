"""A date text read from left to right into its dated parts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from collection.intake.text.lexicon import Token
from collection.intake.text.timespans import (
    CENTURY,
    DECADE,
    LAST_CENTURY,
    SIGNS,
    Span,
    after_ordinal,
    century,
    century_ahead,
    century_word,
    completed,
    decade,
    decade_word,
    ending_unknown,
    era_near,
    hundred,
    hundreds_ahead,
    is_hundreds,
    is_year,
    joined_up,
    ordinal_at,
    past_hundreds,
    placed,
    year,
)


@dataclass(slots=True)
class DateParser:
    """The tokens of a date text while they are read."""

    tokens: Sequence[Token]
    place: int = 0
    circa: bool = False
    part: str | None = None
    tens: int | None = None  # `anni Venti`: ten years of the century that follows
    parts_read: list[Span] = field(default_factory=list)
    pending: list[Span] = field(default_factory=list)  # joined by a range sign, still growing
    joining: bool = False
    limit: str | None = None  # until or since, for the next span
    later: bool = False  # what follows was added later and moves only the end

    def spans(self) -> list[Span]:
        """The dated parts of the text in order."""
        while self.place < len(self.tokens):
            self._step(self.tokens[self.place])
            self.place += 1
        self._close()
        return [s for s in self.parts_read if s.first is not None or s.last is not None]

    def _step(self, token: Token) -> None:
        role = token.value("role")
        if token.text.isdigit():
            self._number(token)
        elif token.is_a("part"):
            self._part(token.value("part"))
        elif token.is_a("hundred"):
            self._take(
                self._ten_years(int(token.value("hundred") or 0))
                or hundred(int(token.value("hundred") or 0), self.part)
            )
            self.part = None
        elif token.is_a("tens") and decade_word(self.tokens, self.place):
            self.tens = int(token.value("tens") or 0)
        elif (ordinal := ordinal_at(self.tokens, self.place)) is not None:
            self._century(ordinal)
        elif role == "since" or (role == "until" and not self._in_range()):
            self._close()
            self.limit = role
        elif role == "between" or token.text in {";", ":"}:
            self._close()
        elif role in {"range", "until"} or token.text in SIGNS:
            self.joining = bool(self.pending) or self.part is not None
        else:
            self._word(role)

    def _in_range(self) -> bool:
        """`1750 bis 1760`: a word that can mean *before* stands between two dates."""
        return bool(self.pending) and self.tokens[self.place - 1].text not in {";", ","}

    def _word(self, role: str | None) -> None:
        if role == "circa" or (role == "circa_or_century" and not after_ordinal(self.tokens, self.place)):
            self.circa = True
        elif role == "added_later":
            self._close()
            self.later = True
        elif role in {"bc", "ad"}:
            self._era(role == "bc")
        elif role in {"or_later", "or_earlier"}:
            self._open(role)
        elif role == "ongoing" and (self.pending or self.limit):
            self._open("or_later")
        elif role == "hijri":
            self._drop_hijri()

    def _number(self, token: Token) -> None:
        if len(token.text) > 4 or not token.text.isascii():
            return
        number = int(token.text)
        if is_hundreds(self.tokens, self.place):
            self._take(self._hundreds(number))
        elif len(token.text) == 2 and number % DECADE == 0 and decade_word(self.tokens, self.place):
            self.tens = number
            return
        elif len(token.text) <= 2 and century_word(self.tokens, self.place + 1):
            self._century(number)
        else:
            self._year(token, number)
            return
        self.part = None

    def _hundreds(self, number: int) -> Span:
        self.place = past_hundreds(self.tokens, self.place)
        return hundred(number, self.part) if number % CENTURY == 0 else decade(number - number % DECADE, self.part)

    def _ten_years(self, first: int) -> Span | None:
        """The ten years named before their century; `first` is the century's year 0."""
        tens, self.tens = self.tens, None
        return None if tens is None else decade(first + tens, self.part)

    def _century(self, number: int) -> None:
        if 1 <= number <= LAST_CENTURY:
            self._take(self._ten_years((number - 1) * CENTURY) or century(number, self.part))
        self.part = None

    def _year(self, token: Token, number: int) -> None:
        last = self.pending[-1] if self.pending else None
        if (
            last
            and self.joining
            and last.kind == "year"
            and last.last
            and len(token.text) < 4
            and not era_near(self.tokens, self.place)
        ):
            number = completed(last.last, token.text)
            if number < last.last:
                return
        elif not is_year(self.tokens, self.place) or ending_unknown(self.tokens, self.place):
            return
        if hundreds_ahead(self.tokens, self.place):
            self._take(hundred(number, self.part))
        elif decade_word(self.tokens, self.place):
            self._take(decade(number - number % DECADE, self.part))
        else:
            self._take(year(number))
        self.part = None

    def _part(self, part: str | None) -> None:
        """A part stands before its century, or after it in some languages."""
        last = self.pending[-1] if self.pending else None
        if last and last.kind == "century" and not self.joining and not century_ahead(self.tokens, self.place):
            self.pending[-1] = placed(_with_part(last, part), last.bc or None)
            return
        if self.part and (self.joining or self._sign_before()):
            self._take(Span(None, None, "century", None, self.part))
            self.joining = True
        self.part = part

    def _sign_before(self) -> bool:
        before = self.tokens[self.place - 1] if self.place else None
        return before is not None and (before.text in SIGNS or before.value("role") == "range")

    def _take(self, span: Span) -> None:
        before = self.tokens[self.place - 1] if self.place else None
        if before and before.is_a("role") and before.value("role") in {"bc", "ad"} and not self._stands_already():
            span = placed(span, before.value("role") == "bc")
        if not self.joining:
            self._close(keep_limit=True)
        self.pending.append(span)
        self.joining = False

    def _stands_already(self) -> bool:
        """In `100 BC 50` the era belongs to the number before it; in `/AD 100` to the one after."""
        opened = self.place < 2 or self.tokens[self.place - 2].text in SIGNS | {"("}
        return bool(self.pending) and self.pending[-1].bc is not None and not opened

    def _era(self, bc: bool) -> None:
        follows = self.place + 1 < len(self.tokens) and self.tokens[self.place + 1].text.isdigit()
        if self.pending and not self.joining and not (follows and self._sign_before()):
            self.pending = [placed(s, bc) for s in self.pending]

    def _open(self, role: str) -> None:
        joined = joined_up(self.pending or [Span(None, None, "open_ended")])
        self.pending = [replace(joined, last=None) if role == "or_later" else replace(joined, first=None)]
        self.joining = False

    def _drop_hijri(self) -> None:
        """Years of the Hijra are left out: those of our era stand beside them."""
        self.pending, self.joining, self.part = [], False, None
        nearby = self.tokens[self.place + 1 : self.place + 4]
        if not (nearby and nearby[0].text.isdigit()):
            return
        self.place += 3 if len(nearby) > 2 and nearby[1].text in SIGNS and nearby[2].text.isdigit() else 1
        while self.place + 1 < len(self.tokens) and self.tokens[self.place + 1].text in {"/", "(", "="}:
            self.place += 1

    def _close(self, keep_limit: bool = False) -> None:
        if not self.pending:
            self.limit = self.limit if keep_limit else None
            return
        spans = list(_inherited(self.pending))
        joined = joined_up(spans)
        if self.limit == "until":
            joined = replace(joined, first=None)
        elif self.limit == "since" and len(spans) == 1:
            joined = replace(joined, last=None)
        if self.later and self.parts_read and joined.first is not None:
            joined = replace(joined, first=max(joined.first, self.parts_read[0].first or joined.first))
        before = self.parts_read[-1] if self.parts_read else None
        if before and before.last is None and joined.first is None and joined.kind == "year":
            self.parts_read[-1] = replace(before, last=joined.last, kind="range")  # `nach 1700, vor 1750`
        else:
            self.parts_read.append(joined)
        self.pending, self.joining, self.limit = [], False, None


def _inherited(spans: Sequence[Span]) -> Iterator[Span]:
    """`early-mid 18th century`: a part without its century takes the next one; so does an era."""
    for place, span in enumerate(spans):
        after = next((s for s in spans[place + 1 :] if s.ordinal), None)
        if span.first is None and span.part and after and after.ordinal:
            yield placed(century(after.ordinal, span.part), after.bc)
        elif span.bc is None and span.kind != "year" and after is not None and after.bc:
            yield placed(span, True)
        else:
            yield span


def _with_part(span: Span, part: str | None) -> Span:
    if span.first is None or span.bc:
        return century(span.ordinal or 1, part)
    return hundred(span.first, part) if span.first % CENTURY == 0 else century(span.ordinal or 1, part)
