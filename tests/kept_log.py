"""The log as it would be written, kept for a test that asks what was told."""

import json
import logging
from collections.abc import Iterator
from typing import Any

import pytest

from server.logs.lines import as_json


class Kept(logging.Handler):
    """Keeps what is told as the lines that would be written."""

    def __init__(self) -> None:
        super().__init__()
        self.setFormatter(as_json())
        self.lines: list[dict[str, Any]] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep a line."""
        self.lines.append(json.loads(self.format(record)))

    def of(self, event: str) -> list[dict[str, Any]]:
        """The lines of an event, without what differs from run to run."""
        varies = ("at", "ms", "process", "stack")
        return [
            {name: value for name, value in line.items() if name not in varies}
            for line in self.lines
            if line["event"] == event
        ]


@pytest.fixture
def kept(caplog: pytest.LogCaptureFixture) -> Iterator[Kept]:
    """What is told while the test runs."""
    caplog.set_level(logging.DEBUG, logger="server")
    handler = Kept()
    logging.getLogger().addHandler(handler)
    yield handler
    logging.getLogger().removeHandler(handler)
