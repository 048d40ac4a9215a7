"""Exchange formats: one folder or module each, detect, read, write."""
