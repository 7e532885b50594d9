"""What the set-up screens share: one look at the database for the head, one form that is tried."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from fastapi import Request, Response

from server.pages.answers import attempt, done
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.once import once
from server.pages.forms.views import Surroundings
from server.pages.page_head import PageHead
from server.pages.tables import Sheet, form_page, plain_form
from server.pages.visitors import Visitor, now_of
from server.pages.ward_setting import WardSetting, head_of, ward_setting
from server.store.sessions import WriteSession

ALL_WARDS: Final = "All my wards"


@dataclass(frozen=True, slots=True)
class Screen:
    """A request with who made it and when; `name` is the screen's in the links."""

    request: Request
    visitor: Visitor
    name: str
    ward_id: str | None = None

    @property
    def now(self) -> datetime:
        """The present instant."""
        return now_of(self.request)

    @property
    def store(self) -> Any:
        """The database."""
        return self.request.app.state.store

    def setting(self) -> WardSetting:
        """The ward of the screen. Raises `NotFound`, `Forbidden`."""
        with self.store.read() as session:
            return ward_setting(session, self.visitor.actor, self.now, self.ward_id)

    def head(self, setting: WardSetting) -> PageHead:
        """The head of the page."""
        return head_of(self.visitor, setting, self.now, self.name)

    def head_of_all(self, setting: WardSetting) -> PageHead:
        """The head of a page of all wards of the person; links lead to the first of them."""
        return replace(self.head(setting), ward_name=ALL_WARDS)

    def form(
        self,
        sheet: Sheet,
        entry: Entry,
        around: Surroundings | None = None,
        wrong: Wrong | None = None,
    ) -> Response:
        """A form on a page of its own; refused: with what was typed and why."""
        setting = self.setting()
        form = plain_form(
            sheet, entry, around or Surroundings(setting.zone), self.visitor.csrf_token, wrong
        )
        return form_page(self.head(setting), form, status=wrong.status if wrong else 200)

    def write_once(self, typed: Entry, act: Callable[[WriteSession], str]) -> str:
        """Write what a form asks in one transaction, once however often it is sent.

        Answers where it leads, as `act` does.
        """
        with self.store.write() as session:
            path = self.request.url.path
            actor = self.visitor.actor
            return once(session, actor, typed, lambda: act(session), path=path, now=self.now)

    def try_form(
        self, typed: Entry, act: Callable[[], str], again: Callable[[Wrong], Response]
    ) -> Response:
        """Do what a form asks and go on to the address that `act` answers."""
        return attempt(self.visitor, typed, lambda: done(act()), again)
