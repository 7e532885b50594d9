"""The page around a board, drawn without it: the board itself is put in as bytes."""

from functools import cache
from typing import Final

from jinja2 import ChoiceLoader, DictLoader, Environment

from server.pages.board_view import BoardView
from server.pages.boards.faces import FACES, Face
from server.pages.page_head import PageHead
from server.pages.rendering import environment

HOLE: Final = "<!--board-->"


def shell_around(face: Face, head: PageHead, board: BoardView) -> tuple[bytes, bytes]:
    """Answer what stands before and after the board on its page."""
    page = _environment().get_template(face.page).render(head=head, board=board)
    before, _hole, after = page.partition(HOLE)
    return before.encode(), after.encode()


@cache
def _environment() -> Environment:
    """The pages' own templates, but for the boards themselves."""
    holes = DictLoader({face.rows: HOLE for face in FACES})
    loader = environment().loader
    assert loader is not None  # noqa: S101 - the pages have templates
    return environment().overlay(loader=ChoiceLoader([holes, loader]))
