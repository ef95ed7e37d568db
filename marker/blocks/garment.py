"""A garment that can be drafted: what it needs to know, and how it is drafted from that."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from marker.blocks.body import Body
from marker.blocks.draft import Block, Drafted
from marker.blocks.options import Option, chosen, options_of


@dataclass(frozen=True)
class Garment:
    """One garment.

    says : what it is, in a sentence. method : how it is drafted, and after whom.
    measures : names of the body's measures that it is drafted from, the most important first; none
        for what nobody wears. options : a dataclass whose fields are `marker.blocks.options`.
    block : drafts it in one size.
    """

    name: str
    says: str
    method: str
    measures: tuple[str, ...]
    options: type[Any]
    block: Callable[[Body, Any], Block]

    @property
    def known_options(self) -> dict[str, Option]:
        """Its options by name."""
        return options_of(self.options)

    def drafted(
        self, bodies: Mapping[str, Body], sample: str, values: Mapping[str, float | str]
    ) -> Drafted:
        """The garment in every size.

        bodies : size -> measures. sample : one of them. values : option -> mm, number or word.
        Raises CannotBeDrafted where measures and options do not go together.
        """
        asked = chosen(self.options, values)
        return Drafted(
            garment=self.name,
            says=self.says,
            method=self.method,
            sample=sample,
            sizes={size: self.block(body, asked) for size, body in bodies.items()},
            measures={
                size: {name: getattr(body, name) for name in self.measures}
                for size, body in bodies.items()
            },
            options={name: self.known_options[name].text(value) for name, value in values.items()},
        )
