"""Bring the tables of a journal up to date with Alembic."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config

FOLDER = Path(__file__).parent / "migrations"


def config() -> Config:
    """Alembic's settings: the folder of migrations that comes with the program."""
    settings = Config()
    settings.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    settings.set_main_option("path_separator", "os")
    return settings


def upgrade(connection: sa.Connection) -> None:
    """Run every migration that is lacking, inside the connection's own transaction."""
    settings = config()
    settings.attributes["connection"] = connection
    command.upgrade(settings, "head")
