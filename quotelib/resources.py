"""Where are the files that ship with the package: templates and notebooks."""

import shutil
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _shipped(name: str) -> Path:
    inside = _PACKAGE / name  # an installed wheel
    return inside if inside.is_dir() else _PACKAGE.parent / name  # a checkout


def templates() -> Path:
    """Give the folder of templates."""
    return _shipped("templates")


def notebooks() -> Path:
    """Give the folder of notebooks."""
    return _shipped("notebooks")


def notebook_names() -> list[str]:
    """List the notebooks that can be opened."""
    return sorted(path.stem for path in notebooks().glob("*.ipynb"))


def languages() -> tuple[str, ...]:
    """List the languages that an offer can be written in: each is a file of texts."""
    return tuple(sorted(path.stem for path in (templates() / "texts").glob("*.toml")))


def starter_prices() -> Path:
    """Give the folder of the starter price list (invented demo data)."""
    return templates() / "price_list"


def copy_starter_prices(folder: Path) -> None:
    """Copy the starter price list into a folder that is not there yet."""
    folder.mkdir(parents=True)
    for path in starter_prices().iterdir():
        # Not who may read it: of a copy the user's umask says that.
        shutil.copyfile(path, folder / path.name)


def demo_enquiries() -> Path:
    """Give the example enquiries (invented demo data)."""
    return templates() / "enquiries.csv"


def a_day() -> Path:
    """Give the file of the thirty enquiries of a day, as far as they are answered."""
    return templates() / "a_day.csv"
