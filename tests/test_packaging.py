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


def test_every_data_file_is_shipped():
    for folder, name in FOLDERS.items():
        patterns = SETTINGS["package-data"].get(name, [])
        shipped = {path for pattern in patterns for path in (HOUSE / folder).glob(pattern)}
        data = {
            path
            for path in (HOUSE / folder).rglob("*")
            if path.is_file() and path.suffix not in (".py", ".pyc") and "__pycache__" not in path.parts
        }
        assert data <= shipped, sorted(str(p.relative_to(HOUSE)) for p in data - shipped)[:5]
