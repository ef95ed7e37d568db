"""Half a dress in three sizes, with its seams, as job text; and changes of its pieces."""

from __future__ import annotations

HEAD = """
name = "choir dress"
units = "mm"
size = "38"
sizes = ["36", "38", "40"]
order = { "38" = 1 }
cloth.jersey = { width = "150 cm" }
"""


def dress(name: str, line: str = "stitching line") -> str:
    """Half a dress: hem at y 0 flared by 60, sides of 700 and 200 mm, a round armhole and a
    neck; 10 mm wider from size to size."""
    paths = ", ".join(
        f'{size} = "M 0 0 L {wide + 60} 0 L {wide} -700 C {wide - 30} -760 {wide - 40} -800 '
        f'{wide - 40} -900 L {wide - 120} -930 C {wide - 120} -880 40 -860 0 -860 Z"'
        for size, wide in (("36", 210), ("38", 220), ("40", 230))
    )
    return f"""
[[piece]]
name = "{name}"
path = {{ by_size = {{ {paths} }} }}
line = "{line}"
allowance = 10
fold = [6, 1]
edges = {{ hem = [1, 2], side = [2, 3], armhole = [3, 4], shoulder = [4, 5], neck = [5, 6] }}
hems = {{ hem = {{ kind = "turned once", depth = 30 }} }}
notches = [{{ edge = "side", at = 600, name = "waist" }}, {{ edge = "side", at = 100 }}]
marks = [{{ kind = "placement", name = "pocket", points = [[60, 200], [140, 200]] }}]
"""


SEWN = """
[[seam]]
name = "side"
sides = ["front.side", "back.side"]
[[seam]]
name = "shoulder"
sides = ["front.shoulder", "back.shoulder"]
[[opening]]
name = "neckline"
edges = ["front.neck", "back.neck"]
points = { "centre front" = "front.neck at fold", "centre back" = "back.neck at fold" }
[[opening]]
name = "armhole"
edges = ["front.armhole", "back.armhole reversed"]
points = { "under arm" = "front.armhole at start" }
[[strip]]
name = "neck binding"
width = 50
ratio = 0.9
finishes = "neckline"
"""
DRESS = HEAD + dress("front") + dress("back") + SEWN


def change(*lines: str, piece: str = "front", at: str = '["side at waist"]') -> str:
    return "\n[[change]]\n" + "\n".join([f'piece = "{piece}"', f"line = {at}", *lines]) + "\n"


def split(piece: str, *more: str) -> str:
    names = f'split = ["top {piece}", "skirt {piece}"]'
    return change(names, 'edge = "cut edge"', *more, piece=piece)
