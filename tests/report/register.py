"""Soundings of the Dutch register read just far enough to draw them in tests.

Column order of the result record: catalogue "Geotechnisch sondeeronderzoek", result record.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import numpy as np

from pushproof.model.equipment import Cone
from pushproof.model.series import Series
from pushproof.model.sounding import Location, Sounding, SourceFile

COLUMNS = {0: ("length", 1), 2: ("time", 1), 3: ("qc", 1000), 15: ("tilt", 1), 18: ("fs", 1000),
           21: ("u1", 1000), 22: ("u2", 1000), 23: ("u3", 1000)}  # fmt: skip


def register_sounding(path: Path) -> Sounding:
    """Return the readings and the main metadata of a register document, sorted by length."""
    text = path.read_text(encoding="utf-8")
    block = re.search(r"<cptcommon:values>(.*?)</cptcommon:values>", text, re.S)
    assert block is not None
    rows = np.array(
        [[float(v) for v in row.split(",")] for row in block[1].strip().rstrip(";").split(";")]
    )
    rows = rows[np.argsort(rows[:, 0], kind="stable")]
    rows[rows == -999999] = np.nan
    columns = {
        key: rows[:, k] * factor
        for k, (key, factor) in COLUMNS.items()
        if np.isfinite(rows[:, k]).any()
    }

    def number(tag: str) -> float | None:
        found = re.search(rf"<cptcommon:{tag}[^>]*>([-0-9.]+)</", text)
        return float(found[1]) if found else None

    x, y = re.search(r"deliveredLocation>.*?<gml:pos>([^<]*)</gml:pos>", text, re.S)[1].split()[:2]
    area = number("coneSurfaceArea")
    return Sounding(
        name=path.stem,
        readings=Series(columns),
        location=Location(x=float(x), y=float(y), crs="EPSG:28992", level=number("offset"),
                          datum="NAP"),
        cone=Cone(tip_area=area * 1e-6 if area else None, area_ratio=number("coneSurfaceQuotient"),
                  filters=tuple(k for k in ("u1", "u2", "u3") if k in columns)),
        predrilled=number("predrilledDepth"),
        standard="NEN-EN-ISO 22476-1",
        source=SourceFile(name=path.name, sha256=hashlib.sha256(text.encode()).hexdigest(),
                          size=len(text), format="register extract"),
    )  # fmt: skip
