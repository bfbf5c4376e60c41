"""why: where a recommendation comes from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.commands.options import asked_of_an_orchard, put, write_file

Recommended = Annotated[
    str, typer.Argument(metavar="ID", help="The id of a recommendation, as `underbough advise` prints it.")
]
ProvFile = Annotated[
    Path | None, typer.Option("--prov", metavar="FILE", help="Write the tree as W3C PROV (PROV-JSON) too.")
]
TreeFile = Annotated[Path | None, typer.Option("--svg", metavar="FILE", help="Draw the tree as SVG too.")]
EcosystemFile = Annotated[
    Path | None,
    typer.Option("--ecosystem", metavar="FILE", help="Draw what the practice gives and costs, as SVG, too."),
]


@asked_of_an_orchard
def why(
    answer: Any,
    json_: bool,
    id_: Recommended,
    prov: ProvFile = None,
    svg: TreeFile = None,
    ecosystem: EcosystemFile = None,
) -> None:
    """Say why a recommendation was made, down to what was seen and published, and prove it by running again."""
    from advisor.explain import prov_export, why_picture, why_text

    tree = answer.why(id_)
    if prov:
        write_file(prov, prov_export.prov_json(answer, tree))
    if svg:
        write_file(svg, why_picture.tree_picture(tree))
    if ecosystem:
        write_file(ecosystem, why_picture.ecosystem_picture(answer, id_))
    put(tree, json_, why_text.write)
