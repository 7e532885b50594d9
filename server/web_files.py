"""Where templates and static files are: beside `server` in a checkout, inside it when installed."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent


def web_folder() -> Path:
    """The folder that holds `templates` and `static`."""
    packed = PACKAGE / "_web"
    return packed if packed.is_dir() else PACKAGE.parent / "web"


def templates_folder() -> Path:
    """The root that template names are relative to."""
    return web_folder() / "templates"


def static_folder() -> Path:
    """The root of what is served under `/static`."""
    return web_folder() / "static"
