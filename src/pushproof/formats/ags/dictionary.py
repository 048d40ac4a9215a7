"""The part of the AGS 4 standard dictionaries that a cone test needs, for three editions.

Headings stand in the order of the dictionaries, with type and unit. Taken from the dictionary
files 4.0.4, 4.1.1 and 4.2 of the Association of Geotechnical and Geoenvironmental Specialists;
a test compares them.
"""

from __future__ import annotations

from types import MappingProxyType

EDITIONS = ("4.0.4", "4.1.1", "4.2")

_ID, _X, _PA = ("ID", ""), ("X", ""), ("PA", "")
_KEYS = {"LOCA_ID": _ID, "SCPG_TESN": _X}
_MPA4 = ("4DP", "MPa")

_HEADINGS: dict[str, dict[str, tuple[str, str]]] = {
    "PROJ": {
        "PROJ_ID": _ID,
        "PROJ_NAME": _X,
        "PROJ_LOC": _X,
        "PROJ_CLNT": _X,
        "PROJ_CONT": _X,
        "PROJ_ENG": _X,
    },
    "TRAN": {
        "TRAN_ISNO": _X,
        "TRAN_DATE": ("DT", "yyyy-mm-dd"),
        "TRAN_PROD": _X,
        "TRAN_STAT": _X,
        "TRAN_DESC": _X,
        "TRAN_AGS": _X,
        "TRAN_RECV": _X,
        "TRAN_DLIM": _X,
        "TRAN_RCON": _X,
        "TRAN_REM": _X,
    },
    "ABBR": {"ABBR_HDNG": _X, "ABBR_CODE": _X, "ABBR_DESC": _X},
    "TYPE": {"TYPE_TYPE": _X, "TYPE_DESC": _X},
    "UNIT": {"UNIT_UNIT": _X, "UNIT_DESC": _X},
    "DICT": {
        "DICT_TYPE": _PA,
        "DICT_GRP": _X,
        "DICT_HDNG": _X,
        "DICT_STAT": _PA,
        "DICT_DTYP": ("PT", ""),
        "DICT_DESC": _X,
        "DICT_UNIT": ("PU", ""),
    },
    "LOCA": {
        "LOCA_ID": _ID,
        "LOCA_TYPE": _PA,
        "LOCA_NATE": ("2DP", "m"),
        "LOCA_NATN": ("2DP", "m"),
        "LOCA_GREF": _PA,
        "LOCA_GL": ("2DP", "m"),
        "LOCA_REM": _X,
        "LOCA_FDEP": ("2DP", "m"),
        "LOCA_STAR": ("DT", "yyyy-mm-dd"),
        "LOCA_TERM": _X,
        "LOCA_LAT": ("DMS", ""),
        "LOCA_LON": ("DMS", ""),
        "LOCA_NATD": _X,
    },
    "HDPH": {
        "LOCA_ID": _ID,
        "HDPH_TOP": ("2DP", "m"),
        "HDPH_BASE": ("2DP", "m"),
        "HDPH_TYPE": _PA,
        "HDPH_STAR": ("DT", "yyyy-mm-ddThh:mm"),
        "HDPH_CREW": _X,
        "HDPH_EXC": _X,
        "HDPH_REM": _X,
    },
    "SCPG": {
        **_KEYS,
        "SCPG_TYPE": _PA,
        "SCPG_REF": _X,
        "SCPG_CSA": ("0DP", "cm2"),
        "SCPG_FILT": _X,
        "SCPG_FRIC": ("YN", ""),
        "SCPG_WAT": ("2DP", "m"),
        "SCPG_WATA": _X,
        "SCPG_REM": _X,
        "SCPG_CONT": _X,
        "SCPG_METH": _X,
        "SCPG_CAR": ("3DP", ""),
        "SCPG_SLAR": ("3DP", ""),
        "SCPG_OPER": _X,
    },
    "SCPT": {
        **_KEYS,
        "SCPT_DPTH": ("2DP", "m"),
        "SCPT_RES": ("3DP", "MPa"),
        "SCPT_FRES": _MPA4,
        "SCPT_PWP1": _MPA4,
        "SCPT_PWP2": _MPA4,
        "SCPT_PWP3": _MPA4,
        "SCPT_CON": ("4DP", "uS/cm"),
        "SCPT_TEMP": ("4DP", "DegC"),
        "SCPT_PH": ("4DP", ""),
        "SCPT_SLP1": ("4DP", "deg"),
        "SCPT_SLP2": ("4DP", "deg"),
        "SCPT_REDX": ("4DP", "mV"),
        "SCPT_MAGT": ("4DP", "nT"),
        "SCPT_MAGX": ("4DP", "nT"),
        "SCPT_MAGY": ("4DP", "nT"),
        "SCPT_MAGZ": ("4DP", "nT"),
        "SCPT_SMP": ("4DP", "%"),
        "SCPT_NGAM": ("4DP", "counts/s"),
        "SCPT_FRR": ("2DP", "%"),
        "SCPT_QT": _MPA4,
        "SCPT_FT": _MPA4,
        "SCPT_QE": _MPA4,
        "SCPT_BDEN": ("2DP", "Mg/m3"),
        "SCPT_CPO": ("2DP", "kPa"),
        "SCPT_CPOD": ("2DP", "kPa"),
        "SCPT_QNET": _MPA4,
        "SCPT_FRRC": ("2DP", "%"),
        "SCPT_EXPP": _MPA4,
        "SCPT_BQ": ("4DP", ""),
        "SCPT_ISPP": _MPA4,
        "SCPT_NQT": ("4DP", ""),
        "SCPT_NFR": ("4DP", "%"),
    },
    "SCPP": {
        **_KEYS,
        "SCPP_TOP": ("2DP", "m"),
        "SCPP_BASE": ("2DP", "m"),
        "SCPP_REF": _X,
        "SCPP_REM": _X,
        "SCPP_CSBT": _X,
        "SCPP_CSU": ("1DP", "kPa"),
        "SCPP_CRD": ("1DP", "%"),
        "SCPP_CPHI": ("1DP", "deg"),
        "SCPP_CIC": ("1DP", ""),
        "SCPP_CSPT": ("0DP", ""),
    },
    "SCDG": {
        **_KEYS,
        "SCDG_DPTH": ("2DP", "m"),
        "SCDG_PWPI": ("3DP", "MPa"),
        "SCDG_PWPE": ("3DP", "MPa"),
        "SCDG_DDIS": ("0DP", "%"),
        "SCDG_T": ("1DP", "s"),
        "SCDG_CH": ("2SCI", "m2/yr"),
        "SCDG_CHMT": _X,
        "SCDG_REM": _X,
    },
    "SCDT": {
        **_KEYS,
        "SCDG_DPTH": ("2DP", "m"),
        "SCDT_SECS": ("1DP", "s"),
        "SCDT_RES": ("3DP", "MPa"),
        "SCDT_PWP1": _MPA4,
        "SCDT_PWP2": _MPA4,
        "SCDT_PWP3": _MPA4,
    },
}

_OLDER = {
    "SCPG_CAR": ("1DP", ""),
    "SCPG_SLAR": ("1DP", ""),
    "SCDT_SECS": ("0DP", "s"),
    "SCDG_T": ("0DP", "s"),
    "SCDG_CH": ("1DP", "m2/yr"),
    "SCPT_TEMP": ("4DP", "degC"),
    "SCPT_MAGT": ("4DP", ""),
    "SCPT_MAGX": ("4DP", ""),
    "SCPT_MAGY": ("4DP", ""),
    "SCPT_MAGZ": ("4DP", ""),
}
"""Type and unit in 4.0.4 where they differ; the unit of SCPT_CON there is no ASCII text."""
_NEWER = {"SCPG_OPER"}
"""Headings that only 4.2 has."""

UNITS = MappingProxyType(
    {
        "m": "metre",
        "mm": "millimetre",
        "mm/s": "millimetres per second",
        "MPa": "megaPascal",
        "kPa": "kiloPascal",
        "kN/m2": "kiloNewtons per square metre",
        "cm2": "square centimetre",
        "deg": "degree (angle)",
        "DegC": "degree Celsius",
        "degC": "degree Celsius",
        "%": "percentage",
        "s": "second",
        "yyyy-mm-dd": "year month day",
        "yyyy-mm-ddThh:mm": "year month day hours minutes",
        "yyyy-mm-ddThh:mm:ss": "year month day hours minutes seconds",
        "uS/cm": "microSiemens per centimetre",
        "nT": "nano Tesla",
        "mV": "milliVolt",
        "counts/s": "counts per second",
        "Mg/m3": "megagrams per cubic metre",
        "m2/yr": "square metres per year",
    }
)
TYPES = MappingProxyType(
    {
        "ID": "Unique Identifier",
        "X": "Text",
        "PA": "Text listed in ABBR Group",
        "PT": "Text listed in TYPE Group",
        "PU": "Text listed in UNIT Group",
        "DT": "Date time in international format",
        "DMS": "Degrees: Minutes: Seconds",
        "YN": "Yes or No",
        "2SCI": "Scientific Notation; required number of decimal places, 2",
    }
)
ABBREVIATIONS = MappingProxyType(
    {
        ("DICT_TYPE", "HEADING"): "Flag to indicate definition is a HEADING",
        ("DICT_STAT", "OTHER"): "Other field",
        ("LOCA_TYPE", "SCP"): "Static cone penetrometer",
        ("HDPH_TYPE", "SCP"): "Static cone penetrometer",
        ("HDPH_TYPE", "IP"): "Inspection pit",
        ("HDPH_TYPE", "HA"): "Hand Auger",
        ("HDPH_TYPE", "TP"): "Trial pit/trench",
        ("HDPH_TYPE", "VE"): "Vacuum Excavation",
        ("SCPG_TYPE", "EC"): "Electric cone",
        ("SCPG_TYPE", "PC"): "Piezo cone",
        ("SCPG_TYPE", "MC"): "Mechanical cone",
        ("SCPG_TYPE", "SC"): "P & S-wave Seismic Cone",
        ("LOCA_GREF", "OSGB"): "Ordnance Survey Great Britain National Grid",
    }
)


def headings(group: str, edition: str) -> dict[str, tuple[str, str]]:
    """Return the headings of a group in an edition, in order, with type and unit.

    Examples
    --------
    >>> headings("SCPG", "4.0.4")["SCPG_CAR"], headings("SCPG", "4.2")["SCPG_CAR"]
    (('1DP', ''), ('3DP', ''))
    """
    found = dict(_HEADINGS[group])
    if edition == EDITIONS[0]:
        found |= {name: kind for name, kind in _OLDER.items() if name in found}
    if edition != EDITIONS[-1]:
        found = {name: kind for name, kind in found.items() if name not in _NEWER}
    return found
