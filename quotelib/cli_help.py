"""What is said at the end of each command's help: an example, and what its exit status means."""

from quotelib import resources

_BATCH = """example: quotelib batch enquiries.csv --prices price_list --out quotes

exit status: 0 every enquiry is quoted or held, 1 some are not, 2 it could not run."""
_CHECK = """example: quotelib check price_list

exit status: 0 no problem, 1 problems, 2 it could not run."""
_STARTER = """example: quotelib starter my_shop

exit status: 0 copied, 2 it could not run."""
_MEASURED = """example: quotelib measured records/E-1.json fio.json

exit status: 0 nothing is worse than quoted, 1 something is or could not be used, 2 it could not
run."""
_OPEN = """notebooks:
{names}

example: quotelib open quote_one_customer --prices price_list --out quotes

exit status: 0 it was stopped with Ctrl and C, 2 it could not run."""


def ending(command: str) -> str:
    """Give the end of a command's help; blank where there is nothing to add."""
    names = "\n".join(f"  {name}" for name in resources.notebook_names())
    ends = {
        "batch": _BATCH,
        "check": _CHECK,
        "starter": _STARTER,
        "measured": _MEASURED,
        "open": _OPEN.format(names=names),
    }
    return ends.get(command, "")
