"""Reading a request and writing an answer, the same for every route: media types, bodies, ETags, turns.

body_of      the JSON of a request, read as strictly as an orchard file
answer       data as JSON with its ETag; 304 when the asker has it already
accepting    refuses a request that would not take the answer's media type
only_known   refuses a query that holds names which the route does not know
in_turn      runs a calculation in the thread pool, a few at a time, first come first served
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Any, ParamSpec, TypeVar

from anyio import to_thread
from fastapi import Request, Response
from starlette.exceptions import HTTPException

from advisor.errors import InputError, Problem
from advisor.given import unknown_field
from advisor.reading import parse_json

JSON = "application/json"
_P = ParamSpec("_P")
_R = TypeVar("_R")


async def body_of(request: Request) -> Any:
    """The JSON of a request; refused if it is something else."""
    demand_type(request, JSON)
    return parse_json(await text_of(request), "request").data


async def text_of(request: Request) -> str:
    """The text of a request."""
    try:
        return (await request.body()).decode("utf-8")
    except UnicodeDecodeError as fault:
        raise InputError(Problem("request", f"byte {fault.start}", "the body is not UTF-8", "Send UTF-8.")) from None


def demand_type(request: Request, *kinds: str) -> str:
    """The media type of a request's body, if it is one of these."""
    given = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if given not in kinds:
        said = f"The body is sent as {given[:60]}" if given else "The request does not say what its body is"
        raise HTTPException(415, f"{said}. Send it with Content-Type: {' or '.join(kinds)}.")
    return given


def fields_of(data: Any, known: tuple[str, ...], wanted: tuple[str, ...] = ()) -> Mapping[str, Any]:
    """The named fields of a body, none but those known, and at least those wanted."""
    if not isinstance(data, dict):
        raise InputError(Problem("request", "", "the body must hold named fields", f"Send an object with {known[0]}."))
    problems = [Problem("request", name, *unknown_field(name, known)) for name in data if name not in known]
    problems += [
        Problem("request", name, f"{name} is missing", f"Write {name}.") for name in wanted if data.get(name) is None
    ]
    if problems:
        raise InputError(problems)
    return data


def written(data: Any) -> bytes:
    """Data as the bytes of an answer."""
    return json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def tag_of(content: bytes) -> str:
    """The ETag of an answer's bytes."""
    return f'"{hashlib.sha256(content).hexdigest()[:32]}"'


def answer(
    request: Request, data: Any, *, status: int = 200, tag: str | None = None, headers: Mapping[str, str] | None = None
) -> Response:
    """Data as JSON. A GET carries its ETag, and is answered with 304 when the asker holds the same already."""
    content = data if isinstance(data, bytes) else written(data)
    return answer_bytes(request, content, JSON, status=status, tag=tag, headers=headers)


def answer_bytes(
    request: Request,
    content: bytes,
    kind: str,
    *,
    status: int = 200,
    tag: str | None = None,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """As `answer`, for content of any media type."""
    said = dict(headers or {})
    if request.method == "GET" or tag:
        said |= {"ETag": tag or tag_of(content), "Cache-Control": "private, no-cache"}
        if request.method == "GET" and names(request.headers.get("if-none-match"), said["ETag"]):
            return Response(status_code=304, headers=said)
    return Response(content, status, said, kind)


def names(header: str | None, tag: str) -> bool:
    """Whether an If-Match or If-None-Match names a tag (compared weakly), or * for any."""
    if header is None:
        return False
    given = [part.strip().removeprefix("W/") for part in header.split(",")]
    return "*" in given or tag in given


def accepting(*kinds: str) -> Callable[[Request], None]:
    """A dependency that refuses a request which takes none of these media types."""

    def check(request: Request) -> None:
        header = request.headers.get("accept", "")
        ranges = [part.partition(";") for part in header.split(",") if part.strip()]
        taken = [name.strip().lower() for name, _, rest in ranges if rest.replace(" ", "") not in ("q=0", "q=0.0")]
        if ranges and not any(_covers(one, kind) for one in taken for kind in kinds):
            raise HTTPException(406, f"The answer comes as {' or '.join(kinds)}, which Accept does not take.")

    return check


def _covers(one: str, kind: str) -> bool:
    return one in ("*/*", kind, f"{kind.partition('/')[0]}/*")


def only_known(request: Request) -> None:
    """Refuse a query with a name that the route does not know: a slip of the pen would otherwise be passed over."""
    known = list(_queries(request.scope["route"].dependant))
    problems = [
        Problem("request", f"query {name[:60]}", f"the query does not know {name[:60]!r}",
                f"Known here: {', '.join(known)}." if known else "This address takes no query.")
        for name in dict.fromkeys(request.query_params) if name not in known
    ]  # fmt: skip
    problems += [
        Problem("request", f"query {name}", f"{name} stands more than once", "Write it once.")
        for name in known if len(request.query_params.getlist(name)) > 1
    ]  # fmt: skip
    if problems:
        raise InputError(problems)


def _queries(dependant: Any) -> Iterator[str]:
    """The names that a route's query may hold, those of what it depends on too."""
    yield from (field.alias for field in dependant.query_params)
    for inner in dependant.dependencies:
        yield from _queries(inner)


async def in_turn(request: Request, work: Callable[_P, _R], *args: _P.args, **kwargs: _P.kwargs) -> _R:
    """Run a calculation in the thread pool. Few run at once, so that many askers wait in line and none starves."""
    return await to_thread.run_sync(partial(work, *args, **kwargs), limiter=request.app.state.turns)
