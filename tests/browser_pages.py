"""Every page that a person can open, by a name and its path: each is held to the same checks."""

from page_house import DEMO_DAY, SOUTH_DAY

WHY = "first-mow.feeder-roots.upper.2026"

WIDTHS = {"phone": (360, 740), "desk": (1280, 900)}

PAGES = {
    "orchards": "/",
    "sign-in": "/sign-in",
    "week": f"/at/larkfield/this-week?on={DEMO_DAY}",
    "week in the south": f"/at/south-lark/this-week?on={SOUTH_DAY}",
    "refuse": f"/at/larkfield/refuse/{WHY}?on={DEMO_DAY}",
    "override": f"/at/larkfield/refuse/insecticide.rosy-apple-aphid.upper.2026?on={DEMO_DAY}",
    "ask why not": f"/at/larkfield/why-not?on={DEMO_DAY}",
    "why not mow": f"/at/larkfield/why-not?practice=mow-alleys&place=upper&on={DEMO_DAY}",
    "ask what if": f"/at/larkfield/what-if?on={DEMO_DAY}",
    "what if it were dry": f"/at/larkfield/what-if?rain=0&place=blocks.upper.floor&value=turf&on={DEMO_DAY}",
    "what if in the south": f"/at/south-lark/what-if?warmer=9&hours=5&on={SOUTH_DAY}",
    "season": f"/at/larkfield/season?on={DEMO_DAY}",
    "season in the south": f"/at/south-lark/season?on={SOUTH_DAY}",
    "why": f"/at/larkfield/why/{WHY}?on={DEMO_DAY}",
    "why wait": f"/at/larkfield/why/insecticide.rosy-apple-aphid.upper.2026?on={DEMO_DAY}",
    "walk": f"/at/larkfield/walk?on={DEMO_DAY}",
    "walk to a look": f"/at/larkfield/walk?on={DEMO_DAY}&kind=disease-sign&block=upper&about=fire-blight",
    "walk in the south": f"/at/south-lark/walk?on={SOUTH_DAY}",
    "orchard": "/at/larkfield/orchard",
    "orchard in the south": "/at/south-lark/orchard",
    "set up": "/set-up",
    "understory": f"/at/larkfield/understory?on={DEMO_DAY}&wanted=hawthorn",
    "understory in the south": f"/at/south-lark/understory?on={SOUTH_DAY}",
    "plan": f"/at/larkfield/plan?on={DEMO_DAY}",
    "plan in the south": f"/at/south-lark/plan?on={SOUTH_DAY}",
    "rules": "/read/rules?orchard=larkfield",
    "rules with a word": "/read/rules?word=scab",
    "rule": "/read/rules/cover-before-scab-rain?orchard=larkfield",
    "knowledge": "/read/knowledge?word=aphid",
    "plants": "/read/knowledge/plants?orchard=larkfield",
    "plant": "/read/knowledge/plants/yarrow?orchard=larkfield",
    "practice": "/read/knowledge/practices/first-mow",
    "figure": "/read/knowledge/figures/apple-scab.clean-first-cover-infections",
    "source": "/read/knowledge/sources/umass-f134-scab",
}
