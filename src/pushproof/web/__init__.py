"""The local server and its pages."""
