"""Exchange formats: one folder or module each, detect, read, write.

Formats are found through the entry points of the group ``pushproof.formats``; the ones that
Pushproof brings are known without them too.
"""

from pushproof.formats.inspection import inspect
from pushproof.formats.registry import detect, formats, read, read_all
from pushproof.formats.writing import losses, missing, write

__all__ = ["detect", "formats", "inspect", "losses", "missing", "read", "read_all", "write"]
