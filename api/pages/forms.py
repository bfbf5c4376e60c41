"""Reading a posted form, once it is sure that one of our pages sent it (`advisor.api.asking` says how)."""

from __future__ import annotations

from urllib.parse import parse_qsl

from fastapi import HTTPException, Request

from advisor.api.asking import check_form

MOST_BYTES = 2_000_000
MOST_FIELDS = 2_000
KIND = "application/x-www-form-urlencoded"


async def read_form(request: Request) -> dict[str, str]:
    """The fields of a form, trimmed; of repeated ones the last counts.

    Raises HTTPException: 403 for a form that is not from one of our pages, 413 for a body that is too large, 415 for
    another content type, 400 for one that cannot be read.
    """
    if request.headers.get("content-type", "").split(";")[0].strip() != KIND:
        raise HTTPException(415, "A form is expected here.")
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > MOST_BYTES:
            raise HTTPException(413, f"The form is larger than {MOST_BYTES // 1_000_000} MB.")
    try:
        pairs = parse_qsl(body.decode(), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict")
    except ValueError:
        raise HTTPException(400, "The form could not be read.") from None
    fields = {name: value.strip() for name, value in pairs}
    check_form(request, fields.pop("check", None))
    return fields
