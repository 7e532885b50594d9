"""What was typed into a form: read field by field, every refusal kept beside its field.

Reading a field that cannot be read answers None and remembers why, so that one look shows all
that is wrong. `check` then raises `Wrong` if anything was.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Final
from zoneinfo import ZoneInfo

from server.pages.forms.ward_time import (
    TypedTime,
    WardTimeError,
    instant_of,
    read_day,
    typed_time,
    with_choices,
)

_NUMBER: Final = re.compile(r"-?\d{1,9}(\.\d{1,4}|,\d{1,2})?", re.ASCII)
_WHOLE: Final = re.compile(r"-?\d{1,9}", re.ASCII)
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
MISSING: Final = "nothing was entered; this is needed"
NO_TIME: Final = "no time was entered; expected for example 14:20"


class Wrong(Exception):
    """A form that was refused: why, by field; "form" is the whole of it. `status` is HTTP's.

    With `confirm` the errors are questions, and the same form with that confirmation is taken.
    """

    def __init__(
        self, errors: Mapping[str, str], *, status: int = 422, phase: str = "", confirm: str = ""
    ) -> None:
        super().__init__("; ".join(f"{name}: {why}" for name, why in errors.items()))
        self.errors = dict(errors)
        self.status = status
        self.phase = phase
        self.confirm = confirm


class Entry:
    """The typed values of one form, and what is wrong with them."""

    def __init__(self, values: Mapping[str, Sequence[str]] | None = None) -> None:
        self._values = {name: list(texts) for name, texts in (values or {}).items()}
        self.errors: dict[str, str] = {}

    def __contains__(self, name: str) -> bool:
        return name in self._values

    @property
    def values(self) -> Mapping[str, Sequence[str]]:
        """Everything that was typed, as it was typed."""
        return self._values

    def raw(self, name: str) -> str:
        """The text of a field as it was typed, empty when there is none."""
        texts = self._values.get(name)
        return texts[-1] if texts else ""

    def all(self, name: str) -> tuple[str, ...]:
        """Every value that was chosen or typed under one name, without blank ones."""
        return tuple(text.strip() for text in self._values.get(name, ()) if text.strip())

    def refuse(self, name: str, why: str) -> None:
        """Remember the first thing that is wrong with a field."""
        self.errors.setdefault(name, why)

    def check(self) -> None:
        """Raise `Wrong` if anything was refused."""
        if self.errors:
            raise Wrong(self.errors)

    def text(self, name: str, *, required: bool = False) -> str | None:
        """A text without the blanks around it."""
        typed = self.raw(name).strip()
        if not typed and required:
            self.refuse(name, MISSING)
        if _CONTROL.search(typed):
            self.refuse(name, "holds a character that cannot be kept")
        return typed or None

    def number(self, name: str, *, required: bool = False) -> float | None:
        """A number with a point or, for one or two decimals, a comma."""
        typed = self.text(name, required=required)
        if typed is None:
            return None
        if not _NUMBER.fullmatch(typed):
            self.refuse(name, f"“{typed[:20]}” is not a number; expected for example 36.8")
            return None
        return float(typed.replace(",", "."))

    def whole(self, name: str, *, required: bool = False) -> int | None:
        """A whole number."""
        typed = self.text(name, required=required)
        if typed is not None and not _WHOLE.fullmatch(typed):
            self.refuse(name, f"“{typed[:20]}” is not a whole number")
            return None
        return None if typed is None else int(typed)

    def choice(self, name: str, options: Iterable[str], *, required: bool = False) -> str | None:
        """One of a few values."""
        chosen = self.text(name, required=required)
        if chosen is not None and chosen not in options:
            self.refuse(name, "is none of the choices")
            return None
        return chosen

    def yes_no(self, name: str) -> bool | None:
        """A yes, a no, or nothing said."""
        return {"true": True, "false": False}.get(self.raw(name))

    def day(self, name: str, *, required: bool = False) -> date | None:
        """A calendar day."""
        typed = self.text(name, required=required)
        try:
            return None if typed is None else read_day(typed)
        except WardTimeError as wrong:
            self.refuse(name, str(wrong))
            return None

    def typed(self, name: str, zone: ZoneInfo) -> TypedTime:
        """The fields of an instant as they were typed."""
        day, clock, which = (self.raw(f"{name}_{part}") for part in ("date", "time", "which"))
        return with_choices(TypedTime(day, clock, which), zone)

    def instant(
        self, name: str, zone: ZoneInfo, *, required: bool = False, day: str = ""
    ) -> datetime | None:
        """A ward-local date and time as a UTC instant; a time without a date is of `day`."""
        typed = self.typed(name, zone)
        if typed.is_blank:
            if required or typed.day.strip():
                self.refuse(name, NO_TIME)
            return None
        try:
            return instant_of(replace(typed, day=typed.day.strip() or day), zone)
        except WardTimeError as wrong:
            self.refuse(name, str(wrong))
            return None


def instant_values(name: str, instant: datetime, zone: ZoneInfo) -> dict[str, list[str]]:
    """Answer the typed values that stand for an instant, for a form that is filled in."""
    typed = typed_time(instant, zone)
    parts = {"date": typed.day, "time": typed.clock, "which": typed.which}
    return {f"{name}_{part}": [text] for part, text in parts.items()}
