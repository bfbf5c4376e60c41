"""demo, advise, season: ask what to do, and what the season was."""

from __future__ import annotations

from advisor.commands.options import (
    AsJson,
    File,
    ForecastFile,
    KnowledgeFolders,
    On,
    RuleFolders,
    WeatherFile,
    advised,
    own,
    put,
)


def demo(json_: AsJson = False) -> None:
    """Advise the invented orchard Larkfield in the week after bloom."""
    from importlib.resources import as_file, files

    with as_file(files("advisor") / "demo") as folder:
        advise(folder / "orchard.yaml", "2026-05-18", json_=json_)


def advise(
    file: File,
    on: On = None,
    weather: WeatherFile = None,
    forecast: ForecastFile = None,
    json_: AsJson = False,
    rules: RuleFolders = None,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Say what to do, what to wait with, what to avoid and what to look at."""
    from advisor.terminal import write

    with advised(file, on, weather, forecast, rules, knowledge) as answer:
        if json_:
            put(answer, True, str)
        else:
            write(answer, units=answer.run.inputs.file.orchard.units)


def season(
    file: File,
    on: On = None,
    weather: WeatherFile = None,
    forecast: ForecastFile = None,
    json_: AsJson = False,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Replay the whole season: wettings that infected, days of bloom near fire blight, and the ledger of sprays."""
    from advisor import season_replay

    with own(None, knowledge) as (_, known):
        found = season_replay.replay(file, on, weather, forecast, knowledge=known)
    put(found, json_, season_replay.write)
