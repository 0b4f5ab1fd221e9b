"""The command line: the same case file, the same figures, faults in words."""

import json
import re
import socket
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import click
import pvlib
import pytest
from click.testing import CliRunner

from web import format as fmt
from web import pages
from web.cli import COMMANDS, main

DEMO = str(files("data").joinpath("demo/case.json"))
PVLIB = Path(pvlib.__file__).parent / "data"


def _run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_a_port_that_is_taken_is_told_at_once():
    """What else answers there is not announced as ours, and the way out is named."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        done = _run("serve", "--port", other.getsockname()[1])
    assert done.exit_code == 1
    assert "--port" in done.output
    assert "Open http" not in done.output


def test_every_command_is_documented():
    text = _run("--help").output
    for name, (_, short) in COMMANDS.items():
        command = main.get_command(None, name)
        assert name in text
        assert command.help.startswith(short.rstrip("."))
        options = [param for param in command.params if isinstance(param, click.Option)]
        assert [option.name for option in options if not option.help] == []
    assert {"serve", "compare", "assembly", "checks", "proposal"} <= set(COMMANDS)


def test_compare_tells_what_the_api_answers(page_client):
    """The verdict is that of the page: both make as many random draws where the case has none."""
    document = json.loads(Path(DEMO).read_text(encoding="utf-8"))
    reply = page_client.post("/v1/comparisons", json=pages.with_draws(document))
    as_json = _run("compare", DEMO, "--json")
    assert as_json.exit_code == 0
    assert {**json.loads(as_json.stdout), "inputs": 0} == {**reply.json, "inputs": 0}
    told = _run("compare", DEMO).stdout
    assert told.startswith(reply.json["headline"])
    for alternative in reply.json["alternatives"]:
        assert fmt.shown(alternative["life_cycle_cost"], "money") in told
    assert all(caution in told for caution in reply.json["cautions"])


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "zone"), [("723170TYA.CSV", "4A"), ("12839.tm2", "3A")])
def test_compare_takes_a_users_weather_file(name, zone):
    """Greensboro's hourly TMY3 file and Miami's TMY2 file, as pvlib ships them.

    The zone is that of the coordinates in the first line; a TMY2 file's are not read, so that the
    case keeps its own.
    """
    done = _run("compare", DEMO, "--weather", PVLIB / name)
    assert done.exit_code == 0, done.output
    assert f"Climate zone {zone} is used" in done.stderr
    assert "costs about $" in done.stdout


@pytest.mark.parametrize(
    ("content", "words"),
    [("", "empty"), ("{", "case.json: The file"), ("[]", "object"), ('{"units": "ip"}', "#/roof"),
     ('{"units": "ip", "roof": {"area": -1}}', "#/roof/area")],
)  # fmt: skip
def test_a_file_that_is_no_case_is_refused_in_words(tmp_path, content, words):
    case = tmp_path / "case.json"
    case.write_text(content, encoding="utf-8")
    done = _run("compare", case)
    assert done.exit_code == 1
    assert words in done.output
    assert "Traceback" not in done.output
    assert "body" not in done.output


@pytest.mark.parametrize("command", ["compare", "assembly"])
def test_a_missing_file_is_told(tmp_path, command):
    done = _run(command, tmp_path / "none.json")
    assert done.exit_code == 1
    assert "No such file" in done.output


@pytest.mark.parametrize("out", ["nowhere/x.pdf", "taken.pdf"])
def test_a_place_that_cannot_be_written_is_told(tmp_path, out):
    """A folder that does not exist, and a folder where the file should be."""
    (tmp_path / "taken.pdf").mkdir()
    done = _run("proposal", DEMO, "--out", tmp_path / out)
    assert done.exit_code in (1, 2)
    assert out in done.output
    assert "Traceback" not in done.output
    assert isinstance(done.exception, SystemExit)


def test_a_weather_file_that_is_none_is_told(tmp_path):
    other = tmp_path / "year.epw"
    other.write_text("not a year", encoding="utf-8")
    done = _run("compare", DEMO, "--weather", other)
    assert done.exit_code == 1
    assert "#/site" in done.output
    assert "EPW" in done.output


def test_assembly_answers_as_the_api_does(tmp_path, page_client):
    request = {"units": "si", "assemblies": [{"name": "x", "layers": [{"resistance": 3.522}]}]}
    file = tmp_path / "assembly.json"
    file.write_text(json.dumps(request), encoding="utf-8")
    done = _run("assembly", file)
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout) == page_client.post("/v1/assemblies", json=request).json


def test_help_comes_without_the_calculation():
    """What takes a second to import is not imported for the list of commands, nor for a paper."""
    code = (
        "import sys, web.cli; print(sorted({'numpy', 'pandas', 'flask'} & set(sys.modules))); "
        "import web.proposal.proposal_command; "
        "unread = {'altair', 'vl_convert', 'flask', 'werkzeug', 'xlsxwriter', 'python_calamine', "
        "'lcc.portfolio', 'lcc.checks'}; print(sorted(unread & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["[]", "[]"]


def test_the_checks_lead_with_what_is_strong_and_name_each_miss():
    """Published figures and measurements come first; exit 0, as each miss has its reason."""
    told = CliRunner().invoke(main, ["checks", "--units", "si"])
    assert told.exit_code == 0
    assert re.match(
        r"\d+ of \d+ published figures and \d+ of \d+ measurements are met", told.output
    )
    assert "shown from its record" in told.output
    assert re.search(r"Published figures: \d+ within tolerance, \d+ outside", told.output)
    assert re.search(r"On measured roofs \d+ of 13 temperatures are met .* \d+ of 17", told.output)
    assert "\nNot known: insulation and both reflectances" in told.output
