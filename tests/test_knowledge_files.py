"""Knowledge files are read strictly: what cannot be meant is refused with its file, line, place and mend."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from advisor.ecosystem import load_knowledge, shipped_folder
from advisor.errors import InputError

SOURCES = "- {id: smith-1999-scab, title: Scab, where: A journal, seen: seen}\n"
DISEASES = """\
- id: apple-scab
  name: apple scab
  hosts: [apple]
  evidence: common-practice
"""
PLANTS = """\
- {id: apple, name: apple, fruit: true, also: [apple-tree]}
- {id: hazel, name: hazel, bloom: {from: -10, to: -6}, nectar: 0, pollen: 2}
"""
PRACTICES = "- {id: copper, name: spraying copper, group: sprays, does: Spray copper.}\n"
MATERIALS = "- {id: copper, name: copper, group: spray, cn: 20}\n"
LINKS = """\
- from: copper
  link: suppresses
  to: apple-scab
  strength: 2
  season: {bbch: [51, 54], fruit: apple}
  evidence: published
  source: smith-1999-scab
"""
FIGURES = """\
- id: apple-scab.leaves
  unit: share
  what: leaves with scab
  rows:
    - {region: new-york, value: 0.01, evidence: published, source: smith-1999-scab}
    - {region: uk, value: 0.02, evidence: common-practice}
  default: new-york
"""
GOOD = {
    "sources/a.yaml": SOURCES, "diseases.yaml": DISEASES, "plants.yaml": PLANTS, "practices/sprays.yaml": PRACTICES,
    "materials.yaml": MATERIALS, "links/a.yaml": LINKS, "figures/a.yaml": FIGURES,
}  # fmt: skip


def folder(path: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        (path / name).parent.mkdir(parents=True, exist_ok=True)
        (path / name).write_text(text)
    return path


def refusal(path: Path, **changed: str):
    """The problems of a good folder with some files changed; a changed file is named with _ for / and without .yaml."""
    files = dict(GOOD)
    for name, text in changed.items():
        files[next(key for key in GOOD if key.removesuffix(".yaml").replace("/", "_") == name)] = text
    with pytest.raises(InputError) as refused:
        load_knowledge(folder(path, files))
    return refused.value.problems


def test_a_good_folder_is_read(tmp_path):
    known = load_knowledge(folder(tmp_path, GOOD))
    assert set(known.nodes) == {"apple", "hazel", "apple-scab", "copper", "material:copper"}
    (link,) = known.links
    assert (link.start, link.link, link.end, link.strength) == ("copper", "suppresses", "apple-scab", 2)
    assert known.graph["copper"]["apple-scab"][0]["sign"] == -1
    assert known.overrides == ()


@pytest.mark.parametrize(
    ("changed", "line", "says", "mends"),
    [
        ({"links_a": LINKS.replace("to: apple-scab", "to: apple-scap")}, 1, "nobody knows `apple-scap`", "apple-scab"),
        ({"links_a": LINKS.replace("suppresses", "supresses")}, 2, "unknown word", "'suppresses'"),
        ({"links_a": LINKS.replace("to: apple-scab", "to: copper")}, 1, "begins and ends at one node", "other end"),
        ({"links_a": LINKS.replace("suppresses", "eats")}, 1, "no `eats` can begin at a practice", "ally"),
        ({"links_a": LINKS.replace("from: copper", "from: apple").replace("suppresses", "gathers")}, 1,
         "no `gathers` can end at a disease", "resource"),
        ({"links_a": LINKS.replace("strength: 2", "strength: 4")}, 4, "less than or equal to 3", "README"),
        ({"links_a": LINKS.replace("strength: 2", "strength: strong")}, 4, "valid integer", "README"),
        ({"links_a": LINKS + "  sureness: 3\n"}, 8, "no field `sureness`", "Known fields"),
        ({"links_a": LINKS.replace("  source: smith-1999-scab\n", "")}, 1, "no source is named", "Name the source"),
        ({"links_a": LINKS.replace("smith-1999-scab", "smith-1999-scale")}, 1, "not listed", "smith-1999-scab"),
        ({"links_a": LINKS + LINKS}, 8, "stands twice with the same season", "line 1"),
        ({"links_a": LINKS.replace("{bbch: [51, 54], fruit: apple}", "spring")}, 5, "a season is", "Correct"),
        ({"links_a": LINKS.replace("{bbch: [51, 54], fruit: apple}", "{bbch: [51, 54]}")}, 5, "both", "Correct"),
        ({"links_a": LINKS.replace("[51, 54]", "[51, 154]")}, 5, "less than or equal to 99", "README"),
        ({"links_a": LINKS.replace("fruit: apple", "fruit: hazel")}, 1, "not one of the tree fruits", "apple"),
        ({"links_a": LINKS.replace("{bbch: [51, 54], fruit: apple}", "{weeks: [4, -4]}")}, 5, "ends before", "Correct"),
        ({"diseases": DISEASES + "  name: scab\n"}, 5, "stands twice", "Keep one"),
        ({"diseases": DISEASES + DISEASES}, 5, "the id `apple-scab` stands twice", "line 1"),
        ({"diseases": DISEASES.replace("hosts:", "host:")}, 3, "no field `host`", "`hosts`"),
        ({"diseases": DISEASES.replace("id: apple-scab", "id: Apple scab")}, 1, "lower case with hyphens", "Correct"),
        ({"diseases": DISEASES + "  kind: pest\n"}, 5, "follows from the file's name", "move the entry"),
        ({"diseases": "apple-scab: {name: scab}\n"}, 1, "must be a list", "- "),
        ({"diseases": "- apple-scab\n"}, 1, "must be a mapping", "id"),
        ({"diseases": DISEASES.replace("common-practice", "published")}, 1, "no source is named", "common-practice"),
        ({"plants": PLANTS.replace("nectar: 0", "nectar: 4")}, 2, "less than or equal to 3", "README"),
        ({"plants": PLANTS.replace("to: -6", "to: -12")}, 2, "bloom ends before it begins", "Correct"),
        ({"plants": PLANTS.replace("also: [apple-tree]", "also: [hazel]")}, 1, "already names", "one place"),
        ({"materials": MATERIALS.replace("cn: 20", "cn: -3")}, 1, "greater than 0", "README"),
        ({"figures_a": FIGURES.replace("uk", "atlantis")}, 6, "unknown word", "'new-york'"),
        ({"figures_a": FIGURES.replace("  default: new-york\n", "")}, 1, "names the `default`", "Correct"),
        ({"figures_a": FIGURES.replace("default: new-york", "default: ontario")}, 1, "has no row", "Correct"),
        ({"figures_a": FIGURES.replace("region: uk", "region: new-york")}, 1, "same region", "Correct"),
        ({"figures_a": FIGURES + FIGURES}, 8, "the figure `apple-scab.leaves` stands twice", "line 1"),
        ({"sources_a": SOURCES + SOURCES}, 2, "the source `smith-1999-scab` stands twice", "line 1"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_refused_with_its_line_and_mend(tmp_path, changed, line, says, mends):
    problems = refusal(tmp_path, **changed)
    found = [problem for problem in problems if says in problem.message]
    assert found, [str(problem) for problem in problems]
    assert found[0].line == line
    assert mends in found[0].mend
    name = next(iter(changed)).replace("_", "/") + ".yaml"
    assert found[0].file.endswith(name)


def test_every_problem_is_reported_at_once(tmp_path):
    problems = refusal(tmp_path, links_a=LINKS.replace("strength: 2", "strength: 9"), plants=PLANTS + "- {id: x}\n")
    assert {problem.file.rsplit("/", 1)[-1] for problem in problems} >= {"a.yaml", "plants.yaml"}


def test_a_folder_that_is_not_there_or_holds_a_stray_file_is_refused(tmp_path):
    with pytest.raises(InputError, match="no such folder"):
        load_knowledge(tmp_path / "missing")
    with pytest.raises(InputError, match="`plant` is no kind of knowledge file"):
        load_knowledge(folder(tmp_path, {**GOOD, "plant.yaml": PLANTS}))


def test_an_id_may_stand_for_a_practice_and_a_material_but_not_for_two_other_kinds(tmp_path):
    allowed = load_knowledge(folder(tmp_path / "a", GOOD))
    assert allowed.node("copper").kind == "practice"
    assert allowed.node("copper", "material").key == "material:copper"
    twice = {**GOOD, "pests.yaml": "- {id: hazel, name: hazel weevil}\n"}
    with pytest.raises(InputError, match="the id `hazel` stands twice"):
        load_knowledge(folder(tmp_path / "b", twice))


def test_a_season_may_run_through_the_winter(tmp_path):
    autumn = LINKS.replace("[51, 54]", "[93, 51]")
    known = load_knowledge(folder(tmp_path, {**GOOD, "links/a.yaml": autumn}))
    assert str(known.links[0].season) == "apple BBCH 93-51"


def test_a_later_folder_overrides_by_id_and_says_so(tmp_path):
    own = {
        "plants.yaml": "- {id: hazel, name: cobnut}\n- {id: medlar, name: medlar}\n",
        "links/own.yaml": "- {from: copper, link: suppresses, to: apple-scab, strength: 1, evidence: from-memory}\n",
        "figures/own.yaml": "- {id: apple-scab.leaves, unit: share, what: leaves, rows: [{region: any, value: 0.05, "
        "evidence: common-practice}]}\n",
    }
    known = load_knowledge(folder(tmp_path / "a", GOOD), folder(tmp_path / "b", own))
    assert known.nodes["hazel"].name == "cobnut"
    assert "medlar" in known.nodes
    assert [(link.strength, link.season.always) for link in known.links] == [(1, True)]
    assert known.figure("apple-scab.leaves").value("new-york").value == 0.05
    assert {(override.what, override.id) for override in known.overrides} == {
        ("plant", "hazel"), ("link", "copper suppresses apple-scab"), ("figure", "apple-scab.leaves"),
    }  # fmt: skip
    assert all("/b" in str(override) for override in known.overrides)


def test_a_later_folder_may_override_a_material_that_shares_its_id(tmp_path):
    own = {"materials.yaml": "- {id: copper, name: fixed copper, group: spray}\n"}
    known = load_knowledge(folder(tmp_path / "a", GOOD), folder(tmp_path / "b", own))
    assert known.node("copper", "material").name == "fixed copper"
    assert known.node("copper").kind == "practice"


def test_figures_give_the_row_of_the_region_or_the_safer_one(tmp_path):
    figure = load_knowledge(folder(tmp_path, GOOD)).figure("apple-scab.leaves")
    assert (figure.value("uk").value, figure.value("uk").evidence) == (0.02, "common-practice")
    assert figure.value("washington").region == "new-york"
    assert figure.value().source == "smith-1999-scab"


def test_the_edition_follows_the_content_and_not_the_files(tmp_path):
    first = load_knowledge(folder(tmp_path / "a", GOOD)).edition
    moved = {name: text for name, text in GOOD.items() if name != "plants.yaml"}
    apple, hazel = PLANTS.splitlines(keepends=True)
    moved |= {"plants/fruit.yaml": apple, "plants/a-hedge.yaml": "# a note\n" + hazel}
    assert load_knowledge(folder(tmp_path / "b", moved)).edition == first
    changed = {**GOOD, "plants.yaml": PLANTS.replace("pollen: 2", "pollen: 3")}
    assert load_knowledge(folder(tmp_path / "c", changed)).edition != first
    assert len(first) == 64


def test_the_examples_that_teach_the_format_are_read(tmp_path):
    text = (shipped_folder() / "README.md").read_text()
    plant, link, figure, source = re.findall(r"```yaml\n(.*?)```", text, re.S)
    files = {"plants.yaml": plant, "links/own.yaml": link, "figures/own.yaml": figure, "sources.yaml": source}
    known = load_knowledge(shipped_folder(), folder(tmp_path, files))
    assert known.nodes["betony"].bloom.begin == 8
    assert [link.end for link in known.links_from("betony")] == ["bumble-bee"]
    assert "author-1999-subject" in known.sources
