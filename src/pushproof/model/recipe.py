"""The recipe: every decision that turns facts into results, with its default and the reason.

A recipe changes no fact. It is saved as TOML or in the job file, each version with author, time
and reason; an empty recipe means the defaults below, which are the only place they live.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from pushproof.model.corrections import AnyCorrection
from pushproof.model.layering import LayerChoice
from pushproof.model.picks import DissipationChoice, MeasuredVelocity


class Decision(BaseModel):
    """Base of the parts of a recipe."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class BlankedInterval(Decision):
    """A depth interval [m] whose values are left out, and why. No channels means all."""

    top: float
    base: float
    channels: tuple[str, ...] = ()
    reason: str = Field(min_length=3)


class ClassOrdered(Decision):
    """The accuracy class that the client ordered: a class of a scheme, by their names."""

    scheme: str = "iso-22476-1-2012"
    name: str = Field(min_length=1)


class Methods(Decision):
    """Which published relation is used for each quantity, by the name in ``equations``.

    Decision record 0005 argues the defaults that have no record of their own.
    """

    gamma: Literal[
        "gamma_robertson_2010",
        "gamma_mayne_2014",
        "gamma_mayne_2010",
        "gamma_mayne_2007",
        "gamma_lengkeek_2018",
        "gamma_lengkeek_2022",
    ] = Field(
        "gamma_robertson_2010",
        description="uses qt and fs only, so it needs no iteration over stress; both published "
        "methods agree within about 1 kN/m3 in mineral soil; see decision record 0003",
    )
    n: Literal[
        "n_robertson_2009", "n_robertson_wride_1998", "n_youd_2001", "n_zhang_2002", "linear"
    ] = Field(
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
    fines: Literal[
        "FC_robertson_wride_1998",
        "FC_suzuki_1998",
        "FC_suzuki_1998_steep",
        "FC_boulanger_idriss_2014",
    ] = Field(
        "FC_robertson_wride_1998",
        description="the oldest in wide use; the two forms cited to Suzuki contradict each other",
    )
    su: Literal["su_nkt", "su_ndu", "su_nke"] = Field(
        "su_nkt", description="the printed equation of Eurocode 7; works without u2"
    )
    nkt: Literal["constant", "Nkt_mayne_peuchen_2018", "Nkt_robertson_2012"] = Field(
        "constant", description="one factor that can be fitted on the site, not a second relation"
    )
    sensitivity: Literal["St_robertson_2009", "St_lunne_1997"] = Field(
        "St_robertson_2009", description="on the net resistance, so without the overburden"
    )
    yield_stress: Literal[
        "sigma_p_mayne_2009",
        "sigma_p_excess_mayne_2007",
        "sigma_p_effective_mayne_2007",
        "OCR_kulhawy_mayne_1990",
        "OCR_robertson_2009",
        "OCR_mayne_1991",
    ] = Field(
        "sigma_p_mayne_2009",
        description="one relation from sand to clay; in clay the same as OCR = 0.33 Qt",
    )
    k0_sand: Literal["K0_mayne_kulhawy_1982", "K0_en_1997_1", "K0_mayne_2007"] = Field(
        "K0_mayne_kulhawy_1982", description="printed in two handbooks; needs phi and OCR"
    )
    k0_clay: Literal["K0_mayne_kulhawy_1982", "K0_en_1997_1", "K0_kulhawy_mayne_1990"] = Field(
        "K0_mayne_kulhawy_1982", description="the same as in sand; needs u2 for phi"
    )
    phi_sand: Literal[
        "phi_kulhawy_mayne_1990",
        "phi_robertson_campanella_1983",
        "phi_gec_12",
        "phi_robertson_2010",
        "phi_en_1997_2_d2",
        "phi_en_1997_2_d1_low",
        "phi_en_1997_2_d1_high",
    ] = Field(
        "phi_kulhawy_mayne_1990",
        description="printed in a current handbook, and the middle of the spread of 4 deg",
    )
    phi_clay: Literal["phi_mayne_campanella_2005", "phi_bearing_capacity"] = Field(
        "phi_mayne_campanella_2005", description="within 0.4 deg of the full form"
    )
    dr: Literal[
        "Dr_jamiolkowski_2001",
        "Dr_kulhawy_mayne_1990",
        "Dr_robertson_cabal_2015",
        "Dr_jamiolkowski_1985",
        "Dr_baldi_1986",
    ] = Field(
        "Dr_jamiolkowski_2001",
        description="corrected for chamber size, with compressibility as a stated choice",
    )
    psi: Literal["psi_robertson_2010", "psi_plewes_1992", "psi_plewes_1992_plus_one"] = Field(
        "psi_robertson_2010", description="needs no laboratory parameter"
    )
    m: Literal["M_robertson_2009", "M_en_1997_2"] = Field(
        "M_robertson_2009",
        description="all ground; the table of Eurocode 7 (lower values) has gaps and steps",
    )
    e: Literal["E_robertson_2009", "E_en_1997_2_d1_low", "E_en_1997_2_d1_high"] = Field(
        "E_robertson_2009", description="has no steps; the table of Eurocode 7 has"
    )
    g0: Literal["G0_wave_velocity", "G0_robertson_2009"] = Field(
        "G0_wave_velocity", description="the definition, so that a measured Vs can take its place"
    )
    vs: Literal[
        "Vs_robertson_2009",
        "Vs_andrus_2007",
        "Vs_andrus_2007_all_soils",
        "Vs_hegazy_mayne_1995",
        "Vs_hegazy_mayne_2006",
        "Vs_mayne_2006",
        "Vs_mayne_rix_1995",
    ] = Field("Vs_robertson_2009", description="any ordinary soil, by net resistance and Ic")


def _factor(assumed: float, description: str, gt: float, lt: float = 1e6) -> Any:
    """Return the field of a factor: None until given, with the value assumed until then."""
    text = f"{description}; assumed {assumed:g} if not given"
    return Field(None, description=text, json_schema_extra={"assumed": assumed}, gt=gt, lt=lt)


class Factors(Decision):
    """Numbers that relations need and a cone does not measure, named as in the equations.

    None means: not given. Then the value in the description is used, and marked as assumed.
    """

    Gs: float | None = _factor(2.65, "specific gravity of the grains [-]; quartz", gt=2, lt=3.5)
    Nkt: float | None = _factor(
        14.0, "net resistance factor of clay [-]; mean of the usual 10 to 18, fit it", gt=4, lt=40
    )
    Ndu: float | None = _factor(
        7.0, "excess pore pressure factor of clay [-]; middle of 4 to 10", gt=1, lt=20
    )
    Nke: float | None = _factor(
        9.0, "effective resistance factor of clay [-]; middle of 6 to 12", gt=1, lt=30
    )
    Ns: float | None = _factor(7.5, "factor of sensitivity [-]; typical of 6 to 10", gt=1, lt=20)
    OCR_k: float | None = _factor(0.33, "OCR = k Qt [-]; typical of 0.2 to 0.5", gt=0.05, lt=1.5)
    Mc: float | None = _factor(1.2, "slope of the critical state line [-]; 30 deg", gt=0.5, lt=2.0)
    phi_cv: float | None = _factor(
        33.0, "friction angle at constant volume [deg]; quartz sand", gt=20, lt=45
    )
    Dr_b: float | None = _factor(
        0.675, "offset of relative density [-]; sand of medium compressibility", gt=0.4, lt=1.0
    )
    QC: float | None = _factor(
        1.0, "factor of relative density [-]; sand of medium compressibility", gt=0.8, lt=1.2
    )
    age: float | None = _factor(0.01, "time since deposition [yr]; no effect of age", gt=0)
    CFC: float | None = _factor(0.0, "site fit of fines [-]; none", gt=-1, lt=1)
    ASF: float | None = _factor(1.0, "factor for age in Vs [-]; Holocene soil", gt=0.5, lt=3)
    SF: float | None = _factor(
        0.92, "factor for age in Vs, fit over all soils [-]; Holocene soil", gt=0.5, lt=3
    )

    def given(self, name: str) -> bool:
        """Tell whether a factor was given."""
        return getattr(self, name) is not None

    def value(self, name: str) -> float:
        """Return a factor as given, or as assumed.

        Examples
        --------
        >>> Factors().value("Nkt"), Factors(Nkt=16).value("Nkt")
        (14.0, 16.0)
        """
        given = getattr(self, name)
        if given is not None:
            return float(given)
        extra = type(self).model_fields[name].json_schema_extra
        assert isinstance(extra, dict)
        return float(str(extra["assumed"]))

    def text(self, name: str) -> str:
        """Return what a factor is, in words."""
        return str(type(self).model_fields[name].description).split(";")[0]


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
    corrections: tuple[AnyCorrection, ...] = Field(
        (), description="applied in the order listed; none by default: nothing is done silently"
    )
    layers: LayerChoice | None = Field(
        None, description="boundaries and names of the units; None finds them from the profile"
    )
    class_ordered: ClassOrdered | None = Field(
        None, description="what the class achieved is held against"
    )
    methods: Methods = Methods()
    factors: Factors = Factors()
    factor_spread: dict[str, float] = Field(
        default_factory=dict,
        description="one standard deviation of a factor, in its own unit, from a fit on the site; "
        "it takes the place of the scatter of the relation that the factor belongs to",
    )
    dissipations: tuple[DissipationChoice, ...] = ()
    wave_velocity: tuple[MeasuredVelocity, ...] = Field(
        (), description="measured shear wave velocity, used instead of the estimate"
    )
    author: str = ""
    reason: str = ""

    @field_validator("factor_spread")
    @classmethod
    def _spread_of_factors(cls, spread: dict[str, float]) -> dict[str, float]:
        """Refuse a spread of something that is no factor, or one that is not above zero."""
        unknown = sorted(set(spread).difference(Factors.model_fields))
        faults = [f"no factor is named {name}" for name in unknown]
        faults += [
            f"{name}: {size:g} is not above zero" for name, size in spread.items() if size <= 0
        ]
        if faults:
            known = ", ".join(Factors.model_fields)
            raise ValueError(f"{'; '.join(faults)}; factors: {known}")
        return spread

    def over(self, other: Recipe) -> Recipe:
        """Return the recipe with what another one sets put over it.

        Examples
        --------
        >>> kept = Recipe(water_level=1.2, factors=Factors(Nkt=15))
        >>> Recipe.over(kept, Recipe(factors=Factors(Ns=8))).factors.given("Nkt")
        True
        """
        mine = self.model_dump(exclude_unset=True)
        theirs = other.model_dump(exclude_unset=True)
        for part in ("methods", "factors"):
            if part in mine and part in theirs:
                theirs[part] = mine[part] | theirs[part]
        return Recipe.model_validate(mine | theirs)

    def fingerprint(self) -> str:
        """Return the SHA-256 of the recipe as canonical JSON."""
        text = json.dumps(self.model_dump(mode="json"), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()
