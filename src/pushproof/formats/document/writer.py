"""Writing JSON: everything, after the schema."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from pushproof import __version__
from pushproof.equations import equations
from pushproof.formats.contract import Content, Field, Given, Loss, Missing, sounding_of
from pushproof.formats.document.layout import KIND, REASONS, VERSION
from pushproof.formats.precision import exact
from pushproof.formats.table import CAUTION
from pushproof.model.findings import Finding
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import Sounding

_NAMES = {reason: name for name, reason in REASONS.items()}


class JsonWriting:
    """The writing half of JSON."""

    many = True
    fields: tuple[Field, ...] = ()

    def missing(self, contents: Sequence[Content], given: Given) -> list[Missing]:  # noqa: ARG002
        """Return nothing: whatever a sounding holds can be written."""
        return []

    def losses(self, contents: Sequence[Content], given: Given) -> list[Loss]:  # noqa: ARG002
        """Return nothing: everything a sounding holds is written."""
        return []

    def encode(
        self,
        contents: Sequence[Content],
        name: str,
        given: Given,  # noqa: ARG002
    ) -> dict[str, bytes]:
        """Return the file."""
        document = {
            "format": KIND,
            "version": VERSION,
            "soundings": [_push(one) for one in contents],
        }
        return {name: (_text(document) + "\n").encode()}


def _text(value: Any, depth: int = 0) -> str:
    """Return JSON with an object on many lines and a list of plain values on one."""
    if isinstance(value, _Numbers):
        return f"[{', '.join(value.texts)}]"
    if isinstance(value, dict) and value:
        pad = " " * (depth + 1)
        parts = [f"{pad}{_plain(key)}: {_text(one, depth + 1)}" for key, one in value.items()]
        return "{\n" + ",\n".join(parts) + "\n" + " " * depth + "}"
    if isinstance(value, list) and value and isinstance(value[0], dict):
        pad = " " * (depth + 1)
        parts = [pad + _text(one, depth + 1) for one in value]
        return "[\n" + ",\n".join(parts) + "\n" + " " * depth + "]"
    return _plain(value)


@dataclass(frozen=True, slots=True)
class _Numbers:
    """A column of numbers as texts of JSON: a column is long, and its decimals are known."""

    texts: list[str]


def _plain(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _push(content: Content) -> dict[str, Any]:
    one = sounding_of(content)
    document: dict[str, Any] = {
        "name": one.name,
        "location": _model(one.location),
        "cone": _model(one.cone),
        "rods": _model(one.rods),
        "rig": _model(one.rig),
        "water": _model(one.water),
        "predrilled": one.predrilled,
        "removed": [_model(layer) for layer in one.removed],
        "zeros_before": [_model(zero) for zero in one.zeros_before],
        "zeros_after": [_model(zero) for zero in one.zeros_after],
        "events": [_given(event.__dict__) for event in one.events],
        "standard": one.standard,
        "quality_class": one.quality_class,
        "stop_reason": one.stop_reason,
        "started": one.started.isoformat() if one.started else None,
        "project": one.project,
        "client": one.client,
        "operator": one.operator,
        "place": one.place,
        "readings": _columns(one.readings),
        "dissipations": _tests(one),
        "header": [_model(item) for item in one.header],
        "findings": [_finding(finding) for finding in one.findings],
        "source": _model(one.source),
    }
    if isinstance(content, Interpretation):
        document["results"] = _results(content)
    return _given(document)


def _given(document: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in document.items() if value not in (None, [], {})}


def _model(model: Any) -> dict[str, Any] | None:
    """Return a small document of the model as plain values, without what nobody gave."""
    return None if model is None else model.model_dump(mode="json", exclude_none=True)


def _tests(one: Sounding) -> list[dict[str, Any]]:
    return [
        _given(
            {
                "depth": test.depth,
                "start": test.start.isoformat() if test.start else None,
                "readings": _columns(test.readings),
                "header": [_model(item) for item in test.header],
                "source": _model(test.source),
            }
        )
        for test in one.dissipations
    ]


def _columns(series: Series) -> dict[str, Any]:
    found = {}
    for key in series:
        row = series.quantity(key)
        known = key in QUANTITIES
        texts = exact(series[key])
        column: dict[str, Any] = {
            "unit": row.unit,
            "name": row.name,
            "values": _Numbers([text or "null" for text in texts] if "" in texts else texts),
        }
        missing = _missing(series, key)
        if missing:
            column["missing"] = missing
        if not known:
            column["known"] = False
        found[key] = column
    return found


def _missing(series: Series, key: str) -> dict[str, list[list[int]]]:
    """Return reason to the runs of rows it holds for; a plain void needs no words."""
    codes = series.reason(key)
    starts = np.flatnonzero(np.diff(codes, prepend=np.uint8(255)))
    ends = np.append(starts[1:], len(codes)) - 1
    found: dict[str, list[list[int]]] = {}
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        reason = Reason(int(codes[first]))
        if reason not in (Reason.PRESENT, Reason.VOID_IN_FILE):
            found.setdefault(_NAMES[reason], []).append([first, last])
    return found


def _finding(one: Finding) -> dict[str, Any]:
    document = {
        "id": one.id,
        "severity": one.severity.word,
        "found": one.found,
        "expected": one.expected or None,
        "top": one.top,
        "base": one.base,
        "source": one.source or None,
        "channel": one.channel or None,
        "line": one.line,
    }
    return _given(document)


def _results(content: Interpretation) -> dict[str, Any]:
    from pushproof.interpretation.dissipation import dissipations

    table = equations()
    methods: dict[str, list[dict[str, str]]] = {}
    for key in sorted(content.methods):
        for name in content.relations(key):
            one = table.get(name)
            known = {"formula": one.formula, "citation": one.citation} if one else {}
            methods.setdefault(key, []).append({"name": name, **known})
    recipe = content.profile.recipe
    return {
        "note": CAUTION,
        "columns": _columns(content.series),
        "methods": methods,
        "assumptions": [
            _given({"key": a.key, "text": a.text, "value": a.value, "reason": a.reason or None})
            for a in content.assumptions
        ],
        "findings": [_finding(one) for one in content.findings],
        "dissipations": [one.document(arrays=False) for one in dissipations(content)],
        "recipe": recipe.model_dump(mode="json"),
        "recipe_sha256": recipe.fingerprint(),
        "made_by": f"Pushproof {__version__}",
    }
