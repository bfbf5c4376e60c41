"""No formula stands in the science for its test alone: advice reads each, or something that advice reads does."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[1]
SCIENCE = ROOT / "advisor" / "science"
CALLED_BY_OTHERS = "kept for those who call the science from Python: its name is promised to them"
# What advice does not read, each with its reason.
KEPT = {
    ("chill", "growing_degree_hours"): CALLED_BY_OTHERS,
    ("fire_blight", "degree_hours"): CALLED_BY_OTHERS,
    ("fire_blight", "blossom_risk"): CALLED_BY_OTHERS,
    ("scab", "infection"): CALLED_BY_OTHERS,
    ("water", "crop_coefficient"): CALLED_BY_OTHERS,
}

Name = tuple[str, str]  # module of the science, and what it defines


def _science_names(tree: ast.Module) -> tuple[dict[str, str], dict[str, Name]]:
    """What a file calls modules of the science, and what it calls things that it takes out of them."""
    modules, things = {}, {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == "advisor.science":
            modules |= {alias.asname or alias.name: alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("advisor.science."):
            module = node.module.removeprefix("advisor.science.")
            things |= {alias.asname or alias.name: (module, alias.name) for alias in node.names}
    return modules, things


def _used(node: ast.AST, modules: dict[str, str], things: dict[str, Name], own: str | None = None) -> set[Name]:
    """What of the science a piece of code names; `own` is the module it stands in, if that is one of the science."""
    found: set[Name] = set()
    for one in ast.walk(node):
        if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name) and one.value.id in modules:
            found.add((modules[one.value.id], one.attr))
        elif isinstance(one, ast.Name):
            if one.id in things:
                found.add(things[one.id])
            elif own is not None:
                found.add((own, one.id))
    return found


def _defined(tree: ast.Module) -> dict[str, ast.stmt]:
    """What a module defines at its top, by name."""
    found: dict[str, ast.stmt] = {}
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            found[node.name] = node
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            found |= {n.id: node for n in ast.walk(node) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Store)}
    return found


def _reached() -> tuple[set[Name], set[Name]]:
    """Public functions and classes of the science, and all of the science that advice reaches."""
    public, inside = set(), {}
    for path in SCIENCE.glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        modules, things = _science_names(tree)
        for name, node in _defined(tree).items():
            inside[path.stem, name] = _used(node, modules, things, path.stem)
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not name.startswith("_"):
                public.add((path.stem, name))
    waiting: list[Name] = []
    for folder in ("advisor", "api"):
        for path in (ROOT / folder).rglob("*.py"):
            if SCIENCE not in path.parents:
                tree = ast.parse(path.read_text(encoding="utf-8"))
                waiting += _used(tree, *_science_names(tree))
    reached: set[Name] = set()
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting += inside.get(name, ())
    return public, reached


def test_advice_reads_every_formula() -> None:
    public, reached = _reached()
    assert len(public) > 150
    alone = sorted(public - reached - set(KEPT))
    assert not alone, f"only tests read {alone}: let advice read them, or take them out with their tests"


def test_what_is_kept_without_advice_is_there_and_still_not_read() -> None:
    public, reached = _reached()
    assert set(KEPT) <= public
    assert not set(KEPT) & reached
