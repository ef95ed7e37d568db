"""Imports point one way, heavy libraries load late, and only the judge passes a layout."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "marker"
MODULES = {
    ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(ROOT.rglob("*.py"))
}
HEAVY = {
    "ortools",
    "matplotlib",
    "numba",
    "shapely",
    "svgelements",
    "scipy",
    "ezdxf",
    "reportlab",
    "pypdfium2",
    "cv2",
    "openpyxl",
}

_EVERYBODY = {"units", "errors", "words", "tolerances"}
_GARMENT = _EVERYBODY | {"geometry", "pattern", "cloth"}
_LAID = _GARMENT | {"job", "layout"}
_FLOWS = _LAID | {"placement", "judge", "orders", "planning"}
_FORMATS = _LAID | {"files", "judge", "blocks"}
_SHOWN = _FLOWS | _FORMATS | {"exchange", "jobfile", "reports"}

ALLOWED: dict[str, set[str]] = {
    "units": set(),
    "words": set(),
    "tolerances": set(),
    "errors": set(),
    "geometry": {"units", "errors", "tolerances"},
    "canvas": {"geometry"},
    "files": {"units", "errors", "tolerances", "words"},
    "cloth": _EVERYBODY | {"geometry"},
    "pattern": _EVERYBODY | {"geometry", "cloth"},
    "blocks": _EVERYBODY | {"geometry", "cloth", "pattern"},
    "job": {"pattern", "cloth", "units"},
    "layout": {"cloth", "pattern", "geometry", "tolerances", "words"},
    "placement": _GARMENT | {"layout"},
    "judge": _GARMENT | {"layout"},
    "orders": {"units", "words", "errors", "geometry"},
    "planning": _FLOWS,
    "exchange": _FORMATS | {"canvas"},
    "jobfile": _FORMATS | {"exchange"},
    "reports": _SHOWN,
    "drawing": _SHOWN - {"exchange", "jobfile", "placement"} | {"canvas"},
    "outputs": _SHOWN | {"drawing"} - {"placement"},
    "web": _SHOWN | {"drawing", "canvas", "outputs"} - {"placement"},
    "cli": _SHOWN | {"web", "drawing", "canvas", "outputs"},
    "__main__": {"cli"},
}
"""Each room, and all that it may import besides itself."""

JUDGES_GEOMETRY = {"marker.geometry.arrays"}
"""The judge shares nothing with placement but the types of arrays."""


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


def _room(module: str) -> str:
    """The package or root module that a dotted name lies in; empty for `marker` itself."""
    return [*module.split("."), ""][1]


def _module(name: str) -> str:
    """The module that an imported name is, or lies in."""
    return name if name in MODULES else name.rpartition(".")[0]


def _arrows() -> Iterator[tuple[str, str]]:
    """Every import of one of our modules by another."""
    for module in MODULES:
        for name in _imports(module):
            if name.split(".")[0] == "marker" and _module(name) != module:
                yield module, _module(name)


def _circles(arrows: Iterable[tuple[str, str]]) -> list[set[str]]:
    """Groups that can reach one another along the arrows, each of two or more."""
    ahead: dict[str, set[str]] = {}
    for start, end in arrows:
        ahead.setdefault(start, set()).add(end)

    def reached(start: str) -> set[str]:
        found: set[str] = set()
        to_do = [start]
        while to_do:
            new = ahead.get(to_do.pop(), set()) - found
            found |= new
            to_do += new
        return found

    reach = {start: reached(start) for start in ahead}
    circles: list[set[str]] = []
    for start, found in reach.items():
        circle = {other for other in found if start in reach.get(other, set())}
        if len(circle) > 1 and circle not in circles:
            circles.append(circle)
    return circles


def test_every_room_is_in_the_plan() -> None:
    assert {_room(module) for module in MODULES} - {""} == set(ALLOWED)


def test_imports_point_one_way() -> None:
    against = {
        f"{start} -> {end}"
        for start, end in _arrows()
        if _room(end) not in {"", _room(start)} | ALLOWED.get(_room(start), set())
    }
    assert against == set()


def test_the_judge_shares_no_geometry_with_placement() -> None:
    shared = {
        end for start, end in _arrows() if (_room(start), _room(end)) == ("judge", "geometry")
    }
    assert shared <= JUDGES_GEOMETRY


def test_no_files_import_one_another_in_a_circle() -> None:
    assert _circles(_arrows()) == []


def test_no_rooms_import_one_another_in_a_circle() -> None:
    rooms = {(_room(a), _room(b)) for a, b in _arrows()}
    assert _circles(pair for pair in rooms if pair[0] != pair[1]) == []


def test_circles_are_seen() -> None:
    arrows = [("a", "b"), ("b", "c"), ("c", "a"), ("c", "d"), ("d", "e")]
    assert _circles(arrows) == [{"a", "b", "c"}]
    assert _circles(arrows[1:2] + arrows[3:]) == []


def test_commands_load_heavy_libraries_only_where_used() -> None:
    loaded = {
        f"{module}: {name}"
        for module in MODULES
        if _room(module) == "cli"
        for name in _imports(module, everywhere=False)
        if name.split(".")[0] in HEAVY
    }
    assert loaded == set()


def test_importing_the_commands_loads_click_alone() -> None:
    """So that `marker --help` comes at once: of our own rooms, only the shell and the errors."""
    code = (
        "import sys, click; before = set(sys.modules); import marker.cli; "
        "print(*sorted(set(sys.modules) - before))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=600
    )
    loaded = done.stdout.split()
    others = {name.split(".")[0] for name in loaded} - sys.stdlib_module_names
    assert others == {"marker"}
    assert {_room(name) for name in loaded if name.startswith("marker")} <= {"", "cli", "errors"}


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


READS = {"shapely", "svgelements"}


@pytest.mark.parametrize(
    ("module", "may"),
    [
        ("jobfile.reading", READS),
        ("jobfile.editor_schema", READS),
        ("outputs.layouts", READS),
        ("web.app", READS | {"reportlab"}),  # it measures letters in pictures of garments
    ],
)
def test_reading_a_job_loads_nothing_that_searches_or_draws(module: str, may: set[str]) -> None:
    """A person checks a job, and looks a key up, a hundred times a day. The page's own process
    leaves searching to others."""
    done = subprocess.run(
        [sys.executable, "-c", f"import sys, marker.{module}; print(*sys.modules)"],
        capture_output=True, text=True, check=True, timeout=600,
    )  # fmt: skip
    loaded = {name.split(".")[0] for name in done.stdout.split()}
    assert loaded & HEAVY <= may
