"""`manage.py climate`: text, JSON and exit codes, without a database."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from made_up_records import cosine_year, csv

pytestmark = pytest.mark.services

PROJECT = Path(__file__).parents[2]


def climate(*arguments, stdin=None):
    return subprocess.run(
        [sys.executable, "manage.py", "climate", *map(str, arguments)],
        cwd=PROJECT,
        input=stdin,
        capture_output=True,
        timeout=60,
        check=False,
        # An address nobody listens on: touching the database would fail.
        env={**os.environ, "DATABASE_URL": "postgres://nobody@127.0.0.1:1/none"},
    )


@pytest.fixture
def record_file(tmp_path):
    path = tmp_path / "record.csv"
    path.write_text("\n".join(csv(cosine_year("2001-01-01", "2004-12-31"))))
    return path


def test_json(record_file):
    done = climate(record_file, "--json", "--window", "calendar", "--from", 2002, "--to", 2003)
    assert (done.returncode, done.stderr) == (0, b"")
    report = json.loads(done.stdout)
    assert report["record"]["first"] == "2002-01-01"
    assert (report["zone"]["years"], report["zone"]["window"]) == (2, "calendar")


def test_text_from_standard_input(record_file):
    done = climate("-", "--latitude", "-31", stdin=record_file.read_bytes())
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Hardiness zone: " in done.stdout
    assert b"latitude given, -31" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["no-such-file.csv"], "no file"),
        (["tests"], "directory"),
        (["manage.py"], "daily record"),
        ([os.devnull], "empty"),
        (["RECORD", "--from", "2004", "--to", "2001"], "earlier year first"),
        (["RECORD", "--from", "1901", "--to", "1902"], "within that span"),
        (["RECORD", "--units", "F"], "header says degrees C"),
        (["RECORD", "--latitude", "100"], "latitude"),
    ],
)
def test_what_cannot_be_done_ends_with_2_and_one_sentence(record_file, arguments, words):
    done = climate(*(record_file if each == "RECORD" else each for each in arguments))
    assert (done.returncode, done.stdout) == (2, b"")
    message = done.stderr.decode().strip()
    assert words in message
    assert "\n" not in message
    assert "Traceback" not in message
