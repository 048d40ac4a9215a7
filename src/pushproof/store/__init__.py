"""The job file: facts and decisions in SQLite."""
