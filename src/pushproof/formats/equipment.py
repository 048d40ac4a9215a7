"""Equipment of a rig as TOML: cone with its calibrations, rods, rig, encoder, what is known."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

from pydantic import Field

from pushproof.model.documents import load
from pushproof.model.equipment import Cone, Encoder, Frozen, Rig, Rods


class Equipment(Frozen):
    """What one push is made with, and what is known of the place."""

    cone: Cone | None = None
    rods: Rods | None = None
    rig: Rig | None = None
    encoder: Encoder | None = None
    predrilled: float | None = Field(None, ge=0, description="[m]")
    lead: float | None = Field(None, ge=0, description="cone and adapter below the first rod [m]")
    reaction: float | None = Field(None, gt=0, description="usable reaction [kN]")
    interval: float | None = Field(None, gt=0, description="reading interval ordered [m]")
    water_level: float | None = Field(None, description="measured depth of the water table [m]")


def load_equipment(path: str | Path) -> Equipment:
    """Read equipment from a TOML file with the tables cone, rods, rig and encoder.

    Raises
    ------
    ConfigurationError
        If the file is missing, is not TOML, or has a bad field; every fault is named.
    """
    path = Path(path)
    return load(Equipment, lambda: path.read_text(encoding="utf-8"), f"equipment {path}")


def write_equipment(equipment: Equipment, path: str | Path) -> None:
    """Write equipment as TOML; what is not known is left out."""
    document = equipment.model_dump(exclude_none=True)
    lines = [f"{key} = {_value(v)}" for key, v in document.items() if not isinstance(v, dict)]
    for name, table in document.items():
        if isinstance(table, dict):
            lines += ["", *_table(name, table)]
    Path(path).write_text("\n".join(lines).strip() + "\n", encoding="utf-8")


def _table(name: str, table: dict[str, Any]) -> list[str]:
    plain = {k: v for k, v in table.items() if not _is_array_of_tables(v)}
    lines = [f"[{name}]", *(f"{key} = {_value(v)}" for key, v in plain.items() if v != ())]
    for key, rows in table.items():
        if _is_array_of_tables(rows):
            for row in rows:
                lines += ["", f"[[{name}.{key}]]"]
                lines += [f"{k} = {_value(v)}" for k, v in row.items()]
    return lines


def _is_array_of_tables(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and isinstance(value[0], dict)


def _value(value: Any) -> str:
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, tuple | list):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    return json.dumps(value, ensure_ascii=False)
