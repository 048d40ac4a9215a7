"""Write the tables of docs/reference/job-file.md. A test checks that the page is up to date."""

from __future__ import annotations

from pathlib import Path

from pushproof.store import migrations, schema

PAGE = Path(__file__).resolve().parents[1] / "docs" / "reference" / "job-file.md"
BEGIN, END = "<!-- tables: written by scripts/job_file_page.py -->", "<!-- end of tables -->"


def tables() -> str:
    """Return every table with its columns as Markdown."""
    parts = []
    for table in schema.metadata.tables.values():
        parts.append(f"### {table.name}\n\n{table.comment}\n\n| column | type | null | holds |")
        parts.append("|---|---|---|---|")
        for column in table.columns:
            null = "yes" if column.nullable else ""
            points = "".join(f" → {key.target_fullname}" for key in column.foreign_keys)
            kind = str(column.type).replace("FLOAT", "REAL")
            parts.append(f"| {column.name} | {kind}{points} | {null} | {column.comment} |")
        parts.append("")
    parts.append("### Versions\n\n| version | step |\n|---|---|")
    parts += [f"| {n} | {name} |" for n, (name, _) in enumerate(migrations.MIGRATIONS, 1)]
    return "\n".join(parts)


def page(text: str) -> str:
    """Return the page with its tables as they are now."""
    head, rest = text.split(BEGIN)
    return f"{head}{BEGIN}\n\n{tables()}\n\n{END}{rest.split(END)[1]}"


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"wrote {PAGE}")
