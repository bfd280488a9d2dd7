"""`enamels backtest`: what the register expected on a day, beside what its checks saw since."""

from dataclasses import asdict
from pathlib import Path

import click

from collection.back_testing import back_test_store
from collection.commands.options import day_asked, json_option, store_option
from collection.commands.output import Answer, emit
from collection.learning.back_test import BackTest, later_day
from collection.questions.back_test import (
    NOT_BY_CHANCE,
    calibration_groups,
    score_sentence,
    scores,
    storeroom_sentence,
    unmeasured_sentence,
)
from collection.questions.learned_rates import NOT_OURS
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import WrongUsage

MOST_YEARS = 100


@click.command(epilog="Example: enamels backtest --from 2021-09-30 --years 5")
@click.option("--from", "stated", metavar="DATE", required=True, help="Day of the forecast, such as 2021-09-30.")
@click.option("--years", type=click.IntRange(1, MOST_YEARS), default=5, help="Years tested from that day (default: 5).")
@store_option
@json_option
def backtest(stated: str, years: int, store_path: Path, as_json: bool) -> None:
    """Say what the register expected on a day, from what it knew then, and what its checks saw since."""
    store = Store(store_path)
    collection = store.read()
    cut, today = day_asked("--from", stated), as_of_day(None, collection)
    if cut >= today:
        raise WrongUsage("--from", f"{stated} is not past", f"a day before {today}", "Choose an earlier day.")
    test = back_test_store(store, collection, cut, min(later_day(cut, years), today))
    emit(Answer("\n".join(sentences(test)), document(test) if as_json else {}), as_json=as_json)


def sentences(test: BackTest) -> list[str]:
    """What a person reads: expected beside found, then how good the forecasts were, then the cautions."""
    scored = [score_sentence(judged, by) for by, judged in test.judged.items()]
    lines = [storeroom_sentence(test), unmeasured_sentence(test), *scored, f"{NOT_OURS}.", NOT_BY_CHANCE]
    return [line for line in lines if line]


def document(test: BackTest) -> dict[str, object]:
    """The same for programs."""
    return {
        "from": test.cut.isoformat(),
        "until": test.until.isoformat(),
        "objects": test.objects,
        "seen_loss": test.seen_loss,
        "unmeasured": test.unmeasured,
        "expected": {by: asdict(judged.expected) for by, judged in test.judged.items()},
        "base_rate": test.base_rate,
        "scores": scores(test),
        "calibration": calibration_groups(test),
        "learned": test.learned,
        "cautions": [NOT_OURS, NOT_BY_CHANCE],
    }
