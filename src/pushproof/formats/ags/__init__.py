"""AGS data transfer: edition 4 (read and write), editions 3, 3.1 and the one of 1994 (read).

Follows the AGS format documents; headings, types and units are those of the standard dictionaries
4.0.4, 4.1.1 and 4.2 of the Association of Geotechnical and Geoenvironmental Specialists.
"""

from pushproof.formats.ags.reader import Ags3Format, Ags4Format

__all__ = ["Ags3Format", "Ags4Format"]
