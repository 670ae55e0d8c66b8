"""The browser that all tests in a browser share."""

from tests.views.conftest import browser

__all__ = ["browser"]
