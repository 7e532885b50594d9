"""How a line of the log is written: as JSON for programs, or as text for people.

What somebody typed cannot begin a line of its own in either: JSON escapes what ends a line, and
the text escapes everything that is not printed.
"""

import os
import socket
from collections.abc import MutableMapping
from datetime import UTC, datetime
from logging import LogRecord
from typing import Any, Final

from structlog.contextvars import merge_contextvars
from structlog.processors import JSONRenderer
from structlog.stdlib import ExtraAdder, ProcessorFormatter, add_log_level, add_logger_name
from structlog.typing import Processor

from server.services.fault_words import fault_words

Line = MutableMapping[str, Any]

FIELDS: Final = ("method", "route", "status", "ms", "ward", "person", "client", "stack")
"""What a line may carry beside its words; anything else that a library adds is left out."""
FIRST: Final = ("at", "level", "logger", "event")
PROCESS: Final = f"{socket.gethostname()}:{os.getpid()}"


def as_json() -> ProcessorFormatter:
    """One JSON object a line."""
    return _formatter(JSONRenderer(default=str))


def as_text() -> ProcessorFormatter:
    """One line of words, then `name=value`; a stack stands indented below."""
    return _formatter(_text)


def _formatter(last: Processor) -> ProcessorFormatter:
    chain: list[Processor] = [add_log_level, add_logger_name, ExtraAdder(allow=FIELDS)]
    return ProcessorFormatter(
        foreign_pre_chain=[*chain, merge_contextvars, _instant, _stack],
        processors=[_in_order, last],
    )


def _instant(_logger: Any, _name: str, line: Line) -> Line:
    record: LogRecord = line["_record"]
    at = datetime.fromtimestamp(record.created, UTC)
    line["at"] = f"{at:%Y-%m-%dT%H:%M:%S}.{at.microsecond // 1000:03}Z"
    return line


def _stack(_logger: Any, _name: str, line: Line) -> Line:
    """Of a fault only types and places: its message can quote what was worked on."""
    told = line.pop("exc_info", None)
    line.pop("stack_info", None)
    if told and told[1] is not None:
        line["stack"] = fault_words(told[1])
    return line


def _in_order(_logger: Any, _name: str, line: Line) -> Line:
    first = {name: line.pop(name) for name in FIRST}
    rest = {name: value for name, value in line.items() if not name.startswith("_")}
    return {**first, **rest, "process": PROCESS}


def _text(_logger: Any, _name: str, line: Line) -> str:
    first = " ".join(
        (line["at"], line["level"].upper().ljust(7), line["logger"], _printed(line["event"]))
    )
    stack = line.get("stack", "")
    told = "".join(
        f" {name}={_printed(value)}"
        for name, value in line.items()
        if name not in FIRST and name != "stack"
    )
    below = "".join(f"\n    {_printed(one)}" for one in stack.splitlines())
    return first + told + below


def _printed(value: object) -> str:
    text = str(value)
    if text.isprintable():
        return text
    return "".join(one if one.isprintable() else ascii(one)[1:-1] for one in text)
