"""What the log says of a fault: its types and places, and no word of its messages."""

import pytest

from server.services.fault_words import fault_words

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
