"""JSON: everything a sounding holds, after a published JSON Schema; read and write.

The schema lies beside this file (``sounding.schema.json``) and is that of the classes in
:mod:`pushproof.formats.document.layout`; a test compares them.
"""

from pushproof.formats.document.reader import JsonFormat

__all__ = ["JsonFormat"]
