"""Reads pages as a browser without scripts does: texts, links and forms with their values."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Final

VOID: Final = frozenset({"input", "br", "meta", "link", "hr", "img", "use", "path", "line", "rect"})
SILENT: Final = frozenset({"script", "style", "title"})


@dataclass
class Form:
    """A form as it would be sent untouched; `options` are the choices by name."""

    key: str
    action: str
    method: str
    values: dict[str, list[str]] = field(default_factory=dict)
    options: dict[str, list[str]] = field(default_factory=dict)

    def filled(self, typed: dict[str, str | list[str]]) -> dict[str, list[str]]:
        """What is sent after typing; a name that the form does not have is a mistake."""
        unknown = set(typed) - set(self.values) - set(self.options)
        assert not unknown, f"no field {sorted(unknown)} in {self.key}"
        given = {k: [v] if isinstance(v, str) else v for k, v in typed.items()}
        return {name: values for name, values in (self.values | given).items() if values}


class Page(HTMLParser):
    """One page, read."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.html = html
        self.forms: list[Form] = []
        self.links: dict[str, str] = {}
        self.texts: list[str] = []
        self.errors: dict[str, str] = {}
        self.open: list[tuple[str, dict[str, str]]] = []
        self.opened_details: set[str] = set()
        self._form: Form | None = None
        self._select: tuple[str, bool] | None = None
        self._area: str | None = None
        self.feed(html)

    @property
    def text(self) -> str:
        """All that is written on the page, with single blanks."""
        return " ".join(" ".join(self.texts).split())

    @property
    def _is_hidden(self) -> bool:
        return any("hidden" in said for _, said in self.open)

    def form(self, key: str) -> Form:
        """The form of an id, or the one that is sent to an address."""
        found = [form for form in self.forms if key in (form.key, form.action)]
        assert len(found) == 1, f"{key}: {[(f.key, f.action) for f in self.forms]}"
        return found[0]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what opens."""
        said = {name: value or "" for name, value in attrs}
        if "hidden" in said or self._is_hidden:
            self.open += [] if tag in VOID else [(tag, said)]
            return
        if tag not in VOID:
            self.open.append((tag, said))
        if tag == "details" and "open" in said:
            self.opened_details.add(said.get("id", ""))
        if tag == "a":
            self.links[said.get("href", "")] = ""
        if tag == "form":
            self._form = Form(said.get("id", ""), said["action"], said.get("method", "get"))
            self.forms.append(self._form)
        if self._form is not None:
            self._control(self._form, tag, said)

    def handle_endtag(self, tag: str) -> None:
        """Note what closes."""
        if tag in VOID:
            return
        if tag == "form":
            self._form = None
        if tag == "select":
            self._select = None
        if tag == "textarea":
            self._area = None
        while self.open and self.open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        """Note what is written."""
        if self._area is not None and self._form is not None:
            self._form.values[self._area] = [data]
            return
        silent = self._is_hidden or any(tag in SILENT for tag, _ in self.open)
        if silent or not data.strip():
            return
        self.texts.append(data)
        for tag, said in reversed(self.open):
            if tag == "a":
                self.links[said.get("href", "")] += data
            if tag == "p" and said.get("id", "").endswith("-error"):
                self.errors[said["id"].removesuffix("-error")] = data

    def _control(self, form: Form, tag: str, said: dict[str, str]) -> None:
        name = said.get("name", "")
        if tag == "input":
            self._input(form, name, said)
        if tag == "textarea":
            self._area = name
            form.values[name] = [""]
        if tag == "select":
            self._select = (name, False)
            form.options[name] = []
            form.values[name] = []
        if tag == "option" and self._select is not None:
            self._option(form, said)

    def _input(self, form: Form, name: str, said: dict[str, str]) -> None:
        value = said.get("value", "")
        if said.get("type") not in ("radio", "checkbox"):
            form.values[name] = [value]
            return
        form.options.setdefault(name, []).append(value)
        form.values.setdefault(name, [])
        if "checked" in said:
            form.values[name].append(value)

    def _option(self, form: Form, said: dict[str, str]) -> None:
        assert self._select is not None
        name, chosen = self._select
        form.options[name].append(said.get("value", ""))
        if "selected" in said or (not chosen and not form.values[name]):
            form.values[name] = [said.get("value", "")]
            self._select = (name, "selected" in said)
