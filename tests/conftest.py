"""Options and fixtures that all tests share."""

from __future__ import annotations

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--renew", action="store_true", help="write the golden pages anew instead of comparing with them")


@pytest.fixture
def renew(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--renew"))
