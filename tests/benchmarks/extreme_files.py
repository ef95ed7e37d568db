"""Files far too large, and commands with options at their ends, each with what runs it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.cli.commands import TWO_PIECES, marker
from tests.exchange.test_hostile_drawings import block, dxf, insert, polyline, svg
from tests.jobfile.writer import HEAD, SQUARE, piece

MANY = 100_000


@dataclass(frozen=True)
class Laid:
    """A folder with a job.toml and its layout.json."""

    folder: Path

    def copied_to(self, folder: Path) -> None:
        """The same files there, and nothing else."""
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(self.folder, folder)


@dataclass(frozen=True)
class Extreme:
    """A command, and what is written before it runs. write : into a folder with a laid job."""

    name: str
    words: tuple[str, ...]
    write: Callable[[Path], None]


def laid_job(folder: Path) -> Laid:
    """A small job, laid."""
    folder.mkdir()
    (folder / "job.toml").write_text(TWO_PIECES)
    done = marker("lay", folder / "job.toml", "--iterations", 0, "--out", folder)
    assert done.exit_code == 0, done.output
    return Laid(folder)


def _layouts() -> Iterator[Extreme]:
    def changed(name: str, change: Callable[[dict[str, Any]], None]) -> Iterator[Extreme]:
        def write(folder: Path) -> None:
            path = folder / "layout.json"
            table = json.loads(path.read_text())
            change(table)
            path.write_text(json.dumps(table))

        for command in ("judge", "print", "export", "layouts"):
            words: tuple[str, ...] = (command, "layout.json")
            words += {"print": ("--paper", "a4"), "export": ("--to", "svg")}.get(command, ())
            words = ("layouts", "job.toml", "--out", ".") if command == "layouts" else words
            yield Extreme(f"{command} a layout with {name}", words, write)

    def placements(count: int, key: str = "placements") -> Callable[[dict[str, Any]], None]:
        return lambda table: table.update({key: [table["placements"][0]] * count})

    def outline(table: dict[str, Any]) -> None:
        table["placements"][0]["outline_mm"] = [[k % 900, k // 900] for k in range(1_000_000)]

    yield from changed("1e8 garments", lambda t: t.update(lay={"garments": {"38": 10**8}}))
    yield from changed("2,000 garments", lambda t: t.update(lay={"garments": {"38": 2000}}))
    yield from changed(
        "1e5 sizes", lambda t: t.update(lay={"garments": {str(k): 2000 for k in range(MANY)}})
    )
    yield from changed("20,000 placements of one piece", placements(20_000))
    yield from changed("10,000 placements of one piece", placements(10_000))
    yield from changed("10,000 spares", placements(10_000, "spares"))
    yield from changed("itself among its companions", lambda t: t.update(together=["layout.json"]))
    yield from changed(
        "itself as 100 companions",
        lambda t: t.update(together=["./" * k + "layout.json" for k in range(100)]),
    )
    yield from changed("an outline of 1e6 points", outline)
    yield from changed("pieces 1e6 mm off", _far)

    def hundred(folder: Path) -> None:
        path = folder / "layout.json"
        table = json.loads(path.read_text())
        table["together"] = ["layout.json", *(f"other-{k}.json" for k in range(99))]
        table["placements"] = table["placements"] * 1400
        text = json.dumps(table)
        path.write_text(text)
        for name in table["together"]:
            (folder / name).write_text(text)

    yield Extreme("judge a layout with 100 companions", ("judge", "layout.json"), hundred)
    for name, text in (
        ("empty objects", '{"format": 1, "placements": [' + "{}," * 16_000_000 + "{}]}"),
        ("empty lists", '{"format": 1, "x": [' + "[]," * 16_000_000 + "[]]}"),
        ("numbers", '{"format": 1, "x": [' + "1.5," * 12_000_000 + "1]}"),
        ("nesting", '{"format": 1, "x": ' + "[" * 20_000_000),
        ("keys", "{" + ", ".join(f'"{k}":{k}' for k in range(2_500_000)) + "}"),
    ):
        yield Extreme(f"judge a layout of {name}", ("judge", "layout.json"), _writes(layout=text))


def _far(table: dict[str, Any]) -> None:
    for each in table["placements"]:
        each["x_mm"] += 900_000
        each["outline_mm"] = [[x + 900_000, y] for x, y in each["outline_mm"]]
    table["length_mm"] = 999_999


def _writes(**texts: str) -> Callable[[Path], None]:
    """Writes job.toml, layout.json and the like. texts : stem -> text."""
    names = {"job": "job.toml", "layout": "layout.json", "svg": "a.svg", "dxf": "a.dxf",
             "rules": "a.rul", "order": "order.csv"}  # fmt: skip

    def write(folder: Path) -> None:
        for stem, text in texts.items():
            (folder / names[stem]).write_text(text)

    return write


NOTCH = '{ edge = "a", at = 1 }'
_SIZES = [str(k) for k in range(100)]


def _of(text: str, count: int) -> str:
    return "".join(text.replace("@", str(k)) for k in range(count))


def _jobs() -> Iterator[Extreme]:
    edges = "edges = { " + _of("e@ = [1, 2], ", MANY) + "}"
    triangles = "".join(
        piece(f"points = [[0, 0], [{90 + k * 0.01:.2f}, 0], [{k * 0.02:.2f}, 80]]", name=f"p{k}")
        for k in range(900)
    )
    texts = {
        "1e5 pieces": HEAD + _of("[[piece]]\nname='@'\n", MANY),
        "1,000 pieces in 4 sizes": HEAD.replace('"38"', '"0"') + 'sizes=["0","1","2","3"]\n'
        + _of(piece(SQUARE, name="p@"), 1000),
        "900 pieces": HEAD + triangles,
        "2,000 garments": HEAD.replace("= 1", "= 2000") + piece(SQUARE),
        "1e5 sizes": HEAD + f"sizes = {[str(k) for k in range(MANY)]}" + piece(SQUARE),
        "1e5 cloths": HEAD + _of('cloth.c@ = {width="1 m"}\n', MANY) + piece(SQUARE),
        "100 cloths": HEAD + _of('cloth.c@ = {width="1 m"}\n', 99)
        + _of(piece(SQUARE, 'cloth="c@"', name="p@"), 99),
        "1e5 edges": HEAD + piece(SQUARE, edges),
        "1e5 notches": HEAD + piece(SQUARE, f"notches = [{', '.join([NOTCH] * MANY)}]"),
        "2,000 notches": HEAD
        + piece(SQUARE, "edges={a=[1,2]}", f"notches = [{', '.join([NOTCH] * 2000)}]"),
        "360,000 turns": HEAD + piece(SQUARE, f"turns = {[1] * 360_000}"),
        "360 turns": HEAD + piece(SQUARE, f"turns = {list(range(360))}", "cut = 50"),
        "1e5 seam sides": HEAD + piece(SQUARE)
        + f"[[seam]]\nname = 's'\nsides = {['front.a'] * MANY}\n",
        "1e5 unknown keys": HEAD + piece(SQUARE, *(f"colr{k} = 1" for k in range(MANY))),
        "1,000 faulty pieces": HEAD + _of(piece("points = [[0, 0]]", "cut = 0", name="p@"), 1000),
        "nested tables": HEAD + "a." * 50_000 + "b = 1",
        "nested lists": HEAD + "points = " + "[" * 500_000,
        "1e6 points": HEAD + piece("points = [" + "[1,2]," * 600_000 + "]"),
        "24,000 points": HEAD + piece(
            "points = [" + ",".join(f"[{k},{(k * 7919) % 24_000}]" for k in range(24_000)) + "]"
        ),
        "a name of 4 MB": HEAD.replace("choir dress", "a" * 4_000_000) + piece(SQUARE),
        "a number of 4 MB": HEAD.replace('"150 cm"', '"' + "9" * 4_000_000 + ' cm"')
        + piece(SQUARE),
        "200 copies": HEAD.replace("= 1", "= 9") + piece(SQUARE, "cut = 200"),
        "1,900 items": HEAD.replace("= 1", "= 190") + _of(
            piece("points = [[0, 0], [9@, 0], [4, 8@]]", name="p@"), 10
        ),
        "100 sizes of 39 pieces": HEAD.replace('"38"', '"0"') + f"sizes = {_SIZES}\n" + _of(
            piece(SQUARE, name="p@"), 39
        ),
        "1e5 rules": HEAD + _of("[rules.r@]\n", MANY) + piece(SQUARE),
    }  # fmt: skip
    for name, text in texts.items():
        yield Extreme(f"check a job with {name}", ("check", "job.toml"), _writes(job=text))
    quick = ("--seconds", "1", "--workers", "1")
    for name in ("900 pieces", "1,900 items", "2,000 garments", "100 cloths", "360 turns"):
        words = ("lay", "job.toml", *quick, "--out", "out")
        yield Extreme(f"lay a job with {name}", words, _writes(job=texts[name]))


def _drawings() -> Iterator[Extreme]:
    square = polyline((0, 0), (90, 0), (90, 90)).replace("\n8\ncut", "\n8\n1")
    path = '<path d="M 0 0 H 90 V 90 Z" transform="translate({} {})"/>'
    apart = "".join(path.format(k % 100 * 95, k // 100 * 95) for k in range(MANY // 4))
    words = "".join(f'<text x="{k}" y="9">{k}</text>' for k in range(4999))
    svgs = {
        "25,000 pieces": svg(apart),
        "499 pieces": svg("".join(path.format(k % 100 * 95, k // 100 * 95) for k in range(499))),
        "499 pieces in one another": svg(
            "".join(f'<path d="M {k} {k} H {2000 - k} V {2000 - k} H {k} Z"/>' for k in range(499))
        ),
        "25,000 broken paths": svg('<path d="M 0 0 L"/>' * 25_000),
        "25,000 broken places": svg('<path d="M 0 0 H 9" transform="turn(3)"/>' * 25_000),
        "25,000 lines": svg('<line x1="0" y1="0" x2="9" y2="9"/>' * 25_000),
        "4,999 lines": svg("".join(
            f'<line x1="{k % 70 * 9}" y1="{k // 70 * 9}" x2="{k % 70 * 9 + 9}" y2="{k // 70 * 9}"/>'
            for k in range(4999)
        )),
        "4,999 texts on a piece": svg('<path d="M 0 0 H 5000 V 5000 H 0 Z"/>' + words),
        "300,000 points": svg(
            f'<path d="M 0 0 {"".join(f"L {k % 500} {k % 37 * 9} " for k in range(19_000))} Z"/>'
            * 15
        ),
        "clip paths on clip paths": svg(
            '<defs><clipPath id="c">' + path.format(1, 1) * 300 + "</clipPath></defs>"
            + '<g clip-path="url(#c)">' + path.format(0, 0) * 400 + "</g>"
        ),
        "a comment of 4 MB": svg("<!--" + "a" * 4_000_000 + "-->"),
        "1e5 attributes": svg("<path " + _of('a@="1" ', MANY) + "/>"),
    }  # fmt: skip
    layered = "".join(f'<path d="M 5 {k % 60} h 9"/>' for k in range(1999))
    svgs["1,999 notches in one piece"] = svg(
        f'<g id="cut"><path d="M 0 0 H 90 V 90 H 0 Z"/></g><g id="notches">{layered}</g>'
    )
    dxfs = {
        "30,000 × 30,000 empty blocks": dxf(
            insert("A", "70\n30000\n71\n30000\n44\n1\n45\n1\n"), block("A", "")
        ),
        "4,999 empty blocks in 4,999": dxf(
            insert("A", "70\n4999\n71\n1\n44\n1\n"),
            block("A", insert("B", "70\n4999\n71\n1\n44\n1\n")) + block("B", ""),
        ),
        "negative rows": dxf(insert("A", "70\n-5\n71\n-30000\n"), block("A", "")),
        "100,000 inserts of an empty block": dxf(insert("A") * 100_000, block("A", "")),
        "119,000 points": dxf("0\nPOINT\n8\ncut\n10\n0\n20\n0\n" * 119_000),
        "a line of 100,000 vertices": dxf(
            polyline(*((k % 500, k % 37 * 9) for k in range(100_000)))
        ),
        "900 blocks": dxf("", "".join(block(f"P{k}", square) for k in range(900))),
        "30 MB of text": dxf("0\nTEXT\n8\n1\n10\n0\n20\n0\n1\n" + "a" * 29_000_000 + "\n"),
        "30 MB of comments": dxf("999\na\n" * 4_900_000),
        "2 million layers' names": dxf("0\nPOINT\n8\n" + "cut" * 5_000_000 + "\n10\n0\n20\n0\n"),
    }
    for name, text in svgs.items():
        yield Extreme(f"import SVG of {name}", _import("a.svg"), _writes(svg=text))
    for name, text in dxfs.items():
        yield Extreme(f"import DXF of {name}", _import("a.dxf"), _writes(dxf=text))
    sizes = " ".join(str(k) for k in range(60))
    head = f"UNITS: METRIC\nSIZE LIST: {sizes}\nNUMBER OF SIZES: 60\nSAMPLE SIZE: 0\n"
    rules = _of("RULE: DELTA @\n" + "0.0, 0.0\n" * 60, 8_000)
    drawing = dxf("", "".join(block(f"P{k}", square) for k in range(60)))
    for name, text in {
        "8,000 rules": head + rules + "END\n",
        "1e5 sizes": head.replace(sizes, _of("@ ", MANY)) + "RULE: DELTA 1\n0,0\nEND\n",
        "1e5 rules": head + _of("RULE: DELTA @\n0, 0\n", MANY) + "END\n",
        "5 MB of blanks": head + "RULE: DELTA 1\n" + " ," * 2_400_000 + "\nEND\n",
    }.items():
        ruled = ("import", "a.dxf", "a.rul", "--units", "mm", "--out", "out")
        yield Extreme(f"import rules of {name}", ruled, _writes(dxf=drawing, rules=text))


def _import(name: str) -> tuple[str, ...]:
    return ("import", name, "--units", "mm", "--out", "out")


def _options() -> Iterator[Extreme]:
    sizes = ",".join(f"{k}={k + 1}" for k in range(100))
    for words in (
        "order --demand S=1,M=1 --max-garments 65 --seconds 1",
        "order --demand S=100000 --max-garments 1000 --seconds 1",
        f"order --demand {sizes} --max-garments 1000 --seconds 1",
        f"order --demand {sizes} --max-garments 1000 --max-plies 1 --over-cut any --seconds 1",
        f"order --demand {sizes} --max-garments 65 --max-markers 1000 --seconds 1",
        "order --demand S=50000,M=50000 --max-garments 1 --max-plies 1 --seconds 1",
        f"order --demand {','.join(f'{k}=1' for k in range(9_000))} --max-garments 9 --seconds 1",
        "order job.toml --max-garments 65 --seconds 1 --iterations 0 --out out",
        "order job.toml --max-garments 1000 --demand 38=2000 --seconds 1 --iterations 0 --out out",
        "order job.toml --max-garments 65 --demand 38=100000 --seconds 1 --iterations 0 --out out",
        "lay job.toml --seconds 0 --workers 64 --out out",
        "lay job.toml --seconds 1 --seed 99999999999999999999999999 --out out",
        "lay job.toml --iterations 99999999999999999999999 --seconds 1 --out out",
        "buy job.toml --widths 1cm --seconds 1 --out out",
        "buy job.toml --seconds 0 --out out",
        f"buy job.toml --seconds 1 --out out --widths {','.join(f'{50 + k}cm' for k in range(20))}",
        f"buy job.toml --widths {','.join(f'{k + 9}cm' for k in range(12_000))} --out out",
        "print layout.json --paper roll:1mm",
        "print layout.json --paper roll:100km",
        "print layout.json --paper roll:25mm",
        f"move layout.json 1 --to {'9' * 3000}m,1m",
        f"lay job.toml --keep layout.json --pin {','.join(['1'] * 20_000)} --seconds 1 --out out",
        "import a.svg --pages 1-9999,1-9999,1-9999 --out out",
        f"import a.svg --tiles {'9' * 3000}x{'9' * 3000} --out out",
        "bands job.toml --out out",
        "shortage job.toml --have 10cm --seconds 1",
        "check job.toml --json",
    ):
        yield Extreme(words[:90], tuple(words.split()), _writes(svg=svg("")))


def _tables() -> Iterator[Extreme]:
    words = ("order", "--demand", "order.csv", "--max-garments", "65", "--seconds", "1")
    for name, text in {
        "1e5 sizes": "size," + _of("s@,", MANY) + "\nred" + ",1" * MANY + "\n",
        "1e5 colours": "size,S,M\n" + _of("c@,1,2\n", MANY),
        "1e5 rows of a size": "size,count\n" + _of("s@,3\n", MANY),
        "5 MB of commas": "," * 4_900_000,
        "5 MB in quotation marks": '"' + "a" * 4_900_000 + '",1\n',
        "1e5 wrong numbers": "size,S\n" + _of("c@,x\n", MANY),
    }.items():
        yield Extreme(f"order by a table of {name}", words, _writes(order=text))


CASES = [*_layouts(), *_jobs(), *_drawings(), *_tables(), *_options()]
