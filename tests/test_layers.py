"""The house stands as DEVELOPERS.md draws it: each room knows only those above it in the table, and nothing goes round."""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent
FOLDERS = {"advisor": HOUSE / "advisor", "advisor.api": HOUSE / "api"}
UP = {  # the imports that go up, each inside a function, and why it may
    ("advisor.advice", "advisor.explain"): "an answer offers its explanations as methods",
    ("advisor.advice", "advisor.hours"): "an answer offers its plan as a method",
    ("advisor.advice", "advisor.habitat"): "an answer offers its bloom as a method",
}


def modules() -> dict[str, Path]:
    """Every module by its name."""
    found = {}
    for package, folder in FOLDERS.items():
        for path in folder.rglob("*.py"):
            parts = [package, *path.relative_to(folder).with_suffix("").parts]
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = modules()


@cache
def imports_of(module: str) -> list[tuple[str, str]]:
    """(name, "top", "types" or "lazy") of all that a module imports: ours by module, others by their whole name."""
    return list(_imports(ast.parse(MODULES[module].read_text(encoding="utf-8")), module))


def _imports(tree: ast.Module, module: str) -> Iterator[tuple[str, str]]:
    when: dict[ast.AST, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            when |= dict.fromkeys(ast.walk(node), "lazy")
        elif isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            when |= dict.fromkeys(ast.walk(node), "types")
    for node in ast.walk(tree):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: imports are written in full"
            whole = [f"{node.module}.{alias.name}" for alias in node.names]
            names = [name if name in MODULES else str(node.module) for name in whole]
        for name in names:
            yield name, when.get(node, "top")


def rooms() -> list[list[str]]:
    """The rows of the table, each with the names of the files and folders that it is about, in order."""
    text = (HOUSE / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (`.*?) \|", text.split("| room |")[1].split("\n\n")[0], re.M)
    found = []
    for row in rows:
        folder, names = "", []
        for written in re.findall(r"`([^`]+)`", row):  # a name without a folder stands in that of the name before
            folder = written.rpartition("/")[0] if "/" in written.rstrip("/") else folder
            names.append(written if "/" in written else f"{folder}/{written}")
        found.append(names)
    return found


def floor_of(module: str, house: list[list[str]]) -> int:
    """The row that a module stands in: that of its own file, or else of the nearest folder that is named."""
    path = str(MODULES[module].relative_to(HOUSE))
    named = {name: floor for floor, names in enumerate(house) for name in names}
    if path in named:
        return named[path]
    folders = [f"{parent}/" for parent in Path(path).parents if f"{parent}/" in named]
    assert folders, f"{path} stands in no row of the table in DEVELOPERS.md"
    return named[folders[0]]


def upward(house: list[list[str]]) -> list[str]:
    """Imports of a room below, written as sentences."""
    found = []
    for module in sorted(MODULES):
        if module in FOLDERS:
            continue
        for name, when in imports_of(module):
            allowed = (module, name) in UP and when == "lazy"
            if (
                name in MODULES
                and name not in FOLDERS
                and not allowed
                and floor_of(name, house) > floor_of(module, house)
            ):
                found.append(f"{module} imports {name} ({when}), which stands lower in the table")
    return found


def test_no_room_imports_one_that_stands_below_it_in_the_table() -> None:
    house = rooms()
    assert upward(house) == []
    named = {name for names in house for name in names}
    assert all((HOUSE / name).exists() for name in named), [name for name in named if not (HOUSE / name).exists()]
    upside_down = list(reversed(house))
    assert len(upward(upside_down)) > 100, "a house upside down would pass too"


def test_every_exception_is_still_made() -> None:
    made = {(module, name) for module in MODULES for name, when in imports_of(module) if when == "lazy"}
    assert set(UP) <= made


def test_nothing_is_imported_in_a_circle() -> None:
    graph = {module: {name for name, when in imports_of(module) if when == "top"} for module in MODULES}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as fault:
        pytest.fail(" -> ".join(fault.args[1]))
    graph["advisor.errors"] = {"advisor.advice"}
    with pytest.raises(CycleError):
        TopologicalSorter(graph).prepare()


def test_science_knows_nothing_of_orchards_rules_or_files() -> None:
    for module in MODULES:
        if module.startswith("advisor.science"):
            for name, _ in imports_of(module):
                ours = name.startswith("advisor")
                assert name.startswith("advisor.science") if ours else name in SCIENTIFIC, f"{module} imports {name}"


SCIENTIFIC = {
    "__future__", "bisect", "collections.abc", "dataclasses", "datetime", "functools", "itertools", "math", "numpy",
    "numpy.typing", "re", "types", "typing",
}  # fmt: skip

ENGINE = {"conditions", "bounds", "rule_shapes", "rule_saying", "rule_reading", "rulebook", "comparisons", "evaluate", "sieve",
          "sessions", "working", "program", "outcome", "inference", "rulecheck"}  # fmt: skip
READS = {"errors", "reading", "quantity", "fact"}


def test_the_engine_knows_nothing_of_fruit() -> None:
    """It may know how files are read, how units are said and what a fact is; never an orchard or the knowledge."""
    for name in ENGINE:
        module = f"advisor.{name}"
        for other, _ in imports_of(module):
            if other in MODULES:
                assert other.removeprefix("advisor.") in ENGINE | READS, f"{module} imports {other}"


def test_only_the_standard_library_and_what_is_installed_is_imported_on_top() -> None:
    """What comes with an extra is imported where it is needed, or in rooms that are opened only with it."""
    base = {"advisor", "durable_rules_engine", "fastapi", "networkx", "numpy", "pint", "pydantic", "pydantic_core", "yaml",
            "rich", "typer", "starlette", "anyio"}  # fmt: skip
    behind = ("advisor.journal.store", "advisor.journal.migrating", "advisor.journal.migrations", "advisor.journal.moving",
              "advisor.api.pages", "advisor.api.tokens", "advisor.api.calendars")  # fmt: skip
    for module in MODULES:
        if not module.startswith(behind):
            for name, when in imports_of(module):
                root = name.partition(".")[0]
                assert when != "top" or root in base or root in sys.stdlib_module_names, f"{module} imports {name}"
