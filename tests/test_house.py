"""The house is in order: kinds, templates and documentation agree; commands, wheel and words are as told."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from fastapi.routing import APIRoute

from app.procedure.registry import kinds
from app.web.answers import REFUSED, STATUS_OF
from app.web.app import SCREENS

if TYPE_CHECKING:
    from collections.abc import Iterator

HOME = Path(__file__).resolve().parent.parent
CODE = sorted((HOME / "app").rglob("*.py"))
TEMPLATES = sorted((HOME / "templates").rglob("*.html"))
DATA = ("templates", "static", "migrations", "procedures")

# From the house style: sentences say what happened and who can clear it, and blame nobody.
NOT_SAID = re.compile(r"\b(invalid|error|errors|failed|please|sorry|oops)\b", re.IGNORECASE)
NO_NAMES = {"utils", "util", "helpers", "helper", "common", "manager", "service", "handler", "base"}


def block(mark: str) -> list[str]:
    """Return the lines of the fenced block that follows a mark in the README."""
    after = (HOME / "README.md").read_text().partition(f"<!-- {mark}: -->\n```\n")[2]
    return after.partition("\n```")[0].splitlines()


def kinds_in(procedure: dict[str, Any]) -> set[str]:
    return {step["kind"] for section in procedure.get("sections", []) for step in section["steps"]}


def test_every_kind_has_one_template_and_every_template_one_kind() -> None:
    templates = {p.stem for p in (HOME / "templates/kinds").glob("*.html") if p.stem[0] != "_"}

    assert set(kinds()) == templates


def test_every_kind_is_documented_and_no_other() -> None:
    table = (HOME / "DEVELOPERS.md").read_text().partition("<!-- kinds -->")[2].partition("\n\n")[0]

    assert set(kinds()) == set(re.findall(r"^\| `([a-z-]+)` \|", table, re.MULTILINE))


def test_every_kind_is_used_by_a_procedure_that_the_tests_load() -> None:
    files = [*(HOME / "procedures").glob("*.toml"), *(HOME / "tests").rglob("*.toml")]
    used = set().union(*(kinds_in(tomllib.loads(file.read_text())) for file in files))

    assert set(kinds()) <= used


def test_every_act_and_every_status_of_the_json_contract_is_documented() -> None:
    text = (HOME / "DEVELOPERS.md").read_text().partition("## The JSON contract")[2]
    contract = text.partition("\n## ")[0]
    acts = {
        re.sub(r"\{(\w+?)(?:_id)?\}", r"{\1}", route.path)
        for screen in SCREENS
        for route in screen.router.routes
        if isinstance(route, APIRoute) and "POST" in (route.methods or ())
    }
    statuses = {str(status) for status in (*STATUS_OF.values(), REFUSED)}

    assert acts == set(re.findall(r"`POST (/[^`?]*)`", contract))
    assert statuses <= set(re.findall(r"\b([1-5][0-9][0-9])\b", contract))


@pytest.mark.parametrize("mark", ["demo", "tests"])
def test_the_readme_gives_each_command_on_one_line(mark: str) -> None:
    lines = block(mark)

    assert len(lines) == 1
    assert lines[0].startswith("$(command -v sudo) apt-get update && ")
    assert "-c requirements.lock" in lines[0]


def test_ci_calls_the_line_that_the_readme_gives() -> None:
    script = (HOME / ".ci/run").read_text()
    found = re.search(r"command=\$\((awk .*)\)\n", script)
    assert found is not None

    said = subprocess.run(
        ["sh", "-c", found[1]], cwd=HOME, capture_output=True, text=True, check=True
    )

    assert said.stdout.splitlines() == block("tests")
    assert block("tests")[0].endswith(".venv/bin/python -m tests")
    assert 'bash -euo pipefail -c "$command"' in script


def test_the_lock_names_one_version_of_everything_that_is_required() -> None:
    project = tomllib.loads((HOME / "pyproject.toml").read_text())["project"]
    required = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    locked = re.findall(
        r"^([a-z0-9-]+)==\S+", (HOME / "requirements.lock").read_text(), re.MULTILINE
    )
    lock = (HOME / "requirements.lock").read_text()

    assert {re.split(r"[<>=~\[ ]", each)[0].lower() for each in required} <= set(locked)
    assert len(locked) == len(set(locked)) == len(lock.splitlines())
    assert "://" not in lock  # no address of an index


def sentences(file: Path) -> Iterator[tuple[int, str]]:
    """Yield the texts of a module that people may read: no docstrings, no log, no single words."""
    tree = ast.parse(file.read_text())
    unread: set[int] = set()
    for node in ast.walk(tree):
        match node:
            case ast.Expr(value=ast.Constant() as docstring):
                unread.add(id(docstring))
            case ast.Call(
                func=ast.Attribute(value=ast.Name(id="log" | "_log")), args=[message, *_]
            ):
                unread.add(id(message))
            case _:
                pass
    for node in ast.walk(tree):
        match node:
            case ast.Constant(value=str(text)) if id(node) not in unread and " " in text.strip():
                yield node.lineno, text
            case _:
                pass


def test_no_sentence_scolds_or_pleads() -> None:
    found = [
        f"{file.relative_to(HOME)}:{line}: {text}"
        for file in CODE
        for line, text in sentences(file)
        if NOT_SAID.search(text)
    ]

    assert found == []


def test_no_page_scolds_or_pleads() -> None:
    read = {
        file: re.sub(
            r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}|<[^>]*>", " ", file.read_text(), flags=re.DOTALL
        )
        for file in TEMPLATES
    }

    assert [
        str(file.relative_to(HOME)) for file, text in read.items() if NOT_SAID.search(text)
    ] == []


def test_modules_are_named_for_the_trade() -> None:
    assert [str(f.relative_to(HOME)) for f in CODE if f.stem in NO_NAMES] == []


def test_nothing_is_imported_inside_a_function() -> None:
    """But the renderer of pages for print, which is loaded in the child process alone."""
    found = {
        f"{file.relative_to(HOME)}: {ast.unparse(inner)}"
        for file in CODE
        for node in ast.walk(ast.parse(file.read_text()))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(node)
        if isinstance(inner, ast.Import | ast.ImportFrom)
    }

    assert {each for each in found if "weasyprint" not in each} == set()


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=HOME, check=True, capture_output=True)
    (built,) = folder.glob("*.whl")
    return built


@pytest.mark.slow
def test_the_wheel_carries_all_that_is_read_at_run_time_and_no_more(wheel: Path) -> None:
    beside = {
        f"app/_data/{file.relative_to(HOME).as_posix()}"
        for folder in DATA
        for file in (HOME / folder).rglob("*")
        if file.is_file() and "__pycache__" not in file.parts and "readme" not in file.parts
    }
    code = {file.relative_to(HOME).as_posix() for file in CODE}

    carried = set(zipfile.ZipFile(wheel).namelist())

    assert {each for each in carried if ".dist-info/" not in each} == beside | code
    assert any(each.endswith("/licenses/LICENSE") for each in carried)


@pytest.mark.slow
def test_what_the_wheel_installs_finds_its_own_data(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path / "installed")
    ask = (
        "from app.settings import data_folder\n"
        "for name in ('templates', 'static', 'migrations', 'procedures'):\n"
        "    folder = data_folder(name)\n"
        "    print(folder, any(folder.iterdir()))\n"
    )

    said = subprocess.run(
        [sys.executable, "-c", ask],
        cwd=tmp_path,
        env={
            **os.environ,
            "PYTHONPATH": str(tmp_path / "installed"),
            "PYTHONDONTWRITEBYTECODE": "1",
        },
        capture_output=True,
        text=True,
        check=True,
    )

    home = tmp_path / "installed/app/_data"
    assert said.stdout.splitlines() == [f"{home / name} True" for name in DATA]
