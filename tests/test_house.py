"""The house: what stands where, which way imports point, and what the wheel carries."""

import ast
import re
import subprocess
import sys
import zipfile
from collections import Counter
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ROOMS = ("lcc", "api", "web", "data")
# What a room may import: rooms farther in, and no library that belongs farther out.
REFUSED = {
    "data": {"lcc", "api", "web"},
    "lcc": {"api", "web", "flask", "marshmallow", "webargs", "apispec", "altair", "vl_convert"},
    "api": {"web", "altair", "vl_convert", "click"},
    "web": set(),
}
MODULES = sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))


def _name(path):
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def _trees():
    return {_name(path): ast.parse(path.read_text(encoding="utf-8")) for path in MODULES}


def _imports(tree):
    """Every imported module, with the names taken from it as possible submodules."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            yield from ((node.module, f"{node.module}.{alias.name}") for alias in node.names)


def test_the_top_level_is_the_agreed_one():
    seen = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert seen == {"README.md", "DEVELOPERS.md", "pyproject.toml", "tests", *ROOMS}


def test_tests_are_flat_and_no_package():
    folders = {path.name for path in (ROOT / "tests").iterdir() if path.is_dir()}
    assert folders - {"__pycache__"} <= {"bench", "data", "vendor"}
    assert not (ROOT / "tests/__init__.py").exists()


def _roots(module):
    return {imported.split(".")[0] for imported, _ in _imports(_trees()[module])}


def test_imports_point_one_way():
    """A room imports only rooms farther in: web -> api -> lcc -> data."""
    wrong = {module: _roots(module) & REFUSED[module.split(".")[0]] for module in _trees()}
    assert {module: roots for module, roots in wrong.items() if roots} == {}


def test_only_one_module_knows_where_the_tables_are():
    knows = {_name(one) for one in MODULES if 'files("data")' in one.read_text(encoding="utf-8")}
    assert knows == {"lcc.tables"}


def _when_loaded(tree):
    """The module without its functions, whose imports run later and give their reason."""
    statements = [node for node in tree.body if not isinstance(node, ast.FunctionDef)]
    return ast.Module(statements, [])


def test_no_modules_import_each_other_in_a_circle():
    graph = {
        name: {
            target
            for module, inner in _imports(_when_loaded(tree))
            if (target := inner if inner in _trees() else module) in _trees() and target != name
        }
        for name, tree in _trees().items()
    }
    assert len(list(TopologicalSorter(graph).static_order())) == len(_trees())


def _body_lines(function):
    body = function.body
    has_docstring = isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant)
    body = body[1:] if has_docstring else body
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


def test_functions_are_short():
    """No body over 40 lines, docstring left out."""
    long = [
        f"{module}.{node.name}"
        for module, tree in _trees().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and _body_lines(node) > 40
    ]
    assert long == []


def test_modules_are_one_subject_long():
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert {path: count for path, count in lines.items() if count > 500} == {}


def test_the_core_has_no_loop_over_hours_by_a_compiler():
    """Arrays over the year, and no just-in-time compiler."""
    compilers = {"numba", "jax", "cython", "torch", "tensorflow"}
    assert [name for name in _trees() if name.startswith("lcc") and _roots(name) & compilers] == []


def test_public_functions_have_docstrings():
    missing = [
        f"{module}.{node.name}"
        for module, tree in _trees().items()
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert missing == []


def _commands(text):
    return re.findall(r"^```sh\n(.*?)\n```", text, flags=re.DOTALL | re.MULTILINE)


def test_ci_runs_the_test_command_of_the_readme():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    command = _commands(readme)[1]
    assert "pytest" in command
    assert f"\n{command}\n" in (ROOT / ".ci/run").read_text(encoding="utf-8")
    assert (ROOT / ".ci/run").stat().st_mode & 0o111


def test_the_readme_opens_with_the_job_and_the_command_that_runs_it():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "roof-lcc serve" in _commands(readme)[0]


def test_the_readme_tells_every_command():
    from web.cli import COMMANDS

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [name for name in COMMANDS if f"`roof-lcc {name}" not in readme] == []


def test_the_developers_page_names_files_that_exist():
    """A module that is renamed is renamed there too."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(?:[\w/]*/)?(\w+\.(?:py|js|csv|json))`", text))
    there = {path.name for room in (*ROOMS, "tests") for path in (ROOT / room).rglob("*.*")}
    assert len(named) > 50
    assert sorted(named - there) == []


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The names of the files in the built wheel."""
    out = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)]
    run = subprocess.run(build, cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    (path,) = out.glob("*.whl")
    with zipfile.ZipFile(path) as archive:
        return set(archive.namelist())


def test_the_wheel_carries_every_file_of_the_rooms(wheel):
    """Tables, pages and scripts ship with the code, not only Python files."""
    there = {
        path.relative_to(ROOT).as_posix()
        for room in ROOMS
        for path in (ROOT / room).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert there <= wheel
    assert {
        "data/materials.csv",
        "data/demo/case.json",
        "data/climates/tulsa-ok.csv.gz",
        "data/zip_zones.csv.gz",
    } <= wheel


def test_the_wheel_carries_nothing_else(wheel):
    extra = {name for name in wheel if name.split("/")[0] not in ROOMS}
    assert all(".dist-info/" in name for name in extra)


def test_a_name_means_one_thing():
    """No two modules and no two public classes of the product share a name.

    Folders may: a room inside another room's subject (`api.portfolio`) is named after it.
    """
    modules = Counter(path.stem for path in MODULES if path.stem != "__init__")
    classes = Counter(
        node.name
        for tree in _trees().values()
        for node in tree.body
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    )
    assert [name for name, count in (modules + classes).items() if count > 1] == []
