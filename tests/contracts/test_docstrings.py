"""Every public module, class, function and method of the package has a docstring."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def undocumented(tree: ast.Module) -> Iterator[str]:
    """Public names without a docstring, methods as 'Class.method'; '' is the module itself."""
    if not ast.get_docstring(tree):
        yield ""
    waiting = [(node, "") for node in tree.body]
    while waiting:
        node, within = waiting.pop()
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            if not ast.get_docstring(node):
                yield f"{within}{node.name}"
            if isinstance(node, ast.ClassDef):
                waiting += [(inner, f"{node.name}.") for inner in node.body]


def test_every_public_name_has_a_docstring() -> None:
    paths = [path for path in (ROOT / "delivery").rglob("*.py") if path.read_text(encoding="utf-8").strip()]
    assert len(paths) > 500
    missing = [
        f"{path.relative_to(ROOT)}: {name or 'module'}"
        for path in paths
        for name in undocumented(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not missing


def test_missing_docstrings_are_found() -> None:
    source = (
        '''"""A module."""\nclass A:\n    """Text."""\n    def b(self): ...\n    def _c(self): ...\ndef d(): ...\n'''
    )
    assert sorted(undocumented(ast.parse(source))) == ["A.b", "d"]
    assert list(undocumented(ast.parse("x = 1"))) == [""]
