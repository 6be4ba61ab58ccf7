"""Which check row of the engineering numbers a test holds: its id, in the id of the test."""

from __future__ import annotations

import pytest


def row(text: str) -> pytest.MarkDecorator:
    """Put `text`, row ids and their source, into the id of a test that has no parameters.

    ``tests/architecture/test_check_rows.py`` looks for all ids.
    """
    return pytest.mark.parametrize((), [pytest.param(id=text)])
