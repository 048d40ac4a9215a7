"""GEF-CPT, the text format of the Netherlands and Flanders: detect and read.

Follows the structure of the open GEF-CPT description: header lines ``#WORD= values`` up to
``#EOH=``, then rows of numbers. Dissipation tests lie in child files beside.
"""

from pushproof.formats.gef.reader import GefFormat

__all__ = ["GefFormat"]
