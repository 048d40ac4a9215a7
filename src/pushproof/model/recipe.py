"""The recipe: every decision that turns facts into results, with its default and the reason.

A recipe changes no fact. It is saved as TOML or in the job file, each version with author, time
and reason; an empty recipe means the defaults below, which are the only place they live.
"""

from __future__ import annotations

import hashlib
import json
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field


class Decision(BaseModel):
    """Base of the parts of a recipe."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class BlankedInterval(Decision):
    """A depth interval [m] whose values are left out, and why. No channels means all."""

    top: float
    base: float
    channels: tuple[str, ...] = ()
    reason: str = Field(min_length=3)


class Methods(Decision):
    """Which published relation is used for each quantity, by the name in ``equations``."""

    gamma: Literal["gamma_robertson_2010", "gamma_mayne_2014"] = Field(
        "gamma_robertson_2010",
        description="uses qt and fs only, so it needs no iteration over stress; both published "
        "methods agree within about 1 kN/m3 in mineral soil; see decision record 0003",
    )
    n: Literal["n_robertson_2009", "n_robertson_wride_1998", "n_zhang_2002", "linear"] = Field(
        "n_robertson_2009",
        description="the exponent follows the soil, so no step at a zone boundary",
    )
    overconsolidated_zones: Literal["curve_robertson_2009", "curve_alternative"] = Field(
        "curve_robertson_2009", description="zones 8 and 9; see decision record 0002"
    )
    n60: Literal["n60_ratio_robertson_2012", "n60_ratio_jefferies_davies_1993"] = Field(
        "n60_ratio_robertson_2012",
        description="the older linear ratio falls to zero at Ic 4.6; the power form does not",
    )


class Recipe(Decision):
    """Decisions for one sounding. None means: take what the sounding states."""

    water_level: float | None = Field(None, description="depth of the water table [m]")
    assumed_water_level: float = Field(
        0.0,
        description="used, and marked as assumed, when neither the sounding nor the recipe gives "
        "a water level: ground level is the cautious end for effective stress",
    )
    area_ratio: float | None = Field(None, gt=0, le=1, description="net area ratio a [-]")
    predrilled: float | None = Field(None, ge=0, description="depth of the pre-excavation [m]")
    gamma_constant: float | None = Field(
        None, gt=8, lt=27, description="one unit weight for all depths [kN/m3]"
    )
    gamma_predrilled: float = Field(
        18.0, gt=8, lt=27, description="unit weight above the first reading [kN/m3], assumed"
    )
    gamma_low: float = Field(10.0, description="lower bound of estimated unit weight [kN/m3]")
    gamma_high: float = Field(24.0, description="upper bound of estimated unit weight [kN/m3]")
    gamma_water: float = Field(9.81, gt=9, lt=11, description="unit weight of water [kN/m3]")
    pa: float = Field(100.0, gt=0, description="reference stress [kPa]; 1 bar, not 101.325")
    correct_depth: bool = Field(
        True, description="depth from length and tilt (ISO 22476-1:2012 Annex B) if measured"
    )
    blanked: tuple[BlankedInterval, ...] = ()
    methods: Methods = Methods()
    author: str = ""
    reason: str = ""

    def fingerprint(self) -> str:
        """Return the SHA-256 of the recipe as canonical JSON."""
        text = json.dumps(self.model_dump(mode="json"), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()
