"""The sizes a scene is drawn with, centimetres and degrees; their figures stand in ``published.toml``."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Sizes:
    """Bed, chair and stretcher, the chair's angle to the bed, the most a patient turns on one leg."""

    bed_width: float
    bed_length: float
    chair: float
    stretcher_width: float
    chair_angle: float
    most_turn_on_one_leg: float
