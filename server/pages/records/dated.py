"""Times on paper: nobody knows when it will be read, so what is of another day carries its date."""

from dataclasses import dataclass
from datetime import datetime

from server.domain.picture import Picture
from server.domain.wording import day_text
from server.pages.episodes.sentences import Speech
from server.pages.page_head import zone_text


@dataclass(frozen=True, slots=True)
class DatedSpeech(Speech):
    """Speech of a paper whose times without a date are those of the ward day of `begun`."""

    begun: datetime

    def time(self, instant: datetime) -> str:
        """A ward time, `14:20`, with date and zone where they are not those of the paper."""
        local, first = instant.astimezone(self.zone), self.begun.astimezone(self.zone)
        zone = "" if local.utcoffset() == first.utcoffset() else f" {local.tzname()}"
        if local.date() == first.date():
            return f"{local:%H:%M}{zone}"
        year = "" if local.year == first.year else f" {local.year}"
        return f"{local.day} {local:%b}{year} {local:%H:%M}{zone}"

    @property
    def day_text(self) -> str:
        """The day of the paper and the zone of its times, `Tue 3 March 2026, GMT`."""
        return f"{self.begun.astimezone(self.zone):%a} {self._day(self.begun)}"

    def full_time(self, instant: datetime) -> str:
        """A ward time with everything: `14:20 on 3 March 2026, GMT`."""
        return f"{instant.astimezone(self.zone):%H:%M} on {self._day(instant)}"

    def _day(self, instant: datetime) -> str:
        return f"{day_text(instant.astimezone(self.zone))}, {zone_text(instant, self.zone)}"


def begun_at(picture: Picture) -> datetime:
    """The instant whose day is the day of the paper: the start, or what was nearest to one."""
    episode, request = picture.episode, picture.case.request
    asked = request.requested_at or request.recorded_at
    return episode.started_at or episode.issued_at or asked
