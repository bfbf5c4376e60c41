"""bloom: who is in flower when, what is lacking, and what to plant."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.commands.options import asked_of_an_orchard, put, write_file

Wanted = Annotated[
    list[str] | None,
    typer.Option("--wanted", metavar="PLANT", help="Say why this plant is chosen or not; may be given several times."),
]
Svg = Annotated[Path | None, typer.Option("--svg", metavar="FILE", help="Draw the bloom ribbon into this file.")]
Permanent = Annotated[bool, typer.Option("--permanent", help="Accept plants that stay for good or spread hard.")]
NoToxic = Annotated[bool, typer.Option("--no-toxic", help="Leave out plants poisonous to people or stock.")]
NoAnnuals = Annotated[bool, typer.Option("--no-annuals", help="Leave out plants sown anew each year.")]
Grazed = Annotated[bool, typer.Option("--grazed", help="Animals graze among the plants.")]
Nitrogen = Annotated[bool, typer.Option("--nitrogen", help="A plant that fixes nitrogen is wanted.")]
Spots = Annotated[
    list[str] | None,
    typer.Option("--spot", metavar="SPOT", help="Where there is room: under-trees, alley, margin, hedge; default all."),
]
Regions = Annotated[
    list[str] | None,
    typer.Option("--region", metavar="REGION", help="More words for the region, such as eastern-us, pacific-coast."),
]
Most = Annotated[int | None, typer.Option("--most", metavar="N", help="Kinds to add at the most.")]
Prices = Annotated[
    list[str] | None,
    typer.Option(
        "--price",
        metavar="PLANT=PRICE",
        help="What enough of a plant costs, in money or hours of work; then the cheapest set of those with a price is sought.",
    ),
]
Quick = Annotated[bool, typer.Option("--quick", help="Choose the quick way, not the exact one.")]


@asked_of_an_orchard
def bloom(
    answer: Any,
    json_: bool,
    svg: Svg = None,
    wanted: Wanted = None,
    permanent: Permanent = False,
    no_toxic: NoToxic = False,
    no_annuals: NoAnnuals = False,
    grazed: Grazed = False,
    nitrogen: Nitrogen = False,
    spot: Spots = None,
    region: Regions = None,
    most: Most = None,
    price: Prices = None,
    quick: Quick = False,
) -> None:
    """Say who is in flower when and for whom, what bees and allies lack, and which plants would fill it."""
    from advisor import habitat
    from advisor.habitat.terms import read_prices

    terms = {
        "permanent": permanent,
        "toxic": not no_toxic,
        "annuals": not no_annuals,
        "grazed": True if grazed else None,
        "nitrogen": nitrogen,
        "region": tuple(region or ()),
        "most": most,
        "prices": read_prices(price or [], "command", "--price "),
        **({"spots": tuple(spot)} if spot else {}),
    }
    found = answer.bloom(wanted=wanted, terms=terms, exact=not quick)
    if svg:
        write_file(svg, habitat.draw(found))
    if json_:
        put(found, True, str)
    else:
        habitat.write(found)
