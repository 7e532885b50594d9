"""What the environment may set, and what is refused by the name of its variable."""

from datetime import timedelta
from pathlib import Path

import pytest

from server.domain.words import Role
from server.logs import LogForm
from server.settings import Settings, SettingsError, read_settings

WEB_ADDRESS = "an address https://… without anything after ? or # (http://localhost too)"


def test_an_empty_environment_gives_the_defaults() -> None:
    assert read_settings({}) == Settings()


def test_an_empty_variable_counts_as_absent() -> None:
    assert read_settings({"FOURTH_HOUR_PORT": " "}) == Settings()


def test_every_variable_is_read_into_its_own_type(tmp_path: Path) -> None:
    environment = {
        "FOURTH_HOUR_DATABASE": "postgresql+psycopg:///ward",
        "FOURTH_HOUR_POLICIES": str(tmp_path),
        "FOURTH_HOUR_SITE": str(tmp_path),
        "FOURTH_HOUR_HOST": "127.0.0.2",
        "FOURTH_HOUR_PORT": "80",
        "FOURTH_HOUR_SECURE_COOKIES": "Yes",
        "FOURTH_HOUR_STALE_AFTER_SECONDS": "30",
        "FOURTH_HOUR_SESSION_HOURS": "8",
        "FOURTH_HOUR_LOCK_MINUTES": "0",
        "FOURTH_HOUR_KEY_FILE": str(tmp_path / "board.key"),
        "FOURTH_HOUR_BODY_LIMIT_BYTES": "2048",
        "FOURTH_HOUR_JOBS": "no",
        "FOURTH_HOUR_API_PER_SECOND": "0",
        "FOURTH_HOUR_SHEETS": str(tmp_path),
        "FOURTH_HOUR_PROXIES": "172.31.83.10, fd00::/8",
        "FOURTH_HOUR_LOG": "json",
        "FOURTH_HOUR_LOG_LEVEL": "Debug",
        "HOME": "/nowhere",
    }

    assert read_settings(environment) == Settings(
        database="postgresql+psycopg:///ward",
        policies=tmp_path,
        site=tmp_path,
        host="127.0.0.2",
        port=80,
        secure_cookies=True,
        stale_after=timedelta(seconds=30),
        session_length=timedelta(hours=8),
        lock_after=timedelta(0),
        key_file=tmp_path / "board.key",
        body_limit_bytes=2048,
        run_jobs=False,
        api_per_second=0,
        sheets=tmp_path,
        proxies=("172.31.83.10", "fd00::/8"),
        log_form=LogForm.JSON,
        log_level="debug",
    )


def test_a_provider_of_sign_ins_is_read_whole() -> None:
    environment = {
        "FOURTH_HOUR_PUBLIC_ADDRESS": "https://board.example/",
        "FOURTH_HOUR_SSO_ISSUER": "https://provider.example/staff/",
        "FOURTH_HOUR_SSO_CLIENT_ID": "board",
        "FOURTH_HOUR_SSO_CLIENT_SECRET": "hush",
        "FOURTH_HOUR_SSO_LABEL": "the staff login",
        "FOURTH_HOUR_SSO_CLAIM": "preferred_username",
        "FOURTH_HOUR_SSO_ACR": "two, three",
        "FOURTH_HOUR_SSO_AMR": "mfa",
        "FOURTH_HOUR_SSO_ANEW": "no",
        "FOURTH_HOUR_PASSWORDS": "administrators",
    }

    assert read_settings(environment) == Settings(
        public_address="https://board.example",
        sso_issuer="https://provider.example/staff/",
        sso_client_id="board",
        sso_client_secret="hush",
        sso_label="the staff login",
        sso_claim="preferred_username",
        sso_acr=("two", "three"),
        sso_amr=("mfa",),
        sso_anew=False,
        passwords_for_all=False,
    )


@pytest.mark.parametrize(
    ("text", "roles"),
    [
        ("no", frozenset()),
        ("yes", frozenset({Role.MANAGER, Role.ADMINISTRATOR})),
        ("Everybody", frozenset(Role) - {Role.INTERFACE}),
    ],
)
def test_a_second_factor_is_asked_of_nobody_some_or_everybody(
    text: str, roles: frozenset[Role]
) -> None:
    read = read_settings({"FOURTH_HOUR_SECOND_FACTOR": text})

    assert (read.second_factor, Settings().second_factor) == (roles, frozenset())


def test_a_secret_may_stand_in_a_file(tmp_path: Path) -> None:
    file = tmp_path / "address"
    file.write_text("postgresql+psycopg://board:hush@db/board\n", "utf-8")
    address = "postgresql+psycopg://board:hush@db/board"

    assert read_settings({"FOURTH_HOUR_DATABASE_FILE": f"{file}"}) == Settings(database=address)


@pytest.mark.parametrize(
    ("environment", "said"),
    [
        ({"PORT": "1", "PORT_FILE": "/x"}, "FOURTH_HOUR_PORT and FOURTH_HOUR_PORT_FILE are both"),
        ({"PORT_FILE": "/no/such"}, "FOURTH_HOUR_PORT_FILE: expected a text file that can be read"),
        (
            {"DATABASE": "mysql://me:hush@db"},
            r"DATABASE: expected an address that begins with sqlite:// or postgresql.psycopg://$",
        ),
    ],
)
def test_a_file_that_cannot_be_read_is_named_and_a_secret_is_not(
    environment: dict[str, str], said: str
) -> None:
    with pytest.raises(SettingsError, match=said) as refused:
        read_settings({f"FOURTH_HOUR_{name}": text for name, text in environment.items()})

    assert "hush" not in str(refused.value)


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("POLICIES", "/no/such/folder", "a folder that exists"),
        ("PORT", "65536", "a whole number from 0 to 65535"),
        ("PORT", "٨٠", "a whole number from 0 to 65535"),
        ("SECURE_COOKIES", "perhaps", "one of 1, true, yes, 0, false, no"),
        ("STALE_AFTER_SECONDS", "1", "a whole number from 2 to 3600"),
        ("SESSION_HOURS", "1.5", "a whole number from 1 to 168"),
        ("LOCK_MINUTES", "721", "a whole number from 0 to 720"),
        ("KEY_FILE", "/no/such/folder/key", "a file in a folder that exists"),
        ("KEY_FILE", "/", "a file in a folder that exists"),
        ("PROXIES", "proxy.example", "addresses or networks, parted by commas"),
        ("PROXIES", "10.0.0.1/8", "addresses or networks, parted by commas"),
        (
            "PUBLIC_ADDRESS",
            "https://board.example/ward",
            "an address https://host[:port] without a path",
        ),
        ("SSO_ISSUER", "http://provider.example", WEB_ADDRESS),
        ("SSO_ISSUER", "https://provider.example/?a=b", WEB_ADDRESS),
        ("SSO_ISSUER", "https://provider.example:99999", WEB_ADDRESS),
        ("SSO_LABEL", "a\nb", "at most 40 characters on one line"),
        ("SSO_AMR", "mfa,", "words, parted by commas"),
        ("SECOND_FACTOR", "nurses", "one of 1, true, yes, 0, false, no, everybody"),
        ("PASSWORDS", "nobody", "one of everybody, administrators"),
        ("LOG", "xml", "one of text, json"),
        ("LOG_LEVEL", "loud", "one of debug, info, warning, error"),
        ("BODY_LIMIT_BYTES", "-2048", "a whole number from 1024 to 104857600"),
    ],
)
def test_a_wrong_value_is_refused_by_the_name_of_its_variable(
    name: str, text: str, expected: str
) -> None:
    with pytest.raises(SettingsError) as refused:
        read_settings({f"FOURTH_HOUR_{name}": text})

    assert str(refused.value) == f"FOURTH_HOUR_{name}: expected {expected}, got {text!r}"


@pytest.mark.parametrize(
    ("environment", "missing", "beside"),
    [
        ({"SSO_ISSUER": "https://p.example"}, "SSO_CLIENT_ID", "the other settings of SSO_…"),
        ({"SSO_CLIENT_SECRET": "hush"}, "SSO_ISSUER", "the other settings of SSO_…"),
        ({"PASSWORDS": "administrators"}, "SSO_ISSUER", "PASSWORDS"),
        (
            {"SSO_ISSUER": "https://p.example", "SSO_CLIENT_ID": "b", "SSO_CLIENT_SECRET": "hush"},
            "PUBLIC_ADDRESS",
            "the other settings of SSO_…",
        ),
    ],
)
def test_single_sign_on_is_set_whole_or_not_at_all(
    environment: dict[str, str], missing: str, beside: str
) -> None:
    """Nobody is left with passwords forbidden and no other way in."""
    with pytest.raises(SettingsError) as refused:
        read_settings({f"FOURTH_HOUR_{name}": text for name, text in environment.items()})

    said = f"FOURTH_HOUR_{missing}: expected one together with {beside}, got none"
    assert str(refused.value) == said


def test_the_way_back_is_made_of_the_public_address_alone() -> None:
    settings = Settings(public_address="https://board.example", sso_issuer="https://p.example")

    sign_on = settings.sign_on

    assert Settings().sign_on is None
    assert sign_on is not None
    assert (sign_on.back, sign_on.home) == (
        "https://board.example/sign-in/back",
        "https://board.example/sign-in",
    )
    assert "hush" not in repr(Settings(sso_client_secret="hush"))
