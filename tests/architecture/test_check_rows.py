"""Every check row of the engineering numbers is held by a test that says so in its id.

The rows are published examples and exact definitions; each has its number, tolerance and source
at its test. Here are their ids only, so that no row goes missing when tests are moved.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
COUNTS = {
    "U": 22, "P": 14, "H": 23, "D": 10, "V": 34, "Y": 43, "M": 8, "W": 42, "T": 18, "L": 12,
    "K": 5, "B": 9,
}  # fmt: skip
"""Units, pumps, hook load, depth, volumes, hydraulics, energy, well control, trips, drilling
line, connections, hoisting: rows of numbers in each."""
NUMBERS = tuple(f"{letter}{n:02}" for letter, count in COUNTS.items() for n in range(1, count + 1))
MISPRINTS = ("P08", "P09", "Y19", "M01", "W06", "W07", "L03")
"""A published number is wrong: the test shows that it is not reproduced."""
CASES = tuple(f"G{n:02}" for n in range(1, 34))
"""Cases at the edge: what must come out, not which number."""
ROW = re.compile(r"(?<![A-Za-z0-9])[A-Z][0-9]{2}(?![0-9A-Za-z])")


def ids_of(nodes: Iterable[str]) -> dict[str, list[str]]:
    """Map each row id to the ids of the tests that name it between their brackets."""
    found: dict[str, list[str]] = {}
    for node in nodes:
        _, bracket, inside = node.partition("[")
        for row in set(ROW.findall(inside)) if bracket else ():
            found.setdefault(row, []).append(node)
    return found


@pytest.fixture(scope="module")
def held() -> dict[str, list[str]]:
    """Return the rows of all tests of the engine, collected in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", "tests/engine", "tests/scenarios"],
        capture_output=True, text=True, cwd=ROOT, check=False
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return ids_of(line for line in done.stdout.splitlines() if "::" in line)


def test_there_are_240_rows_of_numbers() -> None:
    assert len(NUMBERS) == len(set(NUMBERS)) == 240
    assert set(MISPRINTS) < set(NUMBERS)


def test_every_row_of_numbers_is_a_test(held: dict[str, list[str]]) -> None:
    assert [row for row in NUMBERS if row not in held] == []


def test_every_case_at_the_edge_is_a_test(held: dict[str, list[str]]) -> None:
    assert [row for row in CASES if row not in held] == []


def test_every_misprint_is_named_as_not_copied(held: dict[str, list[str]]) -> None:
    bare = [
        row for row in MISPRINTS if not any(" not " in f" {test} " for test in held.get(row, []))
    ]
    assert bare == []


def test_no_test_names_a_row_that_there_is_not(held: dict[str, list[str]]) -> None:
    """A slip such as G35 or W43 would leave its row without a test."""
    letters = {*COUNTS, "G"}
    assert [r for r in held if r[0] in letters and r not in {*NUMBERS, *CASES}] == []


@pytest.mark.parametrize(
    ("node", "rows"),
    [
        ("a.py::test_x[P10 [A], P11 own]", {"P10", "P11"}),
        ("a.py::test_x[P10-[A] bore-P11]", {"P10", "P11"}),
        ("a.py::test_p10[P100]", set()),
        ("a.py::test_P10", set()),
        ("a.py::test_x[UTV05]", set()),
    ],
)
def test_a_row_counts_only_as_a_word_between_the_brackets(node: str, rows: set[str]) -> None:
    assert set(ids_of([node])) == rows
