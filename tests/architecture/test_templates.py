"""The templates as a set: nothing inline, nothing missing, nothing that the policy would block."""

import ast
import re
from html.parser import HTMLParser

from jinja2 import meta

from server.pages.rendering import environment
from server.web_files import static_folder, templates_folder
from tests.architecture.own_files import name_of, own_files, python_files, tree_of

TEMPLATES = own_files("web/templates", ".html")
STATIC = re.compile(r"""["'(]/static/([\w./-]+)""")
JINJA = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)


class Inline(HTMLParser):
    """Collects what a strict content security policy refuses."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = dict(attrs)
        if tag == "style" or (tag == "script" and not names.get("src") and not _is_data(names)):
            self.found.append(f"<{tag}> at line {self.getpos()[0]}")
        self.found += [
            f"{name} at line {self.getpos()[0]}"
            for name in names
            if name == "style" or name.startswith(("on", "hx-on"))
        ]


def _is_data(names: dict[str, str | None]) -> bool:
    return names.get("type") == "application/json"


def _inline(text: str) -> list[str]:
    parser = Inline()
    parser.feed(JINJA.sub(lambda match: "\n" * match.group().count("\n"), text))
    return parser.found


def test_a_template_holds_no_inline_script_or_style() -> None:
    found = {name_of(file): _inline(file.read_text("utf-8")) for file in TEMPLATES}

    assert {name: inline for name, inline in found.items() if inline} == {}
    assert len(found) > 100


def test_what_is_inline_is_noticed() -> None:
    text = (
        "<style>\n</style><p {% if a %}class=b{% endif %} onclick=x style='y'>\n<script>z</script>"
    )

    assert _inline(text) == [
        "<style> at line 1",
        "onclick at line 2",
        "style at line 2",
        "<script> at line 3",
    ]


def test_every_template_loads() -> None:
    names = environment().list_templates()

    assert [environment().get_template(name).name for name in names] == names


def test_what_a_template_names_exists() -> None:
    missing = {name_of(file): _missing(file.read_text("utf-8")) for file in TEMPLATES}

    assert {name: what for name, what in missing.items() if what} == {}


def _missing(text: str) -> list[str]:
    named = [name for name in meta.find_referenced_templates(environment().parse(text)) if name]
    missing = [name for name in named if not (templates_folder() / name).is_file()]
    missing += [name for name in STATIC.findall(text) if not (static_folder() / name).is_file()]
    return sorted(missing)


def test_what_is_missing_is_noticed() -> None:
    text = '{% include "no/such.html" %}<script src="/static/js/none.js"></script>'

    assert _missing(text) == ["js/none.js", "no/such.html"]


def test_every_page_has_a_title_of_its_own() -> None:
    pages = {name_of(file): file.read_text("utf-8") for file in TEMPLATES}
    whole = {name: text for name, text in pages.items() if '{% extends "layouts/' in text}

    untitled = [name for name, text in whole.items() if "{% block title %}" not in text]

    assert untitled == ["web/templates/layouts/page.html"]


def test_every_template_named_in_code_exists() -> None:
    named = {
        node.value
        for file in python_files("server")
        for node in ast.walk(tree_of(file))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and re.fullmatch(r"[\w/-]+\.html", node.value)
    }

    assert sorted(name for name in named if not (templates_folder() / name).is_file()) == []
