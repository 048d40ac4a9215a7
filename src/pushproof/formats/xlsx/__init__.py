"""Workbooks (.xlsx): sheets of soundings of any layout, and the tables that Pushproof writes.

A sheet is read as a text table is: the heading says what a column is and in which unit, lines above
it and sheets of pairs give the rest.
"""

from pushproof.formats.xlsx.reader import XlsxFormat

__all__ = ["XlsxFormat"]
