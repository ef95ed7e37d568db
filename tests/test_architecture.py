"""Imports point one way, heavy libraries load late, and only the judge passes a layout."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "marker"
MODULES = {
    ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(ROOT.rglob("*.py"))
}
HEAVY = {"ortools", "matplotlib", "numba", "shapely", "svgelements", "scipy", "ezdxf"}

_PATTERN_AND_CLOTH = ("pattern", "cloth", "geometry", "units", "errors", "job")
ALLOWED: dict[str, tuple[str, ...]] = {
    "units": (),
    "errors": (),
    "geometry": ("geometry", "units", "errors"),
    "pattern": _PATTERN_AND_CLOTH,
    "cloth": _PATTERN_AND_CLOTH,
    "counting": (),
    "orders": ("orders", "counting", "errors"),
    "judge": ("judge", "layout", "job", "pattern", "cloth", "geometry.arrays", "units", "errors"),
}
FORBIDDEN: dict[str, tuple[str, ...]] = {
    "drawing": ("placement", "files", "plan", "cli"),
    "placement": ("orders", "files", "drawing", "plan", "cli", "judge"),
    "files": ("placement", "orders", "drawing", "plan", "cli"),
    "plan": ("cli",),
    "best_spread": ("cli", "files", "drawing"),
    "on_table": ("files", "placement", "judge", "drawing", "plan", "cli"),
    "job": ("layout", "files", "placement", "judge", "drawing", "plan", "cli"),
    "layout": ("files", "placement", "judge", "drawing", "plan", "cli"),
}


def imported(tree: ast.AST, module: str, is_package: bool, everywhere: bool) -> Iterator[str]:
    """Dotted names of the modules imported, `from a import b` as 'a.b'.

    everywhere : also inside functions, where heavy libraries may be loaded.
    """
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = module.split(".")[: len(module.split(".")) - node.level + is_package]
            base = ".".join([*(above if node.level else []), *filter(None, [node.module])])
            yield from (f"{base}.{alias.name}" for alias in node.names)
        elif everywhere or not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield from imported(node, module, is_package, everywhere)


def checked_layouts_made(source: str) -> int:
    """Calls of CheckedLayout in a source text, under any name it was imported as."""
    tree = ast.parse(source)
    names = {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if alias.name == "CheckedLayout"
    }
    calls = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
    return sum(
        (isinstance(call, ast.Name) and call.id in names)
        or (isinstance(call, ast.Attribute) and call.attr == "CheckedLayout")
        for call in calls
    )


def _imports(module: str, everywhere: bool = True) -> list[str]:
    path = MODULES[module]
    return list(
        imported(
            ast.parse(path.read_text(encoding="utf-8")), module, path.stem == "__init__", everywhere
        )
    )


def _within(name: str, packages: tuple[str, ...]) -> bool:
    return any(f"{name}.".startswith(f"marker.{package}.") for package in packages)


@pytest.mark.parametrize("module", MODULES)
def test_imports_point_one_way(module: str) -> None:
    layer = [*module.split("."), ""][1]
    ours = [name for name in _imports(module) if name.startswith("marker")]
    if layer in ALLOWED:
        assert [name for name in ours if not _within(name, ALLOWED[layer])] == []
    assert [name for name in ours if _within(name, FORBIDDEN.get(layer, ()))] == []


@pytest.mark.parametrize("module", [name for name in MODULES if name.startswith("marker.cli")])
def test_commands_load_heavy_libraries_only_where_used(module: str) -> None:
    loaded = {name.split(".")[0] for name in _imports(module, everywhere=False)}
    assert loaded & HEAVY == set()


def test_importing_the_commands_loads_nothing_heavy() -> None:
    code = "import sys, marker.cli; print(*{name.split('.')[0] for name in sys.modules})"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert set(done.stdout.split()) & HEAVY == set()


def test_only_the_judge_makes_a_checked_layout() -> None:
    makers = {
        name
        for name, path in MODULES.items()
        if checked_layouts_made(path.read_text(encoding="utf-8"))
    }
    assert makers == {"marker.judge"}


@pytest.mark.parametrize(
    ("source", "everywhere", "names"),
    [
        ("import numpy as np, shapely", True, ["numpy", "shapely"]),
        ("from marker.placement import nfp", True, ["marker.placement.nfp"]),
        ("from . import pairs", True, ["marker.judge.pairs"]),
        ("from ..geometry.arrays import A", True, ["marker.geometry.arrays.A"]),
        ("def f():\n    import numba", True, ["numba"]),
        ("def f():\n    import numba", False, []),
        ("if x:\n    import numba", False, ["numba"]),
    ],
)
def test_scanner_sees_every_kind_of_import(source: str, everywhere: bool, names: list[str]) -> None:
    assert list(imported(ast.parse(source), "marker.judge.laid", False, everywhere)) == names


@pytest.mark.parametrize(
    ("source", "made"),
    [
        ("from marker.layout import CheckedLayout\ndef f(x: CheckedLayout): ...", 0),
        ("from marker.layout import CheckedLayout as C\nC(1)", 1),
        ("import marker.layout\nmarker.layout.CheckedLayout(1)", 1),
    ],
)
def test_scanner_sees_every_way_to_make_a_checked_layout(source: str, made: int) -> None:
    assert checked_layouts_made(source) == made
