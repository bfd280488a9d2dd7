"""Plans as the page of the plan makes them, and its tables."""

from collection.plan.plan import make_plan
from collection.planning.asked import Asked
from collection.planning.situation import situation_of


def planned(found, **query):
    asked = Asked.of_query(query)
    return asked, make_plan(situation_of(found, asked.question(found)))


def table(app, column):
    return next(t.value for t in app.dataframe if column in t.value.columns)
