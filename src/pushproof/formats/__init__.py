"""Exchange formats: one folder or module each, detect, read, write.

Formats are found through the entry points of the group ``pushproof.formats``; the ones that
Pushproof brings are known without them too.
"""

from pushproof.formats.registry import detect, formats, read, read_all

__all__ = ["detect", "formats", "read", "read_all"]
