"""The forms on the page of a unit, drawn from the table of forms; a refused one as it was typed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final

from server.domain.words import Confirmation, Kind
from server.pages.episodes.pathway import Act
from server.pages.event_forms import EventForm, form_of
from server.pages.forms.entry import Entry, Wrong, instant_values
from server.pages.forms.fields import Field, Shape
from server.pages.forms.views import FieldView, Surroundings, field_view, field_views, form_errors
from server.services.actor import Actor
from server.services.permissions import act_of, may

HAPPENED: Final = Field("happened_at", "Happened at", Shape.INSTANT, required=True)


@dataclass(frozen=True, slots=True)
class Sent:
    """A form that was sent and refused; `key` says which of the page's forms it was."""

    key: str
    entry: Entry
    wrong: Wrong


@dataclass(frozen=True, slots=True)
class FormView:
    """One form. `hidden` are (name, value); `refused` opens whatever it is folded into."""

    key: str
    kind: str
    href: str
    title: str
    button: str
    tone: str
    note: str
    fields: tuple[FieldView, ...]
    happened: FieldView | None
    hidden: tuple[tuple[str, str], ...]
    errors: Mapping[str, str]
    phase: str
    csrf_token: str
    refused: bool
    confirm: str = ""


def stray_errors(shown: Iterable[FormView], sent: Sent | None) -> Mapping[str, str]:
    """What is wrong with a form that is not (any more) among those that the page shows."""
    if sent is None or any(form.refused for form in shown):
        return {}
    return sent.wrong.errors


@dataclass(frozen=True, slots=True)
class Desk:
    """What all forms of one page share. `revision` is the unit's as the page shows it.

    `still`: the page shows the past, and nobody records anything on it.
    """

    actor: Actor
    ward_id: str
    href: str
    press_href: str
    csrf_token: str
    revision: int
    now: datetime
    around: Surroundings
    sent: Sent | None = None
    defaults: Mapping[Kind, Mapping[str, str]] = field(default_factory=dict)
    notes: Mapping[Kind, str] = field(default_factory=dict)
    still: bool = False

    def may(self, kind: Kind, voided: Kind | None = None) -> bool:
        """Whether the person may record such an event, or take one of the kind `voided` back."""
        return not self.still and may(self.actor, act_of(kind, voided), self.ward_id)

    def may_act(self, act: Act) -> bool:
        """Whether the person may record such an event, or confirm such a step."""
        return self.may(Kind.CONFIRMED if isinstance(act, Confirmation) else act)

    def forms(self, kinds: tuple[Kind, ...], place: str) -> tuple[FormView, ...]:
        """The forms of these kinds that the person may use."""
        return tuple(self.form(kind, place) for kind in kinds if self.may(kind))

    def act_form(self, act: Act, place: str) -> FormView:
        """The form of a kind of event, or of a step that is confirmed."""
        if isinstance(act, Confirmation):
            return self.form(Kind.CONFIRMED, place, step=act.value)
        return self.form(act, place)

    def form(self, kind: Kind, place: str, **hidden: str) -> FormView:
        """One form at one place of the page."""
        step = hidden.get("step") if kind is Kind.CONFIRMED else None
        form = form_of(kind, None if step is None else Confirmation(step))
        key = f"{place}-{kind}"
        entry, wrong = self._typed(form, key)
        return FormView(
            key=key,
            kind=kind.value,
            href=self.href,
            title=form.title,
            button=form.button,
            tone=form.tone,
            note=self.notes.get(kind, form.note),
            fields=field_views(form.fields, entry, self.around),
            happened=field_view(HAPPENED, entry, self.around) if form.timed else None,
            hidden=self._hidden(form, key, hidden),
            errors=form_errors(entry, wrong.errors) if wrong else {},
            phase=wrong.phase if wrong else "",
            csrf_token=self.csrf_token,
            refused=wrong is not None,
            confirm=wrong.confirm if wrong else "",
        )

    def press(self, key: str, button: str, facts: tuple[str, ...], note: str = "") -> FormView:
        """A form of one button that records several facts together, as `bare_facts` names them."""
        mine = self.sent is not None and self.sent.key == key
        wrong = self.sent.wrong if self.sent is not None and mine else None
        seen = str(self.revision)
        hidden = [("form_key", key), ("seen", seen), ("facts", " ".join(facts))]
        return FormView(
            key=key,
            kind="",
            href=self.press_href,
            title=button,
            button=button,
            tone="",
            note=note,
            fields=(),
            happened=None,
            hidden=tuple(hidden),
            errors=dict(wrong.errors) if wrong else {},
            phase=wrong.phase if wrong else "",
            csrf_token=self.csrf_token,
            refused=wrong is not None,
        )

    def touch(self, kind: Kind, place: str, button: str, **hidden: str) -> FormView:
        """A form of one button: everything it says is known already."""
        full = self.form(kind, place, **hidden)
        return replace(full, button=button, note="", fields=(), happened=None)

    def _typed(self, form: EventForm, key: str) -> tuple[Entry, Wrong | None]:
        if self.sent is not None and self.sent.key == key:
            return self.sent.entry, self.sent.wrong
        values = instant_values(HAPPENED.name, self.now, self.around.zone)
        known = self.defaults.get(form.kind, {})
        return Entry(values | {name: [value] for name, value in known.items()}), None

    def _hidden(
        self, form: EventForm, key: str, hidden: Mapping[str, str]
    ) -> tuple[tuple[str, str], ...]:
        # A field named "form" would hide the form itself from scripts.
        always = {"kind": form.kind.value, "form_key": key, "seen": str(self.revision)}
        guard = {"revision": str(self.revision)} if form.guarded else {}
        return tuple({**always, **guard, **hidden}.items())
