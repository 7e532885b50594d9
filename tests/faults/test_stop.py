"""Asked to stop while boards are open: it ends their streams itself, and is gone."""

import socket
from pathlib import Path
from typing import Final

from server.clock import utc_now
from tests.faults.asking import say
from tests.faults.programs import Commanded
from tests.faults.small_ward import WARD, make_small_ward

STREAMS: Final = 25
LAST_CHUNK: Final = b"0\r\n\r\n"


def test_it_ends_open_streams_and_is_gone(tmp_path: Path) -> None:
    ward = make_small_ward(tmp_path / "ward.db", utc_now())
    log = tmp_path / "log"
    served = Commanded(ward.database, log)
    served.wait_until_ready()
    streams = [_open_stream(served.port, ward.token) for _ in range(STREAMS)]

    say(f"{STREAMS} streams open: gone after {served.stop():.2f} s")

    ends = [_read_to_the_end(stream)[-len(LAST_CHUNK) :] for stream in streams]
    assert ends == [LAST_CHUNK] * STREAMS
    assert "Traceback" not in log.read_text("utf-8")


def _open_stream(port: int, token: str) -> socket.socket:
    stream = socket.create_connection(("127.0.0.1", port), 20)
    lines = (
        f"GET /api/stream?ward_id={WARD} HTTP/1.1",
        "Host: 127.0.0.1",
        f"Authorization: Bearer {token}",
    )
    stream.sendall("\r\n".join([*lines, "", ""]).encode())
    said = b""
    while b"event: tick" not in said:
        said += stream.recv(65_536)
    return stream


def _read_to_the_end(stream: socket.socket) -> bytes:
    said = b""
    with stream:
        while block := stream.recv(65_536):
            said += block
    return said
