"""The routes of the JSON service, one subject a file."""

from __future__ import annotations

from fastapi import APIRouter

from advisor.api.routes import advice, decisions, explain, knowledge, orchards, records, seasons, state, written

ROUTERS: tuple[APIRouter, ...] = (
    *(part.router for part in (state, advice, orchards, records, decisions, explain, seasons, knowledge)),
    seasons.calendar_router,
    *written.ROUTERS,
)
