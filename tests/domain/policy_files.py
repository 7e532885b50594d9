"""Policy files of an invented ward, and how one is refused."""

from typing import Final

import pytest

from server.domain.policy import PolicyError, parse_policy
from tests.domain.builders import COMMON

HEAD: Final = '[policy]\ntitle = "Ward 7"\nbased_on = "common"\n'  # lines 1 to 3
SOURCE: Final = 'source = "ward book, 2"\n'


def refusal(text: str, *, name: str = "ward7") -> str:
    """The line at which a file is refused, and why."""
    with pytest.raises(PolicyError) as refused:
        parse_policy(text, name=name, bases={"common": COMMON})
    error = refused.value
    assert str(error) == f"{name}.toml, line {error.line}: {error.message}"
    assert error.file == f"{name}.toml"
    return f"{error.line}: {error.message}"


def entry(key: str, value: str, *more: str) -> str:
    """One value after the head: its table on line 4, the value on 5, the source on 6."""
    return "\n".join((f"{HEAD}[{key}]", f"value = {value}", SOURCE, *more))
