"""The few files that pages load: one stylesheet, small scripts, the mark of the tab. Nothing comes from elsewhere.

`address(name)` carries a hash of the content, so that a browser keeps a file for a year and still sees each change.
The stylesheet begins with the paints of `advisor.drawing`: pages and pictures share one set of colours.
"""

from __future__ import annotations

import gzip
import hashlib
from functools import cache
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request, Response

from advisor.drawing import PAINTS

TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
A_YEAR = "public, max-age=31536000, immutable"

router = APIRouter(include_in_schema=False)


@router.get("/static/{name}")
def static(name: str, request: Request) -> Response:
    found = _files().get(name)
    if found is None:
        raise HTTPException(404, f"There is no file {name[:60]!r} here.")
    content, tag = found
    headers = {
        "ETag": f'"{tag}"',
        "Cache-Control": A_YEAR if request.query_params.get("v") == tag else "no-cache",
        "X-Content-Type-Options": "nosniff",
    }
    if request.headers.get("if-none-match") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    content, packed = pack(request, content)
    return Response(content, media_type=TYPES[Path(name).suffix], headers=headers | packed)


def content_of(name: str) -> bytes:
    """A file, for a route of its own."""
    return _files()[name][0]


def pack(request: Request, content: bytes) -> tuple[bytes, dict[str, str]]:
    """The content compressed for a browser that takes it so, and the headers that say it: a weak signal is slow.

    Pages may be compressed although forms carry a secret: no other site can make a browser ask for them with its
    cookie (SameSite=Strict), so nobody can guess the secret from their lengths.
    """
    vary = {"Vary": "Accept-Encoding, Cookie"}
    taken = (part.partition(";") for part in request.headers.get("accept-encoding", "").split(","))
    if not any(name.strip() == "gzip" and rest.replace(" ", "") not in ("q=0", "q=0.0") for name, _, rest in taken):
        return content, vary
    return gzip.compress(content, 6, mtime=0), vary | {"Content-Encoding": "gzip"}


def address(name: str) -> str:
    """Where a page loads a file from."""
    return f"/static/{name}?v={_files()[name][1]}"


@cache
def _files() -> dict[str, tuple[bytes, str]]:
    """File name -> content and the first digits of its hash."""
    found = {}
    for path in sorted((Path(__file__).parent / "static").iterdir()):
        if path.suffix in TYPES:
            content = path.read_bytes()
            if path.name == "underbough.css":
                content = paints().encode() + content
            found[path.name] = content, hashlib.sha256(content).hexdigest()[:12]
    return found


def paints() -> str:
    """The paints as variables, for light pages and dark ones, and as the classes that drawings wear."""
    light = "".join(f"--{name}:{on_light};" for name, (on_light, _) in PAINTS.items())
    dark = "".join(f"--{name}:{on_dark};" for name, (_, on_dark) in PAINTS.items())
    worn = "".join(f".fill-{n}{{fill:var(--{n})}}.line-{n}{{stroke:var(--{n});fill:none}}" for n in PAINTS)
    return (
        f":root{{{light}}}@media screen{{:root[data-light=night]{{{dark}}}}}"
        f"@media screen and (prefers-color-scheme:dark){{:root[data-light=device]{{{dark}}}}}{worn}\n"
    )
