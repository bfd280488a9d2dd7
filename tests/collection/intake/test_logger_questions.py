"""What a logger's file leaves open is asked, at a terminal or in a mapping to fill in; an answer that is none is refused."""

import polars as pl
import pytest

from collection.store import Change, Store
from tests.collection.intake.logger_files import bring, held, lines, opened, stamp


def test_a_zone_is_asked_once_for_a_logger_and_said_when_it_is_used_again(housed, tmp_path):
    for month in (3, 4):
        (tmp_path / f"{month}.csv").write_text(
            f"logger,time,temp °C,RH %\nL-1,2024-{month:02d}-12 10:00,18,45\nL-1,2024-{month:02d}-12 11:00,18,45\n"
        )
    bring(housed, tmp_path / "3.csv", {"zone": "Europe/Berlin"})

    second = bring(housed, tmp_path / "4.csv")

    assert [t.hour for _, _, t, _, _ in held(housed)] == [9, 10, 8, 9]
    assert any("L-1" in line for line in second.mappings_remembered)


def test_two_places_that_name_one_logger_are_asked_about(housed, tmp_path):
    housed.write(Change({"location": pl.DataFrame({"location_id": ["E4"], "logger_id": ["L-1"]})}), by="ada")
    path = tmp_path / "log.csv"
    path.write_text(lines(["logger,time UTC,temp °C,RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b}"))

    ((_, question),) = opened(housed, path).questions

    assert question.key == ("places", "L-1")
    assert question.examples == ("E1", "E4")


def test_without_a_terminal_the_questions_are_the_answer_and_the_mapping_takes_the_answers(enamels, tmp_path):
    (tmp_path / "log.csv").write_text(
        "logger,time,Temp,RH\nL-1,2024-03-12 10:00,66.2,45\nL-1,2024-03-12 11:00,66.2,45\n"
    )

    code, out, err = enamels("intake", "log.csv", "--yes")

    assert code == 2
    assert 'zone = ""' in out
    assert err.count("Fill in logger.") == 3  # place, zone, unit
    answered = (
        out.replace('zone = ""', 'zone = "UTC"')
        .replace('temperature = ""', 'temperature = "°F"')
        .replace('"L-1" = ""', '"L-1" = "-"')
        .replace('L-1 = ""', 'L-1 = "-"')
        .replace('{"L-1" = ""}', '{"L-1" = "-"}')
    )
    (tmp_path / "m.toml").write_text(answered, "utf-8")
    assert enamels("intake", "log.csv", "--mapping", "m.toml")[0] == 0
    assert Store(tmp_path / "enamels.duckdb").read_record("climate_reading")["temperature_c"].to_list() == [19, 19]


@pytest.mark.parametrize(
    ("entry", "says"),
    [('zone = "Mars/Base"', "no time zone"), ('order = "week"', "no order"), ('temperature = "%"', "no unit")],
)
def test_an_answer_that_is_none_is_refused(entry, says, enamels, tmp_path):
    (tmp_path / "log.csv").write_text(
        "logger,time,Temp,RH\nL-1,2024-03-12 10:00,66.2,45\nL-1,2024-03-12 11:00,66.2,45\n"
    )
    (tmp_path / "m.toml").write_text(f'record = "climate_reading"\n[logger]\n{entry}\n', "utf-8")

    code, _, err = enamels("intake", "log.csv", "--mapping", "m.toml")

    assert code == 2
    assert says in err


def test_at_a_terminal_each_question_is_asked_once(enamels, tmp_path, monkeypatch):
    rows = ["logger,time,Temp,RH", "L-1,2024-03-12 10:00,66.2,45", "L-1,2024-03-12 11:00,66.2,45"]
    (tmp_path / "log.csv").write_text("\n".join(rows))
    given = {"places L-1": "-", "zone": "UTC", "temperature": "°F"}
    asked: list[str] = []
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("click.prompt", lambda words, **_: asked.append(words) or given[words])

    assert enamels("intake", "log.csv", "--yes")[0] == 0
    assert sorted(asked) == sorted(given)
    assert Store(tmp_path / "enamels.duckdb").read_record("climate_reading")["temperature_c"].to_list() == [19, 19]
