"""People: finding, merging, importing and exporting clients."""
