"""docs/checks.md names a source for every rule, and only tests that exist and check something."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PAGE = (ROOT / "docs" / "checks.md").read_text(encoding="utf-8")
NAMED = re.findall(r"\[`(test_\w+)`\]\(\.\./([\w/.]+)\)", PAGE)
ROWS = [line.split(" | ") for line in PAGE.splitlines() if line.startswith("| ") and not line.startswith("| rule")]


@cache
def functions_of(file: str) -> dict[str, str]:
    """The functions of a file with their text."""
    text = (ROOT / file).read_text(encoding="utf-8")
    functions = [node for node in ast.parse(text).body if isinstance(node, ast.FunctionDef)]
    return {node.name: ast.get_source_segment(text, node) or "" for node in functions}


def test_every_row_has_a_source_and_a_test() -> None:
    assert len(ROWS) > 60
    for row in ROWS:
        assert len(row) == 3 and row[1].strip() and "test_" in row[2], row[0]


@pytest.mark.parametrize(("test", "file"), sorted(set(NAMED)))
def test_a_test_named_on_the_page_exists(test: str, file: str) -> None:
    assert test in functions_of(file), f"{file} holds no {test}"
    assert "assert" in functions_of(file)[test] or "check_" in functions_of(file)[test]
