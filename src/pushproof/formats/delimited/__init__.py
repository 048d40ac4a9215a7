"""Delimited text of any kind: comma, tab, semicolon or spaces, with header lines above a table.

There is no standard to follow; the structure is found from the text itself, the columns are
guessed from their names and units, shown, and can be said by hand.
"""

from pushproof.formats.delimited.reader import DelimitedFormat, guess_columns

__all__ = ["DelimitedFormat", "guess_columns"]
