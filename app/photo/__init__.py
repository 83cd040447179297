"""A piece from a photograph or a scan: marker sheets, the flattened picture, the outline with its stated error."""
