"""Sheets: plots drawn by matplotlib as SVG, pages set by Typst."""
