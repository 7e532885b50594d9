"""What a policy may say of a suspected reaction."""

import pytest

from server.domain.policy import PolicyError, parse_policy
from server.policies import load_policies

COMMON = load_policies()["common"]
HEAD = '[policy]\ntitle = "Ward 7"\nbased_on = "common"\n'  # lines 1 to 3
SOURCE = 'source = "ward book, 2"\n'


def refusal(text: str, *, name: str = "ward7") -> str:
    with pytest.raises(PolicyError) as refused:
        parse_policy(text, name=name, bases={"common": COMMON})
    error = refused.value
    assert str(error) == f"{name}.toml, line {error.line}: {error.message}"
    assert error.file == f"{name}.toml"
    return f"{error.line}: {error.message}"


def entry(key: str, value: str, *more: str) -> str:
    """One value after the head: its table on line 4, the value on 5, the source on 6."""
    return "\n".join((f"{HEAD}[{key}]", f"value = {value}", SOURCE, *more))


def test_a_step_that_must_be_ticked_has_to_be_asked_for() -> None:
    text = entry("reaction.steps", "['stop', 'samples']")
    required = "[reaction.close_requires]\nvalue = ['stop', 'document']\nsource = 'ward book'\n"

    assert refusal(text + required).endswith(
        "reaction.close_requires: document is not among reaction.steps; "
        "expected steps that are asked"
    )


@pytest.mark.parametrize(
    "value",
    ["[]", "['settled', 'settled']", "['  ']", "['" + "x" * 81 + "']", "[3]", "'settled'"],
)
def test_outcomes_are_a_few_short_phrases_each_once(value: str) -> None:
    assert "expected a list of 1 to 20 phrases of at most 80 characters, each once" in refusal(
        entry("reaction.outcomes", value)
    )
