"""The routes of the JSON service, one subject a file."""

from __future__ import annotations

from fastapi import APIRouter

from advisor.api.routes import advice, state

ROUTERS: tuple[APIRouter, ...] = (state.router, advice.router)
