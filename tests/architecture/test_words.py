"""Shipped text speaks of the product: not of who wrote it, how, where, or what is still missing."""

import codecs
import re
from pathlib import Path

import pytest

from tests.architecture.own_files import name_of, own_files
from tests.conftest import PROJECT

ENDINGS = (".py", ".md", ".html", ".css", ".js", ".toml", ".yml", ".csv", ".mako", ".ini")
FOLDERS = ("server", "seed_demo", "tests", "web", ".ci")
# Turned by thirteen letters, so that this file may stand beside the others.
TURNED = (
    r"pynhqr|nagugebcvp|bcranv|pungtcg|tcg-?\q|pbcvybg|ynathntr zbqry|\oyyzf?\o",
    r"pb-nhgube|trarengrq (ol|jvgu)|nf erdhrfgrq|gur oevrs\o",
    r"/jbex/|/gzc/cyna|funerq/(qrfvta|ehyrf|pbagenpg|fgnpx|ersrerapr|fxrgpu)",
    r"\o(qrfvta|ehyrf|pbagenpg|fgnpx)\.zq",
    r"(?-v:GBQB|SVKZR|KKK)|whfg sbe abj|sbe abj\.|\ofghof?\o|abg lrg (vzcyrzragrq|qbar)",
    r"\o(vffhr|gvpxrg) #?\q",
)
FORBIDDEN = re.compile(codecs.decode("|".join(TURNED), "rot13"), re.IGNORECASE)


def _texts() -> list[Path]:
    inside = [file for folder in FOLDERS for file in own_files(folder, *ENDINGS)]
    top = [file for file in PROJECT.iterdir() if file.suffix in ENDINGS]
    return sorted([*inside, *top, PROJECT / ".ci" / "run"])


def test_every_file_speaks_of_the_product_only() -> None:
    texts = {name_of(file): file.read_text("utf-8") for file in _texts()}

    found = {name: _forbidden(text) for name, text in texts.items() if FORBIDDEN.search(text)}

    assert found == {}
    assert len(texts) > 1_000


def _forbidden(text: str) -> list[str]:
    lines = enumerate(text.splitlines(), 1)
    return [f"{n}: {line}" for n, line in lines if FORBIDDEN.search(line)]


@pytest.mark.parametrize("turned", ["GBQB: svavfu", "whfg sbe abj", "frr qrfvta.zq", "vffhr 2"])
def test_a_forbidden_word_is_noticed(turned: str) -> None:
    assert FORBIDDEN.search(codecs.decode(turned, "rot13"))
