"""What nobody has looked at, or not lately, and which advice a look could change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from advisor.answer import Unknown
from advisor.conditions import Derive, Propose, Reserve, Rule, Var
from advisor.facts import Gathered, Situation
from advisor.facts.given import unjudged
from advisor.inference import Inference
from advisor.observation import Intent
from advisor.rulebook import Rulebook
from advisor.season import can_stand_at
from advisor.sentences import in_words, listed
from advisor.words import OTHER

# Minutes that a look takes, by what is looked at (common practice, no source).
MINUTES = {
    "tree-stage": 3, "tree-sign": 10, "sward": 3, "plant-bloom": 5, "mulch": 5, "heap": 10, "stems": 5, "leaf-fall": 10,
    "pest-count": 20, "pest-damage": 15, "ally-count": 15, "disease-sign": 20, "mummies": 10, "fruit-set": 15,
    "crop-count": 20, "bud-kill": 20, "shoot-growth": 10, "leaf-test": 30, "soil-test": 30, "fruit-sample": 30,
    "bees": 15, "forecast": 3, "weather": 10, "vole-sign": 15, "wildlife-sign": 15, "snow": 3, "soil-water": 10,
}  # fmt: skip
ORDINARY_MINUTES = 10
# What is looked at, and what of it nobody has said, as growers say it.
_THINGS = {
    "tree-stage": "the stage of the trees", "tree-sign": "the look of the trees", "sward": "the sward", "mulch": "the mulch",
    "heap": "the heap", "stems": "the standing stems", "leaf-fall": "fallen leaves", "pest-count": "pests",
    "pest-damage": "damage by pests", "ally-count": "the enemies of pests", "disease-sign": "signs of disease",
    "fruit-set": "the set of fruit", "crop-count": "the crop", "bud-kill": "frost in the buds",
    "shoot-growth": "the growth of the shoots", "leaf-test": "a leaf test", "soil-test": "a soil test",
    "fruit-sample": "the ripeness of the fruit", "vole-sign": "signs of voles",
    "wildlife-sign": "wild animals", "soil-water": "the wetness of the soil",
}  # fmt: skip
_ABOUT = {
    "tree-sign": "{}", "plant-bloom": "the bloom of {}", "pest-count": "counts of {}", "pest-damage": "damage by {}",
    "ally-count": "counts of {}", "disease-sign": "signs of {}", "wildlife-sign": "signs of {}", "bees": "{}",
}  # fmt: skip
_SIGNS = {
    "wilting": "wilting trees", "dead-wood": "dead wood", "yellowing": "yellow leaves", "weak": "weak growth",
    "sunburn": "sunburnt fruit",
    "early-leaf-loss": "leaves lost early", "dense-canopy": "crowded crowns", "hail": "hail damage",
}  # fmt: skip
_FIELDS = {
    "bears_mower": "whether it bears a mower", "union_covered": "whether the graft union is covered",
    "drops_chewed": "whether drops are chewed", "slices_eaten": "how many slices were eaten",
    "gnawing": "whether bark is gnawed", "runways": "whether there are runways", "in_flower": "how much is in flower",
    "seed_heads": "how far the seed heads are", "limbs": "how the limbs hang", "touching": "how many fruit touch",
    "height": "how high it is", "cover": "how much is covered", "feel": "how it feels", "depth": "how deep it is",
    "depletion": "how much water is gone", "share": "how many have it", "crust": "whether it is crusted",
    "trunk_gap": "how near the bark it lies", "scab_on_leaves": "how many bear scab", "reachable": "how many a mower reaches",
    "terminal_set": "whether the end buds are set", "infested": "how many are infested",
    "length": "how long they are", "count": "how many there are",
}  # fmt: skip
# Stages between which a look of a kind can find anything (BBCH; common practice, no source). Other kinds: at any stage,
# as last year's leaf test or shoots can be told at any time.
SEASONS: Mapping[str, tuple[int, int]] = {
    "bud-kill": (0, 71), "fruit-set": (67, 77), "crop-count": (71, 92), "fruit-sample": (77, 99),
}  # fmt: skip
# An undecided reservation that lets things pass unseen can change little.
PASSING = 0.3
# Nearly everything hangs on the stage: it comes before other looks.
STAGE_UNKNOWN, STAGE_STALE = 100.0, 20.0
# Looks that contradict each other leave what they are about unknown, and nobody would notice.
DISAGREEING = 20.0

# What the weather would tell if it were known: kind and field of a fact, and where to look.
_AHEAD, _PAST = "forecast", "weather"
FROM_THE_SKY = {
    ("infection-outlook", "coming"): _AHEAD, ("blight-outlook", "coming"): _AHEAD, ("spore-season", "open"): _PAST,
    ("spore-season", "over"): _PAST, ("infection", "severity"): _PAST, ("summer-wetness", "hours"): _PAST,
    ("mildew-weather", "infection_days"): _PAST,
}  # fmt: skip


@dataclass
class Want:
    """Why a look is wanted, and what it could change."""

    why: set[str] = field(default_factory=set)
    could_change: dict[str, float] = field(default_factory=dict)  # practice: the urgency that it may have
    weight: float = 0.0

    def may_change(self, practices: Mapping[str, float]) -> None:
        for practice, urgency in practices.items():
            self.could_change[practice] = max(urgency, self.could_change.get(practice, 0.0))

    def by_urgency(self) -> list[str]:
        return sorted(self.could_change, key=lambda practice: (-self.could_change[practice], practice))


Key = tuple[str, str | None, str | None, str | None]  # kind, about, block, habitat


def unknowns(now: Situation, gathered: Gathered, inference: Inference, rulebook: Rulebook) -> list[Unknown]:
    """Looks that are lacking, the one that could change most first."""
    wants: dict[Key, Want] = {}
    reach = Reach(rulebook)
    for undecided in inference.undecided:
        considered = inference.facts[undecided.considered].fields if undecided.considered else {}
        practices = _at_stake(considered, inference) if considered else reach.practices(undecided.rule)
        for missing in undecided.missing:
            kind = rulebook.kinds[missing.kind]
            sky = FROM_THE_SKY.get((missing.kind, missing.field or ""))
            if sky is not None:
                want = wants.setdefault((sky, None, None, None), Want())
                want.may_change(practices)
                want.weight += reach.weight(undecided.rule)
            if kind.of != "observed" and missing.kind != "stage":
                continue
            keys = {**considered, **undecided.bindings, **missing.keys}
            look_at = "tree-stage" if missing.kind == "stage" else missing.kind
            about = next((str(missing.keys[name]) for name in kind.keys if name in missing.keys), None)
            block, habitat = keys.get("block"), keys.get("habitat")
            if not block and not habitat and len(now.blocks) == 1:
                block = now.blocks[0].id
            want = wants.setdefault(
                (look_at, about if look_at != "tree-stage" else None, _text(block), _text(habitat)), Want()
            )
            want.why.add(missing.field or "")
            want.may_change(practices)
            want.weight += reach.weight(undecided.rule)
    for block_id, stage in now.stages.items():
        if stage.bbch is None or stage.stale or stage.contradicted:
            want = wants.setdefault(("tree-stage", None, block_id, None), Want())
            want.weight += STAGE_UNKNOWN if stage.bbch is None else STAGE_STALE
            want.may_change(reach.of_kind("stage"))
    if now.lately is not None and now.lately.end < now.now:
        want = wants.setdefault((_PAST, None, None, None), Want())
        want.weight += 5.0
        for kind_of_fact, _ in FROM_THE_SKY:
            want.may_change(reach.of_kind(kind_of_fact))
    at_odds = set(_at_odds(now, gathered, rulebook))
    for look_at, about, block, name in at_odds:
        want = wants.setdefault((look_at, about, block, None), Want())
        want.why.add(name)
        want.weight += DISAGREEING
        for read in (look_at, *(["pest-level"] if look_at in ("pest-count", "pest-damage") else [])):
            want.may_change(reach.of_kind(read))
    _drop_what_no_one_asks(now, wants)
    stale = {(s.kind, s.about, s.block, s.habitat): s.date for s in gathered.stale}
    found = []
    for key, want in sorted(wants.items(), key=lambda item: (-item[1].weight, str(item[0]))):
        if not want.could_change:
            continue
        look_at, about, block, habitat = key
        found.append(
            Unknown(
                look_at=look_at,
                about=about,
                block=block,
                habitat=habitat,
                why=_why(now, key, want, stale, at_odds),
                could_change=want.by_urgency(),
                minutes=MINUTES.get(look_at, ORDINARY_MINUTES),
            )
        )
    return found + [_not_judged(meant) for meant in unjudged(now)]


def _at_stake(considered: Mapping[str, object], inference: Inference) -> dict[str, float]:
    """The practice that is considered, as urgent as it is proposed; what somebody means to do comes before all else."""
    practice = str(considered["practice"])
    if considered["made_by"] == "intent":
        return {practice: 1.0}
    return {practice: max((p.urgency for p in inference.proposals if p.practice == practice), default=0.0)}


def _not_judged(meant: Intent) -> Unknown:
    """What the grower means to do and nothing here knows: it had no answer, and that is said."""
    name = in_words(meant.practice.removeprefix(OTHER))
    return Unknown(
        look_at="intent",
        about=None,
        block=meant.block,
        habitat=meant.habitat,
        why=f"Nothing is known here of {name}, so it was not judged: name the practice or its material by a word known here.",
        could_change=[],
        minutes=ORDINARY_MINUTES,
    )


def _drop_what_no_one_asks(now: Situation, wants: dict[Key, Want]) -> None:
    """Looks that can find nothing: snow while trees grow, fallen leaves from bloom to harvest, fruit before it sets,
    troubles of fruit that is not there.

    And looks at the orchard as a whole where its places are asked for.
    """
    placed = {(look_at, about) for look_at, about, block, habitat in wants if block or habitat}
    awake = not any(can_stand_at(0, block.fruit, now.on, now.latitude) for block in now.blocks)
    growing = awake or any(stage.bbch is not None and 53 <= stage.bbch < 91 for stage in now.stages.values())
    in_leaf = awake or all(stage.bbch is not None and 65 <= stage.bbch < 91 for stage in now.stages.values())
    idle = {*(["snow"] if growing else []), *(["leaf-fall"] if in_leaf else [])}
    for key in list(wants):
        look_at, about, block, habitat = key
        whole = not block and not habitat and (look_at, about) in placed
        nothing = not habitat and not can_find(now, look_at, about, block)
        if whole or nothing or look_at in idle:
            del wants[key]


def can_find(now: Situation, look_at: str, about: str | None, block: str | None) -> bool:
    """Whether a look in a block, or in any block, can find what it is about: by the stage and the fruit."""
    low, high = SEASONS.get(look_at, (0, 99))
    for one in now.blocks:
        code = now.stages[one.id].bbch
        if block in (None, one.id) and (code is None or low <= code <= high) and lives_on(now, about, one.fruit):
            return True
    return False


def lives_on(now: Situation, about: str | None, fruit: str) -> bool:
    """Whether a pest or disease can be on a fruit at all; of anything else nothing is ruled out."""
    trouble = now.knowledge.resolve(about, kind=("pest", "disease")) if about else None
    fruits = getattr(trouble, "fruits", None)
    return not fruits or fruit in fruits


def _at_odds(
    now: Situation, gathered: Gathered, rulebook: Rulebook
) -> Iterator[tuple[str, str | None, str | None, str]]:
    """What two looks of one moment contradict each other on: kind, what they are about, block, field."""
    looks = {one.id: one for one in now.observations}
    for fact in gathered.facts:
        if fact.kind == "disagreement":
            kind, look = str(fact.fields["kind"]), looks[fact.origin[0]]
            keys = (getattr(look, key, None) for key in rulebook.kinds[kind].keys)
            about = next((str(key) for key in keys if key is not None), None)
            yield kind, about, _text(fact.fields.get("block")), str(fact.fields["field"])


def _why(
    now: Situation,
    key: Key,
    want: Want,
    stale: Mapping[Key, object],
    at_odds: set[tuple[str, str | None, str | None, str]],
) -> str:
    look_at, about, block, habitat = key
    if look_at == _AHEAD:
        return "No forecast says what the next days bring, or it does not reach far enough."
    if look_at == _PAST:
        return _missing_weather(now)
    where = block or habitat or "the orchard"
    thing = _thing(now, look_at, about)
    if look_at == "tree-stage" and block:
        stage = now.stages[block]
        if stage.wrong:
            return f"What was written of the stage of {where} cannot be right: look again, and correct what is wrong."
        if stage.contradicted:
            return f"Two looks at {where} on one day name different stages; the earlier is taken until you look again."
        if stage.stale:
            return f"The stage of {where} was last seen on {stage.seen} and has moved on since."
        if stage.bbch is None:
            return f"The stage of {where} is not known."
    names = sorted(word for word in want.why if word)
    disagreeing = [name for name in names if (look_at, about, block, name) in at_odds]
    fields = [_FIELDS.get(name, name.replace("_", " ")) for name in disagreeing or names]
    if disagreeing:
        return f"Two looks at {where} of one moment disagree on {listed(fields)}."
    if key in stale:
        return f"What was noted of {thing} in {where} is of {stale[key]}: too long ago to stand for today."
    if fields:
        return f"Of {thing} in {where} nobody has said {listed(fields)}."
    return f"Nothing is known of {thing} in {where}."


def _thing(now: Situation, look_at: str, about: str | None) -> str:
    """What a look is about, in words: damage by codling moth, wilting, how wet the soil is."""
    if about is None:
        return _THINGS.get(look_at, in_words(look_at))
    node = now.knowledge.nodes.get(about)
    named = _SIGNS.get(about) or (node.name if node else in_words(about))
    return _ABOUT.get(look_at, f"{in_words(look_at)} of {{}}").format(named)


def _missing_weather(now: Situation) -> str:
    if now.measured is None or not len(now.measured):
        return "No hourly weather is known up to this day."
    if now.lately is not None and now.lately.end < now.now:
        last = now.measured.end.astimezone(now.file.zone)
        hours = round((now.now - now.measured.end).total_seconds() / 3600)
        return f"The hourly weather ends on {last:%Y-%m-%d at %H:%M}; {hours} hours up to this day are not known."
    return "Hours of rain, humidity or temperature are missing in the weather of this season."


def _text(value: object) -> str | None:
    return None if value is None else str(value)


class Reach:
    """Which practices a rule can lead to, through whatever it derives, and how urgent each may be then."""

    def __init__(self, rulebook: Rulebook) -> None:
        self.readers: dict[str, list[Rule]] = {}
        for rule in rulebook.rules:
            for condition in (*rule.when, *rule.unless):
                self.readers.setdefault(condition.kind, []).append(rule)
        proposed = Want()
        for rule in rulebook.rules:
            if isinstance(rule.output, Propose):
                proposed.may_change(self.practices(rule))
        self.proposed = proposed.could_change
        self._known: dict[str, Mapping[str, float]] = {}

    def practices(self, rule: Rule) -> Mapping[str, float]:
        output = rule.output
        if isinstance(output, Propose):
            return {} if isinstance(output.practice, Var) else {str(output.practice): _urgency(output)}
        if isinstance(output, Reserve):
            return {practice: self.proposed.get(practice, 0.0) for practice in rule.practices_considered()}
        assert isinstance(output, Derive)
        return self.of_kind(output.kind)

    def of_kind(self, kind: str) -> Mapping[str, float]:
        """Practices that any rule reading this kind can lead to."""
        if kind not in self._known:
            self._known[kind] = {}  # a chain that comes back to itself adds nothing
            found = Want()
            for rule in self.readers.get(kind, ()):
                found.may_change(self.practices(rule))
            self._known[kind] = found.could_change
        return self._known[kind]

    def weight(self, rule: Rule) -> float:
        output = rule.output
        if isinstance(output, Propose):
            return _urgency(output)
        if isinstance(output, Reserve):
            return 1.0 if output.unseen == "wait" else PASSING
        return PASSING * len(self.practices(rule))


def _urgency(output: Propose) -> float:
    return output.urgency if isinstance(output.urgency, float | int) else 0.5
