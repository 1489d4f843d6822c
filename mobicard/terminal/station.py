"""What places and widgets may ask of the terminal they stand in: its ward, its looks, the way on."""

from __future__ import annotations

from abc import abstractmethod
from typing import Any, cast

from textual.app import App
from textual.dom import DOMNode
from textual.screen import Screen

from mobicard.scheme import Scheme
from mobicard.terminal.commands import Place
from mobicard.terminal.looks import Depth
from mobicard.ward.ward import Ward


class Station(App[None]):
    """One station's terminal over one ward, as far as what stands in it may know."""

    ward: Ward
    depth: Depth

    @property
    def scheme(self) -> Scheme:
        """The level words and looks in force."""
        return self.ward.settings.scheme

    @abstractmethod
    def go(self, place: Place, *args: Any, **more: Any) -> Screen[None]:
        """Open a place over the present one; ``args`` are what it is about, such as a stay's id."""

    @abstractmethod
    def action_lock(self) -> None:
        """Hide the screen until somebody signs in."""


def station_of(node: DOMNode) -> Station:
    """The terminal a screen or widget stands in."""
    return cast(Station, node.app)
