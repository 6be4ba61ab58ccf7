"""Options and fixtures of all tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# A slow or busy machine must not fail a test; speed is a matter of the benchmarks.
settings.register_profile("calm", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("calm")

GOLDEN = Path(__file__).parent / "golden"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update-golden", action="store_true", help="rewrite tests/golden")


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with the file of that name; the diff of a rewrite is reviewed as code."""

    def check(name: str, text: str) -> None:
        path = GOLDEN / name
        text = "\n".join(line.rstrip() for line in text.splitlines()) + "\n"
        if request.config.getoption("--update-golden"):
            path.write_text(text, encoding="utf-8")
            return
        assert path.exists(), f"{path} is missing; make it with --update-golden and read it"
        assert text == path.read_text(encoding="utf-8")

    return check
