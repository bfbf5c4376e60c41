"""A throw-away PostgreSQL for tests: Debian's binaries, a folder of its own, a socket in it, no network."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from needs import lacking


def _binaries() -> Path:
    """The folder of initdb and pg_ctl, newest version first; skips the test where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: path.parts[4].zfill(4))
    on_path = shutil.which("initdb")
    if found:
        return found[-1].parent
    return Path(on_path).parent if on_path else lacking("PostgreSQL")


@contextmanager
def cluster() -> Iterator[str]:
    """Start a cluster; yields the folder of its socket, and stops and removes all of it afterwards."""
    binaries = _binaries()
    folder = Path(tempfile.mkdtemp(prefix="pg-"))  # short: a socket's path has at most about 100 letters
    who: dict[str, Any] = {}
    if os.geteuid() == 0:  # the server refuses to run as root
        shutil.chown(folder, "postgres", "postgres")
        who = {"user": "postgres", "group": "postgres", "extra_groups": []}

    def run(program: str, *arguments: str) -> None:
        command = [str(binaries / program), "-D", str(folder / "data"), *arguments]
        subprocess.run(command, cwd=folder, check=True, stdout=subprocess.DEVNULL, **who)

    try:
        run("initdb", "--auth=trust", "--username=grower", "--no-sync", "--encoding=UTF8", "--locale=C.UTF-8")
        options = f"-k {folder} -c listen_addresses= -c fsync=off -c max_connections=60"
        run("pg_ctl", "-w", "-t", "300", "-l", str(folder / "log"), "-o", options, "start")
        try:
            yield str(folder)
        finally:
            run("pg_ctl", "-w", "-t", "300", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def emptied(folder: str) -> str:
    """The address of the cluster's database, with nothing in it and nobody connected."""
    import psycopg

    with psycopg.connect(f"host={folder} user=grower dbname=postgres", autocommit=True) as connection:
        connection.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                           "WHERE datname = 'postgres' AND pid <> pg_backend_pid()")  # fmt: skip
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
    return f"postgresql+psycopg://grower@/postgres?host={folder}"
