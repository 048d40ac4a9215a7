"""Tables of a sounding for spreadsheets and programs: text, workbook, Parquet.

One sounding for each file. Headings are ``symbol [unit]`` in display units, a row of keys names the
columns, lines above the table say what the sounding is. The readers of these formats understand
all of it.
"""
