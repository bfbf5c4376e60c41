"""The words that an orchard file may use: ids of the knowledge, with the other names by which people know them.

known     every id of a kind (plant, pest, disease, ally, practice, material, ...)
aliases   other names and the id each is read as ("ladybird" is lady-beetle)
resolve   one word to its id; `other:NAME` passes; what nobody knows is refused with the nearest names
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from advisor.quantity import Unreadable

FRUITS = ("apple", "pear", "quince", "peach", "nectarine", "apricot", "plum", "sweet-cherry", "tart-cherry")
REGIONS = ("new-york", "new-england", "michigan", "ontario", "mid-atlantic", "washington", "california", "uk",
           "central-europe", "new-zealand", "australia")
MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
          "december")
TOOLS = frozenset({
    "scythe", "sickle", "sickle-bar", "flail-mower", "lawn-mower", "brush-cutter", "string-trimmer", "chipper",
    "wheelbarrow", "cart", "tractor", "backpack-sprayer", "air-sprayer", "boom-sprayer", "duster", "ladder",
    "pruning-saw", "secateurs", "loppers", "pole-pruner", "chainsaw", "rake", "hay-fork", "spade", "hoe", "auger",
    "penetrometer", "refractometer", "iodine", "hand-lens", "thermometer", "rain-gauge", "leaf-wetness-sensor",
    "beat-tray", "grafting-knife", "hose", "compost-thermometer",
})  # fmt: skip
# Creatures that leave signs and need not stand in the knowledge as pest or ally; `none`: looked for, and nothing found.
WILDLIFE = frozenset({
    "none", "ground-nesting-birds", "hedge-nesting-birds", "deer", "rabbits", "hares", "mice", "voles", "moose",
    "bears", "porcupines", "woodchucks", "squirrels", "raccoons", "possums", "wallabies", "badgers", "foxes",
    "cats", "hedgehogs", "bats", "owls", "hawks", "songbirds", "starlings", "bullfinches", "pigeons",
    "woodpeckers", "wild-turkeys", "snakes", "toads", "frogs", "wild-boar", "livestock",
})  # fmt: skip

# Node kinds of the knowledge and the file (or folder of files) that holds each.
_FILES = {"plant": "plants", "habitat": "habitats", "ally": "allies", "pest": "pests", "disease": "diseases",
          "practice": "practices", "material": "materials", "stage": "stages", "resource": "resources",
          "soil-life": "soil-life"}
_TOGETHER = {
    "trouble": ("pest", "disease"),
    "target": ("pest", "disease", "ally", "plant", "resource", "soil-life", "material", "habitat", "practice"),
    "wildlife": ("pest", "ally"),
    "harbour": ("pest", "ally", "disease"),
}
_OWN_FOLDERS: ContextVar[tuple[Path, ...]] = ContextVar("own_folders", default=())

OTHER = "other:"


@contextmanager
def with_folders(folders: Iterable[Path]) -> Iterator[None]:
    """Inside this block the ids of a grower's own knowledge folders are known as well."""
    token = _OWN_FOLDERS.set(tuple(folders))
    try:
        yield
    finally:
        _OWN_FOLDERS.reset(token)


def known(kind: str) -> frozenset[str]:
    """Every id of a kind. Kinds: those of the knowledge, and fruit, tool, trouble, target, wildlife, harbour."""
    if kind == "fruit":
        return frozenset(FRUITS)
    if kind == "tool":
        return TOOLS.union(*(_tools(folder) for folder in _folders()))
    found = frozenset().union(*(_names(part)[0] for part in _TOGETHER.get(kind, (kind,))))
    return found | WILDLIFE if kind == "wildlife" else found


def aliases(kind: str) -> Mapping[str, str]:
    """Other names of a kind, each with the id it is read as."""
    merged: dict[str, str] = {}
    for part in reversed(_TOGETHER.get(kind, (kind,))):
        if part in _FILES:
            merged.update(_names(part)[1])
    return merged


def resolve(kind: str, word: object) -> str:
    """The id that a word stands for.

    `other:NAME` passes. Where no word of the kind is known at all (no knowledge installed), any word does.
    Raises Unreadable with the nearest known names.
    """
    if not isinstance(word, str) or not word.strip():
        raise Unreadable(f"{str(word)[:60]!r} is not a name", "Write the English name, such as white-clover.")
    if word.startswith(OTHER):
        if not word[len(OTHER):].strip() or len(word) > 80:
            raise Unreadable(f"{word[:90]!r} names nothing", "Write other: and a short name, as in other:quince-moth.")
        return OTHER + "-".join(word[len(OTHER):].split()).lower()
    name = re.sub(r"[\s_]+", "-", word.strip().lower())
    ids = known(kind)
    if name in ids or not ids:
        return name
    others = aliases(kind)
    for form in (name, name.removesuffix("s"), f"{name}s"):  # people write one bee or many
        if form in ids:
            return form
        if form in others:
            return others[form]
    close = one_name_each(nearest(name, [*ids, *others], 12), others)[:3]
    offer = f"Did you mean {' or '.join(close)}? " if close else ""
    raise Unreadable(f"{word[:60]!r} is no {kind.replace('trouble', 'pest or disease')} that is known here",
                     f"{offer}Write other:{name[:40]} to keep a name that is not known.")


def nearest(word: str, names: Iterable[str], most: int = 3) -> list[str]:
    """The known names most like a word, best first; names that share a whole part with it count as like it."""
    names = sorted(set(names))
    close = difflib.get_close_matches(word.lower(), names, n=most, cutoff=0.6)
    parts = {part for part in re.split(r"[-_ ]", word.lower()) if len(part) > 2}
    shared = [name for name in names if parts & set(re.split(r"[-_ ]", name)) and name not in close]
    shared.sort(key=lambda name: -difflib.SequenceMatcher(None, word.lower(), name).ratio())
    return [*close, *shared][:most]


def one_name_each(names: Iterable[str], others: Mapping[str, str]) -> list[str]:
    """The names, without those that stand for the same as an earlier one: ladybird, not ladybug as well."""
    first: dict[str, str] = {}
    for name in names:
        first.setdefault(others.get(name, name), name)
    return list(first.values())


def _names(kind: str) -> tuple[frozenset[str], Mapping[str, str]]:
    ids: set[str] = set()
    others: dict[str, str] = {}
    for folder in _folders():
        found, also = _scan(kind, folder)
        ids |= found
        others.update(also)
    return frozenset(ids), others


def _folders() -> tuple[str, ...]:
    return ("", *map(str, _OWN_FOLDERS.get()))


def _root(folder: str) -> Traversable:
    return Path(folder) if folder else files("advisor.knowledge")


@lru_cache(maxsize=8)
def _tools(folder: str) -> frozenset[str]:
    """The tools that practices name."""
    found = (re.findall(r"\btools:[ \t]*\[([^\]]*)\]", text) for text in _texts(_root(folder), _FILES["practice"]))
    return frozenset(tool.strip() for lists in found for one in lists for tool in one.split(",") if tool.strip())


@lru_cache(maxsize=64)
def _scan(kind: str, folder: str) -> tuple[frozenset[str], Mapping[str, str]]:
    """Ids and other names of one kind in one folder ("" is the knowledge that comes with the program).

    The entries are found by their shape, without building them: reading the whole knowledge as YAML takes a second,
    and this is needed before any advice. A test holds this against the strict reader.
    """
    ids: set[str] = set()
    others: dict[str, str] = {}
    for text in _texts(_root(folder), _FILES[kind]):
        for entry in re.split(r"(?m)^-(?=\s)", text)[1:]:
            entry = re.sub(r"(?m)(?:^|\s)#.*$", "", entry)
            found = re.search(r"(?m)(?:^\s+|\{\s*|,\s*)id:[ \t]*[\"']?([\w-]+)", entry)
            if not found:
                continue
            ids.add(found.group(1))
            also = re.search(r"(?m)(?:^\s+|\{\s*|,\s*)also:[ \t]*(\[[^\]]*\]|(?:\n\s+-\s[^\n]+)+|[\w-]+)", entry)
            for name in re.findall(r"[^\s\[\],\"'][^\[\],\"'\n]*", also.group(1)) if also else ():
                name = re.sub(r"[\s_]+", "-", name.removeprefix("- ").strip().lower())
                if name:
                    others[name] = found.group(1)
    return frozenset(ids), {name: id_ for name, id_ in others.items() if name not in ids}


def _texts(root: Traversable, name: str) -> Iterator[str]:
    single = root / f"{name}.yaml"
    if single.is_file():
        yield single.read_text(encoding="utf-8")
    folder = root / name
    if folder.is_dir():
        for path in sorted(folder.iterdir(), key=lambda item: item.name):
            if path.name.endswith(".yaml"):
                yield path.read_text(encoding="utf-8")
