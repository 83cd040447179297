"""One reader or writer a file format."""
