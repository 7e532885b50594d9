"""What the log says of a fault: its types and places, and no word of its messages."""

import re

import pytest
from sqlalchemy.dialects.sqlite import dialect

from server.services.fault_words import fault_line, fault_words
from server.store.columns import JsonText

NAME = "\n".join(("Al" + "der", "forged"))


def _read(name: str) -> None:
    raise KeyError(name)


def _open(name: str, *, told: bool) -> None:
    try:
        _read(name)
    except KeyError as missing:
        raise RuntimeError(f"nothing of {name}") from (missing if told else None)


@pytest.mark.parametrize(("told", "kinds"), [(True, 2), (False, 1)])
def test_a_fault_is_told_by_types_and_places(*, told: bool, kinds: int) -> None:
    with pytest.raises(RuntimeError) as fault:
        _open(NAME, told=told)

    words = fault_words(fault.value)

    assert words.startswith("builtins.RuntimeError\n")
    assert ("builtins.KeyError" in words, words.count("builtins.")) == (kinds == 2, kinds)
    assert "test_fault_words.py" in words
    assert "in _open" in words
    assert ("Alder" in words, "forged" in words) == (False, False)


def test_a_fault_that_came_while_another_was_handled_tells_both_and_a_ring_ends() -> None:
    first, second = ValueError(NAME), TypeError(NAME)
    first.__context__, second.__context__ = second, first

    words = fault_words(first)

    assert [line for line in words.splitlines() if line.startswith("builtins")] == [
        "builtins.ValueError",
        "builtins.TypeError",
    ]


def test_in_one_line_it_is_the_type_and_the_place_in_this_program_that_it_came_to() -> None:
    with pytest.raises(ValueError, match="Expecting value") as ours:
        JsonText().process_result_value("Alder", dialect())
    with pytest.raises(KeyError) as elsewhere:
        _read(NAME)

    lines = [fault_line(one) for one in (ours.value, elsewhere.value, ValueError(NAME))]

    assert [re.sub(r"\d+$", "N", line) for line in lines] == [
        "JSONDecodeError in process_result_value, server/store/columns.py:N",
        "KeyError in _read, test_fault_words.py:N",
        "ValueError",
    ]
