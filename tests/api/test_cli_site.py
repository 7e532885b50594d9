"""The command line says what the site's files hold, and refuses a wrong one by its line."""

from collections.abc import Callable
from pathlib import Path

import pytest

from server.app import create_app
from server.cli import main
from server.domain.policy import PolicyError
from server.settings import Settings
from server.site import example
from tests.domain.sites import PRODUCTS, SPECIAL_TESTING

Check = Callable[[], tuple[int, str, str]]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A site folder that the settings name."""
    monkeypatch.setenv("FOURTH_HOUR_DATABASE", f"sqlite:///{tmp_path / 'board.db'}")
    made = tmp_path / "site"
    made.mkdir()
    monkeypatch.setenv("FOURTH_HOUR_SITE", str(made))
    return made


@pytest.fixture
def check(folder: Path, capsys: pytest.CaptureFixture[str]) -> Check:
    """Run the check on a migrated database; its result, and what it printed."""
    assert folder.is_dir()
    main(("migrate",))
    capsys.readouterr()
    return lambda: (main(("check",)), *capsys.readouterr())


def test_a_signed_table_and_codes_are_named(folder: Path, check: Check) -> None:
    signed = '[signed_off]\nname = "Dr Wren Okafor"\non = 2026-02-01\n'
    table = example("compatibility.toml").replace('[signed_off]\nname = ""\non = ""\n', signed)
    (folder / "compatibility.toml").write_text(table, "utf-8")
    (folder / "products.csv").write_text(PRODUCTS, "utf-8")
    (folder / "special_testing.csv").write_text(SPECIAL_TESTING, "utf-8")

    result, printed, _ = check()

    assert (result, printed.splitlines()[2:4]) == (
        0,
        [
            "holds   Site files: Signed off by Dr Wren Okafor on 1 February 2026.",
            "holds   Codes: 3 products, 1 special tests",
        ],
    )


def test_a_wrong_file_is_named_with_its_line(folder: Path, check: Check) -> None:
    (folder / "products.csv").write_text("product_code,component,washed\nE9990,plasma,maybe\n")

    result, printed, _ = check()

    wrong = "products.csv, line 2: washed: 'maybe'; expected yes, no or nothing"
    assert (result, printed.splitlines()[2]) == (1, f"BROKEN  Site files: {wrong}")


def test_a_board_does_not_start_with_a_wrong_file(folder: Path, tmp_path: Path) -> None:
    (folder / "wristband.toml").write_text("[zzz]\n")

    with pytest.raises(PolicyError) as refused:
        create_app(Settings(database=f"sqlite:///{tmp_path / 'board.db'}", site=folder))

    assert (refused.value.file, refused.value.line) == ("wristband.toml", 1)
