"""What a policy may say of a suspected reaction."""

import pytest

from tests.domain.policy_files import entry, refusal


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
