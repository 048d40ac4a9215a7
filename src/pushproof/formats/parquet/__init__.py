"""Parquet tables: plain ones of any maker, and those that Pushproof writes."""

from pushproof.formats.parquet.reader import ParquetFormat

__all__ = ["ParquetFormat"]
