"""What each command says of itself: how to call it, an example, what its exit status means."""

from pathlib import Path

import pytest

from quotelib import cli, resources
from tests import small_list

COMMANDS = ("batch", "check", "measured", "open", "starter")


@pytest.mark.parametrize("command", COMMANDS)
def test_help_has_an_example_and_exit_statuses(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main([command, "--help"])
    assert ended.value.code == 0
    said = capsys.readouterr().out
    assert f"example: quotelib {command} " in said
    assert "exit status: 0 " in said and " 2 it could not" in said


def test_open_lists_the_notebooks(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["open", "--help"])
    lines = capsys.readouterr().out.splitlines()
    assert {f"  {name}" for name in resources.notebook_names()} <= set(lines)


def test_check_takes_a_folder_by_itself(
    copy_of_small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["check", str(copy_of_small)]) == 0
    assert str(copy_of_small) in capsys.readouterr().out
    (copy_of_small / "drives.csv").unlink()
    assert cli.main(["check", str(copy_of_small)]) == 1
    assert cli.main(["check", str(copy_of_small), "--prices", str(copy_of_small)]) == 2


def test_the_customer_stands_beside_the_enquiry(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    enquiries = tmp_path / "e.csv"
    rows = ["enquiry_id,customer,usable_tb", "E-1,Gilt Frames (invented),20", "E-2,,", "E-3,Bo,x"]
    enquiries.write_text("\n".join(rows) + "\n", "utf-8")
    prices = small_list.write(tmp_path / "prices", small_list.copy())
    done = cli.main(
        ["batch", str(enquiries), "--out", str(tmp_path / "o"), "--prices", str(prices)]
    )
    assert done == 1
    said = capsys.readouterr().out
    assert "E-1, Gilt Frames (invented)" in said and "E-3, Bo" in said


@pytest.mark.parametrize(
    ("head", "told"),
    [
        ("Enquiry_ID;Customer;Usable_TB", "separate columns by commas"),
        ("Enquiry_ID,Customer,Usable_TB", "in small letters, such as enquiry_id"),
        ("enquiry_id,customer,Usable TB", "write it as usable_tb"),
    ],
)
def test_a_file_of_another_make_is_told_in_a_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], head: str, told: str
) -> None:
    enquiries = tmp_path / "e.csv"
    enquiries.write_text(f"{head}\nE-1,Bo,20\n", "utf-8")
    assert cli.main(["batch", str(enquiries), "--out", str(tmp_path / "o")]) == 2
    assert told in " ".join(capsys.readouterr().err.split())
