"""A route without a rule of who may ask it fails here: nobody has to remember to write one."""

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest
from fastapi import FastAPI

from server import pages
from server.api import routes
from server.api.router import PREFIX
from server.app import create_app
from server.pages import SCREENS
from server.settings import Settings
from tests.api.test_permissions import ASKED, ONE, OPEN
from tests.architecture.own_files import python_files
from tests.pages.route_rules import RULES

OUTSIDE_OF_ROUTERS = {
    "/static": "files of the program: no patient, no ward",
    "/api/openapi.json": "the interface as published",
}


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> FastAPI:
    """The application as it is served; nothing is asked of it."""
    file = tmp_path_factory.mktemp("rules") / "board.db"
    return create_app(Settings(database=f"sqlite:///{file}"), run_jobs=False)


def page_routes() -> Iterator[str]:
    """Every route of the pages with its method; HEAD is answered as GET."""
    for screen in SCREENS:
        for route in screen.router.routes:
            methods = getattr(route, "methods", None) or {"GET"}
            yield from (f"{method} {route.path}" for method in methods - {"HEAD"})


def test_every_route_of_the_pages_has_a_rule_and_every_rule_a_route() -> None:
    assert sorted(page_routes()) == sorted(RULES)


def test_every_route_of_the_interface_has_a_rule(app: FastAPI) -> None:
    document = app.openapi()["paths"]
    said = {(verb.upper(), path) for path, item in document.items() for verb in item}
    ruled = {(route.method, ONE.sub("/{id}", route.path.split("?")[0])) for route in ASKED}
    tried = {(verb, path.replace("/start/1/", "/{clock}/{n}/")) for verb, path in ruled}

    assert {(verb, path) for verb, path in said if path not in OPEN} == tried


def test_no_route_of_the_interface_is_left_out_of_its_document(app: FastAPI) -> None:
    document = app.openapi()["paths"]
    named = {module.name for module in iter_modules(routes.__path__)}
    modules = [import_module(f"{routes.__name__}.{name}") for name in named]
    paths = {route.path for module in modules for route in module.router.routes}

    assert {path.removeprefix(PREFIX) for path in document} == paths


def test_nothing_is_answered_outside_of_the_two_routers(app: FastAPI) -> None:
    named = [path for route in app.routes if (path := getattr(route, "path", None))]

    assert sorted(named) == sorted(OUTSIDE_OF_ROUTERS)
    assert len(app.routes) == len(OUTSIDE_OF_ROUTERS) + 2


def test_no_file_of_pages_makes_a_router_that_no_list_holds() -> None:
    listed = {Path(screen.__file__ or "") for screen in SCREENS}
    makers = {
        file for file in python_files("server/pages") if "APIRouter(" in file.read_text("utf-8")
    }

    assert makers - {Path(pages.__file__)} == listed
