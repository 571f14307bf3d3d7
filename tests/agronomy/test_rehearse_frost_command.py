"""`manage.py rehearse_frost`: text, JSON and one sentence for what cannot be done."""

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


@pytest.fixture(scope="module")
def record_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("records") / "record.csv"
    path.write_text("\n".join(csv(cosine_year("2001-01-01", "2006-12-31"))))
    return path


def rehearse(*arguments) -> str:
    out = StringIO()
    call_command("rehearse_frost", *map(str, arguments), stdout=out)
    return out.getvalue()


def process(*arguments):
    return subprocess.run(
        [sys.executable, "manage.py", "rehearse_frost", *map(str, arguments)],
        cwd=PROJECT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        # An address nobody listens on: touching the database would fail.
        env={**os.environ, "DATABASE_URL": "postgres://nobody@127.0.0.1:1/none"},
    )


def test_json(record_file):
    report = json.loads(rehearse(record_file, "--forecast-error", 2, "--json"))
    assert report["settings"] == {
        "limit_c": 0.0,
        "cost_loss": 0.05,
        "forecast_error_c": 2.0,
        "seed": 1,
    }
    assert report["nights"] == 2191
    assert set(report["cost"]) == {"ours", "best", "always", "never"}
    assert set(report["reliability"][0]) == {"said", "happened", "n"}


def test_options_change_the_rehearsal(record_file):
    def calls(*more):
        report = json.loads(rehearse(record_file, "--forecast-error", 2, "--json", *more))
        return report["calls_per_year"], report["killing_nights"]

    usual = calls()
    assert calls("--cost-loss", 0.5)[0] < usual[0]
    assert calls("--limit", -2)[1] < usual[1]
    assert calls("--seed", 2) != usual


def test_text(record_file):
    text = rehearse(record_file, "--forecast-error", 1)
    assert text.startswith("The rule caught")
    assert "What other rules would have cost:" in text


def test_without_a_database_and_from_the_shell(record_file):
    done = process(record_file, "--forecast-error", "2", "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["nights"] == 2191


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ([], "The following arguments are required: --forecast-error."),
        (["--forecast-error", "two"], "invalid float value: 'two'."),
    ],
)
def test_a_wrong_call_is_one_sentence(record_file, arguments, sentence):
    done = process(record_file, *arguments)
    assert done.returncode == 1
    assert sentence in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--forecast-error", "0"], "The forecast error is 0; give a value from 0.1 to 10 C."),
        (["--forecast-error", "11"], "The forecast error is 11"),
        (["--forecast-error", "2", "--cost-loss", "0"], "Cost over loss is 0"),
        (["--forecast-error", "2", "--limit", "99"], "The limit is 99"),
        (["--forecast-error", "2", "--seed", "-1"], "The seed -1 is below 0; give 0 or more."),
    ],
)
def test_a_wrong_number_is_one_sentence(record_file, arguments, sentence):
    with pytest.raises(CommandError) as caught:
        rehearse(record_file, *arguments)
    assert sentence in str(caught.value)


def test_a_file_that_is_not_there_is_one_sentence(tmp_path):
    with pytest.raises(CommandError):
        rehearse(tmp_path / "none.csv", "--forecast-error", 2)
