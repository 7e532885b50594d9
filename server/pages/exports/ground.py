"""What every table of an export is made from: who asks, for which ward and days."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from server import __version__
from server.domain.wording import day_text
from server.exchange.sheets.common import Maker
from server.pages.forms.entry import Entry
from server.pages.ward_setting import ROLE
from server.services.actor import Actor
from server.services.passed_limits import Period
from server.store.sessions import ReadSession
from server.store.wards import Ward


class Naming(StrEnum):
    """Whether a table names patients: if one wants it to, always, or never."""

    CHOICE = "choice"
    ALWAYS = "always"
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class Ground:
    """Who asks for which table, of which ward and days, and what was typed besides."""

    session: ReadSession
    actor: Actor
    ward: Ward
    period: Period
    days: tuple[date, date]
    asked: Entry
    now: datetime

    @property
    def maker(self) -> Maker:
        """What every file of it says."""
        return Maker(self.ward, ROLE[self.actor.role], self.now, __version__)

    def only(self, what: str) -> str:
        """The days in words: `units that came from 1 October to 31 October 2026`."""
        first, last = map(day_text, self.days)
        return f"{what} from {first} to {last}, days of the ward, both included"
