"""What the environment may set; a wrong value is refused by the name of its variable."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from ipaddress import ip_network
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from server.domain.sign_on import SignOn, SignOnRules
from server.domain.words import Role
from server.logs import LEVELS, LogForm

PREFIX: Final = "FOURTH_HOUR_"
ENGINES: Final = ("sqlite://", "postgresql+psycopg://")
SWITCH: Final = {"1": True, "true": True, "yes": True, "0": False, "false": False, "no": False}
LOOPBACK: Final = ("localhost", "127.0.0.1", "::1")
LONGEST_LABEL: Final = 40
WHO_OVERSEES: Final = frozenset({Role.MANAGER, Role.ADMINISTRATOR})
ALL_STAFF: Final = frozenset(Role) - {Role.INTERFACE}
EVERYBODY: Final = "everybody"
PASSWORDS_FOR: Final = {EVERYBODY: True, "administrators": False}


class SettingsError(ValueError):
    """A variable holds what it may not; the message names it and what was expected."""


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of one running board.

    `database` is an SQLAlchemy address. `policies` is a folder of local policy files that join
    the shipped ones, `site` the folder of the site's own files. `secure_cookies` belongs on
    wherever the board is served over HTTPS. The board calls itself stale once `stale_after` has
    passed since the last successful tick. A person is signed out `session_length` after signing
    in; who does nothing for `lock_after` finds the screen locked, zero: never. `key_file` holds
    the board's key. A request body above `body_limit_bytes` is refused. Webhooks take https
    addresses, with `webhook_http` also http. Without `run_jobs` others check clocks and deliver.
    One token may ask `api_per_second` times a second, zero: as often as it likes.
    `sheets` is a folder that the wards' paper sheets are written into.
    What a request says of where it came from is believed of `proxies`, addresses or networks.
    The log is written as `log_form` has it, from `log_level` on.
    `public_address` is where browsers find the board. With `sso_issuer` people may sign in at that
    provider too (`sign_on`); without `passwords_for_all` only administrators may by password. Those
    of a role in `second_factor` show a code beside it.
    """

    database: str = "sqlite:///fourth-hour.db"
    policies: Path | None = None
    site: Path | None = None
    host: str = "127.0.0.1"
    port: int = 8321
    secure_cookies: bool = False
    stale_after: timedelta = timedelta(seconds=10)
    session_length: timedelta = timedelta(hours=13)
    lock_after: timedelta = timedelta(minutes=10)
    key_file: Path | None = None
    body_limit_bytes: int = 1_048_576
    webhook_http: bool = False
    run_jobs: bool = True
    api_per_second: int = 500
    sheets: Path | None = None
    proxies: tuple[str, ...] = ("127.0.0.1", "::1")
    public_address: str = ""
    sso_issuer: str = ""
    sso_client_id: str = ""
    sso_client_secret: str = field(default="", repr=False)
    sso_label: str = "single sign-on"
    sso_claim: str = "sub"
    sso_acr: tuple[str, ...] = ()
    sso_amr: tuple[str, ...] = ()
    sso_anew: bool = True
    passwords_for_all: bool = True
    second_factor: frozenset[Role] = frozenset()
    log_form: LogForm = LogForm.TEXT
    log_level: str = "info"

    @property
    def sign_on(self) -> SignOn | None:
        """The provider at which people may sign in, None where none is set."""
        if not self.sso_issuer:
            return None
        return SignOn(
            issuer=self.sso_issuer,
            client_id=self.sso_client_id,
            client_secret=self.sso_client_secret,
            back=f"{self.public_address}/sign-in/back",
            home=f"{self.public_address}/sign-in",
            label=self.sso_label,
            rules=SignOnRules(self.sso_claim, self.sso_acr, self.sso_amr, self.sso_anew),
        )


def read_settings(environment: Mapping[str, str]) -> Settings:
    """The settings in `environment`; an absent or empty variable leaves the default.

    A variable whose name ends in `_FILE` names a file that holds the value: what is secret need not
    stand in the environment. Raises SettingsError.
    """
    texts = {name: _text_of(environment, PREFIX + name) for name in READERS}
    given = {
        field: _read_one(texts[name], PREFIX + name, reader)
        for name, (field, reader) in READERS.items()
        if texts[name]
    }
    settings = Settings(**given)  # type: ignore[arg-type]  # each reader gives its own field's type
    _require_whole(settings)
    return settings


def _text_of(environment: Mapping[str, str], variable: str) -> str:
    """What a variable says, or the file that its other name leads to; nothing: empty."""
    text, file = (environment.get(one, "").strip() for one in (variable, f"{variable}_FILE"))
    if text and file:
        raise SettingsError(f"{variable} and {variable}_FILE are both set; expected one of them")
    if not file:
        return text
    try:
        return Path(file).read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError) as failure:
        message = f"{variable}_FILE: expected a text file that can be read: {file}"
        raise SettingsError(message) from failure


def _read_one(text: str, variable: str, reader: Callable[[str], object]) -> object:
    try:
        return reader(text.strip())
    except ValueError as wrong:
        # An address may hold a password.
        got = "" if variable == f"{PREFIX}DATABASE" else f", got {text!r}"
        message = f"{variable}: expected {wrong}{got}"
        raise SettingsError(message) from None


def _require_whole(settings: Settings) -> None:
    """Refuse single sign-on by halves. Raises SettingsError, naming what is missing."""
    needed = {
        "SSO_ISSUER": settings.sso_issuer,
        "SSO_CLIENT_ID": settings.sso_client_id,
        "SSO_CLIENT_SECRET": settings.sso_client_secret,
    }
    is_asked_for = any(needed.values()) or not settings.passwords_for_all
    for name, text in (needed | {"PUBLIC_ADDRESS": settings.public_address}).items():
        if is_asked_for and not text:
            asking = "PASSWORDS" if not any(needed.values()) else "the other settings of SSO_…"
            raise SettingsError(f"{PREFIX}{name}: expected one together with {asking}, got none")


def _web_address(text: str) -> str:
    """An address that browsers may be sent to: encrypted, or on this machine."""
    try:
        parts = urlsplit(text)
        is_here = parts.scheme == "http" and parts.hostname in LOOPBACK
        is_plain = not (parts.query or parts.fragment or parts.username or parts.password)
        is_sound = bool(parts.hostname) and (parts.scheme == "https" or is_here) and is_plain
        _ = parts.port  # asking is what checks it
    except ValueError:
        is_sound = False
    if not is_sound or not text.isascii() or not text.isprintable() or " " in text:
        raise ValueError(
            "an address https://… without anything after ? or # (http://localhost too)"
        )
    return text


def _origin(text: str) -> str:
    address = _web_address(text).rstrip("/")
    if urlsplit(address).path:
        raise ValueError("an address https://host[:port] without a path")
    return address


def _label(text: str) -> str:
    if len(text) > LONGEST_LABEL or not text.isprintable():
        raise ValueError(f"at most {LONGEST_LABEL} characters on one line")
    return text


def _words(text: str) -> tuple[str, ...]:
    given = tuple(one.strip() for one in text.split(","))
    if not all(given):
        raise ValueError("words, parted by commas")
    return given


def _passwords(text: str) -> bool:
    if text.lower() not in PASSWORDS_FOR:
        raise ValueError("one of " + ", ".join(PASSWORDS_FOR))
    return PASSWORDS_FOR[text.lower()]


def _second_factor(text: str) -> frozenset[Role]:
    if text.lower() == EVERYBODY:
        return ALL_STAFF
    if text.lower() not in SWITCH:
        raise ValueError("one of " + ", ".join((*SWITCH, EVERYBODY)))
    return WHO_OVERSEES if SWITCH[text.lower()] else frozenset()


def _address(text: str) -> str:
    if not text.startswith(ENGINES):
        raise ValueError("an address that begins with " + " or ".join(ENGINES))
    return text


def _folder(text: str) -> Path:
    folder = Path(text).expanduser()
    if not folder.is_dir():
        raise ValueError("a folder that exists")
    return folder


def _file(text: str) -> Path:
    file = Path(text).expanduser()
    if not file.parent.is_dir() or file.is_dir():
        raise ValueError("a file in a folder that exists")
    return file


def _switch(text: str) -> bool:
    if text.lower() not in SWITCH:
        raise ValueError("one of " + ", ".join(SWITCH))
    return SWITCH[text.lower()]


def _form(text: str) -> LogForm:
    if text not in LogForm.__members__.values():
        raise ValueError("one of " + ", ".join(LogForm))
    return LogForm(text)


def _level(text: str) -> str:
    if text.lower() not in LEVELS:
        raise ValueError("one of " + ", ".join(LEVELS))
    return text.lower()


def _networks(text: str) -> tuple[str, ...]:
    given = tuple(one.strip() for one in text.split(","))
    try:
        for one in given:
            ip_network(one)
    except ValueError:
        raise ValueError("addresses or networks, parted by commas") from None
    return given


def _whole(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not (text.isascii() and text.isdecimal() and low <= int(text) <= high):
            raise ValueError(f"a whole number from {low} to {high}")
        return int(text)

    return read


def _duration(unit: timedelta, low: int, high: int) -> Callable[[str], timedelta]:
    whole = _whole(low, high)
    return lambda text: whole(text) * unit


READERS: Final[Mapping[str, tuple[str, Callable[[str], object]]]] = {
    "DATABASE": ("database", _address),
    "POLICIES": ("policies", _folder),
    "SITE": ("site", _folder),
    "HOST": ("host", str),
    "PORT": ("port", _whole(0, 65_535)),
    "SECURE_COOKIES": ("secure_cookies", _switch),
    "STALE_AFTER_SECONDS": ("stale_after", _duration(timedelta(seconds=1), 2, 3_600)),
    "SESSION_HOURS": ("session_length", _duration(timedelta(hours=1), 1, 168)),
    "LOCK_MINUTES": ("lock_after", _duration(timedelta(minutes=1), 0, 720)),
    "KEY_FILE": ("key_file", _file),
    "BODY_LIMIT_BYTES": ("body_limit_bytes", _whole(1_024, 104_857_600)),
    "WEBHOOK_HTTP": ("webhook_http", _switch),
    "JOBS": ("run_jobs", _switch),
    "API_PER_SECOND": ("api_per_second", _whole(0, 100_000)),
    "SHEETS": ("sheets", _folder),
    "PROXIES": ("proxies", _networks),
    "PUBLIC_ADDRESS": ("public_address", _origin),
    "SSO_ISSUER": ("sso_issuer", _web_address),
    "SSO_CLIENT_ID": ("sso_client_id", str),
    "SSO_CLIENT_SECRET": ("sso_client_secret", str),
    "SSO_LABEL": ("sso_label", _label),
    "SSO_CLAIM": ("sso_claim", _label),
    "SSO_ACR": ("sso_acr", _words),
    "SSO_AMR": ("sso_amr", _words),
    "SSO_ANEW": ("sso_anew", _switch),
    "PASSWORDS": ("passwords_for_all", _passwords),
    "SECOND_FACTOR": ("second_factor", _second_factor),
    "LOG": ("log_form", _form),
    "LOG_LEVEL": ("log_level", _level),
}
