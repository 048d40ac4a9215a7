"""Write docs/reference/limits.md from the table of limits. A test checks that it is up to date."""

from __future__ import annotations

import math
from pathlib import Path

from pushproof.recording.limits import Bound, Rule, load_limits

PAGE = Path(__file__).resolve().parents[1] / "docs" / "reference" / "limits.md"

HEAD = """# Limits of the guard

Generated from `src/pushproof/recording/limits.toml` by `scripts/limits_page.py`; do not edit.

The same rules hold for the page, the terminal and the report. An alarm is raised when a value has
been beyond its limit for the hold time. It clears when the value has been back inside by the
amount in `clear` for the rest time. An alarm that cleared before anybody acknowledged it stays
visible.

How sure a limit is:

- **verified**: the number was read in the source named.
- **from memory**: believed to stand in a standard or in common practice; the clause was not read.
- **calculated**: follows from mechanics or geometry.
- **own choice**: ours. Change it to suit the rig, the cone and the job.

A project changes a limit in a file of its own that holds only what differs:

```toml
[tilt.stop]
limit = 8
source = "project specification 3.2"
```

Limits do not replace the rules of the site or the judgement of the crew.

| rule | watches | caution | stop | clear | hold [s] | rest [s] | in the steps |
|---|---|---|---|---|---|---|---|
"""


def page() -> str:
    """Return the page as Markdown."""
    rules = load_limits().values()
    rows = [_row(rule) for rule in rules]
    sources = [
        f"- **{rule.id}**, {bound.level.word} at {_limit(rule, bound)}: {bound.origin}."
        for rule in rules
        for bound in rule.bounds
    ]
    advice = [f"- **{rule.id}**: {rule.advice}" for rule in rules]
    return (
        HEAD
        + "\n".join(rows)
        + "\n\n## Where each limit comes from\n\n"
        + "\n".join(sources)
        + "\n\n## What to do\n\n"
        + "\n".join(advice)
        + "\n"
    )


def _row(rule: Rule) -> str:
    cells = {bound.level.word: _limit(rule, bound) for bound in rule.bounds}
    steps = ", ".join(rule.steps) or "all"
    clear = rule.shown(rule.clear)
    return (
        f"| {rule.id} | {rule.name} | {cells.get('caution', '-')} | {cells.get('stop', '-')} "
        f"| {clear} | {rule.hold:g} | {rule.rest:g} | {steps} |"
    )


def _limit(rule: Rule, bound: Bound) -> str:
    if math.isinf(bound.low):
        return f"above {rule.shown(bound.high)}"
    if math.isinf(bound.high):
        return f"below {rule.shown(bound.low)}"
    return f"below {rule.shown(bound.low)} or above {rule.shown(bound.high)}"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE}")
