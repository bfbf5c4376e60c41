"""Facts on ripeness: what fruit samples say of each cultivar, when cultivars ripen, and how long pears were chilled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from advisor.fact import Fact
from advisor.facts.bloom_day import BloomDay, bloom_day
from advisor.facts.making import Maker
from advisor.facts.situation import Situation
from advisor.observation import FruitSample, Work
from advisor.orchard import Block
from advisor.science import maturity

# Names under which pears with a published figure are grown.
PEARS = {
    **dict.fromkeys(("anjou", "d'anjou", "beurre d'anjou", "red anjou", "green anjou"), "anjou"),
    **dict.fromkeys(("bartlett", "williams", "williams' bon chretien", "red bartlett", "max-red bartlett"), "bartlett"),
    **dict.fromkeys(("bosc", "beurre bosc", "kaiser"), "bosc"),
    **dict.fromkeys(("asian", "hosui", "kosui", "shinko", "chojuro", "nijisseiki", "20th century", "shinseiki",
                     "olympic", "korean giant", "niitaka"), "asian"),
}  # fmt: skip
CHILLED = ("chill-fruit", "store")
NEAR_LBF = 2.0  # above the printed range a pear whose stalk parts is picked all the same (common practice, no source)
_MEANS = {"unripe": "unripe", "store": "fit to store", "eat": "ripe to eat", "over": "past its time"}
LOOK_BACK = 240  # days in which picked pears are still about (common practice, no source)


def pear(cultivar: str) -> str | None:
    """anjou, bartlett, bosc or asian, or None for a pear without published figures."""
    return PEARS.get(cultivar.lower().replace("é", "e"))


def harvest_facts(now: Situation, make: Maker) -> Iterator[Fact]:
    """Ripening windows, ripeness by sample, and chilling of pears."""
    for block in now.blocks:
        bloom = bloom_day(now, block)
        yield from _ripening(now, make, block, bloom)
        yield from _samples(now, make, block, bloom)
        if block.fruit == "pear":
            yield from _chilled(now, make, block)


def _ripening(now: Situation, make: Maker, block: Block, bloom: BloomDay | None) -> Iterator[Fact]:
    """The weeks in which a listed cultivar is usually picked, counted from its bloom."""
    code = now.stages[block.id].bbch
    if bloom is None or (code is not None and code >= 91):
        return
    since = (now.on - bloom.date).days
    for cultivar in block.cultivars or ():
        days = maturity.days_from_bloom(pear(cultivar) or cultivar if block.fruit == "pear" else cultivar)
        if days is None or since > days[1] + 30:
            continue
        first, last = (bloom.date + dt.timedelta(days=n) for n in days)
        span = f"{days[0]:g} to {days[1]:g}" if days[0] != days[1] else f"about {days[0]:g}"
        yield make(
            "ripening",
            f"{block.id}:{cultivar}",
            {"block": block.id, "cultivar": cultivar, "days": since, "opens": days[0] - since, "closes": days[1] - since},
            origin=(f"stage:{block.id}", "knowledge"),
            text=f"{bloom.how}; {cultivar} takes {span} days: {first} to {last}",
            sources=("wsu-pear-harvest",) if block.fruit == "pear" else ("vt-2013-red-delicious",),
        )


def _samples(now: Situation, make: Maker, block: Block, bloom: BloomDay | None) -> Iterator[Fact]:
    fresh = make.kinds["fruit-sample"].fresh or 10
    newest: dict[str | None, list[FruitSample]] = {}  # those of the last day on which a cultivar was sampled
    for seen in now.observations:  # by date
        here = not seen.habitat and seen.block in (None, block.id)
        if isinstance(seen, FruitSample) and here and now.days_ago(seen.date) <= fresh:
            kept = newest.setdefault(seen.cultivar, [])
            newest[seen.cultivar] = [one for one in kept if one.date == seen.date] + [seen]
    for cultivar, samples in newest.items():
        named = cultivar or (block.cultivars[0] if block.cultivars and len(block.cultivars) == 1 else None)
        day = samples[-1].date
        days = (day - bloom.date).days if bloom is not None and bloom.date <= day else None
        read = [(seen, _read(now, block, seen, named or "", days if bloom and bloom.seen else None)) for seen in samples]
        read = [(seen, found) for seen, found in read if found["verdict"] is not None]
        if not read:
            continue
        last, found = read[-1]
        told = {str(one["verdict"]) for _, one in read}
        at_odds = len(told) > 1
        if at_odds:
            said = f"samples of {day} disagree: {', '.join(f'one says {_MEANS[word]}' for word in sorted(told))}"
            found = {"because": [said], "sources": found["sources"]}
        yield make(
            "maturity",
            f"{block.id}:{named or block.fruit}",
            {
                "block": block.id,
                "cultivar": named or block.fruit,
                "kind": pear(named or "") if block.fruit == "pear" else None,
                "starch": None if at_odds else last.starch,
                "firmness": None if at_odds else last.firmness,
                "days": days,
                "days_ago": now.days_ago(day),
                "contradicted": at_odds,
                **{name: found.get(name) for name in ("verdict", "keeps", "streif", "streif_stage")},
            },
            origin=tuple(seen.id for seen, _ in (read if at_odds else read[-1:])),
            text="; ".join(found["because"]),
            sources=found["sources"],
        )


def _read(now: Situation, block: Block, seen: FruitSample, cultivar: str, days: int | None) -> dict[str, Any]:
    if block.fruit == "apple":
        return _apple(seen, cultivar, days)
    return _pear(now, seen, cultivar) if block.fruit == "pear" else _soft(seen)


def _lbf(seen: FruitSample) -> float | None:
    """Firmness as the tables give it; to a hundredth, so that "18 lbf" is not a hair under 18."""
    return None if seen.firmness is None else round(seen.firmness / maturity.NEWTON_PER_LBF, 2)


def _in_pounds(seen: FruitSample, lbf: float) -> str:
    """The firmness that was measured in the pounds that the tables are printed in."""
    return f"firmness {seen.firmness:.0f} N / {maturity.NEWTON_PER_LBF:.3f} = {lbf:.1f} lbf"


def _apple(seen: FruitSample, cultivar: str, days: int | None) -> dict[str, Any]:
    lbf = _lbf(seen)
    read = maturity.apple_readiness(cultivar, seen.starch, lbf, seen.soluble_solids, seen.ground_colour, days)
    because, verdict, keeps = [line.rstrip(".") for line in read["because"]], read["verdict"], read["store"]
    if lbf is not None:
        because.append(_in_pounds(seen, lbf))
    if verdict is None and seen.parts_when_lifted is not None:
        verdict = "eat" if seen.parts_when_lifted else "unripe"
        because.append("fruit parts from the spur when lifted" if seen.parts_when_lifted else "fruit clings when lifted")
    if verdict is None and lbf is not None and maturity.storage_class(cultivar, lbf) == "sell":
        verdict = "eat"  # too soft to keep, whatever the starch
    if keeps is None and verdict in ("eat", "over"):
        keeps = "sell"
    streif = stage = None
    if seen.firmness is not None and seen.soluble_solids and seen.starch:
        streif = float(maturity.streif(seen.firmness, seen.soluble_solids, seen.starch))
        stage = maturity.streif_stage(cultivar, streif)
        because.append(f"Streif index {seen.firmness:.0f} N / ({seen.soluble_solids:g} % x {seen.starch:g}) = {streif:.2f}"
                       + (f", by the published window of the strain {stage}" if stage else ", no window published"))
    sources = ("msu-maturity", "cowgill-clements-2012", *(("delong-1999-streif",) if streif is not None else ()))
    return {"verdict": verdict, "keeps": keeps, "because": because, "streif": streif, "streif_stage": stage,
            "sources": sources}


def _pear(now: Situation, seen: FruitSample, cultivar: str) -> dict[str, Any]:
    """European pears are picked hard and ripened indoors, so soft fruit on the tree is late, not ripe."""
    kind, because, verdict = pear(cultivar), [], None
    lbf = _lbf(seen)
    span = None if kind is None else _span(now, kind)
    if kind is not None and span is not None and lbf is not None:
        verdict = {"wait": "unripe", "pick": "store", "late": "over"}[str(maturity.pear_readiness(kind, lbf, span))]
        because.append(_in_pounds(seen, lbf))
        because.append(f"firmness {lbf:.1f} lbf; {cultivar} is picked at {span[0]:g} to {span[1]:g} lbf")
    if verdict is None and seen.ground_colour is not None and kind != "asian":
        verdict = {"green": "unripe", "light-green": "store", "yellow": "over"}[seen.ground_colour]
        because.append(f"ground colour {seen.ground_colour}; pears are picked as green turns lighter, never yellow")
    if verdict == "unripe" and seen.parts_when_lifted and lbf is not None and span and lbf <= span[1] + NEAR_LBF:
        verdict = "store"  # the stalk says what a pound or two of flesh does not
    if seen.parts_when_lifted is not None:
        because.append("the stalk parts when the fruit is lifted, which says more than a pound or two of flesh"
                       if seen.parts_when_lifted else "the stalk clings")
        if verdict is None:
            verdict = "store" if seen.parts_when_lifted else "unripe"
    keeps = {"store": "long", "eat": "sell", "over": "sell"}.get(verdict or "")
    if kind == "asian" and verdict in ("store", "over"):  # Asian pears ripen on the tree
        verdict, keeps = "eat", "mid" if verdict == "store" else "sell"
    return {"verdict": verdict, "keeps": keeps, "because": because, "sources": ("wsu-pear-harvest", "psu-pear-maturity")}


def _span(now: Situation, kind: str) -> tuple[float, float]:
    """The firmness at which a listed pear is picked here, least and most, in lbf; regions differ."""
    least, most = (now.knowledge.figure(f"harvest.pear-{kind}-{end}").value(now.region) for end in ("least", "most"))
    return float(least.value), float(most.value)


def _soft(seen: FruitSample) -> dict[str, Any]:
    """Stone fruit and quince, by ground colour and how the fruit parts (common practice, no source)."""
    because, verdict = [], None
    if seen.ground_colour is not None:
        verdict = "eat" if seen.ground_colour == "yellow" else "unripe"
        because.append(f"ground colour {seen.ground_colour}; ripe from when the green has gone")
    if seen.parts_when_lifted is not None:
        verdict = verdict or ("eat" if seen.parts_when_lifted else "unripe")
        because.append("the fruit parts easily" if seen.parts_when_lifted else "the fruit clings")
    return {"verdict": verdict, "keeps": "sell" if verdict == "eat" else None, "because": because, "sources": ()}


def _chilled(now: Situation, make: Maker, block: Block) -> Iterator[Fact]:
    """Days that picked pears have lain cold, against what their kind needs before it ripens."""
    records = [seen for seen in now.observations
               if isinstance(seen, Work) and seen.practice in CHILLED and not seen.habitat
               and seen.block in (None, block.id) and now.days_ago(seen.date) <= LOOK_BACK]  # fmt: skip
    for cultivar in block.cultivars or ():
        kind = pear(cultivar)
        if kind == "asian":
            continue
        need = now.knowledge.figure(f"chill-fruit.days-{kind or 'other'}").value(now.region)
        days = now.days_ago(records[0].date) if records else 0
        left = max(0.0, float(need.value) - days)
        said = f"cold since {records[0].date}, {days} days" if records else "no chilling is recorded"
        yield make(
            "pear-chill",
            f"{block.id}:{cultivar}",
            {"block": block.id, "cultivar": cultivar, "days": days, "needs": float(need.value), "left": left,
             "enough": left == 0, "begun": bool(records)},
            origin=tuple(record.id for record in records[:1]) or ("knowledge",),
            text=f"{said}; {cultivar} wants {float(need.value):g} before it ripens evenly",
        )  # fmt: skip
