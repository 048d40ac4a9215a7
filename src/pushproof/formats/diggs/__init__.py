"""DIGGS, the XML of the transport agencies of the United States: editions 2.5 to 3.

Follows the DIGGS schemas 2.6 and 3.0.0 and their code lists. What a column is comes from its
property class, its unit from its ``uom``; where both contradict each other it is said.
"""

from pushproof.formats.diggs.reader import DiggsFormat

__all__ = ["DiggsFormat"]
