"""Reading packs: later folders override earlier ones by id, and the edition follows the content alone."""

import pytest

from advisor.advice import rules_by
from advisor.ecosystem import knowledge
from advisor.errors import InputError
from advisor.rulebook import rules_from_text, shipped_folder
from advisor.rulecheck import check_rules
from advisor.stages import bbch_of

PACK = """
- id: {id}
  layer: proposals
  when: [{{block: {{block: $block}}}}]
  propose: {{practice: scout, stance: look, place: $block, summary: "{summary}"}}
  because: "It is time."
  evidence: common-practice
  cases:
    - {{name: a block, given: [{{block: {{block: b}}}}], fires: true}}
    - {{name: no block, given: [{{tool: {{tool: scythe}}}}], fires: false}}
"""
FIGURES = knowledge().figures


def folder(tmp_path, name, *packs):
    made = tmp_path / name
    made.mkdir()
    for number, pack in enumerate(packs):
        (made / f"pack-{number}.yaml").write_text(pack)
    return made


def load(*folders):
    return rules_by(knowledge(), *folders)


def test_a_later_folder_overrides_by_id_and_is_named(tmp_path):
    ours = folder(tmp_path, "ours", PACK.format(id="ours", summary="Look."))
    theirs = folder(tmp_path, "theirs", PACK.format(id="ours", summary="Look closely."))
    book = load(ours, theirs)
    assert book.rule("ours").output.summary == "Look closely."
    assert [override.id for override in book.overrides] == ["ours"]
    assert "theirs" in str(book.overrides[0])


def test_the_edition_changes_with_the_content_and_not_with_its_place(tmp_path):
    one, two = PACK.format(id="one", summary="Look."), PACK.format(id="two", summary="Look.")
    apart = load(folder(tmp_path, "apart", one, two))
    together = load(folder(tmp_path, "together", "# a remark\n" + two + one))
    other = load(folder(tmp_path, "other", one, two.replace("Look.", "Look twice.")))
    assert apart.edition == together.edition
    assert apart.edition != other.edition


def test_all_that_is_wrong_is_said_at_once_with_file_and_line(tmp_path):
    first = PACK.format(id="first", summary="Look.").replace("layer: proposals", "layer: attic")
    second = PACK.format(id="second", summary="Look.").replace("evidence", "evidense")
    bad = first + second
    with pytest.raises(InputError) as refused:
        load(folder(tmp_path, "bad", bad))
    assert len(refused.value.problems) >= 2
    assert all("pack-0.yaml" in problem.file and problem.line for problem in refused.value.problems)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(InputError, match="attic"):
        load(tmp_path / "attic")


def test_the_rule_that_the_readme_teaches_with_is_sound():
    text = (shipped_folder() / "README.md").read_text()
    pack = text.split("```yaml\n")[1].split("```")[0]
    assert check_rules(rules_from_text(pack, load().kinds, FIGURES, bbch_of), knowledge()) == []
