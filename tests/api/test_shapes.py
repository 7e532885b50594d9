"""Bodies and answers agree with the domain: every fact has its fields, and nothing else."""

from dataclasses import fields
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from server.api.bodies.event import EventBody
from server.api.bodies.facts import Fact
from server.api.requests import Malformed, _parse
from server.domain.payloads import PAYLOADS
from server.domain.words import Kind

MODELS: tuple[type[BaseModel], ...] = get_args(get_args(EventBody)[0])
BY_KIND = {get_args(model.model_fields["kind"].annotation)[0]: model for model in MODELS}


def test_every_kind_of_event_has_a_body() -> None:
    assert set(BY_KIND) == {kind.value for kind in Kind}


@pytest.mark.parametrize("kind", list(Kind), ids=lambda kind: kind.value)
def test_a_body_has_the_fields_of_its_payload(kind: Kind) -> None:
    envelope = set(Fact.model_fields) | {"kind"}
    payload = {field.name for field in fields(PAYLOADS[kind])}

    assert set(BY_KIND[kind.value].model_fields) - envelope == payload - {"staff_id"}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        (b"{}", {}),
        (b'{"a":[1,2.5,null,true,"\\u00e9"]}', {"a": [1, 2.5, None, True, "\xe9"]}),
        (b'{"a":' * 19 + b"[1]" + b"}" * 19, None),
    ],
)
def test_a_body_within_bounds_is_read(text: bytes, value: Any) -> None:
    assert value is None or _parse(text) == value
    assert not isinstance(_parse(text), Malformed)
