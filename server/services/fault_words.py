"""A fault as the log tells it: where it came from, and never with what it was at work on."""

from pathlib import Path
from traceback import FrameSummary, extract_tb, format_tb
from typing import Final

OURS: Final = Path(__file__).parents[1]


def fault_words(fault: BaseException) -> str:
    """Answer types and places of a fault and of what led to it, the last first.

    Messages are left out: one can quote the name or the signs of a patient, and a log is read and
    kept by others than those who may see them.
    """
    return "\n".join(_one(one) for one in _chain(fault))


def fault_line(fault: BaseException) -> str:
    """Answer the type of a fault and its place in this program in one line, for the same reason."""
    kind, places = type(fault).__qualname__, extract_tb(fault.__traceback__)
    ours = [place for place in places if Path(place.filename).is_relative_to(OURS)]
    return f"{kind} in {_place((ours or places)[-1])}" if places else kind


def _place(frame: FrameSummary) -> str:
    file = Path(frame.filename)
    short = file.relative_to(OURS.parent) if file.is_relative_to(OURS) else file.name
    return f"{frame.name}, {short}:{frame.lineno}"


def _chain(fault: BaseException | None) -> list[BaseException]:
    chain: list[BaseException] = []
    while fault is not None and fault not in chain:
        chain.append(fault)
        fault = fault.__cause__ or (None if fault.__suppress_context__ else fault.__context__)
    return chain


def _one(fault: BaseException) -> str:
    kind = type(fault)
    return f"{kind.__module__}.{kind.__qualname__}\n{''.join(format_tb(fault.__traceback__))}"
