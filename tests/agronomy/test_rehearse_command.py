"""`manage.py rehearse`: text, JSON and one sentence for what cannot be done, without a database."""

import json
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from made_up_records import cosine_year, csv

PROJECT = Path(__file__).parents[2]


@pytest.fixture
def record_file(tmp_path):
    path = tmp_path / "record.csv"
    # Coldest in mid January, lows from -6 to 22 C.
    path.write_text("\n".join(csv(cosine_year("2001-01-01", "2014-12-31"))))
    return path


def rehearse(*arguments) -> str:
    out = StringIO()
    call_command("rehearse", *map(str, arguments), stdout=out)
    return out.getvalue()


def rehearsed(*arguments):
    return json.loads(rehearse(*arguments, "--json"))


def process(*arguments, stdin=None):
    return subprocess.run(
        [sys.executable, "manage.py", "rehearse", *map(str, arguments)],
        cwd=PROJECT,
        input=stdin,
        capture_output=True,
        timeout=60,
        check=False,
        # An address nobody listens on: touching the database would fail.
        env={**os.environ, "DATABASE_URL": "postgres://nobody@127.0.0.1:1/none"},
    )


def test_json_of_every_year(record_file):
    report = rehearsed(record_file)
    assert list(report) == ["settings", "years", "left_out", "summary"]
    assert report["settings"] == {
        "crop": "pepper",
        "route": "lifted",
        "night": 55,
        "by": "nights",
        "known_by": "all other years",
        "hemisphere": "north",
    }
    assert [year["year"] for year in report["years"]] == list(range(2001, 2015))
    assert set(report["years"][0]) >= {
        "year", "plant_out", "lift", "chilled", "frozen", "frozen_nights", "protected_nights",
        "days_waited",
    }  # fmt: skip
    assert report["summary"]["years"] == 14


def test_each_option_changes_the_rehearsal(record_file):
    usual = rehearsed(record_file)["years"]
    for option in (
        ["--crop", "tomato"],
        ["--crop", "eggplant"],
        ["--route", "ground"],
        ["--night", "50"],
        ["--by", "dates"],
        ["--as-known"],
        ["--latitude", "-40"],
    ):
        assert rehearsed(record_file, *option)["years"] != usual, option
    given = rehearsed(record_file, "--crop", "pepper", "--night", "55", "--by", "nights")
    assert given["years"] == usual


def test_earlier_years_only(record_file):
    report = rehearsed(record_file, "--as-known")
    assert report["settings"]["known_by"] == "earlier years"
    assert [year["year"] for year in report["years"]] == [2011, 2012, 2013, 2014]


def test_the_usual_route_is_that_of_the_zone(tmp_path):
    path = tmp_path / "warm.csv"
    path.write_text("\n".join(csv(cosine_year("2001-01-01", "2014-12-31", mean=18.0, swing=8.0))))
    assert rehearsed(path)["settings"]["route"] == "ground"
    assert rehearsed(path)["years"][0]["lift"] is None
    assert rehearsed(path, "--crop", "tomato")["settings"]["route"] == "lifted"
    assert rehearsed(path, "--route", "lifted")["settings"]["route"] == "lifted"


def test_the_south_has_its_own_years(tmp_path):
    path = tmp_path / "south.csv"
    path.write_text("\n".join(csv(cosine_year("2001-01-01", "2014-12-31", south=True))))
    report = rehearsed(path)
    assert report["settings"]["hemisphere"] == "south"
    first = report["years"][0]
    assert first["year"] == 2001
    assert first["plant_out"].startswith("2001-1")
    assert first["lift"].startswith("2002-0")


def test_text(record_file):
    text = rehearse(record_file, "--night", "50")
    assert text.startswith("Pepper, lifted, nights of 50 F, by the dates and each evening's next")
    assert "14 years" in text
    assert max(map(len, text.splitlines())) <= 120


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["no-such-file.csv"], "no file"),
        ([""], "name is empty"),
        (["tests"], "directory"),
        ([os.devnull], "empty"),
        (["RECORD", "--units", "F"], "header says degrees C"),
        (["RECORD", "--latitude", "100"], "latitude"),
        (["RECORD", "--latitude", "nan"], "latitude"),
        (["SHORT"], "a rehearsal needs 11"),
    ],
)
def test_a_record_that_will_not_do_is_one_sentence(record_file, arguments, words):
    short = record_file.with_name("short.csv")
    short.write_text("\n".join(csv(cosine_year("2001-01-01", "2004-12-31"))))
    files = {"RECORD": record_file, "SHORT": short}
    with pytest.raises(CommandError, match=words) as refused:
        rehearse(*(files.get(each, each) for each in arguments))
    assert refused.value.returncode == 1
    assert "\n" not in str(refused.value)


@pytest.mark.services
@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["no-such-file.csv"], "no file"),
        ([], "required: file"),
        (["RECORD", "--crop", "fig"], "choose from 'pepper', 'tomato', 'eggplant'"),
        (["RECORD", "--night", "60"], "choose from '50', '55'"),
        (["RECORD", "--latitude", "north"], "invalid float value"),
        (["RECORD", "--frost"], "--frost"),
    ],
)
def test_what_cannot_be_done_ends_with_1_and_one_line(record_file, arguments, words):
    done = process(*(record_file if each == "RECORD" else each for each in arguments))
    assert (done.returncode, done.stdout) == (1, b"")
    message = done.stderr.decode().strip()
    assert words in message
    assert "\n" not in message


@pytest.mark.services
def test_it_reads_standard_input_and_needs_no_database(record_file):
    done = process("-", "--json", stdin=record_file.read_bytes())
    assert (done.returncode, done.stderr) == (0, b"")
    assert json.loads(done.stdout)["summary"]["years"] == 14
