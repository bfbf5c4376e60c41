"""The OpenAPI 3.1 document: what the routes say of themselves, and the shapes of what may be sent."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from advisor.api.problems import ProblemDocument
from advisor.api.shapes import components


def install(app: FastAPI) -> None:
    """Let the app's document name the shapes of problems and of what may be sent."""

    def build() -> dict[str, Any]:
        if app.openapi_schema is None:
            found = get_openapi(
                title=app.title,
                version=app.version,
                summary=app.summary,
                routes=app.routes,
            )
            parts = found.setdefault("components", {}).setdefault("schemas", {})
            sent = components()
            if clash := parts.keys() & sent.keys():
                raise ValueError(f"two shapes have one name: {', '.join(sorted(clash))}")
            parts.update(sent)
            problem = ProblemDocument.model_json_schema(ref_template="#/components/schemas/{model}")
            parts.update(problem.pop("$defs"))
            parts["ProblemDocument"] = problem
            for name in ("HTTPValidationError", "ValidationError"):  # the framework's own, which is never sent
                parts.pop(name, None)
            app.openapi_schema = found
        return app.openapi_schema

    app.openapi = build  # type: ignore[method-assign]
