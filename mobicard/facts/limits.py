"""A weight-bearing order for one limb: the term and, where the term needs one, its figure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from mobicard.facts.text import Figure, WallTime
from mobicard.facts.units import read_mass
from mobicard.facts.words import WeightBearing


class LimbOrder(BaseModel):
    """Status of one limb with a share of body weight (percent) or a fixed mass (kg).

    Partial weight bearing must carry one of the two figures and never both; ``load: "44 lb"`` is accepted.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)

    status: WeightBearing
    percent: Annotated[Figure, Field(ge=0, le=100)] | None = None
    kg: Annotated[Figure, Field(ge=0, le=250)] | None = None
    ordered_at: WallTime | None = None

    @model_validator(mode="before")
    @classmethod
    def _edge(cls, data: Any) -> Any:
        if isinstance(data, str):
            return {"status": data}
        if isinstance(data, Mapping):
            out = dict(data)
            if "load" in out:
                load = out.pop("load")
                if out.get("kg") is not None or not isinstance(load, str):
                    raise ValueError("“load” is one figure with its unit, like “44 lb”; leave “kg” out")
                out["kg"] = read_mass(load)
            elif isinstance(out.get("kg"), str):
                out["kg"] = read_mass(out["kg"])
            return out
        return data

    @model_validator(mode="after")
    def _figure(self) -> Self:
        if self.percent is not None and self.kg is not None:
            raise ValueError("both percent and kg are given; the order is one of them, keep that one")
        given = self.percent is not None or self.kg is not None
        if self.status is WeightBearing.PWB and not given:
            raise ValueError("PWB needs its figure: percent of body weight, or kg; ask for the order")
        if given and self.status not in (WeightBearing.PWB, WeightBearing.TTWB):
            raise ValueError(
                f"{self.status.value} carries no figure; leave percent and kg out, or write PWB or TTWB"
            )
        return self
