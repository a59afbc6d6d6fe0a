"""The columns `when` and `actions` of services.csv, and what is charged once a quote."""

from pathlib import Path

import pytest

from quotelib.catalogue.price_list import read_folder
from tests.services import tables
from tests.small_list import write


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        ({"when": "never"}, "when: 'never' is not known; use always or chosen"),
        ({"when": "Chosen"}, "when: 'Chosen' is not known; use always or chosen"),
        (
            {"per": "offer"},
            "per: 'offer' is not known; use build, drive, controller, array or quote",
        ),
        ({"actions": "new;sell"}, "actions: 'new;sell' has 'sell' in its list, which is not known"),
        ({"actions": "new;new"}, "actions: 'new;new' names 'new' twice"),
        ({"unit_price": "-1"}, "unit_price: '-1' is negative"),
        ({"sku": "DISK-4T"}, "sku: 'DISK-4T' is a sku of drives.csv too"),
    ],
)
def test_what_is_wrong_is_told_by_row_and_column(
    cells: dict[str, str], told: str, tmp_path: Path
) -> None:
    broken = tables()
    next(row for row in broken["services.csv"] if row["sku"] == "MOVE").update(cells)
    found, problems = read_folder(write(tmp_path / "list", broken))
    assert found is None
    (problem,) = problems
    assert str(problem).startswith(f"services.csv, row 11, {told}")


def test_blank_cells_mean_what_the_readme_says(tmp_path: Path) -> None:
    found, problems = read_folder(write(tmp_path / "list", tables()))
    assert found is not None and problems == []
    services = found.services
    assert {sku for sku, service in services.items() if service.when == "always"} == {
        *("ASSEMBLE", "FIT-DRIVE", "FIT-CARD", "ARRAY", "PAPER")
    }
    assert services["TUNE"].actions == ("new", "replace")
    assert (services["MOVE"].per, services["MOVE"].actions) == ("quote", ())
