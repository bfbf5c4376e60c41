"""What an install carries: every package and every data file of the tree, under one import name."""

import tomllib
from pathlib import Path

HOUSE = Path(__file__).parent.parent
FOLDERS = {"advisor": "advisor", "api": "advisor.api", "rules": "advisor.rules", "knowledge": "advisor.knowledge"}
SETTINGS = tomllib.loads((HOUSE / "pyproject.toml").read_text())["tool"]["setuptools"]


def test_every_folder_with_code_is_a_listed_package():
    found = set()
    for folder, name in FOLDERS.items():
        for path in (HOUSE / folder).rglob("__init__.py"):
            inside = path.parent.relative_to(HOUSE / folder).parts
            found.add(".".join((name, *inside)))
    assert found == set(SETTINGS["packages"])


def folder_of(package: str) -> Path:
    """Where a package lies, by the nearest of its parents that pyproject names."""
    parent = max((name for name in FOLDERS.values() if f"{package}.".startswith(f"{name}.")), key=len)
    folder = next(folder for folder, name in FOLDERS.items() if name == parent)
    return HOUSE.joinpath(folder, *package.removeprefix(parent).split(".")[1:])


def test_every_data_file_is_shipped():
    """Data, and Python files that are no modules of a package, such as the migrations."""
    where = {package: folder_of(package) for package in SETTINGS["packages"]}
    shipped = {
        path
        for package, patterns in SETTINGS["package-data"].items()
        for pattern in patterns
        for path in where[package].glob(pattern)
    }
    for folder in FOLDERS:
        there = {path for path in (HOUSE / folder).rglob("*") if path.is_file() and "__pycache__" not in path.parts}
        modules = {path for path in there if path.suffix == ".py" and path.parent in where.values()}
        lacking = there - modules - shipped
        assert not lacking, sorted(str(path.relative_to(HOUSE)) for path in lacking)[:5]
