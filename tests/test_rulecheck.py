"""What `check` refuses in a rule: each with its file, its line and a sentence that says how to mend it."""

import pytest

from advisor.advice import default_rules
from advisor.ecosystem import knowledge
from advisor.errors import InputError
from advisor.rulebook import rules_from_text
from advisor.rulecheck import check_rules
from advisor.stages import bbch_of

KNOWN = knowledge()
KINDS = default_rules().kinds

SOUND = """
- id: cut-the-ring
  layer: proposals
  when:
    - stage: {block: $block, fruit: apple, bbch: {at-least: petal-fall}}
    - sward: {block: $block, height: {at-least: {figure: first-mow.sward-height}}}
  propose:
    practice: first-mow
    stance: do
    target: feeder-roots
    place: $block
    window: {opens: 0, closes: {figure: first-mow.window-days}}
    urgency: 0.8
    strength: strong
    summary: "Cut the ring of {block}."
  because: "The sward stands {height}; from {first-mow.sward-height} it is worth cutting."
  evidence: common-practice
  cases:
    - name: tall at petal fall
      given: [{stage: {block: b, fruit: apple, bbch: 69}}, {sward: {block: b, height: 45}}]
      fires: true
    - name: short at petal fall
      given: [{stage: {block: b, fruit: apple, bbch: 69}}, {sward: {block: b, height: 5}}]
      fires: false
"""


def problems(text):
    """What is wrong with a pack, whether it is seen while reading or while checking."""
    try:
        book = rules_from_text(text, KINDS, KNOWN.figures, bbch_of, file="ours.yaml")
    except InputError as refused:
        return list(refused.problems)
    return check_rules(book, KNOWN)


def changed(*changes):
    text = SOUND
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def test_a_sound_rule_passes():
    assert problems(SOUND) == []


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("- sward:", "- swards:"), "swards"),
        (("height: {at-least", "hight: {at-least"), "hight"),
        (("{figure: first-mow.sward-height}}}", "20}}"), "20"),
        (("first-mow.sward-height}}", "mulch.hay-weight-least}}"), "mulch.hay-weight-least"),
        (("first-mow.sward-height}}", "first-mow.sword-height}}"), "first-mow.sword-height"),
        (("at-least: petal-fall", "at-least: petal-drop"), "petal-drop"),
        (("place: $block", "place: $place"), "place"),
        (("practice: first-mow", "practice: first-mowing"), "first-mowing"),
        (("target: feeder-roots", "target: feeder-rots"), "feeder-rots"),
        (("evidence: common-practice", "evidence: published"), "source"),
        (("evidence: common-practice", "evidence: hearsay"), "hearsay"),
        (("evidence: common-practice\n", "evidence: published\n  sources: [nobody-1900]\n"), "nobody-1900"),
        (("fires: false", "fires: true"), "short at petal fall"),
        (("height: 5}}]\n      fires: false", "height: 45}}]\n      fires: true"), "fire"),
        (("Cut the ring of {block}.", "Cut the ring of {blok}."), "blok"),
        (("Cut the ring of {block}.", "Cut. " * 40), "140"),
        (("stance: do", "stance: maybe"), "maybe"),
        (("layer: proposals", "layer: proposal"), "proposal"),
        (("urgency: 0.8", "urgence: 0.8"), "urgence"),
        (("- sward: {block", "- stage: {block: $block, bbch: 0}\n    - sward: {block"), "stage"),
    ],
)  # fmt: skip
def test_a_rule_with_a_fault_is_refused(change, says):
    found = problems(changed(change))
    assert found, "nothing was refused"
    assert any(says in str(problem) for problem in found), [str(problem) for problem in found]
    assert all(problem.file == "ours.yaml" and problem.line and problem.mend for problem in found)


def test_tests_that_exclude_one_another_are_refused():
    """Between 1 and 0 lies nothing, so the rule can never fire."""
    text = changed(
        ("height: {at-least: {figure: first-mow.sward-height}}", "cover: {between: [1, 0]}"),
        ("The sward stands {height}; from {first-mow.sward-height} it is worth cutting.", "Never."),
        ("height: 45", "cover: 0.5"),
        ("height: 5", "cover: 0.1"),
    )
    assert any("exclude" in str(problem) for problem in problems(text)), [str(p) for p in problems(text)]


def test_a_kind_that_nothing_asserts_is_refused():
    kinds = {**KINDS}
    text = changed(("- sward: {block: $block, height: {at-least: {figure: first-mow.sward-height}}}",
                    "- vole-season: {}"))  # fmt: skip
    text = text.replace("; from {first-mow.sward-height} it is worth cutting", "").replace("{height}", "tall")
    text = text.replace("{sward: {block: b, height: 45}}", "{vole-season: {}}").replace(
        ", {sward: {block: b, height: 5}}", ""
    )
    assert kinds["vole-season"].of == "derived"
    assert any("vole-season" in str(p) for p in problems(text)), [str(p) for p in problems(text)]


def test_opposing_rules_on_the_same_conditions_are_refused():
    other = changed(("id: cut-the-ring", "id: leave-the-ring"), ("stance: do", "stance: avoid"))
    assert any("leave-the-ring" in str(p) or "cut-the-ring" in str(p) for p in problems(SOUND + other))


def test_a_window_that_closes_before_it_opens_is_refused():
    window = "window: {opens: 0, closes: {figure: first-mow.window-days}}"
    assert any("closes in 0" in str(p) for p in problems(changed((window, "window: {opens: 1, closes: 0}"))))
    late = "window: {opens: {figure: first-mow.window-days}, closes: 1}"
    assert any("the window opens in" in str(p) for p in problems(changed((window, late))))
    assert problems(changed((window, "window: {opens: 1, closes: 1}"))) == []


RESERVED = """
- id: hold-the-ring
  layer: reservations
  when:
    - considered: {practice: first-mow, block: $block}
    - sward: {block: $block, height: {below: {figure: first-mow.sward-height}}}
  reserve: {effect: hold, strength: fair, answer: "Wait."}
  because: "The sward of {block} is short."
  evidence: common-practice
  cases:
    - {name: short, given: [considered: {id: i, practice: first-mow, block: b}, sward: {block: b, height: 5}], fires: true}
    - {name: tall, given: [considered: {id: i, practice: first-mow, block: b}, sward: {block: b, height: 60}], fires: false}
"""


@pytest.mark.parametrize(("considered", "settled"), [
    ("practice: first-mow, ", False),  # speaks of the practice, whatever it is for
    ("", False),  # speaks of everything
    ("practice: mow-alleys, target: feeder-roots, ", False),
    ("practice: first-mow, target: feeder-roots, ", True),
])
def test_only_a_reservation_between_opposing_rules_settles_them(considered, settled):
    other = changed(("id: cut-the-ring", "id: leave-the-ring"), ("stance: do", "stance: avoid"))
    between = RESERVED.replace("considered: {practice: first-mow, block", f"considered: {{{considered}block")
    between = between.replace("id: i, practice: first-mow, block", f"id: i, {considered or 'practice: first-mow, '}block")
    assert any("say the opposite" in str(p) for p in problems(SOUND + other + between)) is not settled


def test_two_rules_of_one_name_in_one_folder_are_refused():
    assert any("twice" in str(p) for p in problems(SOUND + SOUND))


def test_the_rules_that_come_with_the_program_are_sound():
    assert [str(p) for p in check_rules(default_rules(), KNOWN)] == []
