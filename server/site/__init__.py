"""The folder of a site: what its hospital alone can say, read strictly.

`compatibility.toml`, `wristband.toml` and `audits.toml` come as examples; what the folder lacks is
taken from them. `products.csv` and `special_testing.csv` translate codes that are under licence:
they are the hospital's own and never shipped.
"""

from importlib.resources import files
from pathlib import Path
from typing import Final

from server.domain.policy import PolicyError
from server.domain.policy.opened import near
from server.domain.site import Site
from server.site.audits import read_audits
from server.site.coded import read_products, read_special_testing
from server.site.compatibility import read_compatibility
from server.site.wristband import read_wristband

COMPATIBILITY: Final = "compatibility.toml"
WRISTBAND: Final = "wristband.toml"
AUDITS: Final = "audits.toml"
PRODUCTS: Final = "products.csv"
SPECIAL_TESTING: Final = "special_testing.csv"
EXAMPLES: Final = (COMPATIBILITY, WRISTBAND, AUDITS)
FILES: Final = (*EXAMPLES, PRODUCTS, SPECIAL_TESTING)


def load_site(folder: Path | None = None) -> Site:
    """Read a site's folder; without one, the shipped examples.

    Raises `PolicyError` for the first file that is wrong or that no site has,
    `NotADirectoryError` if there is no such folder.
    """
    if folder is not None:
        _refuse_unknown(folder)
    products, testing = _own(folder, PRODUCTS), _own(folder, SPECIAL_TESTING)
    return Site(
        compatibility=read_compatibility(_own_or_example(folder, COMPATIBILITY)),
        products={} if products is None else read_products(products),
        special_testing={} if testing is None else read_special_testing(testing),
        record_number=read_wristband(_own_or_example(folder, WRISTBAND)),
        audits=read_audits(_own_or_example(folder, AUDITS)),
    )


def example(name: str) -> str:
    """Answer a shipped example as it is written. Raises `KeyError` for any other file."""
    if name not in EXAMPLES:
        raise KeyError(name)
    return files(__name__).joinpath(name).read_text(encoding="utf-8")


def _refuse_unknown(folder: Path) -> None:
    """A file by a slip of its name would silently not count."""
    if not folder.is_dir():
        raise NotADirectoryError(folder)
    for path in sorted(folder.iterdir()):
        if path.suffix in (".toml", ".csv") and path.name not in FILES:
            raise PolicyError(path.name, 1, f"no site has such a file; {near(path.name, FILES)}")


def _own_or_example(folder: Path | None, name: str) -> str:
    own = _own(folder, name)
    return example(name) if own is None else own


def _own(folder: Path | None, name: str) -> str | None:
    """The text of a file of the folder, None where there is none."""
    path = None if folder is None else folder / name
    if path is None or not path.is_file():
        return None
    data = path.read_bytes()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = 1 + data[: error.start].count(b"\n")
        raise PolicyError(name, line, "not UTF-8; expected a UTF-8 text") from error
