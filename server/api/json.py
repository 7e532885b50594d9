"""Answers as JSON."""

from collections.abc import Sequence
from functools import cache
from typing import Any

from fastapi import Response
from pydantic import BaseModel, TypeAdapter

MEDIA_TYPE = "application/json"


def json_answer(said: BaseModel | Sequence[BaseModel]) -> Response:
    """One model or a list of them; they were checked when they were made."""
    if isinstance(said, BaseModel):
        return Response(said.model_dump_json(), media_type=MEDIA_TYPE)
    if not said:
        return Response("[]", media_type=MEDIA_TYPE)
    return Response(_list_of(type(said[0])).dump_json(list(said)), media_type=MEDIA_TYPE)


@cache
def _list_of(model: type[BaseModel]) -> TypeAdapter[Any]:
    return TypeAdapter(list[model])  # type: ignore[valid-type]  # made for this very model
