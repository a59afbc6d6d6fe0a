"""What these tests share: the browser of the end-to-end tests."""

from tests.end_to_end.conftest import browser

__all__ = ["browser"]
