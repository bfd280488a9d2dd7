"""Hours that are still there between two days, of those set for each year."""

from datetime import date, timedelta

from collection.snapshot import Collection

ONE_DAY = timedelta(days=1)


def hours_left(collection: Collection, first: date, last: date) -> dict[tuple[int, str], float]:
    """Hours of each (year, skill) from a day to another, both counted, by their share of the days of the year."""
    left = {}
    for year, skill, hours in collection["year_hours"].select("year", "skill", "hours").iter_rows():
        if first.year <= year <= last.year:
            left[year, skill] = hours * _share(year, first, last)
    return left


def _share(year: int, first: date, last: date) -> float:
    """Share of a year's days that lie between two days."""
    begins, ends = date(year, 1, 1), date(year, 12, 31)
    days = (min(last, ends) - max(first, begins) + ONE_DAY).days
    return max(0, days) / (ends - begins + ONE_DAY).days
