"""What the demonstration prints: where it is, who can sign in, how to stop."""

from dataclasses import dataclass
from typing import Final

from seed_demo.badges import PIN, SIGN_IN, badge_of
from seed_demo.set_up import WARD_NAME
from seed_demo.staff import EVERYBODY, PASSWORD, WARD_ID
from server.domain.words import Role

CAUTION: Final = (
    "Everything here is invented. Fourth Hour supports, and does not replace, local policy,\n"
    "  the laboratory's issue decision and professional judgement; it is not a medical device."
)
IN_A_LINE: Final = 4
ROLES: Final = {
    Role.CHARGE_NURSE: "charge nurse",
    Role.BEDSIDE_NURSE: "bedside nurse",
    Role.MANAGER: "manager",
    Role.ADMINISTRATOR: "administrator",
}


@dataclass(frozen=True, slots=True)
class Place:
    """Where the demonstration runs. `kept` says whether the database stays at the end.

    `proposal` is the plan that waits for somebody to look at it, None where the ward goes on.
    """

    address: str
    wall_secret: str
    database: str
    kept: bool
    speed: float
    proposal: str | None = None


def banner(place: Place) -> str:
    """The text to print once the ward is ready."""
    return "\n".join(
        (
            "",
            f"  {WARD_NAME}",
            f"  {CAUTION}",
            "",
            f"  Open      {place.address}/",
            f"  Wall      {place.address}/wall/{place.wall_secret}",
            "            (no sign-in, beds and initials only)",
            *_plans(place),
            "",
            *_people(),
            "",
            f"  Time      {_time(place.speed)}",
            f"  Database  {place.database}",
            f"            ({'kept' if place.kept else 'removed at the end; --keep keeps it'})",
            "  Stop      Ctrl+C",
            "",
            "",
        )
    )


def told(database: str) -> str:
    """The text to print where the ward was only told: who can sign in, how to serve it."""
    return "\n".join(
        (
            "",
            f"  {WARD_NAME}",
            f"  {CAUTION}",
            "",
            *_people(),
            "",
            f"  Database  {database}",
            f"  Serve     FOURTH_HOUR_DATABASE={database} fourth-hour serve",
            "",
            "",
        )
    )


def _people() -> list[str]:
    password = f"  Password  {PASSWORD}  (for all of them, in this database only)"
    return [*_accounts(), password, *_badges()]


def _plans(place: Place) -> list[str]:
    """The address of the plan in force, and of the one that is only proposed."""
    address = f"{place.address}/wards/{WARD_ID}/plan"
    lines = [f"  Plan      {address}"]
    if place.proposal is not None:
        lines.append(f"            {address}?version={place.proposal}")
        lines.append("            (another is proposed for while a patient is away for a scan)")
    return lines


def _accounts() -> list[str]:
    lines: list[str] = []
    for role, words in ROLES.items():
        names = [one.sign_in_name for one in EVERYBODY if one.role is role and one.sign_in_name]
        label = "" if lines else "Sign in"
        lines.append(f"  {label:<8}  as {words:<14} {', '.join(names)}")
    return lines


def _badges() -> list[str]:
    """Which badge is whose, three in a line, and the PIN of them all."""
    said = [f"{badge_of(person)} {person.sign_in_name}" for person in SIGN_IN]
    lines = [", ".join(said[n : n + IN_A_LINE]) for n in range(0, len(said), IN_A_LINE)]
    labels = ["Badge", *[""] * (len(lines) - 1)]
    shown = [f"  {label:<8}  {line}" for label, line in zip(labels, lines, strict=True)]
    return [*shown, f"  PIN       {PIN}  (for all of them)"]


def _time(speed: float) -> str:
    if speed == 1:
        return "as it passes; --speed 60 makes a second a minute"
    return f"{speed:g} times as fast as it passes"
