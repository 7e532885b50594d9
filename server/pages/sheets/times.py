"""How a sheet tells times: it is read later, and by then nobody knows which day was meant."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from server.domain.wording import day_text, stamp
from server.pages.page_head import zone_text


@dataclass(frozen=True, slots=True)
class Times:
    """Times of a ward in `zone`, on a sheet that was made at `now`."""

    now: datetime
    zone: ZoneInfo

    def short(self, instant: datetime) -> str:
        """The wall time, `14:20`; of another day than the sheet's with its day, `Sat 00:30`."""
        local = instant.astimezone(self.zone)
        same = local.date() == self.now.astimezone(self.zone).date()
        return f"{local:%H:%M}" if same else f"{local:%a %H:%M}"

    def dated(self, instant: datetime) -> str:
        """The wall time with its date, `Fri 27 Nov 14:20`."""
        return stamp(instant, self.zone)

    def full(self, instant: datetime) -> str:
        """To the second, with date and zone, `14:10:32 GMT on 27 November 2026`."""
        local = instant.astimezone(self.zone)
        return f"{local:%H:%M:%S} {zone_text(instant, self.zone)} on {day_text(local.date())}"
