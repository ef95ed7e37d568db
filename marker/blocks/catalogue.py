"""Every garment that can be drafted, by name."""

from __future__ import annotations

from marker.blocks.aline_skirt import A_LINE_SKIRT
from marker.blocks.apron import APRON
from marker.blocks.circle_skirts import FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE
from marker.blocks.curtain import CURTAIN
from marker.blocks.cushion import CUSHION
from marker.blocks.garment import Garment
from marker.blocks.gathered_skirt import GATHERED_SKIRT
from marker.blocks.pinafore import PINAFORE
from marker.blocks.pyjama_trousers import PYJAMA_TROUSERS
from marker.blocks.robe import ROBE
from marker.blocks.shirt import SHIRT
from marker.blocks.t_shirt import T_SHIRT
from marker.blocks.tank_dress import TANK_DRESS
from marker.blocks.tote import TOTE
from marker.blocks.tunic import TUNIC

_ALL = (
    FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE, A_LINE_SKIRT, GATHERED_SKIRT, T_SHIRT, TANK_DRESS,
    TUNIC, SHIRT, PINAFORE, ROBE, PYJAMA_TROUSERS, APRON, TOTE, CUSHION, CURTAIN,
)  # fmt: skip
GARMENTS: dict[str, Garment] = {garment.name: garment for garment in _ALL}
