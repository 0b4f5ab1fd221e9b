"""While a paper is typeset no file but the template and the fonts is read, and no host is asked."""

import json
import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from web.proposal import typesetting

DEMO = Path(__file__).parents[1] / "data" / "demo" / "case.json"
BEGIN, END = "/typesetting-begins", "/typesetting-ends"
# The compiler looks up the time zone and the number of processors; neither changes a byte.
ALLOWED = (str(typesetting.TEMPLATE), str(typesetting.FONTS), "/etc/localtime", "/proc/", "/sys/")
# The logos pass by the checks of logos: what is tried here is the typesetting alone.
CHILD = f"""
import copy, json, os, socket, sys, typst
from api import service
from web.proposal import document as printed, typesetting
case, logos, guilty = json.load(sys.stdin)
loaded = service.load_case(case)
reply = service.comparison_reply(loaded.case, loaded.units)
made = printed.document(loaded.case, reply, tuple(printed.PARTS), "us-letter")
hostile = []
for svg in logos:
    one = copy.deepcopy(made)
    one["parts"] = one["parts"][:1]
    one["parts"][0]["logo"] = {{"format": "svg", "svg": svg, "bytes": [], "alt": "logo"}}
    hostile.append(one)
os.path.exists("{BEGIN}")
done = 0
for one in (made, *hostile):
    try:
        done += len(typesetting.typeset(one)) > 0
    except Exception as error:
        print(type(error).__name__, file=sys.stderr)
if guilty:
    typst.compile(f'#read("{{guilty[0]}}")'.encode(), root="/", format="pdf")
    socket.create_connection(("127.0.0.1", guilty[1]))
os.path.exists("{END}")
print(done)
"""


def _traced(tmp_path, case, logos, guilty=()):
    """How many papers the child made, and its system calls between the two marks."""
    trace = tmp_path / "trace"
    command = ["strace", "-f", "-qq", "-o", str(trace), "-e", "trace=%file,%network",
               sys.executable, "-c", CHILD]  # fmt: skip
    sent = json.dumps([case, logos, guilty]).encode()
    done = subprocess.run(command, input=sent, capture_output=True, cwd=tmp_path, check=False)
    assert done.returncode == 0, done.stderr.decode()
    lines = trace.read_text(errors="replace").splitlines()
    begin, end = (next(n for n, line in enumerate(lines) if f'"{mark}"' in line)
                  for mark in (BEGIN, END))  # fmt: skip
    return int(done.stdout), lines[begin:end]


def _reached(lines):
    """Files that were opened, beside template and fonts, and calls to the network."""
    opened = {path for line in lines for path in re.findall(r"\bopen\w*\(.*?\"([^\"]*)\"", line)}
    calls = [line for line in lines if re.search(r"\b(socket|connect|sendto|bind)\(", line)]
    return sorted(path for path in opened if not path.startswith(ALLOWED)), calls


@pytest.mark.thorough
def test_no_file_is_read_and_no_host_is_asked(tmp_path):
    """Under a trace of system calls, which catches one who does read and ask."""
    canary = tmp_path / "canary.txt"
    canary.write_text("secret")
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.2)
        port = server.getsockname()[1]
        case, logos = _hostile(canary, f"http://127.0.0.1:{port}/x")
        made, lines = _traced(tmp_path, case, logos)
        assert made == 4  # the case's own and three of eleven logos; the others are refused
        assert any(str(typesetting.TEMPLATE) in line for line in lines)
        assert _reached(lines) == ([], [])
        assert not any(str(canary) in line or "/etc/passwd" in line for line in lines)
        with pytest.raises(TimeoutError):
            server.accept()
        _, lines = _traced(tmp_path, case, logos, (str(canary), port))
        outside, calls = _reached(lines)
        assert str(canary) in outside
        assert any("connect" in line for line in calls)
        server.accept()[0].close()


def _hostile(canary, host):
    """A case and logos that would have the typesetter reach elsewhere, if they could."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" '
        'xmlns:xlink="http://www.w3.org/1999/xlink">{}</svg>'
    )
    hrefs = (f"file://{canary}", str(canary), os.path.relpath(canary, typesetting.TEMPLATE), host)
    inside = [f'<image width="9" height="9" {kind}href="{href}"/>'
              for href in hrefs for kind in ("", "xlink:")]  # fmt: skip
    inside += [f'<rect width="9" height="9" fill="url({host})"/>', f'<use href="{host}#a"/>',
               f"<style>@import url('{host}');</style>"]  # fmt: skip
    case = {**json.loads(DEMO.read_text(encoding="utf-8")), "uncertainty": {"draws": 0}}
    case["alternatives"][0]["name"] = f'#read("{canary}")'
    terms = (f'#read("{canary}")', '#import "@preview/cetz:0.3.0": *', f'#image("{host}")',
             f'")))\n#read("{canary}")', f'\\")))\n#read("{canary}")')  # fmt: skip
    case["proposal"] = {"terms": "\n".join(terms), "owner": '#image("/etc/passwd")'}
    return case, [svg.format(one) for one in inside]
