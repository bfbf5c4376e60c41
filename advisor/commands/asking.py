"""demo, advise, season: ask what to do, and what the season was."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.commands.options import (
    AsJson,
    File,
    ForecastFile,
    KnowledgeFolders,
    On,
    RuleFolders,
    WeatherFile,
    advise_file,
    put,
)

if TYPE_CHECKING:
    from advisor.advice import Answer


def demo(json_: AsJson = False) -> None:
    """Advise the invented orchard Larkfield in the week after bloom."""
    from importlib.resources import as_file, files

    with as_file(files("advisor") / "demo") as folder:
        _print(advise_file(folder / "orchard.yaml", "2026-05-18", None, None), json_)


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
    _print(advise_file(file, on, weather, forecast, rules, knowledge), json_)


def season(
    file: File,
    on: On = None,
    weather: WeatherFile = None,
    forecast: ForecastFile = None,
    json_: AsJson = False,
    knowledge: KnowledgeFolders = None,
) -> None:
    """Replay the whole season: wettings that infected, days of bloom near fire blight, and the ledger of sprays."""
    from advisor import season_replay, words
    from advisor.checking import load_own

    _, known = load_own([], knowledge or [])
    with words.with_folders(knowledge or []):
        found = season_replay.replay(file, on, weather, forecast, knowledge=known)
    put(found, json_, season_replay.write)


def _print(answer: Answer, as_json: bool) -> None:
    from advisor.terminal import write

    if as_json:
        put(answer, True, str)
    else:
        write(answer)
