"""A fault as the log tells it: where it came from, and never with what it was at work on."""

from traceback import format_tb


def fault_words(fault: BaseException) -> str:
    """Answer types and places of a fault and of what led to it, the last first.

    Messages are left out: one can quote the name or the signs of a patient, and a log is read and
    kept by others than those who may see them.
    """
    return "\n".join(_one(one) for one in _chain(fault))


def _chain(fault: BaseException | None) -> list[BaseException]:
    chain: list[BaseException] = []
    while fault is not None and fault not in chain:
        chain.append(fault)
        fault = fault.__cause__ or (None if fault.__suppress_context__ else fault.__context__)
    return chain


def _one(fault: BaseException) -> str:
    kind = type(fault)
    return f"{kind.__module__}.{kind.__qualname__}\n{''.join(format_tb(fault.__traceback__))}"
