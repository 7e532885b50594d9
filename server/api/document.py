"""The OpenAPI document: what FastAPI finds, with the models of problems that routes refer to."""

from collections.abc import Callable
from typing import Any

from fastapi import FastAPI, Request
from pydantic import BaseModel
from pydantic.json_schema import JsonSchemaMode, models_json_schema
from starlette.routing import compile_path

from server.api.answers.problem import ConflictProblem, FieldError, InvalidProblem, Problem

MODELS = (Problem, FieldError, InvalidProblem, ConflictProblem)


def document_of(app: FastAPI) -> Callable[[], dict[str, Any]]:
    """What makes the document of an application, once."""
    made: dict[str, Any] = {}
    found = app.openapi

    def document() -> dict[str, Any]:
        if not made:
            made.update(found())
            made["components"]["schemas"].update(_problems())
        return made

    return document


def methods_at(request: Request) -> str:
    """The methods that the document has for the address of a request, as `Allow` names them."""
    paths: dict[str, Any] = request.app.openapi()["paths"]
    here = [item for path, item in paths.items() if compile_path(path)[0].match(request.url.path)]
    return ", ".join(sorted({method.upper() for item in here for method in item}))


def _problems() -> dict[str, Any]:
    wanted: list[tuple[type[BaseModel], JsonSchemaMode]] = [
        (model, "serialization") for model in MODELS
    ]
    _, schema = models_json_schema(wanted, ref_template="#/components/schemas/{model}")
    defined: dict[str, Any] = schema["$defs"]
    return defined
