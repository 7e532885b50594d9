"""What a request says of where it came from is believed of the proxies that settings name."""

from pathlib import Path
from shutil import copyfile

import anyio
import httpx2
import pytest

from server.app import BoardServer, create_app
from server.settings import Settings


@pytest.mark.parametrize(
    ("sender", "scheme"), [("192.0.2.10", "https"), ("192.0.2.11", "http"), ("127.0.0.1", "http")]
)
def test_a_forwarded_scheme_is_believed_of_a_proxy_alone(
    sqlite_template: Path, tmp_path: Path, sender: str, scheme: str
) -> None:
    file = copyfile(sqlite_template, tmp_path / "board.db")
    settings = Settings(database=f"sqlite:///{file}", proxies=("192.0.2.10",))
    app = create_app(settings, run_jobs=False)
    server = BoardServer(app, host="127.0.0.1", port=0)
    server.config.load()

    async def led_to() -> str:
        behind = httpx2.ASGITransport(app=server.config.loaded_app, client=(sender, 4000))
        async with httpx2.AsyncClient(transport=behind, base_url="http://board.test") as client:
            answer = await client.get("/healthz/", headers={"X-Forwarded-Proto": "https"})
            return str(answer.headers["location"])

    assert anyio.run(led_to) == f"{scheme}://board.test/healthz"
    app.state.store.close()
