"""Set up an orchard in a form, import a file, carry it away as a file. What is wrong stands beside its field."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from email import message_from_bytes
from email.message import Message
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated, Any

import yaml
from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import RedirectResponse

from advisor.api.asking import Asker, check_form
from advisor.api.exchange import in_turn
from advisor.api.pages import saying
from advisor.api.pages.forms import MOST_BYTES, read_form
from advisor.api.pages.layout import render
from advisor.api.pages.orchard_form import Flat, changed_rows, content_of, flatten, problems_by_place, sections
from advisor.api.pages.visit import Visitor
from advisor.api.shelf import journal
from advisor.errors import InputError, Problem
from advisor.journal import Conflict, Missing
from advisor.journal.recording import Recorded, record
from advisor.orchard import load_orchard
from advisor.reading import read_document

router = APIRouter(include_in_schema=False)

Shown = dict[str, Any]
Form = Annotated[dict[str, str], Depends(read_form)]

NEW: Flat = {"orchard.units": "metric", "blocks.0.was": ""}
CHANGED = "Somebody changed the orchard since this form was opened. What you wrote stands below and is not kept."


@router.get("/set-up")
def begin(request: Request, visitor: Visitor) -> Response:
    """An empty form."""
    return _page(request, visitor, None, NEW, 0)


@router.post("/set-up")
async def set_up(request: Request, visitor: Visitor, form: Form) -> Response:
    """Keep a new orchard, under the id given or one made from its name."""
    given = form.get("orchard.id", "")
    texts = _texts(form)
    if form.get("do", "save") != "save":
        return _page(request, visitor, None, changed_rows(texts, form["do"]), 0)
    id = given or _slug(texts.get("orchard.name", ""))
    if not visitor.may("admin", id):
        return _page(request, visitor, None, texts, 0,
                     {"": [f"This token may not set up an orchard of the id {id!r}."]}, status=403)  # fmt: skip
    return await _keep(request, visitor, id, texts, 0, new=True)


@router.post("/set-up/import")
async def set_up_from_file(request: Request, visitor: Visitor) -> Response:
    """Keep a new orchard from a whole orchard file."""
    fields, name, content = await _upload(request)
    try:
        made = await in_turn(request, _import, request, visitor, None, name, content, 0)
    except InputError as fault:
        return _page(request, visitor, None, NEW, 0, file_fault=fault, status=422)
    return RedirectResponse(f"/at/{made.orchard}/orchard?kept={fields.get('kept', 'yes')}", 303)


@router.get("/at/{orchard}/orchard")
async def orchard_page(request: Request, visitor: Visitor, orchard: str, kept: str = "") -> Response:
    visitor.demand("read", orchard)
    version = await in_turn(request, lambda: journal(request).orchard(orchard))
    return _page(request, visitor, orchard, flatten(version.content), version.number, kept=kept)


@router.post("/at/{orchard}/orchard")
async def change(request: Request, visitor: Visitor, orchard: str, form: Form) -> Response:
    visitor.demand("admin", orchard)
    texts, number = _texts(form), _version(form)
    if form.get("do", "save") != "save":
        return _page(request, visitor, orchard, changed_rows(texts, form["do"]), number)
    return await _keep(request, visitor, orchard, texts, number)


@router.post("/at/{orchard}/import")
async def bring(request: Request, visitor: Visitor, orchard: str) -> Response:
    """Lay a file over what is kept: a whole orchard file, observations, or weather, told apart by what it holds."""
    visitor.demand("record", orchard)
    fields, name, content = await _upload(request)
    version = await in_turn(request, lambda: journal(request).orchard(orchard))
    try:
        made = await in_turn(request, _import, request, visitor, orchard, name, content, _version(fields))
    except InputError as fault:
        return _page(request, visitor, orchard, flatten(version.content), version.number, file_fault=fault, status=422)
    now = journal(request).orchard(orchard)
    return _page(request, visitor, orchard, flatten(now.content), now.number, brought=made.as_text())


@router.get("/at/{orchard}/export.{kind}")
async def carry_away(request: Request, visitor: Visitor, orchard: str, kind: str) -> Response:
    """All that is kept of an orchard as one orchard file: with observations and weather."""
    visitor.demand("read", orchard)
    if kind not in ("yaml", "json"):
        raise HTTPException(404, "An orchard is carried away as .yaml or .json.")
    text = await in_turn(request, lambda: written(journal(request).file_of(orchard).given, kind))
    headers = {
        "Content-Disposition": f'attachment; filename="{orchard}.{kind}"',
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "private, no-cache",
    }
    return Response(text, media_type=f"application/{kind}", headers=headers)


def written(given: Mapping[str, Any], kind: str) -> str:
    """An orchard file's text, its parts in the order in which people write them."""
    order = ("orchard", "blocks", "habitats", "observations", "weather", "forecast")
    plain = json.loads(json.dumps({name: given[name] for name in order if given.get(name) is not None}))
    if kind == "json":
        return json.dumps(plain, ensure_ascii=False, indent=1) + "\n"
    text: str = yaml.safe_dump(plain, sort_keys=False, allow_unicode=True, default_flow_style=None, width=120)
    return text


# --- inside -------------------------------------------------------------------------------------


def _texts(form: Mapping[str, str]) -> Flat:
    return {name: text for name, text in form.items() if name.startswith(("orchard.", "blocks.", "habitats."))}


def _version(form: Mapping[str, str]) -> int:
    text = form.get("version", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else -1


async def _keep(
    request: Request, visitor: Asker, orchard: str, texts: Flat, number: int, *, new: bool = False
) -> Response:
    def act() -> None:
        kept = journal(request)
        before = {} if new else kept.orchard(orchard).content
        content = content_of({name: text for name, text in texts.items() if name != "orchard.id"}, before)
        kept.put_orchard(orchard, content, version=number)

    page_of = None if new else orchard
    try:
        await in_turn(request, act)
    except Conflict:
        said = "An orchard of this name is kept already: give another name, or an id of its own." if new else CHANGED
        return _page(request, visitor, page_of, texts, number, {"": [said]}, status=409, stale=not new)
    except InputError as fault:
        return _page(request, visitor, page_of, texts, number, problems_by_place(fault, texts), status=422)
    return RedirectResponse(f"/at/{orchard}/orchard?kept=yes", 303)


def _import(
    request: Request, visitor: Asker, orchard: str | None, name: str, content: bytes, number: int
) -> Recorded:  # fmt: skip
    """Record a file under the name that it was sent with."""
    kept = journal(request)
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        try:
            data = None if path.suffix == ".csv" else read_document(path).data
            if not (isinstance(data, Mapping) and "orchard" in data):
                if orchard is None:
                    raise InputError(
                        Problem(name, "", "this is no whole orchard file", "Bring a file with orchard: and blocks:.")
                    )
                return record(kept, path, orchard, forecast="forecast" in path.stem)
            read = load_orchard(path)
            id = orchard or read.orchard.id or _slug(read.orchard.name)
            visitor.demand("admin", id)
            version = kept.put_orchard(id, read.given, version=number)
        except Conflict:
            said = (
                "the orchard was changed since this page was opened" if orchard else "such an orchard is kept already"
            )
            raise InputError(Problem(name, "", said, "Load the page anew, then bring the file.")) from None
        except InputError as fault:
            raise InputError([_named(problem, name) for problem in fault.problems]) from None
    return Recorded(id, version.number, [one.id for one in read.observations])


def _named(problem: Problem, name: str) -> Problem:
    return Problem(name, problem.place, problem.message, problem.mend, problem.line, problem.value)


async def _upload(request: Request) -> tuple[dict[str, str], str, bytes]:
    """The fields of a form that brings a file, the file's name and its content (RFC 7578)."""
    kind = request.headers.get("content-type", "")
    if not kind.startswith("multipart/form-data"):
        raise HTTPException(415, "A form with a file is expected here.")
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > MOST_BYTES:
            raise HTTPException(413, f"The file is larger than {MOST_BYTES // 1_000_000} MB.")
    form = message_from_bytes(b"Content-Type: " + kind.encode("latin-1", "replace") + b"\r\n\r\n" + body)
    fields: dict[str, str] = {}
    name, content = "", b""
    for one in form.get_payload() if form.is_multipart() else ():
        if not isinstance(one, Message):
            continue
        payload = one.get_payload(decode=True)
        data = payload if isinstance(payload, bytes) else b""
        if one.get_filename() is not None:
            name, content = _file_name(one.get_filename() or ""), data
        else:
            fields[str(one.get_param("name", "", "content-disposition"))] = data.decode("utf-8", "replace").strip()
    check_form(request, fields.pop("check", None))
    if not content:
        raise HTTPException(400, "No file was chosen, or it is empty.")
    return fields, name, content


def _file_name(given: str) -> str:
    """A plain name with an ending that is known."""
    name = re.sub(r"[^\w.-]+", "-", given.replace("\\", "/").rpartition("/")[2]).lstrip(".-")[-80:]
    return name if re.search(r"\.(yaml|yml|json|csv)$", name, re.IGNORECASE) else f"{name or 'file'}.yaml"


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:64] or "orchard"


def _page(
    request: Request, visitor: Asker, orchard: str | None, texts: Flat, number: int,
    problems: Mapping[str, list[str]] | None = None, *, status: int = 200, kept: str = "", brought: str = "",
    file_fault: InputError | None = None, stale: bool = False,
) -> Response:  # fmt: skip
    problems = problems or {}
    try:
        file = journal(request).file_of(orchard) if orchard else None
    except Missing:
        raise HTTPException(404, f"There is no orchard {(orchard or '')[:80]!r} here.") from None
    return render(
        request,
        "orchard.html",
        status=status,
        tab="orchard",
        orchard=orchard,
        name=file.orchard.name if file else "",
        parts=sections(texts, problems, texts.get("orchard.units") == "us"),
        version=number,
        problems=problems,
        wrong=sum(len(those) for those in problems.values()),
        may_change=visitor.may("admin", orchard) if orchard else True,
        may_bring=visitor.may("record", orchard) if orchard else True,
        kept=kept,
        brought=brought,
        file_problems=file_fault.problems if file_fault else [],
        stale=stale,
        notes=file.notes if file else [],
        counts=saying.count(len(file.observations), "observation") if file else "",
        send_to=f"/at/{orchard}/orchard" if orchard else "/set-up",
        bring_to=f"/at/{orchard}/import" if orchard else "/set-up/import",
    )
